"""A log that was read wrongly is loaded again in place of the saved one, with a reason that stays."""

from pathlib import Path

import pytest
from tests.faults.bench import write_campaign
from tests.unit.test_cli import strikeproof

from strikeproof.campaign.files import hash_file
from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.store import Store, open_store
from strikeproof.capture import keeping
from strikeproof.desk.loading import load as loading
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.loading.upload import load_log_again
from strikeproof.desk.runs.standing import tell_history
from strikeproof.desk.workspace.check import check_workspace
from strikeproof.errors import BadInput, NotFound, StoreError

WHY = "the logger wrote thousands separators"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = write_campaign(tmp_path / "bench")
    assert load_campaign(made, tmp_path / "lab").runs_loaded == 12
    return made


def correct(folder: Path, log: str = "3.csv", text: str = ".") -> str:
    """The file as it should have been; gives the hash of the one before."""
    path = folder / "logs" / log
    before = hash_file(path)
    path.write_text(path.read_text().replace(text, "1" + text))
    return before


def stored(workspace: Path, run: str = "run-3") -> tuple[Store, StoredRun]:
    store = open_store(workspace)
    return store, store.find_run(store.campaign(None)[0], run)


def test_a_corrected_file_is_never_taken_silently(folder: Path, tmp_path: Path) -> None:
    correct(folder)
    outcome = load_campaign(folder, tmp_path / "lab")
    assert (outcome.runs_unchanged, outcome.other_logs) == (11, ("run-3",))
    assert "another log" in outcome.problems[0].problem
    assert "--replace-log run-3 --because" in outcome.problems[0].fix


def test_the_corrected_file_counts_and_the_old_one_stays_in_the_history(folder: Path, tmp_path: Path) -> None:
    old, (store, before) = correct(folder), stored(tmp_path / "lab")
    outcome = load_campaign(folder, tmp_path / "lab", replace_logs={"run-3": WHY})
    assert (outcome.runs_amended, outcome.problems) == (1, ())
    _store, now = stored(tmp_path / "lab")
    assert now.trace is not None
    assert before.trace is not None
    assert now.trace.original_sha256 == hash_file(folder / "logs" / "3.csv") != old
    last = store.history(now)[-1]
    assert (last.kind, last.because, last.by) == ("log replaced", WHY, "person")
    assert last.trace == before.trace
    assert store.samples(before.trace, "load")[1].size == 600
    assert (tmp_path / "lab" / "originals" / old).is_file()
    assert check_workspace(tmp_path / "lab").problems == ()
    assert old in tell_history(tmp_path / "lab", None, "run-3")[-1][2]
    again = load_campaign(folder, tmp_path / "lab")
    assert (again.runs_unchanged, again.problems) == (12, ())


