"""From a bolt as people write it to a thread and a property class."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from strikeproof.errors import BadInput
from strikeproof.joint.classes import PropertyClass, parse_class
from strikeproof.joint.series import (
    METRIC_PITCHES,
    coarse_pitch,
    inch_sizes,
    threads_per_inch,
)
from strikeproof.joint.threads import Thread

__all__ = ["parse_bolt", "parse_thread"]

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
    """The thread with the hand that stands in what follows it, and the rest without that."""
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
            mend=f"write it like '{thread} {known}'",
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
        raise _unreadable(text, "it begins like no thread")
    return _with_hand(thread, text[match.end() :].strip(" \t,;-"))


def _metric(size: str, pitch: str | None) -> Thread:
    diameter = _number(size)
    if diameter not in METRIC_PITCHES:
        raise _no_such(f"M{diameter:g}", _ISO, _near(diameter, METRIC_PITCHES, "M{:g}"))
    allowed = METRIC_PITCHES[diameter]
    chosen = coarse_pitch(diameter) if pitch is None else _number(pitch)
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
        mend=note or "write one of the nearest, or check the size on the part",
    )


def _unreadable(text: str, why: str) -> BadInput:
    return BadInput(
        f"cannot read {text.strip()!r} as a thread: {why}",
        where="thread",
        allowed=_EXAMPLES,
        mend="write it like one of these",
    )
