"""Power cuts: what a disk may hold after one, from a record of every change that was asked of it.

The disk is the worst that POSIX allows. Of what was not synced, each write may be there, torn at its sectors
of 512 bytes, or gone, in any order; names that were made, moved or removed are there as far as their folder
was synced, and beyond that up to some moment. A sync of a file does not save its name.
"""

from __future__ import annotations

import os
import struct
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

__all__ = ["Disk", "Event", "read_record"]

CREATE, WRITE, SYNC, TRUNCATE, RENAME, UNLINK, MKDIR, LINK, RMDIR, SAID = range(1, 11)
_HEAD = struct.Struct("<IIIIq")
_SECTOR = 512
_EXCHANGE = 2  # of renameat2


@dataclass(frozen=True, slots=True)
class Event:
    """One change: its kind, one or two names, what was written, and where."""

    kind: int
    first: str
    second: str
    data: bytes
    offset: int


def read_record(path: Path) -> list[Event]:
    """All changes, in the order in which they were done."""
    raw, at, events = path.read_bytes(), 0, []
    while at < len(raw):
        kind, first, second, data, offset = _HEAD.unpack_from(raw, at)
        at += _HEAD.size
        parts = []
        for size in (first, second, data):
            parts.append(raw[at : at + size])
            at += size
        events.append(Event(kind, os.fsdecode(parts[0]), os.fsdecode(parts[1]), parts[2], offset))
    return events


@dataclass(slots=True)
class _File:
    """What is on the disk for sure, and what was asked for since."""

    safe: bytes = b""
    waiting: list[tuple[int, bytes | None]] = field(default_factory=list)
    """Offset and bytes of a write; the new size and None of a truncation."""

    def sync(self) -> None:
        for offset, data in self.waiting:
            self.safe = _apply(self.safe, offset, data)
        self.waiting.clear()

    def after_cut(self, rng: np.random.Generator, how: str) -> bytes:
        content = self.safe
        for offset, data in self.waiting:
            if how == "none" or (how == "some" and rng.random() < 0.5):
                continue
            if how == "some" and data is not None and rng.random() < 0.4:
                content = _tear(rng, content, offset, data)
            else:
                content = _apply(content, offset, data)
        return content


def _apply(content: bytes, offset: int, data: bytes | None) -> bytes:
    if data is None:
        return content[:offset].ljust(offset, b"\0")
    return content[:offset].ljust(offset, b"\0") + data + content[offset + len(data) :]


def _tear(rng: np.random.Generator, content: bytes, offset: int, data: bytes) -> bytes:
    """Some of the sectors of a write; where it made the file longer, what is missing is zero."""
    content = content.ljust(offset + len(data), b"\0")
    for begin in range(0, len(data), _SECTOR):
        if rng.random() < 0.5:
            content = _apply(content, offset + begin, data[begin : begin + _SECTOR])
    return content


class Disk:
    """A folder's files and names; `root` is where the record says that they are."""

    def __init__(self, root: Path) -> None:
        self._root = root
        self._names: dict[str, _File | None] = {}  # None is a folder
        for path in sorted(root.rglob("*")):
            self._names[str(path)] = None if path.is_dir() else _File(path.read_bytes())
        self._safe = dict(self._names)
        self._waiting: list[Event] = []
        self._made: dict[int, _File | None] = {}
        self.promised = ""

    def do(self, event: Event) -> None:
        """One change that was asked for."""
        file = self._names.get(event.first)
        match event.kind:
            case k if k == SAID:
                self.promised += event.data.decode(errors="replace")
            case k if k == SYNC and file is not None:
                file.sync()
            case k if k == SYNC:
                self._sync_folder(event.first)
            case k if k == WRITE and file is not None:
                file.waiting.append((event.offset, event.data))
            case k if k == TRUNCATE and file is not None:
                file.waiting.append((event.offset, None))
            case k if k in (CREATE, MKDIR):
                self._made[id(event)] = _File() if event.kind == CREATE else None
                self._rename(self._names, event)
                self._waiting.append(event)
            case k if k in (RENAME, UNLINK, LINK, RMDIR):
                self._rename(self._names, event)
                self._waiting.append(event)

    def _rename(self, names: dict[str, _File | None], event: Event) -> None:
        """A change of names."""
        match event.kind:
            case k if k in (CREATE, MKDIR):
                names[event.first] = self._made[id(event)]
            case k if k in (UNLINK, RMDIR):
                names.pop(event.first, None)
            case k if k == LINK and event.first in names:
                names[event.second] = names[event.first]
            case k if k == RENAME:
                moved = _below(names, event.first)
                others = _below(names, event.second)
                for path in (*moved, *others):
                    del names[path]
                names.update({event.second + path[len(event.first) :]: file for path, file in moved.items()})
                if event.offset == _EXCHANGE:
                    names.update(
                        {event.first + path[len(event.second) :]: file for path, file in others.items()}
                    )

    def _sync_folder(self, folder: str) -> None:
        """All changes of names within one folder are safe, in order; so is the making of what was moved."""
        left: list[Event] = []
        for event in self._waiting:
            if folder in (str(Path(event.first).parent), str(Path(event.second).parent)):
                if event.kind in (RENAME, LINK):
                    of_it = [each for each in left if (each.second or each.first).startswith(event.first)]
                    left = [each for each in left if each not in of_it]
                    for each in of_it:
                        self._rename(self._safe, each)
                self._rename(self._safe, event)
            else:
                left.append(event)
        self._waiting = left

    def after_cut(self, rng: np.random.Generator) -> Iterator[tuple[str, bytes | None]]:
        """Name, relative to the root, and content of all that may be found; None is a folder."""
        names = dict(self._safe)
        until = int(rng.integers(len(self._waiting) + 1)) if rng.random() < 0.6 else len(self._waiting)
        for event in self._waiting[: until if rng.random() < 0.8 else 0]:
            self._rename(names, event)
        how = ("none", "some", "some", "all")[rng.integers(4)]
        contents: dict[int, bytes] = {}
        for path, file in sorted(names.items()):
            name = str(Path(path).relative_to(self._root))
            if file is None:
                yield name, None
            else:
                if id(file) not in contents:
                    contents[id(file)] = file.after_cut(rng, how)
                yield name, contents[id(file)]


def _below(names: dict[str, _File | None], path: str) -> dict[str, _File | None]:
    return {each: file for each, file in names.items() if each == path or each.startswith(path + "/")}
