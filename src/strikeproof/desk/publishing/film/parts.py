"""A film in parts of a few seconds: each is drawn and packed by a process of its own, behind the gate.

A part that is finished has its last name; one that was being written when the machine stopped has another.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from strikeproof.campaign.bounds import Bounds
from strikeproof.campaign.files import hash_file
from strikeproof.campaign.whole_file import FULL, write_whole
from strikeproof.capture.clip import ClipFacts, Footage, load_av, opened_clip, read_sound_of_clip
from strikeproof.errors import BadInput, StoreError
from strikeproof.publish.film.looks import LOOKS, needed_opacity
from strikeproof.publish.film.mixing import Layer, Mixer, from_yuv
from strikeproof.publish.film.overlay import Overlay
from strikeproof.publish.film.plates import Plate
from strikeproof.publish.film.shapes import Shape
from strikeproof.publish.film.story import FilmStory

__all__ = [
    "KINDS",
    "ClipUse",
    "FilmPlan",
    "Kind",
    "bounds_of",
    "is_finished",
    "is_sound_picture",
    "measure_opacity",
    "write_part",
    "write_sound",
]

PICTURES = "png"
SOUND_HZ: Final = 48_000
_SOUND_CHUNK: Final = 1024
_SAMPLES: Final = 24  # pictures at which the footage below the plates is measured beforehand
_STEP: Final = 4  # every so many-th pixel across and down is looked at
_OPACITY_STEP: Final = 0.05
_NEAR: Final = 0.45  # of a picture's time


@dataclass(frozen=True, slots=True)
class Kind:
    """How a film is packed; `codecs` in the order in which they are tried."""

    suffix: str
    container: str
    codecs: tuple[str, ...]
    pixels: str
    options: Mapping[str, str]
    says: str

    @property
    def transparent(self) -> bool:
        """Whether it is a layer for a cutting program."""
        return "yuva" in self.pixels or self.pixels == "rgba"


KINDS: Final[Mapping[str, Kind]] = {
    "film": Kind(
        ".mp4",
        "mp4",
        ("libx264", "libopenh264", "mpeg4"),
        "yuv420p",
        {"preset": "veryfast", "crf": "19", "bf": "0", "g": "250"},
        "film over footage, H.264",
    ),
    "prores": Kind(
        ".mov",
        "mov",
        ("prores_ks",),
        "yuva444p10le",
        {"profile": "4444", "vendor": "apl0"},
        "layer, ProRes 4444",
    ),
    "vp9": Kind(
        ".webm",
        "webm",
        ("libvpx-vp9",),
        "yuva420p",
        {
            "crf": "24",
            "b": "0",
            "deadline": "realtime",
            "cpu-used": "6",
            "auto-alt-ref": "0",
            "lag-in-frames": "0",
        },
        "layer, VP9 with alpha",
    ),
    PICTURES: Kind("", "", ("png",), "rgba", {}, "layer, a PNG picture for each moment, in a folder"),
}


@dataclass(frozen=True, slots=True)
class ClipUse:
    """A clip, when its run's first blow strikes in it [s], and seconds of the run for one of the clip."""

    facts: ClipFacts
    first_blow_s: float
    pace: float


@dataclass(frozen=True, slots=True, eq=False)
class FilmPlan:
    """All that a film is made from. `start_s` is its begin, from the first blow on the first clip's clock."""

    story: FilmStory
    shape: Shape
    look: str
    kind: str
    clips: tuple[ClipUse, ...]
    whole: bool
    start_s: float
    pictures: int
    opacity: float

    @property
    def pace(self) -> float:
        """Seconds of the runs for one second of the film."""
        return self.clips[0].pace if self.clips else 1.0

    @property
    def length_s(self) -> float:
        """[s]"""
        return float(self.pictures / self.shape.rate)

    def run_time(self, picture: int) -> float:
        """Time since the first blow, on the clock of the traces. [s]"""
        return (self.start_s + float(picture / self.shape.rate)) * self.pace


