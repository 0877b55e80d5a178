"""A person may call tools and articles anything: the rig is told, and hammers."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.unit.desk.live_bench import CAMPAIGN, PtyRig, quiet, write_campaign

from strikeproof.capture.rig_talk import announce_run, read_announcement
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.simulating.rig import RigSettings, _Rig

TOOL = 'pneu "one"'
NAMES = [
    "long ring 27 mm",
    'it\'s "short"',
    "Hülse № 3",
    "гайковёрт",
    "空气 扳手",
    "100 % steel",
    "a\u00a0b",
    "-",
    "article",
]
NAME = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40)


@pytest.fixture(scope="module")
def odd_campaign(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every article and the tool under a name that is hard on a wire."""
    text = CAMPAIGN.replace('"air"', json.dumps(TOOL))
    text += "".join(f"[[article]]\nname = {json.dumps(name)}\n" for name in NAMES)
    return write_campaign(tmp_path_factory.mktemp("odd") / "campaign", text)


@pytest.fixture(scope="module")
def bench(odd_campaign: Path) -> Iterator[_Rig]:
    rig = _Rig(RigSettings(odd_campaign, rate_hz=200.0))
    yield rig
    rig.line.unplug()


@settings(max_examples=200)
@given(run=NAME, tool=NAME, article=NAME)
def test_any_name_comes_through_the_wire(run: str, tool: str, article: str) -> None:
    line = announce_run(run, tool=tool, article=article, bolt="-")
    assert line.isascii() and line.isprintable()
    assert read_announcement(line) == {"run": run, "tool": tool, "article": article, "bolt": "-"}


def test_plain_names_are_written_as_ever() -> None:
    line = announce_run("r012", tool="air-a", article="ring-27", bolt="bolt-1")
    assert line == "# run r012 tool air-a article ring-27 bolt bolt-1"


@pytest.mark.parametrize("text", ["", "#", "# simulated", "12.5;3", "# running late"])
def test_other_lines_announce_nothing(text: str) -> None:
    assert read_announcement(text) is None


@pytest.mark.parametrize("name", NAMES)
def test_the_simulated_rig_hammers_an_article_of_any_name(
    bench: _Rig, name: str, capfd: pytest.CaptureFixture[str]
) -> None:
    before = bench.runs
    bench.obey(announce_run("r 1", tool=TOOL, article=name, bolt="-"), by_hand=False)
    assert bench.runs == before + 1, capfd.readouterr().err


def test_a_name_with_blanks_is_typed_in_quotes(bench: _Rig) -> None:
    before = bench.runs
    bench.obey('run \'pneu "one"\' "long ring 27 mm"', by_hand=True)
    assert bench.runs == before + 1


def test_an_article_that_was_planned_after_the_rig_was_switched_on_is_hammered(
    bench: _Rig, odd_campaign: Path
) -> None:
    before = bench.runs
    toml = odd_campaign / "campaign.toml"
    toml.write_text(toml.read_text() + '[[article]]\nname = "planned later"\n')
    bench.obey(announce_run("r2", tool=TOOL, article="planned later", bolt="-"), by_hand=False)
    assert bench.runs == before + 1


def test_the_recorder_announces_what_it_arms(tmp_path: Path) -> None:
    text = CAMPAIGN.replace('"plain"', '"plain nut, § 5"')
    load_campaign(write_campaign(tmp_path / "campaign", text), tmp_path / "lab")
    rig = PtyRig(tmp_path)
    with open_recorder(tmp_path / "lab") as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(2.5))
        recorder.arm()
        said = read_announcement(rig.heard())
    assert said is not None and (said["run"], said["article"]) == ("r001", "plain nut, § 5")
