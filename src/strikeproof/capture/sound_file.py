"""Sound files: WAV of any kind, and what else the library knows; as a log, or to be listened to."""

from __future__ import annotations

import io
import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from strikeproof.campaign.text import bad_file, read_file, unpack
from strikeproof.capture.cells import CellKind
from strikeproof.capture.columns import Columns, find_numbers, refuse_claim
from strikeproof.capture.log import Finding
from strikeproof.capture.tracks import import_library, told_as_damaged
from strikeproof.quantity import FloatArray

__all__ = ["Sound", "is_sound", "read_sound", "read_sound_log"]

_KIND = "a sound file"
_NUMBER: CellKind = "number"
_W64 = b"riff.\x91\xcf\x11"
_UNKNOWN = b"\xff\xff\xff\xff"


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """A recording: (n, microphones) samples, its rate, whether they are shares of the converter's full scale.

    Floating-point files may hold any numbers; only in the others is 1 the largest that could be recorded.
    """

    path: Path
    samples: FloatArray
    sample_rate_hz: float
    of_full_scale: bool
    findings: tuple[Finding, ...]


def is_sound(raw: bytes) -> bool:
    """Whether the bytes begin like a sound file, whatever it is called."""
    return (
        (raw[:4] in (b"RIFF", b"RIFX", b"RF64", b"BW64") and raw[8:12] == b"WAVE")
        or (raw[:4] == b"FORM" and raw[8:12] in (b"AIFF", b"AIFC"))
        or raw.startswith((b"fLaC", b"OggS", b"caff", b"ID3", _W64))
        or raw[4:8] == b"ftyp"
    )


def read_sound(path: Path, raw: bytes | None = None) -> Sound:
    """A recording to listen to; `raw` is the file's content where it has been read already.

    Raises
    ------
    BadFile
        If it is no sound file, is damaged or empty, or the library is missing.
    """
    raw = unpack(path, read_file(path)) if raw is None else raw
    if not is_sound(raw):
        raise bad_file(path, "is no sound file", "record or save it as WAV")
    return _read(path, raw, "float32")


def read_sound_log(path: Path, raw: bytes, _channel: str | None = None) -> Columns:
    """A sound file as a log of its channels; without a unit, since none is in it.

    Raises
    ------
    BadFile
        As `read_sound`.
    """
    sound = _read(path, raw, "float64")
    count, width = sound.samples.shape
    findings = sound.findings
    if sound.of_full_scale:
        detail = "its numbers are shares of the converter's full scale, not of a unit of load"
        findings = (*findings, Finding("assumed", None, None, count, detail))
    return Columns(
        names=tuple(f"channel {i + 1}" for i in range(width)),
        units=(None,) * width,
        kinds=tuple(_NUMBER for _ in range(width)),
        has_header=True,
        sample_rate_hz=sound.sample_rate_hz,
        numbers={i: find_numbers(np.ascontiguousarray(sound.samples[:, i])) for i in range(width)},
        texts={},
        findings=findings,
        find_lines=lambda: np.arange(1, count + 1),
    )


def _read(path: Path, raw: bytes, numbers: str) -> Sound:
    if raw[4:8] == b"ftyp":
        raise bad_file(path, "is sound or film packed by a phone (M4A, MP4, MOV)", "save it as WAV")
    soundfile = import_library(path, _KIND, "soundfile")
    raw, findings = _repaired(raw)
    with told_as_damaged(path, _KIND), soundfile.SoundFile(io.BytesIO(raw)) as file:
        refuse_claim(path, file.frames * file.channels, len(raw))
        samples = file.read(dtype=numbers, always_2d=True)
        if len(samples) < 2:
            raise bad_file(path, "holds no sound", "check that the recording was finished")
        return Sound(path, samples, float(file.samplerate), file.subtype not in ("FLOAT", "DOUBLE"), findings)


def _repaired(raw: bytes) -> tuple[bytes, tuple[Finding, ...]]:
    """A WAV whose recorder was stopped: its head says more bytes than there are, or was never filled in."""
    if not raw.startswith(b"RIFF") or raw[4:8] == _UNKNOWN or len(raw) < 44:
        return raw, ()
    (claimed,) = struct.unpack("<I", raw[4:8])
    if claimed + 8 > len(raw) + 1:  # an odd last chunk may lack the byte that fills it up
        detail = f"it should be {claimed + 8} bytes long and is {len(raw)}: the end is missing"
        return raw, (Finding("cut-off", None, None, 1, detail),)
    at = raw.find(b"data", 12)
    if at < 0 or raw[at + 4 : at + 8] != b"\0\0\0\0" or len(raw) <= at + 8:
        return raw, ()
    detail = "the recorder never wrote its length: it was stopped; all that is there is read"
    fixed = raw[:4] + _UNKNOWN + raw[8 : at + 4] + _UNKNOWN + raw[at + 8 :]
    return fixed, (Finding("cut-off", None, None, 1, detail),)
