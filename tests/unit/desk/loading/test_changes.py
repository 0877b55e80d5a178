"""Loading names every kept run whose article, tool, block or standing its sheet changes."""

import json
from pathlib import Path

from tests.faults.bench import CAMPAIGN
from tests.unit.test_cli import strikeproof

from strikeproof.desk.loading.load import load_campaign

SHEET = "run,article,block,set_aside,score,note\n"


def write(folder: Path, *rows: str) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "campaign.toml").write_text(CAMPAIGN.format(name="drum").split("[calibration]")[0] + TABLES)
    (folder / "runs.csv").write_text(SHEET + "\n".join(rows) + "\n")
    return folder


TABLES = '[[tool]]\nname = "air"\n[[article]]\nname = "plain"\n[[article]]\nname = "ring"\n'
FIRST = ("1,plain,1,,5,", "2,ring,1,jaw slipped,6,", "3,plain,2,,5,", "4,ring,2,,6,", "5,plain,2,cold,6,")
SECOND = ("1,ring,2,,5,", "2,ring,1,,6,", "3,plain,2,oil,5,", "4,ring,2,,6,oiled", "5,plain,2,wet,6,")
SAID = (
    "run '1': article is 'ring' now, was 'plain'",
    "run '1': block is '2' now, was '1'",
    "run '2': included again, was excluded: jaw slipped",
    "run '3': excluded now: oil",
    "run '5': still excluded, the reason is now: wet; it was: cold",
)


def test_the_runs_that_a_sheet_changes_are_named(tmp_path: Path) -> None:
    assert load_campaign(write(tmp_path / "b", *FIRST), tmp_path / "lab").changes == ()
    outcome = load_campaign(write(tmp_path / "b", *SECOND), tmp_path / "lab")
    assert outcome.runs_amended == 5
    assert tuple(map(str, outcome.changes)) == SAID
    assert load_campaign(tmp_path / "b", tmp_path / "lab").changes == ()


def test_the_command_names_them_in_words_and_as_json(tmp_path: Path) -> None:
    for option, lab in ((), "text"), (("--json",), "json"):
        strikeproof("load", write(tmp_path / "b", *FIRST), "-w", tmp_path / lab)
        told, _ = strikeproof("load", write(tmp_path / "b", *SECOND), "-w", tmp_path / lab, *option)
        if option:
            changes = json.loads(told)["changes"]
            assert len(changes) == 5
            assert changes[0] == {"run": "1", "what": "article", "before": "plain", "after": "ring"}
        else:
            assert all(each in told for each in SAID)
