"""From a bolt as people write it to a thread and a property class.

Metric sizes are those of ISO 261 from 3 to 64 mm, first the coarse pitch; inch sizes those of ASME B1.1 from
1/4 to 2 in. Both tables are from memory and checked against the stress areas of ISO 898-1 and Shigley,
Table 8-2, where those list them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from strikeproof.errors import BadInput
from strikeproof.joint.classes import PropertyClass, parse_class
from strikeproof.joint.threads import Thread

__all__ = ["METRIC_PITCHES", "inch_sizes", "parse_bolt", "parse_thread", "threads_per_inch"]

_EXAMPLES = "M24x2, M20 or 3/4-16 UNF"
_ISO = "ISO 261 threads from M3 to M64"
_ASME = "ASME B1.1 threads from 1/4 to 2 in"
_NUMBER = r"\d+(?:[.,]\d+)?"
_METRIC = re.compile(
    rf"\s*M\s*({_NUMBER})"
    rf"(?:\s*[x×*]\s*({_NUMBER}))?"
    r"(?:\s*-\s*[3-9][efgh](?:[3-9][efgh])?)?",  # tolerance class of ISO 965: changes no basic size
    re.IGNORECASE,
)
_INCH = re.compile(
    r"\s*((?:\d+[\s-]+)?\d+/\d+|\d*\.\d+|\d+(?![\d.]))"
    r"\s*(?:[\"″]|in\b)?"
    r"(?:\s*[-x×]\s*(\d+(?:\.\d+)?))?"
    r"(?:[\s-]*(UN[A-Z]*))?"
    r"(?:\s*-?\s*[123]A)?",  # class of fit of ASME B1.1: changes no basic size
    re.IGNORECASE,
)


def parse_thread(text: str) -> Thread:
    """The thread a person wrote: "M20", "M20x2.5", "M24×2-LH", "3/4-16", "1 1/4-7 UNC", "1/2".

    Without a pitch the coarse one is meant, without "LH" a right-hand thread.

    Raises
    ------
    BadInput
        If it cannot be read or the standards know no such thread; the message names the nearest.
    """
    thread, rest = _read_thread(text)
    if rest:
        raise _unreadable(text, f"{rest!r} is left over")
    return thread


# ISO 965-1: "LH" ends the designation of a left-hand thread; ASME B1.1 writes the same (from memory).
_HAND = re.compile(r"[\s-]*\b(LH|RH|left[\s-]?hand(?:ed)?|right[\s-]?hand(?:ed)?)\b", re.IGNORECASE)


def _with_hand(thread: Thread, rest: str) -> tuple[Thread, str]:
    """The thread with the hand that is in what follows it, and the rest without that."""
    found = _HAND.search(rest)
    if found is None:
        return thread, rest
    rest = (rest[: found.start()] + " " + rest[found.end() :]).strip(" \t,;-")
    if found[1][0] not in "lL":
        return thread, rest
    return replace(thread, designation=f"{thread.designation}-LH", hand="left"), rest


def parse_bolt(text: str) -> tuple[Thread, PropertyClass]:
    """The thread and the property class a person wrote: "M24x2 10.9", "3/4-16 UNF grade 5".

    Raises
    ------
    BadInput
        If either is missing, cannot be read or does not fit the other.
    """
    thread, rest = _read_thread(text)
    if not rest:
        known = "grade 5" if thread.system == "inch" else "10.9"
        raise BadInput(
            f"{text.strip()!r} names no property class",
            where="bolt",
            allowed="a thread and a property class",
            fix=f"write it like '{thread} {known}'",
        )
    property_class = parse_class(rest)
    property_class.strength(thread)  # refuses a class that does not cover the thread
    return thread, property_class


def _read_thread(text: str) -> tuple[Thread, str]:
    """The thread `text` begins with, and what follows it."""
    if match := _METRIC.match(text):
        thread = _metric(match[1], match[2])
    elif match := _INCH.match(text):
        thread = _inch(match[1], match[2], match[3])
    else:
        raise _unreadable(text, "it is not written like a thread")
    return _with_hand(thread, text[match.end() :].strip(" \t,;-"))


def _metric(size: str, pitch: str | None) -> Thread:
    diameter = _number(size)
    if diameter not in METRIC_PITCHES:
        raise _no_such(f"M{diameter:g}", _ISO, _near(diameter, METRIC_PITCHES, "M{:g}"))
    allowed = METRIC_PITCHES[diameter]
    chosen = _coarse_pitch(diameter) if pitch is None else _number(pitch)
    if chosen is None:
        names = [f"M{diameter:g}x{each:g}" for each in allowed]
        raise _no_such(f"M{diameter:g} without a pitch", _ISO, names, "it is made with fine pitches only")
    if chosen not in allowed:
        names = _near(chosen, allowed, f"M{diameter:g}x{{:g}}")
        note = "a bolt's length is not part of its thread" if chosen > 6 else ""
        raise _no_such(f"M{diameter:g}x{chosen:g}", _ISO, names, note)
    return Thread(f"M{diameter:g}x{chosen:g}", "metric", diameter * 1e-3, chosen * 1e-3)


def _inch(size: str, count: str | None, series: str | None) -> Thread:
    diameter = _inches(size)
    if diameter not in inch_sizes():
        near = sorted(inch_sizes(), key=lambda each: abs(each - diameter))[:2]
        note = "a metric thread begins with M" if diameter > 2 else ""
        raise _no_such(f"{size} in", _ASME, [_label(each) for each in sorted(near)], note)
    label, known = _label(diameter), threads_per_inch(diameter)
    wanted = series.upper().replace("UNR", "UN") if series else None  # UNR differs in the root's radius only
    chosen = float(count) if count else _count_of(known, wanted or "UNC")
    if chosen is None:
        raise _no_such(f"{label} {wanted or 'UNC'}", _ASME, _named(label, known))
    if chosen not in known:
        closest = sorted(known, key=lambda each: abs(each - chosen))[:2]
        raise _no_such(f"{label}-{chosen:g}", _ASME, _named(label, {each: known[each] for each in closest}))
    if wanted not in (None, "UN", known[chosen]):
        raise _no_such(f"{label}-{chosen:g} {wanted}", _ASME, _named(label, {chosen: known[chosen]}))
    name = f"{label}-{chosen:g} {known[chosen]}"
    return Thread(name, "inch", float(diameter) * 0.0254, 0.0254 / chosen)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _inches(text: str) -> Fraction:
    """ "1 1/4", "1-1/4", ".75" or "2" as a fraction; a thread's diameter is never 0."""
    whole, _, part = re.sub(r"[\s-]+", " ", text).rpartition(" ")
    _, _, divisor = part.partition("/")
    if divisor and int(divisor) == 0:
        raise _unreadable(text, "it divides by 0")
    return Fraction(part) + Fraction(whole or 0)


