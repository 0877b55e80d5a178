"""Processes that work for another do not outlive it, also when it is killed in the middle of their work."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from tests.unit.desk.logged import write_logged

import strikeproof.desk.runs.facts as facts_of_runs
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.runs.run_list import make_run_list

BUSY_WORK = """
import asyncio
from strikeproof.web.work import Work

WORK = "import os, time; print(os.getpid(), flush=True); time.sleep(60)"

async def main():
    await Work(1).start(exec, WORK).wait()

if __name__ == "__main__":
    asyncio.run(main())
"""


def is_gone(process: int, within_s: float = 10.0) -> bool:
    end = time.monotonic() + within_s
    while time.monotonic() < end:
        try:
            state = Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()[0]
        except OSError:
            return True
        if state == "Z":  # ended, and only not yet asked about by whoever inherits it
            return True
        time.sleep(0.05)
    os.kill(process, signal.SIGKILL)
    return False


def test_work_under_way_ends_with_a_server_that_is_killed() -> None:
    with subprocess.Popen([sys.executable, "-c", BUSY_WORK], stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        worker = int(server.stdout.readline())
        server.kill()
    assert is_gone(worker)


def test_many_traces_are_examined_by_processes_which_find_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    campaign = write_logged(tmp_path / "campaign")
    found = []
    for few in (facts_of_runs._FEW, 8):
        monkeypatch.setattr(facts_of_runs, "_FEW", few)
        lab = tmp_path / f"lab-{few}"
        load_campaign(campaign, lab)
        found.append(make_run_list(lab, None))
    assert repr(found[0]) == repr(found[1])