def bounds_of(plan: FilmPlan, pictures: int) -> Bounds:
    """What making so many pictures may take: 1 s of the processor for each megapixel, and a minute."""
    size = plan.shape.width * plan.shape.height
    inside = max((each.facts.width * each.facts.height for each in plan.clips), default=0)
    seconds = 60.0 + pictures * (size + inside) / 1e6
    return Bounds(1_500_000_000 + 120 * (size + inside), seconds, 8 * seconds)


def write_part(plan: FilmPlan, pictures: tuple[int, int], out: Path) -> None:
    """Draw and pack pictures from the first up to the last, exclusive; `out` is there when all of it is.

    Raises
    ------
    BadFile
        If a clip cannot be read.
    BadInput
        If there is no encoder.
    StoreError
        If the disk is full.
    """
    with _said_of(out):
        _write_part(plan, pictures, out)


@contextmanager
def _said_of(out: Path) -> Iterator[None]:
    """A full disk is no fault of the clip that is read meanwhile."""
    try:
        yield
    except OSError as cause:
        if cause.errno not in FULL:
            raise
        what = f"{out.parent}: cannot be written: {os.strerror(cause.errno)}"
        raise StoreError(what, "free some disk space; the same command goes on where it was") from cause


def _write_part(plan: FilmPlan, pictures: tuple[int, int], out: Path) -> None:
    if plan.kind == PICTURES:
        for number, picture in zip(range(*pictures), _layer_pictures(plan, pictures), strict=True):
            _save_picture(picture, out / f"{number + 1:06d}.png")
        return
    waiting = out.with_name(f"{out.name}.part")
    _encode(
        plan,
        _layer_pictures(plan, pictures) if KINDS[plan.kind].transparent else _film_pictures(plan, pictures),
        waiting,
    )
    _finish(waiting, out)


def is_finished(part: Path) -> bool:
    """Whether a part is there as it was finished, also after a power cut."""
    noted = _note(part)
    return part.is_file() and noted.is_file() and noted.read_text("ascii", "replace") == hash_file(part)


def is_sound_picture(path: Path) -> bool:
    """Whether a PNG picture is there, with all its checksums right."""
    from PIL import Image

    try:
        with Image.open(path, formats=("PNG",)) as picture:
            picture.verify()
    except (OSError, SyntaxError, ValueError):
        return False
    return True


def _finish(waiting: Path, out: Path) -> None:
    _sync(waiting)
    waiting.replace(out)
    write_whole(_note(out), hash_file(out))


def _note(part: Path) -> Path:
    return part.with_name(f"{part.name}.sha256")


def _sync(path: Path) -> None:
    with path.open("rb") as stream:
        os.fsync(stream.fileno())


def _save_picture(picture: npt.NDArray[np.uint8], path: Path) -> None:
    from PIL import Image

    waiting = path.with_name(f"{path.name}.part")
    Image.fromarray(picture).save(waiting, "PNG", compress_level=2)
    _sync(waiting)
    waiting.replace(path)


def _encode(plan: FilmPlan, pictures: Iterator[npt.NDArray[np.uint8]], place: Path) -> None:
    av, kind = load_av(), KINDS[plan.kind]
    codec = next((name for name in kind.codecs if name in av.codecs_available), None)
    if codec is None:
        raise BadInput(
            f"the installed PyAV has no encoder for {kind.says}", where="film", allowed=", ".join(kind.codecs)
        )
    rate = plan.shape.rate
    source = "rgba" if kind.transparent else "yuv420p"
    with av.open(str(place), "w", format=kind.container) as container:
        options = dict(kind.options) if codec == kind.codecs[0] else {}
        stream = container.add_stream(codec, rate=rate, options=options)
        stream.width, stream.height, stream.pix_fmt = plan.shape.width, plan.shape.height, kind.pixels
        context = stream.codec_context
        context.time_base, context.thread_count = 1 / rate, 1
        context.color_range, context.colorspace, context.color_primaries, context.color_trc = 1, 1, 1, 1
        for number, picture in enumerate(pictures):
            frame = av.VideoFrame.from_ndarray(picture, format=source)
            if kind.transparent:
                frame = frame.reformat(format=kind.pixels, dst_colorspace="ITU709", dst_color_range="MPEG")
            frame.pts, frame.time_base = number, 1 / rate
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def _layer_pictures(plan: FilmPlan, pictures: tuple[int, int]) -> Iterator[npt.NDArray[np.uint8]]:
    look = LOOKS[plan.look]
    overlay = Overlay(plan.story, plan.shape, look)
    layer = Layer(overlay.plates, look, (plan.shape.width, plan.shape.height), plan.opacity)
    for picture in range(*pictures):
        yield layer.advance(overlay.advance(plan.run_time(picture)))


