"""Logs as exporters of many makes write them: each is read rightly, or refused with the reason.

The files in tests/corpus/ are invented, and none is written by our own writer. `expected.json` says what must
come out of each: the channel with its unit, count, first, last and sum, the rate, or a word of the refusal.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from strikeproof.capture.reading import read_log
from strikeproof.errors import BadFile

CORPUS = Path(__file__).parents[2] / "corpus"
EXPECTED: dict[str, dict[str, Any]] = json.loads((CORPUS / "expected.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", EXPECTED)
def test_a_log_is_read_rightly_or_refused_rightly(name: str) -> None:
    wanted = EXPECTED[name]
    if "refused" in wanted:
        with pytest.raises(BadFile, match=wanted["refused"]):
            read_log(CORPUS / name)
        return
    log = read_log(CORPUS / name)
    channel = next(each for each in log.channels if each.name == wanted["channel"])
    assert (channel.unit, channel.values.size) == (wanted["unit"], wanted["count"])
    assert (channel.values[0], channel.values[-1]) == (wanted["first"], wanted["last"])
    assert channel.values.sum() == pytest.approx(wanted["sum"], abs=1e-6)
    assert log.sample_rate_hz == pytest.approx(wanted["rate_hz"], rel=1e-3)
    assert wanted.get("finding") in (None, *(each.kind for each in log.findings))


def test_every_file_of_the_corpus_has_its_expectation() -> None:
    assert {each.name for each in CORPUS.iterdir()} == {*EXPECTED, "expected.json"}
