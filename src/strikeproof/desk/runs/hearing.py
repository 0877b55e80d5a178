"""A sound file listened to: read through the gate, since anybody may have made it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from strikeproof.campaign.files import keep_bytes, read_original
from strikeproof.campaign.gate import read_bounded
from strikeproof.campaign.text import read_file, unpack
from strikeproof.capture.sound_file import read_sound
from strikeproof.trace import SoundFacts, hear_blows

__all__ = ["HeardFile", "hear_file"]


@dataclass(frozen=True, slots=True, eq=False)
class HeardFile:
    """What is found in a file, what is odd about it, and the hash and size of the bytes it was found in."""

    facts: SoundFacts
    notes: tuple[str, ...]
    digest: str
    size: int


def hear_file(path: Path, keep_in: Path) -> HeardFile:
    """The blows in a sound file, whose bytes are put into the folder `keep_in` under their hash.

    Raises
    ------
    BadFile
        If it is no sound file, is damaged, or its library is missing.
    StoreError
        If it cannot be saved.
    """
    heard: HeardFile = read_bounded(path, _hear_file, path, keep_in)
    return heard


def hear_original(originals: Path, digest: str, name: str) -> SoundFacts:
    """The blows in a sound file that is stored among the originals; `name` is what it was called.

    Raises
    ------
    BadFile, StoreError
        If it cannot be read, or its bytes are not those that were stored.
    """
    heard: SoundFacts = read_bounded(originals / digest, _hear_original, originals, digest, name)
    return heard


def _hear_file(path: Path, keep_in: Path) -> HeardFile:
    content = read_file(path)
    sound = read_sound(path, unpack(path, content))
    facts = hear_blows(sound.samples, sound.sample_rate_hz)
    notes = tuple(finding.detail for finding in sound.findings)
    return HeardFile(facts, notes, keep_bytes(keep_in, content, ""), len(content))


def _hear_original(originals: Path, digest: str, name: str) -> SoundFacts:
    path = originals / digest
    sound = read_sound(path, unpack(path, read_original(originals, digest, name)))
    return hear_blows(sound.samples, sound.sample_rate_hz)