def _label(diameter: Fraction) -> str:
    """5/4 as "1 1/4"."""
    whole, part = divmod(diameter, 1)
    return " ".join(str(each) for each in (whole, part) if each) or "0"


def _count_of(known: dict[float, str], series: str) -> float | None:
    return next((count for count, name in known.items() if name == series), None)


def _named(label: str, known: dict[float, str]) -> list[str]:
    return [f"{label}-{count:g} {series}" for count, series in known.items()]


def _near(wanted: float, known: Iterable[float], pattern: str) -> list[str]:
    """The one or two known values nearest to `wanted`, ascending, as names."""
    closest = sorted(known, key=lambda each: abs(each - wanted))[:2]
    return [pattern.format(each) for each in sorted(closest)]


def _no_such(what: str, source: str, nearest: list[str], note: str = "") -> BadInput:
    names = nearest[0] if len(nearest) == 1 else f"{', '.join(nearest[:-1])} or {nearest[-1]}"
    return BadInput(
        f"{what} is not among the {source}",
        where="thread",
        allowed=f"nearest {names}",
        fix=note or "write one of the nearest, or check the size on the part",
    )


def _unreadable(text: str, why: str) -> BadInput:
    return BadInput(
        f"cannot read {text.strip()!r} as a thread: {why}",
        where="thread",
        allowed=_EXAMPLES,
        fix="write it like one of these",
    )


