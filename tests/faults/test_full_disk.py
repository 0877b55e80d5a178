"""A disk that is full or read-only ends in one readable line, and what was kept stays whole."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from tests.faults.bench import RUNS, acknowledged, content, processes, run_command, write_campaign

from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace.check import check_workspace


def must_be_one_line(said: str) -> None:
    """A problem and its fix, and nothing that looks like a crash."""
    told = [line for line in said.splitlines() if not line.startswith("loading ")]
    assert len(told) == 1, said
    assert told[0].startswith("strikeproof: ")
    assert ";" in told[0]


def must_hold(workspace: Path, said: str) -> None:
    if (workspace / "strikeproof.db").is_file():
        found = check_workspace(workspace)
        assert found.problems == ()
        assert found.runs >= len(acknowledged(said))


# A fresh database with its log takes about 150 kB and grows with each run, a trace or an original a few kB.
@pytest.mark.parametrize("largest", [3_000, 60_000, 150_000, 210_000])
def test_files_that_may_not_grow(tmp_path: Path, largest: int) -> None:
    """A file that reaches the limit fails to grow, as on a full disk, at another moment for each limit."""
    folder, workspace, said = write_campaign(tmp_path / "folder"), tmp_path / "lab", tmp_path / "said"
    words = ["load", str(folder), "-w", str(workspace)]
    child = processes().Process(target=run_command, args=(words, said, None, largest))
    child.start()
    child.join(120)
    assert child.exitcode == 2, said.read_text()
    must_be_one_line(said.read_text())
    must_hold(workspace, said.read_text())
    assert load_campaign(folder, workspace).exit_code == 0
    load_campaign(folder, tmp_path / "alone")
    assert content(workspace) == content(tmp_path / "alone")


SMALL_DISK = """
set -e
mount -t tmpfs -o size={size}k none {disk}
set +e
{python} -m strikeproof load {folder} -w {disk}/lab 2>&1
echo "exit $?"
{remount}
{python} -m strikeproof load {folder} -w {disk}/lab 2>&1
echo "again $?"
cp -r {disk}/lab {copy}
"""


def on_a_small_disk(folder: Path, tmp_path: Path, size: int, remount: str) -> str:
    """Load onto a disk of `size` kB, change the disk, load again; the workspace is copied to `copy`."""
    (tmp_path / "disk").mkdir()
    script = SMALL_DISK.format(
        size=size,
        disk=tmp_path / "disk",
        python=sys.executable,
        folder=folder,
        copy=tmp_path / "copy",
        remount=remount.format(disk=tmp_path / "disk"),
    )
    done = subprocess.run(
        ["unshare", "--map-root-user", "--mount", "bash", "-c", script],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONWARNINGS": "error"},
    )
    return done.stdout


def can_mount() -> bool:
    if shutil.which("unshare") is None:
        return False
    probe = "mount -t tmpfs -o size=64k none /mnt"
    words = ["unshare", "--map-root-user", "--mount", "bash", "-c", probe]
    return subprocess.run(words, capture_output=True, check=False).returncode == 0


needs_mounts = pytest.mark.skipif(not can_mount(), reason="mounting in a namespace is not allowed here")


@needs_mounts
def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    folder = write_campaign(tmp_path / "folder")
    said = on_a_small_disk(folder, tmp_path, 230, "mount -o remount,size=8m {disk}")
    first, _mark, second = said.partition("exit ")
    assert second.startswith("2"), said
    must_be_one_line(first)
    assert "again 0" in second, said
    assert check_workspace(tmp_path / "copy").runs == RUNS
    load_campaign(folder, tmp_path / "alone")
    assert content(tmp_path / "copy") == content(tmp_path / "alone")


@needs_mounts
def test_a_disk_that_is_read_only(tmp_path: Path) -> None:
    folder = write_campaign(tmp_path / "folder")
    # Loading the same again needs no writing, and can be done.
    changed = f"sed -i 's/jaw slipped/jaw cracked/' '{folder}/runs.csv'"
    said = on_a_small_disk(folder, tmp_path, 8192, f"mount -o remount,ro {{disk}}; {changed}")
    first, _mark, second = said.partition("exit ")
    assert second.startswith("0"), first
    assert "again 2" in second, said
    told = [line for line in second.splitlines() if line.startswith("strikeproof:")]
    assert len(told) == 1, said
    assert "permissions" in told[0]
    assert check_workspace(tmp_path / "copy").problems == ()
