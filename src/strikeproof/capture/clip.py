"""A person's film: what it is, its pictures in order of time, and its sound.

It may come from anywhere: whoever calls this does so behind the gate (`campaign.gate`).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from strikeproof.campaign.bounds import uncounted
from strikeproof.campaign.text import bad_file
from strikeproof.errors import BadFile, BadInput

__all__ = ["ClipFacts", "Footage", "load_av", "opened_clip", "read_clip", "read_sound_of_clip"]

MOST_S: Final = 2 * 3600.0
MOST_SIDE: Final = 8192
SOUND_HZ: Final = 32_000
_HDR: Final = (16, 18)
"""Transfer characteristics of high dynamic range: SMPTE ST 2084 and HLG (ITU-T H.273, table 3)."""
_FULL: Final = 2  # the library's number for samples that use all of 0 to 255
_MATRICES: Final = {1: "ITU709", 5: "ITU601", 6: "ITU601", 7: "SMPTE240M", 9: "ITU709"}
"""By ITU-T H.273, table 4; the matrix of BT.2020 is near that of BT.709."""
Planes = npt.NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class ClipFacts:
    """What a film is.

    Parameters
    ----------
    path
        Where it is.
    width, height
        As it is to be seen, upright and with square pixels.
    turned
        Quarter turns against the clock that bring its pictures upright, as the camera noted.
    length_s, rate
        Its length [s] and mean pictures a second.
    steady
        Whether its pictures come at one rate.
    has_sound, bright
        Whether there is a sound track, and whether it is of high dynamic range.
    """

    path: Path
    width: int
    height: int
    turned: int
    length_s: float
    rate: Fraction
    steady: bool
    has_sound: bool
    bright: bool


def load_av() -> Any:
    """PyAV, which does all coding.

    Raises
    ------
    BadInput
        If it is not installed.
    """
    try:
        with uncounted():
            import av
    except ImportError as cause:
        raise BadInput(
            "PyAV is not installed",
            where="film",
            allowed="the extra `film`",
            fix="pip install strikeproof[film]",
        ) from cause
    av.logging.set_level(av.logging.PANIC)
    return av


@contextmanager
def opened_clip(path: Path) -> Iterator[Any]:
    """The film as PyAV's container; files named in it and the network are never opened.

    Raises
    ------
    BadFile
        If it cannot be read.
    """
    av = load_av()
    try:
        with av.open(str(path.resolve()), options={"protocol_whitelist": "file"}) as container:
            if container.format.name in _LISTS:
                raise _unreadable(path, "it is a picture, or a list of other files")
            yield container
    except FileNotFoundError as cause:
        raise bad_file(path, "is not there", "check the name") from cause
    except (av.FFmpegError, OSError, EOFError) as cause:
        raise _unreadable(path, getattr(cause, "strerror", "") or "it ends too soon") from cause


_LISTS: Final = ("hls", "concat", "dash", "image2", "ffmetadata", "sdp", "rtsp")


def _unreadable(path: Path, said: str) -> BadFile:
    return bad_file(path, f"cannot be read as a film ({said})", "copy it again, or export it as MP4 (H.264)")


def read_clip(path: Path) -> ClipFacts:
    """What a film is, by its head and its first pictures.

    Raises
    ------
    BadFile
        If it cannot be read, has no pictures, or is larger or longer than what is taken.
    """
    with opened_clip(path) as container:
        if not container.streams.video:
            raise bad_file(path, "has no pictures", "give a film, not a sound file")
        stream = container.streams.video[0]
        if not 16 <= stream.width <= MOST_SIDE or not 16 <= stream.height <= MOST_SIDE:
            raise bad_file(
                path,
                f"has pictures of {stream.width} x {stream.height} pixels",
                f"export it with 16 to {MOST_SIDE}",
            )
        length = _length(container, stream)
        if not 0.0 < length <= MOST_S:
            raise bad_file(path, f"is {length:.0f} s long", "cut it to between 0 and 2 hours")
        first = next(container.decode(stream), None)
        if first is None:
            raise bad_file(path, "has no pictures", "copy it again from the camera")
        turned = round((getattr(first, "rotation", 0) or 0) / 90) % 4
        width, height = _seen(stream)
        if turned % 2:
            width, height = height, width
        rate = Fraction(stream.average_rate or stream.guessed_rate or 30)
        guessed = Fraction(stream.guessed_rate or rate)
        return ClipFacts(
            path=path,
            width=width,
            height=height,
            turned=turned,
            length_s=length,
            rate=rate,
            steady=abs(float(guessed / rate) - 1.0) < 0.002,
            has_sound=bool(container.streams.audio),
            bright=int(getattr(first, "color_trc", 0) or 0) in _HDR,
        )


def _length(container: Any, stream: Any) -> float:
    if stream.duration and stream.time_base:
        return float(stream.duration * stream.time_base)
    return float(container.duration or 0) / 1e6


def _seen(stream: Any) -> tuple[int, int]:
    """Width and height with square pixels, before it is turned."""
    shape = stream.sample_aspect_ratio
    wide = float(shape) if shape else 1.0
    return max(round(stream.width * wide), 1), int(stream.height)


class Footage:
    """Pictures of a film by their time, each as the planes of YUV 4:2:0 in BT.709, cut to one size.

    Parameters
    ----------
    container
        From `opened_clip`.
    facts
        Of the same film.
    size
        Width and height that are wanted, both even.
    whole
        Whether all of each picture is to be seen, with bands beside it, in place of filling the size.
    """

    def __init__(self, container: Any, facts: ClipFacts, size: tuple[int, int], *, whole: bool) -> None:
        self._container, self._facts, self._size, self._whole = container, facts, size, whole
        self._stream = container.streams.video[0]
        self._stream.thread_type = "AUTO"
        self._stream.codec_context.thread_count = 1
        start = self._stream.start_time
        self._zero = float(start * self._stream.time_base) if start else 0.0
        self._frames: Iterator[Any] | None = None
        self._now: Any = None
        self._next: Any = None
        self._made: tuple[Any, Planes] | None = None

    def at(self, time: float) -> Planes:
        """The picture shown at `time` of the film [s]: black before its begin, the last one after its end."""
        if time < -1e-6:
            return _black(self._size)
        if self._frames is None:
            self._seek(time)
        while self._next is not None and self._time(self._next) <= time + 1e-4:
            self._now, self._next = self._next, next(self._frames or iter(()), None)
        shown = self._now if self._now is not None else self._next
        if shown is None:
            return _black(self._size)
        if self._made is None or self._made[0] is not shown:
            self._made = shown, self._planes(shown)
        return self._made[1]

    def _time(self, frame: Any) -> float:
        return float(frame.time or 0.0) - self._zero

    def _seek(self, time: float) -> None:
        if time > 0.0:
            base = self._stream.time_base
            self._container.seek(round((max(time - 0.05, 0.0) + self._zero) / base), stream=self._stream)
        self._frames = self._decoded()
        self._next = next(self._frames, None)

    def _decoded(self) -> Iterator[Any]:
        """Pictures in order; what cannot be decoded is left out, as a player does."""
        av = load_av()
        for packet in self._container.demux(self._stream):
            try:
                frames = packet.decode()
            except av.FFmpegError:
                continue
            yield from (frame for frame in frames if frame.pts is not None)

    def _planes(self, frame: Any) -> Planes:
        turned, size = self._facts.turned, self._size
        shown = self._facts.width, self._facts.height
        fit = min if self._whole else max
        scale = fit(size[0] / shown[0], size[1] / shown[1])
        scaled = tuple(max(2 * round(each * scale / 2), 2) for each in shown)
        wide, high = scaled[::-1] if turned % 2 else scaled
        matrix = _matrix(frame)
        full = int(frame.color_range or 0) == _FULL or frame.format.name.startswith("yuvj")
        made = frame
        if (frame.width, frame.height, frame.format.name, matrix, full) != (
            wide,
            high,
            "yuv420p",
            "ITU709",
            False,
        ):
            made = frame.reformat(
                width=wide,
                height=high,
                format="yuv420p",
                src_colorspace=matrix,
                dst_colorspace="ITU709",
                src_color_range="JPEG" if full else "MPEG",
                dst_color_range="MPEG",
            )
        planes = [_turn(each, turned) for each in _split(made.to_ndarray(), wide, high)]
        return _placed(planes, size)


def _matrix(frame: Any) -> str:
    """How a picture's colours are written; by its size where it does not say (common practice, no source)."""
    said = _MATRICES.get(int(frame.colorspace or 0))
    return said or ("ITU709" if frame.height >= 720 else "ITU601")