METRIC_PITCHES: dict[float, tuple[float, ...]] = {
    3: (0.5, 0.35),
    3.5: (0.6, 0.35),
    4: (0.7, 0.5),
    5: (0.8, 0.5),
    6: (1, 0.75),
    7: (1, 0.75),
    8: (1.25, 1, 0.75),
    9: (1.25, 1, 0.75),
    10: (1.5, 1.25, 1, 0.75),
    11: (1.5, 1, 0.75),
    12: (1.75, 1.5, 1.25, 1),
    14: (2, 1.5, 1.25, 1),
    15: (1.5, 1),
    16: (2, 1.5, 1),
    17: (1.5, 1),
    18: (2.5, 2, 1.5, 1),
    20: (2.5, 2, 1.5, 1),
    22: (2.5, 2, 1.5, 1),
    24: (3, 2, 1.5, 1),
    25: (2, 1.5, 1),
    26: (1.5,),
    27: (3, 2, 1.5, 1),
    28: (2, 1.5, 1),
    30: (3.5, 3, 2, 1.5, 1),
    32: (2, 1.5),
    33: (3.5, 3, 2, 1.5),
    35: (1.5,),
    36: (4, 3, 2, 1.5),
    38: (1.5,),
    39: (4, 3, 2, 1.5),
    40: (3, 2, 1.5),
    42: (4.5, 4, 3, 2, 1.5),
    45: (4.5, 4, 3, 2, 1.5),
    48: (5, 4, 3, 2, 1.5),
    50: (3, 2, 1.5),
    52: (5, 4, 3, 2, 1.5),
    55: (4, 3, 2, 1.5),
    56: (5.5, 4, 3, 2, 1.5),
    58: (4, 3, 2, 1.5),
    60: (5.5, 4, 3, 2, 1.5),
    62: (4, 3, 2, 1.5),
    64: (6, 4, 3, 2, 1.5),
}
"""Nominal diameter [mm] -> pitches [mm]; the coarse one first where the size has one."""

_ONLY_FINE = frozenset({15, 17, 25, 26, 28, 32, 35, 38, 40, 50, 55, 58, 62})

_SERIES: dict[str, dict[str, float]] = {
    "UNC": {
        "1/4": 20, "5/16": 18, "3/8": 16, "7/16": 14, "1/2": 13, "9/16": 12, "5/8": 11, "3/4": 10,
        "7/8": 9, "1": 8, "9/8": 7, "5/4": 7, "11/8": 6, "3/2": 6, "7/4": 5, "2": 4.5,
    },
    "UNF": {
        "1/4": 28, "5/16": 24, "3/8": 24, "7/16": 20, "1/2": 20, "9/16": 18, "5/8": 18, "3/4": 16,
        "7/8": 14, "1": 12, "9/8": 12, "5/4": 12, "11/8": 12, "3/2": 12,
    },
    "UNEF": {
        "1/4": 32, "5/16": 32, "3/8": 32, "7/16": 28, "1/2": 28, "9/16": 24, "5/8": 24, "11/16": 24,
        "3/4": 20, "13/16": 20, "7/8": 20, "15/16": 20, "1": 20, "17/16": 18, "9/8": 18, "19/16": 18,
        "5/4": 18, "21/16": 18, "11/8": 18, "23/16": 18, "3/2": 18,
    },
    "UNS": {"1": 14},  # the one special pitch that shops meet often
}  # fmt: skip

# Constant-pitch series: threads per inch -> smallest diameter. [in]
_CONSTANT_PITCH = {
    6: Fraction(11, 8),
    8: Fraction(1),
    12: Fraction(9, 16),
    16: Fraction(3, 8),
    20: Fraction(1, 4),
}


def _coarse_pitch(diameter_mm: float) -> float | None:
    """The coarse pitch of a metric size; None where the size is only made fine. [mm]

    Raises
    ------
    KeyError
        If it is no size of ISO 261; ask `METRIC_PITCHES` first.
    """
    return None if diameter_mm in _ONLY_FINE else METRIC_PITCHES[diameter_mm][0]


def inch_sizes() -> list[Fraction]:
    """Every unified diameter known here, ascending. [in]"""
    return sorted({Fraction(size) for table in _SERIES.values() for size in table})


def threads_per_inch(diameter: Fraction) -> dict[float, str]:
    """Threads per inch -> series of a unified diameter, coarse first. [1/in]"""
    found: dict[float, str] = {}
    for series, table in _SERIES.items():
        for size, count in table.items():
            if Fraction(size) == diameter:
                found.setdefault(count, series)
    for count, smallest in _CONSTANT_PITCH.items():
        if diameter >= smallest:
            found.setdefault(count, "UN")
    return found
