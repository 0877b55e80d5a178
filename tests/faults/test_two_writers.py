"""Two processes write into one workspace at once: all goes in, and nothing twice."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.faults.bench import RUNS, acknowledged, content, processes, run_command, write_campaign

from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace.check import check_workspace


def load_together(*folders: Path, into: Path) -> list[tuple[int | None, str]]:
    """Load each folder in a process of its own, all started at one instant; exit codes and what they said."""
    context = processes()
    children = []
    for number, folder in enumerate(folders):
        ours, theirs = context.Pipe()
        words, said = ["load", str(folder), "-w", str(into)], into.parent / f"said-{number}"
        child = context.Process(target=run_command, args=(words, said, theirs))
        child.start()
        children.append((child, ours, said))
    for _child, ours, _said in children:
        assert ours.poll(60)
    for child, _ours, _said in children:
        child.join(120)
    return [(child.exitcode, said.read_text()) for child, _ours, said in children]


def alone(folder: Path, workspace: Path) -> dict[str, Any]:
    assert load_campaign(folder, workspace).exit_code == 0
    return content(workspace)


def test_the_same_folder_twice_at_once(place: Callable[[Path], Path], tmp_path: Path) -> None:
    folder = write_campaign(tmp_path / "folder")
    wanted = alone(folder, tmp_path / "alone")
    for attempt in range(2):
        (tmp_path / str(attempt)).mkdir()
        workspace = place(tmp_path / str(attempt) / "lab")
        for code, said in load_together(folder, folder, into=workspace):
            assert code == 0, said
            assert len(acknowledged(said)) == RUNS
        assert content(workspace) == wanted
        assert check_workspace(workspace).problems == ()


def test_two_campaigns_at_once(place: Callable[[Path], Path], tmp_path: Path) -> None:
    folders = [write_campaign(tmp_path / name, name) for name in ("spring", "autumn")]
    wanted = [alone(folder, tmp_path / f"{folder.name}-alone") for folder in folders]
    workspace = place(tmp_path / "lab")
    for code, said in load_together(*folders, into=workspace):
        assert code == 0, said
    found = content(workspace)
    assert found["campaigns"] == wanted[0]["campaigns"] | wanted[1]["campaigns"]
    assert found["files"] == wanted[0]["files"] | wanted[1]["files"]
    assert check_workspace(workspace).problems == ()


def test_the_command_twice_at_once(place: Callable[[Path], Path], tmp_path: Path) -> None:
    """With all its workers; each run is loaded by one of the two and unchanged to the other."""
    folder, workspace = write_campaign(tmp_path / "folder"), place(tmp_path / "lab")
    command = [
        sys.executable,
        "-m",
        "strikeproof",
        "load",
        str(folder),
        "-w",
        str(workspace),
        "--json",
    ]
    both = [
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in "ab"
    ]
    answers = []
    for child in both:
        out, said = child.communicate(timeout=120)
        assert child.returncode == 0, said
        answers.append(json.loads(out))
    assert sum(each["runs_loaded"] for each in answers) == RUNS
    assert sum(each["runs_unchanged"] for each in answers) == RUNS
    assert content(workspace) == alone(folder, tmp_path / "alone")