def _film_pictures(plan: FilmPlan, pictures: tuple[int, int]) -> Iterator[npt.NDArray[np.uint8]]:
    look = LOOKS[plan.look]
    overlay = Overlay(plan.story, plan.shape, look)
    mixer = Mixer(overlay.plates, look, plan.opacity)
    with ExitStack() as stack:
        tiles = _tiles(plan, stack)
        for picture in range(*pictures):
            planes = _footage(plan, tiles, picture)
            changes = overlay.advance(plan.run_time(picture))
            needed = _needed(plan, overlay.plates, planes)
            mixer.mix(planes, plan.shape.width, changes, max(needed, plan.opacity))
            yield planes


@dataclass(frozen=True, slots=True)
class _Tile:
    left: int
    top: int
    width: int
    height: int
    footage: Footage
    use: ClipUse


def _tiles(plan: FilmPlan, stack: ExitStack) -> list[_Tile]:
    """Each clip's part of the picture: beside each other, below each other in 9:16, four in a square."""
    count, wide, high = len(plan.clips), plan.shape.width, plan.shape.height
    if count == 4:
        columns, rows = 2, 2
    else:
        columns, rows = (1, count) if plan.shape.format == "9:16" else (count, 1)
    across = [round(wide * each / columns / 4) * 4 for each in range(columns + 1)]
    down = [round(high * each / rows / 4) * 4 for each in range(rows + 1)]
    across[-1], down[-1] = wide, high
    tiles = []
    for place, use in enumerate(plan.clips):
        column, row = place % columns, place // columns
        size = across[column + 1] - across[column], down[row + 1] - down[row]
        footage = Footage(stack.enter_context(opened_clip(use.facts.path)), use.facts, size, whole=plan.whole)
        tiles.append(_Tile(across[column], down[row], *size, footage, use))
    return tiles


