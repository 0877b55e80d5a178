"""Made footage for tests and measurements: a moving pattern, a lamp that flashes at each blow, and sound."""

from __future__ import annotations

import struct
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from tests.film_study import make_music

from strikeproof.quantity import FloatArray
from strikeproof.trace import SoundPlan, simulate_sound

SOUND_HZ = 32_000


def make_clip(
    path: Path,
    blows: FloatArray | None = None,
    *,
    size: tuple[int, int] = (160, 90),
    rate: int = 10,
    length_s: float = 4.0,
    lead_s: float = 1.0,
    ground: int | None = None,
    jitter: bool = False,
    music: bool = False,
) -> float:
    """Write a clip whose first blow strikes at about `lead_s`; its exact moment. [s]

    `ground` is one grey for all of the footage; `jitter` takes pictures at uneven times.
    """
    rng = np.random.default_rng(7)
    first, samples = lead_s, None
    if blows is not None:
        plan = SoundPlan(
            sample_rate_hz=float(SOUND_HZ),
            lead_s=lead_s,
            tail_s=max(length_s - lead_s - blows[-1] + blows[0], 0.1),
        )
        made = simulate_sound(rng, blows, plan=plan)
        first, samples = float(made.blow_times[0]), made.samples
        if music:
            samples = samples + 0.05 * make_music(rng, samples.size, SOUND_HZ)
    with av.open(str(path), "w") as out:
        picture = out.add_stream("libx264", rate=rate, options={"preset": "ultrafast", "g": str(rate)})
        picture.width, picture.height, picture.pix_fmt = *size, "yuv420p"
        picture.codec_context.time_base = Fraction(1, 1000)
        heard = out.add_stream("aac", rate=SOUND_HZ, layout="mono") if samples is not None else None
        for number in range(round(length_s * rate)):
            at = number / rate + (0.3 / rate * (number % 3) if jitter else 0.0)
            struck = blows is not None and bool(np.any(np.abs(at - first - (blows - blows[0])) < 0.5 / rate))
            frame = av.VideoFrame.from_ndarray(_picture(size, number, ground, lit=struck), format="rgb24")
            frame.pts, frame.time_base = round(1000 * at), Fraction(1, 1000)
            out.mux(picture.encode(frame))
        out.mux(picture.encode(None))
        if heard is not None and samples is not None:
            for place in range(0, samples.size - 1023, 1024):
                chunk = samples[None, place : place + 1024].astype(np.float32)
                sound = av.AudioFrame.from_ndarray(chunk, format="fltp", layout="mono")
                sound.sample_rate, sound.pts, sound.time_base = SOUND_HZ, place, Fraction(1, SOUND_HZ)
                out.mux(heard.encode(sound))
            out.mux(heard.encode(None))
    return first


def _picture(size: tuple[int, int], number: int, ground: int | None, *, lit: bool) -> np.ndarray:
    wide, high = size
    if ground is not None:
        return np.full((high, wide, 3), ground, np.uint8)
    x, y = np.arange(wide)[None, :], np.arange(high)[:, None]
    picture = np.empty((high, wide, 3), np.uint8)
    picture[..., 0] = (x * 255 // wide + 3 * number) % 256
    picture[..., 1] = (y * 255 // high) % 256
    picture[..., 2] = 90
    picture[: high // 6, : wide // 8] = 255 if lit else 20  # the lamp, upper left
    return picture


def turn_clip(path: Path) -> None:
    """Write into a clip's head that it is to be shown a quarter turned with the clock, as upright phones do.

    ISO/IEC 14496-12, 8.3.2 (track header box) and 6.2.2 (matrix), from memory.
    """
    content = bytearray(path.read_bytes())
    at = content.find(b"tkhd")
    wide, high = struct.unpack(">II", content[at + 4 + 76 : at + 4 + 84])
    del wide
    matrix = struct.pack(">9i", 0, 1 << 16, 0, -(1 << 16), 0, 0, high, 0, 1 << 30)
    content[at + 4 + 40 : at + 4 + 76] = matrix
    path.write_bytes(content)
