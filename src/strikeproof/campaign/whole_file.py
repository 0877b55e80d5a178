"""A small file written whole or not at all: what was there stays until all of the new is on disk."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from strikeproof.errors import StoreError

__all__ = ["write_whole"]


def write_whole(path: Path, content: str) -> None:
    """Put `content` in place of the file at `path`, whatever instant the machine stops at.

    Raises
    ------
    StoreError
        If the disk is full or the folder cannot be written.
    """
    waiting = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        with waiting.open("x", encoding="utf-8", newline="") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        waiting.replace(path)
        _sync(path.parent)
    except OSError as cause:
        waiting.unlink(missing_ok=True)
        raise StoreError(
            f"{path}: cannot be written: {cause.strerror}", "free some disk space or check the permissions"
        ) from cause


def _sync(folder: Path) -> None:
    # A rename is only lasting once the folder itself is synced.
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