def _footage(plan: FilmPlan, tiles: list[_Tile], picture: int) -> npt.NDArray[np.uint8]:
    """The planes below everything at one moment; a copy that may be written on.

    Of the footage the nearest picture is taken, so that small errors of its times drop none.
    """
    time = plan.run_time(picture) + _NEAR * plan.pace / float(plan.shape.rate)
    wide, high = plan.shape.width, plan.shape.height
    shown = [each.footage.at(each.use.first_blow_s + time / each.use.pace) for each in tiles]
    if len(tiles) == 1:
        return shown[0].copy()
    planes = np.full((high * 3 // 2, wide), 128, np.uint8)
    chroma = planes[high:].reshape(2, high // 2, wide // 2)
    for tile, part in zip(tiles, shown, strict=True):
        planes[tile.top : tile.top + tile.height, tile.left : tile.left + tile.width] = part[: tile.height]
        halves = part[tile.height :].reshape(2, tile.height // 2, tile.width // 2)
        top, left = tile.top // 2, tile.left // 2
        chroma[:, top : top + tile.height // 2, left : left + tile.width // 2] = halves
    return planes


def _needed(plan: FilmPlan, plates: list[Plate], planes: npt.NDArray[np.uint8]) -> float:
    """How opaque the plates' ground must be over this picture, in steps so that it seldom changes."""
    look = LOOKS[plan.look]
    high, wide = plan.shape.height, plan.shape.width
    chroma = planes[high:].reshape(2, high // 2, wide // 2)
    worst = []
    for plate in plates:
        if not plate.shown:
            continue
        at, half = plate.place, _STEP // 2
        luma = planes[at.top : at.bottom : _STEP, at.left : at.right : _STEP]
        blue, red = (
            each[at.top // 2 : at.bottom // 2 : half, at.left // 2 : at.right // 2 : half] for each in chroma
        )
        rows, columns = min(luma.shape[0], blue.shape[0]), min(luma.shape[1], blue.shape[1])
        flat = np.stack([each[:rows, :columns].ravel() for each in (luma, blue, red)], axis=1)
        many = min(32, len(flat))
        order = flat[:, 0] if look.name == "light" else 255 - flat[:, 0]
        worst.append(flat[np.argpartition(order, many - 1)[:many]])
    if not worst:
        return 0.0
    needed = needed_opacity(look, from_yuv(np.concatenate(worst)))
    return min(float(np.ceil(needed / _OPACITY_STEP - 1e-9)) * _OPACITY_STEP, 1.0)


def measure_opacity(plan: FilmPlan) -> float:
    """How opaque the plates' ground must be over the footage, from pictures all along the film.

    Raises
    ------
    BadFile
        If a clip cannot be read.
    """
    overlay = Overlay(plan.story, plan.shape, LOOKS[plan.look])
    needed = 0.0
    moments = np.unique(np.linspace(0, plan.pictures - 1, _SAMPLES).round().astype(int))
    for picture in moments.tolist():
        with ExitStack() as stack:
            planes = _footage(plan, _tiles(plan, stack), picture)
        overlay.advance(plan.run_time(picture))
        needed = max(needed, _needed(plan, overlay.plates, planes))
    return needed


def write_sound(plan: FilmPlan, out: Path) -> None:
    """The sound of the first clip, as long as the film, as AAC; `out` is there when all of it is.

    Raises
    ------
    BadFile
        If the clip cannot be read.
    """
    with _said_of(out):
        _write_sound(plan, out)


def _write_sound(plan: FilmPlan, out: Path) -> None:
    av, use = load_av(), plan.clips[0]
    waiting = out.with_name(f"{out.name}.part")
    with av.open(str(waiting), "w", format="mp4") as container:
        stream = container.add_stream("aac", rate=SOUND_HZ, layout="stereo", options={"b": "160000"})
        for number, chunk in enumerate(_chunks(use, use.first_blow_s + plan.start_s, plan.length_s)):
            frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(chunk.T), format="fltp", layout="stereo")
            frame.sample_rate, frame.pts, frame.time_base = (
                SOUND_HZ,
                number * _SOUND_CHUNK,
                Fraction(1, SOUND_HZ),
            )
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    _finish(waiting, out)


def _chunks(use: ClipUse, start_s: float, length_s: float) -> Iterator[npt.NDArray[np.float32]]:
    """The clip's sound from a moment on, silence where there is none, in chunks of one size."""
    total = round(length_s * SOUND_HZ)
    done = 0
    room = np.zeros((0, 2), np.float32)
    with opened_clip(use.facts.path) as container:
        for at, samples in read_sound_of_clip(container, SOUND_HZ, "stereo"):
            first = round((at - start_s) * SOUND_HZ)
            behind = done + len(room)
            if first < behind:
                part = samples[behind - first :]
            else:
                gap = np.zeros((max(min(first, total) - behind, 0), 2), np.float32)
                part = np.concatenate([gap, samples])
            room = np.concatenate([room, part])[: max(total - done, 0)]
            while len(room) >= _SOUND_CHUNK:
                yield room[:_SOUND_CHUNK]
                room, done = room[_SOUND_CHUNK:], done + _SOUND_CHUNK
            if done + len(room) >= total:
                break
    rest: Any = np.zeros((max(total - done, 0), 2), np.float32)
    rest[: len(room)] = room[: len(rest)]
    for place in range(0, len(rest) - _SOUND_CHUNK + 1, _SOUND_CHUNK):
        yield rest[place : place + _SOUND_CHUNK]
