"""Articles to start from, drawn from the size of the bolt's head and of the drive: our own proportions.

They are made to be changed, and to hold: every one is worked out and checked in the tests, for every size.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from strikeproof.errors import BadInput, NotFound

__all__ = ["SHAPES", "Shape", "start_article"]

_STEEL: Final = "4140 at 45 HRC"
_SMALLEST, _LARGEST = 8.0, 80.0
_DRIVES: Final = (6.3, 10.0, 12.5, 20.0, 25.0, 40.0)

Table = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Shape:
    """A shape to start from: its word, what it is, and how it is made for a head and a drive. [mm]"""

    word: str
    label: str
    says: str
    make: Callable[[float, float], list[Table]]


def start_article(word: str, name: str, head_mm: float, drive_mm: float) -> Table:
    """An article's table to start from.

    Parameters
    ----------
    word
        Of one of `SHAPES`.
    head_mm
        Across the flats of the bolt's head, nominal.
    drive_mm
        Nominal square, 6.3 to 40, or its size in inches given in millimetres, such as 12.7.

    Raises
    ------
    NotFound, BadInput
        If there is no such shape, or a size is out of range.
    """
    known = {each.word: each for each in SHAPES}
    if word not in known:
        raise NotFound("starting shape", word, known)
    if not _SMALLEST <= head_mm <= _LARGEST:
        raise BadInput(
            f"{head_mm:g} mm",
            where="the bolt's head",
            allowed=f"{_SMALLEST:g} to {_LARGEST:g} mm",
            fix="correct it",
        )
    drive = min(_DRIVES, key=lambda each: abs(each - drive_mm))
    return {"name": name, "part": known[word].make(float(head_mm), drive)}


def _round(value: float) -> float:
    """To half a millimetre, as a workshop would."""
    whole = round(2 * value) / 2
    return int(whole) if whole == int(whole) else whole


def _socket(head: float, drive: float, *, length: float | None = None) -> Table:
    """A turned socket: a wall of a fifth of the head around its corners, at least two drives wide."""
    depth, deep = _round(1.45 * drive), _round(max(0.9 * head, 8.0))
    outside = _round(max(1.155 * (1.01 * head + 0.1) + 0.22 * head, 2.0 * drive))
    whole = _round(length or depth + deep + max(4.0, 0.15 * head))
    cuts: list[Table] = [
        {"kind": "square drive", "size_mm": drive, "depth_mm": depth},
        {"kind": "hexagon", "size_mm": _round(head), "depth_mm": deep},
    ]
    cuts.append({"kind": "bore", "size_mm": _round(min(0.85 * drive, 0.7 * head))})
    return {
        "name": "socket",
        "shape": "bar",
        "outer_diameter_mm": outside,
        "length_mm": whole,
        "material": _STEEL,
        "cut": cuts,
    }


def _plain(head: float, drive: float) -> list[Table]:
    return [_socket(head, drive)]


def _deep(head: float, drive: float) -> list[Table]:
    return [_socket(head, drive, length=_round(2.2 * (1.45 * drive + 0.9 * head)))]


def _ringed(head: float, drive: float) -> list[Table]:
    """The plain socket with a welded ring of twice its diameter and a third of its length."""
    socket = _socket(head, drive)
    ring = {
        "name": "ring",
        "shape": "disc",
        "outer_diameter_mm": _round(1.9 * socket["outer_diameter_mm"]),
        "length_mm": _round(socket["length_mm"] / 3),
        "material": "S355J2",
        "carrier": "socket",
        "bond": {"kind": "weld", "throat_mm": 4, "runs": 2},
    }
    return [socket, ring]


def _bar(name: str, drive: float, length: float) -> Table:
    """A bar as wide as its female square needs, with a square to take the drive."""
    return {
        "name": name,
        "shape": "bar",
        "outer_diameter_mm": _round(1.85 * drive),
        "length_mm": _round(length),
        "material": _STEEL,
        "cut": [{"kind": "square drive", "size_mm": drive, "depth_mm": _round(1.45 * drive)}],
    }


def _square(drive: float) -> Table:
    return {
        "name": "square",
        "stock": f"drive square {drive:g}",
        "length_mm": _round(1.4 * drive),
        "bond": "rigid",
    }


def _extension(head: float, drive: float) -> list[Table]:
    """Ten drives of bar with a square, and the plain socket loose on it."""
    return [_bar("extension", drive, 10 * drive), _square(drive), _socket(head, drive)]


def _adapter(head: float, drive: float) -> list[Table]:
    """A short adapter to the next smaller square, and a socket of that drive loose on it."""
    smaller = max((each for each in _DRIVES if each < drive), default=drive)
    return [_bar("adapter", drive, 2.6 * drive), _square(smaller), _socket(head, smaller)]


SHAPES: Final = (
    Shape("plain", "Plain socket", "one turned piece, the usual reference", _plain),
    Shape("deep", "Deep socket", "the same, about twice as long", _deep),
    Shape("ringed", "Ringed socket", "a plain socket with a welded steel ring: more inertia", _ringed),
    Shape(
        "extension", "Socket on an extension", "a long bar between drive and socket: less stiff", _extension
    ),
    Shape("adapter", "Socket on an adapter", "a step down to the next smaller square", _adapter),
)
"""What to start from, the usual reference first."""
