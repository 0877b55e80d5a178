"""Whatever a file does to its reader, the asker goes on, and nothing is left running."""

from __future__ import annotations

import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from strikeproof.campaign import bounds
from strikeproof.campaign.gate import Job, read_bounded, read_each, read_small
from strikeproof.campaign.text import read_file
from strikeproof.errors import BadFile

FILE = Path("log.csv")
ROOM = "__import__('numpy').empty({}, 'u1').size"  # asked for and not touched, which takes no time
SPIN = "sum(0 for _ in iter(int, 1))"  # without end


@pytest.mark.parametrize(
    ("says", "function", "given"),
    [
        ("needs more than 1.0 GB of memory", bytearray, 2_000_000_000),
        ("takes longer than 1 s", eval, SPIN),
        ("takes longer than 1 s", time.sleep, 60),
        ("Segmentation fault", ctypes.string_at, 0),
        ("exit code 3", os._exit, 3),
        ("ZeroDivisionError: division by zero", eval, "1 / 0"),
        ("SystemExit: 0", sys.exit, 0),
    ],
)
def test_each_harm_becomes_one_problem_of_the_file(
    says: str, function: Callable[..., Any], given: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    if "longer" in says:
        monkeypatch.setattr(bounds, "SECONDS", 0.6)
        monkeypatch.setattr(bounds, "PATIENCE_S", 0.0)
    with pytest.raises(BadFile, match=says) as caught:
        read_bounded(FILE, function, given)
    assert [each.file for each in caught.value.problems] == ["log.csv"]
    monkeypatch.undo()
    assert read_bounded(FILE, len, "next") == 4


def test_memory_is_counted_beyond_the_file_and_anew_for_each(tmp_path: Path) -> None:
    """A sparse file of 1 TB: what it may take follows its size, which costs nothing here."""
    for _ in range(3):
        assert read_bounded(FILE, eval, ROOM.format(900_000_000)) == 900_000_000
    path = tmp_path / "long.csv"
    with path.open("wb") as stream:
        stream.truncate(10**9)
    assert bounds.bounds_for(10**9).memory == 8 * 10**9
    assert bounds.bounds_for(10**8).memory == 10**9
    assert read_bounded(path, eval, ROOM.format(1_100_000_000)) == 1_100_000_000


def test_what_waits_for_ever_with_a_small_file_ends_within_five_seconds() -> None:
    assert bounds.bounds_for(10_000).wall_s < 5.0
    begun = time.monotonic()
    with pytest.raises(BadFile, match="takes longer than 3 s"):
        read_bounded(FILE, time.sleep, 60)
    assert time.monotonic() - begun < 10.0  # and what a busy machine adds


WITHOUT_PROC = """
import mmap
from strikeproof.campaign import bounds
bounds.data_bytes = lambda: 0
with bounds.bounded(bounds.Bounds(100_000_000, 60.0, 60.0)):
    try:
        {take}
    except MemoryError:
        print("none left")
print("over")
"""


@pytest.mark.parametrize(
    ("take", "code", "said"),
    [
        ("bytearray(50_000_000)", 0, "over\n"),
        ("bytearray(400_000_000)", 0, "none left\nover\n"),
        (
            "room = mmap.mmap(-1, 400_000_000)\n        while True: room[::4096] = bytes(97657)",
            -signal.SIGKILL,
            "",
        ),
    ],
)
def test_memory_is_bounded_where_the_system_does_not_say_how_much_is_used(
    take: str, code: int, said: str
) -> None:
    """Shared memory stands for what another system's limit of data does not cover.

    A small process starts it: what a process had most of memory begins with what its parent has.
    """
    starts = "import subprocess as p, sys; sys.exit(p.run([sys.executable, *sys.argv[1:]]).returncode % 256)"
    done = subprocess.run(
        [sys.executable, "-c", starts, "-c", WITHOUT_PROC.format(take=take)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (code % 256, said)


LATE = """
import threading, time
from strikeproof.campaign import bounds
if {busy}:  # a machine that lets no thread of this process have its turn for 0.3 s each time
    class Slow(threading.Event):
        def wait(self, timeout=None):
            return super().wait(timeout and timeout + 0.3)
    threading.Event = Slow
with bounds.bounded(bounds.Bounds(100_000_000, 60.0, 1.0)):
    time.sleep(1.5)
print("over")
"""


@pytest.mark.parametrize(("busy", "code", "said"), [(False, -signal.SIGALRM, ""), (True, 0, "over\n")])
def test_time_without_a_turn_is_not_counted(busy: bool, code: int, said: str) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LATE.format(busy=busy)], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout) == (code, said)


def test_outcomes_come_in_order_with_those_that_failed_among_them() -> None:
    jobs = [Job(FILE, divmod, (12, number)) for number in (1, 2, 0, 4)]
    assert [str(each)[:9] for each in read_each(jobs, 2)] == ["(12, 0)", "(6, 0)", "log.csv: ", "(3, 0)"]


def test_what_a_person_can_act_on_comes_through_as_it_is(tmp_path: Path) -> None:
    with pytest.raises(BadFile, match="there is no such file"):
        read_bounded(tmp_path / "log.csv", read_file, tmp_path / "log.csv")


def test_little_text_is_read_in_place_and_all_else_is_not() -> None:
    ours = os.getpid()
    assert read_small(FILE, b"a,b\n1,2\n", os.getpid) == ours
    for content in (b"a" * 20_000, b"PK\x03\x04", b"\x1f\x8b\x08", b"\xd0\xcf\x11\xe0"):
        assert read_small(FILE, content, os.getpid) != ours
    with pytest.raises(BadFile, match="ZeroDivisionError"):
        read_small(FILE, b"", divmod, 1, 0)


def test_several_threads_may_ask_at_once() -> None:
    with ThreadPoolExecutor(4) as threads:
        found = threads.map(lambda number: read_bounded(FILE, divmod, number, 7), range(40))
        assert list(found) == [divmod(number, 7) for number in range(40)]


def test_a_reader_that_is_no_longer_wanted_is_ended() -> None:
    """Ctrl-C, or an error on the way, leaves the loop of outcomes in the middle."""
    with closing(read_each([Job(FILE, os.getpid, ()), Job(FILE, eval, (SPIN,))], 2)) as outcomes:
        reader = next(outcomes)
    assert read_bounded(FILE, len, "") == 0
    assert isinstance(reader, int)


def test_a_reader_that_went_home_is_replaced() -> None:
    reader = read_bounded(FILE, os.getpid)
    os.kill(reader, signal.SIGKILL)
    time.sleep(0.05)
    assert read_bounded(FILE, os.getpid) != reader


def is_alive(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False


ASKER = """
from pathlib import Path
from strikeproof.campaign.gate import Job, read_each
import os
jobs = [Job(Path("a"), os.getpid, ()), Job(Path("a"), {function}, ({given!r},))]
outcomes = read_each(jobs)
print(next(outcomes), flush=True)
next(outcomes)
"""


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="looks at processes through /proc")
@pytest.mark.parametrize(("function", "given"), [("eval", SPIN), ("__import__('time').sleep", 60)])
def test_a_reader_ends_with_its_asker_however_that_ends(function: str, given: object) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", ASKER.format(function=function, given=given)],
        stdout=subprocess.PIPE,
        text=True,
    ) as asker:
        assert asker.stdout is not None
        reader = int(asker.stdout.readline())
        assert is_alive(reader)
        asker.kill()
    until = time.monotonic() + 5
    while is_alive(reader) and time.monotonic() < until:
        time.sleep(0.01)
    assert not is_alive(reader)


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="looks at files through /proc")
def test_a_reader_has_no_file_of_the_asker_open(tmp_path: Path) -> None:
    with (tmp_path / "strikeproof.db").open("wb") as stream:
        os.set_inheritable(stream.fileno(), True)
        found = read_bounded(
            FILE, eval, "[__import__('os').readlink(f'/proc/self/fd/{n}') for n in (0, 1, 2)]"
        )
        held = read_bounded(FILE, os.listdir, "/proc/self/fd")
    assert found == ["/dev/null"] * 3
    assert len(held) == 5  # these, the socket, and the folder that is being listed
