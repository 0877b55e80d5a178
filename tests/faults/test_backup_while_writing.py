"""A backup made while another process writes runs is whole, and holds all that was acknowledged before it."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from pathlib import Path

from tests.faults.bench import write_campaign

from strikeproof.campaign.store import open_store
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace.backup import back_up, restore
from strikeproof.desk.workspace.check import check_workspace

# Says the name of each run once it is kept for good, until its input ends.
WRITER = """
    import sys, threading
    from dataclasses import replace
    from pathlib import Path
    import numpy as np
    from strikeproof.campaign.files import keep_bytes, trace_bytes
    from strikeproof.campaign.store import open_store

    store = open_store(Path(sys.argv[1]))
    key, _ = store.campaign(None)
    known = store.find_run(key, "run-1")
    done = threading.Event()
    threading.Thread(target=lambda: (sys.stdin.read(), done.set()), daemon=True).start()
    number = 100
    while not done.is_set():
        number += 1
        time = np.arange(200) / 100.0
        original = store.keep_original(str(number).encode())
        digest = store.keep_trace(time, {"load": np.full(200, float(number))})
        trace = replace(known.trace, sha256=digest, original_sha256=original, original_name="x.csv")
        sheet = Path(sys.argv[1]) / "campaigns" / "own" / "runs.csv"
        sheet.parent.mkdir(parents=True, exist_ok=True)
        store.keep_run(key, number, replace(known.row, run=str(number)), trace)
        sheet.write_text(str(number))
        print(number, flush=True)
"""


def test_a_backup_while_runs_are_written(tmp_path: Path) -> None:
    lab, place = tmp_path / "lab", tmp_path / "copy"
    load_campaign(write_campaign(tmp_path / "folder", rows=100), lab)
    command = [sys.executable, "-c", textwrap.dedent(WRITER), str(lab)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as writer:
        assert writer.stdout is not None and writer.stdin is not None
        try:
            for _ in range(3):
                said = [writer.stdout.readline().strip() for _ in range(4)]
                found = back_up(lab, place)
                assert found.problems == ()
                store = open_store(place)
                names = {run.row.run for run in store.runs(store.campaign(None)[0])}
                store.engine.dispose()
                assert names >= set(said) and len(names) == found.runs
        finally:
            writer.stdin.close()
            writer.stdout.read()
    assert restore(place, tmp_path / "new").problems == ()
    assert check_workspace(tmp_path / "new").problems == ()
    assert check_workspace(tmp_path / "new").leftovers == ()