def test_the_same_bytes_may_be_read_otherwise(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program that reads better, or a campaign.toml that names another channel."""
    store, before = stored(tmp_path / "lab")
    same = load_campaign(folder, tmp_path / "lab", replace_logs={"run-3": WHY})
    assert (same.runs_unchanged, len(store.history(before))) == (12, 1)
    assert same.warnings[-1] == "run 'run-3': its log reads as before, so nothing was replaced"
    found = keeping._by_name
    # In this process, where the change is seen.
    monkeypatch.setattr(loading, "read_each", lambda jobs, _most: (job.function(*job.given) for job in jobs))
    monkeypatch.setattr(keeping, "_by_name", lambda log: {k: v * 1000.0 for k, v in found(log).items()})
    assert load_campaign(folder, tmp_path / "lab", replace_logs={"run-3": WHY}).runs_amended == 1
    _store, now = stored(tmp_path / "lab")
    assert now.trace is not None
    assert before.trace is not None
    assert now.trace.original_sha256 == before.trace.original_sha256
    assert store.samples(now.trace, "load")[1][9] == pytest.approx(
        1000.0 * store.samples(before.trace, "load")[1][9], rel=1e-6
    )
    assert check_workspace(tmp_path / "lab").problems == ()


def test_a_run_of_which_only_a_score_was_known_may_get_its_log(tmp_path: Path) -> None:
    folder = write_campaign(tmp_path / "bench")
    sheet = folder / "runs.csv"
    with_log = sheet.read_text()
    sheet.write_text("run,log,article,block,score\nrun-1,,plain,0,5\nrun-2,2.csv,ring,0,\n")
    load_campaign(folder, tmp_path / "lab")
    sheet.write_text(with_log)
    assert load_campaign(folder, tmp_path / "lab").other_logs == ("run-1",)
    assert load_campaign(folder, tmp_path / "lab", replace_logs={"run-1": "found it"}).problems == ()
    store, run = stored(tmp_path / "lab", "run-1")
    assert (run.row.log, run.row.score) == ("1.csv", None)
    assert run.trace is not None
    assert store.history(run)[-2].trace is None


def test_a_reason_and_a_run_that_is_there_are_needed(folder: Path, tmp_path: Path) -> None:
    correct(folder)
    for wrong, name, error in (("  ", "run-3", BadInput), (WHY, "run-33", NotFound)):
        with pytest.raises(error):
            load_campaign(folder, tmp_path / "lab", replace_logs={name: wrong})
    assert stored(tmp_path / "lab")[0].history(stored(tmp_path / "lab")[1])[-1].kind == "loaded"


def test_a_run_whose_line_names_no_log_is_said_to_stay(folder: Path, tmp_path: Path) -> None:
    sheet = folder / "runs.csv"
    sheet.write_text(
        "\n".join(each for each in sheet.read_text().splitlines() if "run-3," not in each) + "\n"
    )
    outcome = load_campaign(folder, tmp_path / "lab", replace_logs={"run-3": WHY})
    assert "was not replaced" in outcome.problems[0].problem


def test_a_file_that_cannot_be_read_replaces_nothing(folder: Path, tmp_path: Path) -> None:
    (folder / "logs" / "3.csv").write_text("nothing\n")
    outcome = load_campaign(folder, tmp_path / "lab", replace_logs={"run-3": WHY})
    assert len(outcome.problems) == 1
    assert stored(tmp_path / "lab")[0].history(stored(tmp_path / "lab")[1])[-1].kind == "loaded"


def test_the_command_asks_for_the_reason(folder: Path, tmp_path: Path) -> None:
    correct(folder)
    words = ("load", folder, "-w", tmp_path / "lab", "--replace-log", "run-3")
    _, said = strikeproof(*words, code=2)
    assert "reason is empty" in said
    strikeproof(*words, "--because", WHY)
    told, _ = strikeproof("history", "run-3", "-w", tmp_path / "lab")
    assert "log replaced" in told
    assert WHY in told


def test_a_corrected_file_comes_through_the_browser(folder: Path, tmp_path: Path) -> None:
    """The campaign's folder lies in the workspace: its file is replaced too, the one before saved beside."""
    lab, place = tmp_path / "lab", tmp_path / "lab" / "campaigns" / "drum-rollers"
    place.parent.mkdir()
    folder.rename(place)
    load_campaign(place, lab)
    old = (place / "logs" / "3.csv").read_bytes()
    (lab / "incoming").mkdir()
    (lab / "incoming" / "x").write_bytes(old.replace(b".", b"1."))
    said = load_log_again(lab, None, "run-3", WHY, came="x")
    assert "run-3" in said
    assert list((lab / "incoming").iterdir()) == []
    assert (place / "logs" / "3.csv").read_bytes() == old.replace(b".", b"1.")
    (beside,) = (place / "logs").glob("3.before-*.csv")
    assert beside.read_bytes() == old
    again = load_campaign(place, lab)
    assert (again.runs_unchanged, again.problems) == (12, ())


def test_the_file_in_the_folder_is_read_again_from_the_browser(folder: Path, tmp_path: Path) -> None:
    correct(folder)
    assert "run-3" in load_log_again(tmp_path / "lab", None, "run-3", WHY)
    assert stored(tmp_path / "lab")[0].history(stored(tmp_path / "lab")[1])[-1].because == WHY
    with pytest.raises(BadInput, match="reads as before"):
        load_log_again(tmp_path / "lab", None, "run-3", WHY)
    folder.rename(tmp_path / "elsewhere")
    with pytest.raises(StoreError, match="is gone"):
        load_log_again(tmp_path / "lab", None, "run-3", WHY)
