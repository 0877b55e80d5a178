"""A simulated rig in a process of its own: it speaks the rig protocols over a pseudo-terminal.

It hammers when the recorder announces a run (`# run ...`), when asked on its standard input, or every so
often by itself, and it can be asked to misbehave. docs/rig-protocol.md lists the words it knows.
"""

from __future__ import annotations

import contextlib
import os
import select
import shlex
import sys
import time
import tty
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, cast, get_args

import numpy as np

from strikeproof.capture.rig_frames import PAYLOADS, Payload, pack_frame
from strikeproof.capture.rig_talk import read_announcement
from strikeproof.desk.simulating.rig_links import leads_to, point
from strikeproof.desk.simulating.rig_signal import SPOILS, BenchSignal, SimulatedBench, Spoil
from strikeproof.errors import BadInput, NotFound, StrikeproofError
from strikeproof.quantity import FloatArray

__all__ = ["RigSettings", "Speech", "read_settings", "run_simulated_rig"]

Speech = Literal["frames", "numbers", "stamped"]
_STEP_S = 0.01
_MOST_WAITING = 1 << 20  # bytes; what a rig holds for a computer that does not listen
_PER_FRAME_S = 0.01


@dataclass(frozen=True, slots=True)
class RigSettings:
    """What a simulated rig is.

    Parameters
    ----------
    campaign
        Its campaign.toml names the articles, tools and bolt that are hammered.
    pace
        Seconds of the rig in one second; 0 is as fast as they are read.
    link
        A name for the port that stays the same when it is unplugged and plugged in again.
    every_s
        Start a run by itself so often; 0 never. [s]
    wait_s
        From an announced run to its first blow. [s]
    """

    campaign: Path
    speech: Speech = "frames"
    payload: Payload = "int24"
    rate_hz: float = 10_000.0
    pace: float = 1.0
    seed: int = 1
    link: Path | None = None
    every_s: float = 0.0
    wait_s: float = 1.5


def read_settings(campaign: Path, speech: str, payload: str, **others: Any) -> RigSettings:
    """Settings from words as a person types them.

    Raises
    ------
    NotFound
        If there is no such speech or payload.
    """
    if speech not in get_args(Speech):
        raise NotFound("speech", speech, get_args(Speech))
    if payload not in PAYLOADS:
        raise NotFound("payload", payload, PAYLOADS)
    return RigSettings(campaign, cast(Speech, speech), payload, **others)


class _Pty:
    """The rig's end of the line, and what waits to go out on it."""

    def __init__(self, link: Path | None) -> None:
        self._link = link
        self._ends: tuple[int, int] | None = None
        self.waiting = bytearray()
        self._heard = b""
        self._moved_at = time.monotonic()
        self.plug_in()

    def plug_in(self) -> None:
        ours, theirs = os.openpty()
        tty.setraw(theirs)
        os.set_blocking(ours, False)
        self._ends = (ours, theirs)
        self.name = os.ttyname(theirs)
        if self._link is not None:
            point(self._link, self.name)

    def unplug(self) -> None:
        if self._ends is not None:
            for end in self._ends:
                os.close(end)
        self._ends = None
        self.waiting.clear()
        if self._link is not None and leads_to(self._link, self.name):
            self._link.unlink(missing_ok=True)

    def send(self, data: bytes, *, patient: bool) -> None:
        """Queue bytes and write what goes; without patience a line that nobody reads loses the queue."""
        if self._ends is None:
            return
        self.waiting += data
        with contextlib.suppress(BlockingIOError):
            while self.waiting:
                sent = os.write(self._ends[0], self.waiting[:65536])
                del self.waiting[:sent]
                self._moved_at = time.monotonic()
        stalled = time.monotonic() - self._moved_at > 1.0
        if not patient and (stalled or len(self.waiting) > _MOST_WAITING):
            self.waiting.clear()

    def hear(self, sources: list[int], wait_s: float) -> list[tuple[str, bool]]:
        """Lines from the recorder (False) and from standard input (True), after at most so long."""
        watched = [*sources, *([self._ends[0]] if self._ends else [])]
        ready, _, _ = select.select(watched, [], [], wait_s)
        lines = []
        for end in ready:
            data = b""
            with contextlib.suppress(OSError):
                data = os.read(end, 4096)
            if end in sources:
                if not data:
                    sources.remove(end)
                lines += [(line, True) for line in data.decode("utf-8", "replace").splitlines()]
            else:
                *whole, self._heard = (self._heard + data).split(b"\n")
                lines += [(line.decode("utf-8", "replace"), False) for line in whole]
        return lines