def _split(planes: Planes, wide: int, high: int) -> list[Planes]:
    chroma = planes[high:].reshape(2, high // 2, wide // 2)
    return [planes[:high], chroma[0], chroma[1]]


def _turn(plane: Planes, quarters: int) -> Planes:
    return np.rot90(plane, quarters) if quarters else plane


def _black(size: tuple[int, int]) -> Planes:
    wide, high = size
    planes = np.full((high * 3 // 2, wide), 128, np.uint8)
    planes[:high] = 16
    return planes


def _placed(planes: list[Planes], size: tuple[int, int]) -> Planes:
    """Planes in the middle of a picture of one size, cut or with black bands."""
    wide, high = size
    if planes[0].shape == (high, wide):
        return np.concatenate([each.ravel() for each in planes]).reshape(high * 3 // 2, wide)
    out = _black(size)
    chroma = out[high:].reshape(2, high // 2, wide // 2)
    for target, plane, part in zip((out[:high], chroma[0], chroma[1]), planes, (2, 1, 1), strict=True):
        rows, columns = (_middle(target.shape[axis], plane.shape[axis], part) for axis in (0, 1))
        target[rows[0], columns[0]] = plane[rows[1], columns[1]]
    return out


def _middle(room: int, there: int, step: int) -> tuple[slice, slice]:
    """Where the middle of what is there lies in the room, and which part of it fits; whole steps."""
    if there >= room:
        first = (there - room) // 2 // step * step
        return slice(0, room), slice(first, first + room)
    first = (room - there) // 2 // step * step
    return slice(first, first + there), slice(0, there)


def read_sound_of_clip(
    container: Any, rate: int, layout: str
) -> Iterator[tuple[float, npt.NDArray[np.float32]]]:
    """The sound track in pieces: when each begins on the clock of the pictures [s], and (n, k) samples."""
    av = load_av()
    video, audio = container.streams.video, container.streams.audio[0]
    start = video[0].start_time if video else None
    zero = float(start * video[0].time_base) if start else 0.0
    resampler = av.AudioResampler(format="fltp", layout=layout, rate=rate)
    begun = None
    count = 0
    for packet in container.demux(audio):
        try:
            frames = packet.decode()
        except av.FFmpegError:
            continue
        for frame in frames:
            if begun is None:
                begun = float(frame.time or 0.0) - zero
            at = float(frame.time) - zero if frame.time is not None else None
            if at is not None and abs(at - begun - count / rate) > 0.05:  # a gap in the track
                begun, count = at, 0
            for piece in resampler.resample(frame):
                samples = piece.to_ndarray().T
                yield begun + count / rate, samples
                count += len(samples)
