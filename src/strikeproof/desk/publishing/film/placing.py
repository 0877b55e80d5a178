"""Where films and stills are put: over nothing that is a person's, and by one maker at a time."""

from __future__ import annotations

import fcntl
import glob
import secrets
import shutil
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Final

from strikeproof.campaign.whole_file import FULL, name_new, write_whole
from strikeproof.errors import BadInput, InUse, StoreError

__all__ = [
    "LOCK",
    "alone_in",
    "drop_others",
    "place_text",
    "refuse_inputs",
    "refuse_other_texts",
    "writing_to",
]

LOCK: Final = "lock"
"""In a folder of parts: who holds it makes the film."""


def refuse_inputs(outputs: Sequence[Path], inputs: Sequence[Path], *, where: str) -> None:
    """What is read is never written over, also where files may be replaced.

    Raises
    ------
    BadInput
        If an output is one of the inputs.
    """
    for out in outputs:
        for each in inputs:
            if out.resolve() == each.resolve() or (out.exists() and each.exists() and out.samefile(each)):
                raise BadInput(f"{out} is what is read", where=where, allowed="another name", key="out")


def refuse_other_texts(wanted: Mapping[Path, str]) -> None:
    """A text that is replaced must begin like the one that takes its place: else it is a person's own.

    Raises
    ------
    StoreError
        If it does not.
    """
    for place, says in wanted.items():
        if place.is_file():
            with place.open("rb") as stream:
                old = stream.read(400).decode("utf-8", "replace")
            if old.split()[:3] != says.split()[:3] and not (says == "WEBVTT" and old.startswith(says)):
                raise StoreError(f"{place}: is a text of yours", "move it away or give the film another name")


@contextmanager
def writing_to(out: Path) -> Iterator[None]:
    """What goes wrong on the disk is said of what was to be written there.

    Raises
    ------
    StoreError
        If something went wrong.
    """
    try:
        yield
    except FileExistsError as cause:
        raise StoreError(
            f"{cause.filename2 or cause.filename or out}: came there meanwhile, and was not replaced",
            "move it away and give the same command again",
        ) from cause
    except OSError as cause:
        fix = "free some disk space" if cause.errno in FULL else "choose another place"
        raise StoreError(f"{out}: cannot be written: {cause.strerror}", fix) from cause


def place_text(place: Path, text: str | bytes, *, replace_it: bool) -> None:
    """Write a whole file, in place of another only where that is wanted.

    Raises
    ------
    StoreError
        If it cannot be written.
    FileExistsError
        If one came there that was not to be replaced.
    """
    if replace_it:
        write_whole(place, text)
        return
    waiting = place.with_name(f".{place.name[:40]}.{secrets.token_hex(4)}.part")
    try:
        write_whole(waiting, text)
        name_new(waiting, place)
    finally:
        waiting.unlink(missing_ok=True)


@contextmanager
def alone_in(folder: Path, out: Path) -> Iterator[None]:
    """Nobody else makes this film in this folder of parts, or clears it away, at the same time."""
    with (folder / LOCK).open("w") as lock:
        if not _is_free(lock):
            raise InUse(f"{out}: is being made already", "wait until that has ended")
        yield


def _is_free(lock: IO[str]) -> bool:
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def drop_others(folder: Path, out: Path) -> None:
    """Parts of the same film as it was wanted before are of no use any more."""
    for each in out.parent.glob(f".{glob.escape(out.name)}.*.parts"):
        if each == folder or len(each.name) != len(folder.name):
            continue
        with suppress(OSError), (each / LOCK).open("a") as lock:
            if _is_free(lock):
                shutil.rmtree(each, ignore_errors=True)
