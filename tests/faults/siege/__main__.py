"""The long siege: `python -m tests.faults.siege`, or `make siege`; goes on where it was stopped.

After each piece of an attack its figures are in `build/siege/NAME.json`, and all of them in `figures.md`.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.util import get_temp_dir
from pathlib import Path
from typing import Any

from tests.faults.siege.attack import Attack, Tally
from tests.faults.siege.guard import guarded
from tests.faults.siege.table import ATTACKS

_SAY_S = 10.0


def main() -> int:
    words = argparse.ArgumentParser(prog="python -m tests.faults.siege", description=__doc__)
    words.add_argument("names", nargs="*", metavar="NAME", help="attacks; all when none is named")
    words.add_argument("--into", type=Path, default=Path("build/siege"), help="where the figures go")
    words.add_argument("--share", type=float, default=1.0, help="of the long form's size")
    words.add_argument("--seconds", type=float, default=float("inf"), help="begin no piece after this time")
    words.add_argument("--from", dest="first", type=int, default=0, help="first number of each attack [0]")
    asked = words.parse_args()
    unknown = set(asked.names) - {each.name for each in ATTACKS}
    if unknown:
        words.error(
            f"no such attack: {', '.join(sorted(unknown))}; there are {', '.join(a.name for a in ATTACKS)}"
        )
    get_temp_dir()  # made now, so that it is in no folder that goes before the processes that use it
    asked.into.mkdir(parents=True, exist_ok=True)
    until = time.monotonic() + asked.seconds
    failures = []
    with tempfile.TemporaryDirectory(prefix="siege-", ignore_cleanup_errors=True) as room:
        for attack in ATTACKS:
            if not asked.names or attack.name in asked.names:
                size = round(attack.long * asked.share)
                tally = _play(attack, asked.into, size, asked.first, until, Path(room))
                failures += [f"{attack.name}: {each}" for each in tally.failures()]
                _write_table(asked.into)
    print("\n".join(failures) or "everything was withstood", flush=True)
    return 1 if failures else 0


def _play(attack: Attack, into: Path, size: int, first: int, until: float, room: Path) -> Tally:
    """All pieces of one attack that were not played yet."""
    path = into / f"{attack.name}.json"
    known = json.loads(path.read_text()) if path.is_file() else {"played": 0, "took_s": 0.0, "first": first}
    tally = Tally.from_json(known["tally"]) if "tally" in known else Tally()
    while known["played"] < size and time.monotonic() < until:
        count = min(attack.chunk, size - known["played"])
        begun = time.monotonic()
        with _saying(f"{attack.name} {known['played']}/{size} {attack.unit}"), _own_folder(room) as folder:
            tally.add(attack.play(known["first"] + known["played"], count, folder))
        known["played"] += count
        known["took_s"] += time.monotonic() - begun
        known |= {"tally": tally.as_json(), "machine": _machine(), "commit": _commit()}
        waiting = path.with_suffix(".part")
        waiting.write_text(json.dumps(known, indent=1))
        waiting.replace(path)
    print(f"{attack.name}: {known['played']} {attack.unit} in {known['took_s']:.0f} s", flush=True)
    return tally


@contextmanager
def _own_folder(room: Path) -> Iterator[Path]:
    with guarded(room), tempfile.TemporaryDirectory(dir=room, ignore_cleanup_errors=True) as made:
        yield Path(made)


@contextmanager
def _saying(what: str) -> Iterator[None]:
    """A line at once and every few seconds, so that nobody wonders whether it goes on."""
    over = threading.Event()

    def say() -> None:
        begun = time.monotonic()
        while not over.wait(_SAY_S):
            print(f"{what}, {time.monotonic() - begun:.0f} s in this piece", flush=True)

    print(what, flush=True)
    speaker = threading.Thread(target=say, daemon=True)
    speaker.start()
    try:
        yield
    finally:
        over.set()
        speaker.join()


def _write_table(into: Path) -> None:
    lines = [
        "| attack | played | time | counted | worst | must not be |",
        "|---|---|---|---|---|---|",
    ]
    for attack in ATTACKS:
        path = into / f"{attack.name}.json"
        if path.is_file():
            lines.append(_row(attack, json.loads(path.read_text())))
    (into / "figures.md").write_text("\n".join(lines) + "\n")


def _row(attack: Attack, known: dict[str, Any]) -> str:
    tally = Tally.from_json(known["tally"])
    counted = ", ".join(f"{number} {name}" for name, number in sorted(tally.counts.items()) if name[0] != "!")
    worst = ", ".join(f"{name} {value:.3g}" for name, value in sorted(tally.worst.items()))
    failed = "; ".join(tally.failures()) or "0"
    size = f"{known['played']} of {attack.long} {attack.unit}"
    return f"| {attack.name} | {size} | {known['took_s']:.0f} s | {counted} | {worst} | {failed} |"


def _machine() -> str:
    system = f"{platform.system()} {platform.machine()}, Python {platform.python_version()}"
    return f"{os.cpu_count()} cores, {system}"


def _commit() -> str:
    found = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=False
    )
    return found.stdout.strip() or "unknown"


if __name__ == "__main__":
    sys.exit(main())
