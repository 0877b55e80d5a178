"""Logs as exporters of many makes write them: each is read rightly, or refused with the reason.

The files in tests/corpus/ are invented and simulated, and none is written by our own writer: by independent
libraries, or by hand. `expected.json` says what must come out of each: every channel with its unit, count,
ends and sum, the times, the start, and what is odd; or words of the refusal. A file that is read
otherwise, or read though it must be refused, is a misread: there are none.
"""

import json
from pathlib import Path
from typing import Any

import pytest
from tests.corpus.writers.outcome import find_differences

CORPUS = Path(__file__).parents[2] / "corpus"
EXPECTED: dict[str, dict[str, Any]] = json.loads((CORPUS / "expected.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", EXPECTED)
def test_a_log_is_read_rightly_or_refused_rightly(name: str) -> None:
    assert find_differences(CORPUS / name, EXPECTED[name]) == []


def test_every_file_of_the_corpus_has_its_expectation() -> None:
    files = {each.relative_to(CORPUS).as_posix() for each in CORPUS.rglob("*") if each.is_file()}
    logs = {each for each in files if not each.endswith((".py", ".pyc"))}
    assert logs == {*EXPECTED, "expected.json"}


def test_the_corpus_is_large_and_of_many_styles() -> None:
    assert len(EXPECTED) >= 400 and len({name.split("/")[0] for name in EXPECTED}) >= 40