class _Rig:
    def __init__(self, settings: RigSettings) -> None:
        self.settings = settings
        self.rng = np.random.default_rng(settings.seed)
        bench = SimulatedBench(settings.campaign)
        self.signal = BenchSignal(bench, self.rng, settings.rate_hz)
        self.articles = [article.name for article in bench.campaign.articles]
        self.tool = bench.campaign.tools[0].name
        # A rig samples steadily: what a first run loads and compiles comes before its first reading.
        BenchSignal(bench, np.random.default_rng(0), settings.rate_hz).start(
            self.tool, bench.campaign.reference
        )
        self.line = _Pty(settings.link)
        self.clock = self.sequence = 0
        self.stamp_shift = 0.0
        self.spoil: Spoil | None = None
        self.away_until = self.garbage_until = -1.0
        self.next_run_s = settings.every_s or np.inf
        self.runs = 0
        self.said: set[str] = set()
        self.is_over = False
        self._scale = float(
            np.float32(2.5 * self.signal.full / 2 ** (15 if settings.payload == "int16" else 23))
        )
        if settings.payload == "float32":
            self._scale = 1.0

    @property
    def elapsed_s(self) -> float:
        """Of the rig's own time. [s]"""
        return self.clock / self.settings.rate_hz

    def obey(self, line: str, *, by_hand: bool) -> None:
        """One line: an announced run from the recorder, or a word by hand."""
        if not by_hand:
            told = read_announcement(line)
            if told is not None:
                if self.settings.speech != "frames":  # each frame says so itself
                    self.line.send(b"# simulated\n", patient=self.settings.pace == 0)
                self.hammer(told.get("tool", self.tool), told.get("article", self.articles[0]))
            return
        words = _words(line)
        if not words:
            return
        amount = (
            float(words[1]) if len(words) > 1 and words[1].replace(".", "", 1).lstrip("-").isdigit() else 1.0
        )
        match words[0]:
            case "run":
                self.hammer(*(words[1:3] if len(words) > 2 else (self.tool, self.articles[0])))
            case "spoil" if len(words) > 1 and words[1] in (*SPOILS, "none"):
                self.spoil = None if words[1] == "none" else cast(Spoil, words[1])
            case "unplug":
                self.line.unplug()
                self.away_until = time.monotonic() + amount
            case "garbage":
                self.garbage_until = time.monotonic() + amount
            case "clock-jump":
                self.stamp_shift += amount
            case "lose":
                self._lose(int(amount))
            case "quit":
                self.is_over = True
            case _:
                print(f"does not know {line!r}", file=sys.stderr, flush=True)

    def hammer(self, tool: str, article: str) -> None:
        """Start a run; one that cannot be simulated is reported and not hammered."""
        try:
            self._start(tool, article)
        except StrikeproofError as wrong:
            print(wrong, file=sys.stderr, flush=True)
            return
        self.runs += 1
        self.spoil = None

    def _start(self, tool: str, article: str) -> None:
        try:
            self.signal.start(tool, article, wait_s=self.settings.wait_s, spoil=self.spoil)
        except NotFound:  # planned or renamed since this rig was switched on
            self.signal.bench = SimulatedBench(self.settings.campaign)
            self.signal.start(tool, article, wait_s=self.settings.wait_s, spoil=self.spoil)
        remark = self.signal.bench.remarks.get(tool, "")
        if remark and remark not in self.said:
            self.said.add(remark)
            print(remark, file=sys.stderr, flush=True)

    def _lose(self, frames: int) -> None:
        """Samples that are taken but never sent."""
        count = frames * self._frame_samples
        self.signal.read(count)
        self.clock += count
        self.sequence += frames

    @property
    def _frame_samples(self) -> int:
        return int(np.clip(round(self.settings.rate_hz * _PER_FRAME_S), 1, 500))

    def go_on(self, count: int) -> None:
        """Take and send `count` samples."""
        if self.elapsed_s >= self.next_run_s:
            self.next_run_s += self.settings.every_s
            self.hammer(self.tool, self.articles[self.runs % len(self.articles)])
        readings = self.signal.read(count)
        data = self._frames(readings) if self.settings.speech == "frames" else self._lines(readings)
        self.clock += count
        if time.monotonic() < self.garbage_until:
            data = self.rng.bytes(len(data))
        self.line.send(data, patient=self.settings.pace == 0)
        if self.away_until >= 0 and time.monotonic() >= self.away_until:
            self.away_until = -1.0
            self.line.plug_in()

    def _frames(self, readings: FloatArray) -> bytes:
        frames = []
        shift = round(self.stamp_shift * self.settings.rate_hz)
        for begin in range(0, len(readings), self._frame_samples):
            part = readings[begin : begin + self._frame_samples]
            frames.append(
                pack_frame(
                    self.sequence,
                    max(self.clock + begin + shift, 0),
                    part[:, None],
                    rate_hz=self.settings.rate_hz,
                    payload=self.settings.payload,
                    scale=self._scale,
                    simulated=True,
                )
            )
            self.sequence += 1
        return b"".join(frames)

    def _lines(self, readings: FloatArray) -> bytes:
        if self.settings.speech == "numbers":
            return (("%.3f\n" * len(readings)) % tuple(readings.tolist())).encode()
        stamps = 1000.0 * ((self.clock + np.arange(len(readings))) / self.settings.rate_hz + self.stamp_shift)
        both = np.column_stack([stamps, readings]).ravel().tolist()
        return (("%.3f;%.3f\n" * len(readings)) % tuple(both)).encode()


def _words(line: str) -> list[str]:
    """The words of a line as typed by hand; a name with blanks is in quotes."""
    try:
        return shlex.split(line)
    except ValueError:  # an apostrophe in a name
        return line.split()


def run_simulated_rig(settings: RigSettings) -> None:
    """Be a rig until asked to quit, or until standard input ends.

    The first line on standard output is `port NAME`.

    Raises
    ------
    BadInput
        If it cannot sample as fast or as slowly as that.
    """
    if not 1.0 <= settings.rate_hz <= 100_000.0:
        raise BadInput(f"{settings.rate_hz:g}", where="--rate", allowed="1 to 100000 samples a second")
    rig = _Rig(settings)
    print(f"port {settings.link or rig.line.name}", flush=True)
    sources = [sys.stdin.fileno()]
    begun, sent = time.monotonic(), 0
    while not rig.is_over and sources:
        wait = 0.0 if settings.pace == 0 and not rig.line.waiting else _STEP_S
        for line, by_hand in rig.line.hear(sources, wait):
            rig.obey(line, by_hand=by_hand)
        if settings.pace == 0:
            due = 0 if len(rig.line.waiting) > 1 << 16 else max(1, round(0.05 * settings.rate_hz))
        else:
            due = int((time.monotonic() - begun) * settings.pace * settings.rate_hz) - sent
        count = min(due, int(settings.rate_hz) + 1)  # the rest of a hold-up next time: a rig skips nothing
        sent += count
        if count > 0:
            rig.go_on(count)
        elif rig.line.waiting:
            rig.line.send(b"", patient=True)
    rig.line.unplug()
