"""A bolt as a bench has it: thread, strength and head chosen freely, the shank turned down or not."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from strikeproof.errors import BadInput
from strikeproof.joint.bearing import Bearing, bearing_of
from strikeproof.joint.classes import PropertyClass, Strength, own_class, parse_class
from strikeproof.joint.designation import parse_thread
from strikeproof.joint.threads import Thread
from strikeproof.quantity import parse_quantity

__all__ = ["OWN_KEYS", "OWN_STRENGTH_KEYS", "BoltParts", "read_bolt_parts"]

OWN_STRENGTH_KEYS = ("proof_stress_mpa", "tensile_strength_mpa", "yield_strength_mpa")
"""Keys that take the place of a property class; the yield strength may be left out."""
OWN_KEYS = (*OWN_STRENGTH_KEYS, "shank_diameter_mm", "head_across_flats_mm", "bearing_face_mm")
"""All keys that make a bolt one's own."""

# Washer face of a hexagon head over its width across flats: ISO 4014 has 0.924 (M12) to 0.940 (M20); both
# columns as in `joint.bearing`.
_FACE_OF_FLATS = 0.93
_LEAST_SHANK = 0.5  # of the thread's root: below that it is a typing mistake
_LEAST_STRESS, _MOST_STRESS = (
    10e6,
    3000e6,
)  # from plastics to the strongest steels; beyond, a unit is wrong [Pa]
_MOST_FACE = 20.0  # of the thread's diameter


@dataclass(frozen=True, slots=True)
class BoltParts:
    """The thread with its shank, the strength where it is known, and the ring that the head turns on."""

    thread: Thread
    property_class: PropertyClass | None
    bearing: Bearing


def read_bolt_parts(words: Mapping[str, Any]) -> BoltParts | None:
    """The bolt of a campaign's keys; None where no thread is given.

    Parameters
    ----------
    words
        `thread`, `class` or what takes its place, and what else is known, by the keys of the file. Numbers
        are in the unit that their key ends in, or texts with a unit of their own.

    Raises
    ------
    BadInput
        If the thread or class is unknown, a strength is given twice or by halves, or a size is impossible;
        `where` is the key.
    """
    if not words.get("thread"):
        return None
    thread = parse_thread(str(words["thread"]))
    thread = _with_shank(thread, _number(words, "shank_diameter_mm", "length"))
    given = [key for key in OWN_STRENGTH_KEYS if words.get(key) is not None]
    named = words.get("class")
    if named and given:
        raise BadInput(
            "the strength is given twice, by a class and by figures",
            where=given[0],
            allowed="one of them",
            fix="delete class, or the figures",
        )
    if given:
        strength: PropertyClass | None = own_class(_strength(words), thread.system)
    else:
        strength = parse_class(str(named)) if named else None
    if strength is not None:
        strength.strength(thread)  # refuses a class that does not cover the thread
    return BoltParts(thread, strength, _bearing(words, thread))


def _number(words: Mapping[str, Any], key: str, kind: str) -> float | None:
    """A number in SI; the key's own unit is MPa or mm."""
    value = words.get(key)
    if value is None:
        return None
    size = value
    if isinstance(value, str):
        size = parse_quantity(value, kind)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        size = float(value) * (1e6 if key.endswith("_mpa") else 1e-3)
    if not isinstance(size, float) or not 0 < size < math.inf:
        raise BadInput(f"{value!r} is no size", where=key, allowed="more than 0", fix="give a number")
    return size


def _strength(words: Mapping[str, Any]) -> Strength:
    proof = _number(words, "proof_stress_mpa", "pressure")
    tensile = _number(words, "tensile_strength_mpa", "pressure")
    if proof is None or tensile is None:
        missing = "proof_stress_mpa" if proof is None else "tensile_strength_mpa"
        raise BadInput(
            "a strength of your own needs both figures",
            where=missing,
            allowed="proof stress and tensile strength",
            fix=f"give {missing}, or a class in their place",
        )
    yields = _number(words, "yield_strength_mpa", "pressure") or proof  # the lower one, so on the safe side
    for key, stress in (("proof_stress_mpa", proof), ("tensile_strength_mpa", tensile)):
        if not _LEAST_STRESS <= stress <= _MOST_STRESS:
            raise BadInput(
                f"a bolt of {stress / 1e6:.4g} MPa",
                where=key,
                allowed=f"{_LEAST_STRESS / 1e6:g} to {_MOST_STRESS / 1e6:g} MPa",
                fix="give the figure in MPa (N/mm²), or with its unit, as '830 MPa'",
            )
    if not proof <= yields <= tensile:
        raise BadInput(
            "the strengths are in no possible order",
            where="proof_stress_mpa",
            allowed="proof stress ≤ yield strength ≤ tensile strength",
            fix="check which is which, and their units",
        )
    return Strength(proof, yields, tensile)


def _with_shank(thread: Thread, diameter: float | None) -> Thread:
    if diameter is None:
        return thread
    least = _LEAST_SHANK * thread.minor_diameter
    if not least <= diameter <= thread.diameter * (1 + 1e-9):
        raise BadInput(
            f"a shank of {diameter * 1e3:g} mm on {thread}",
            where="shank_diameter_mm",
            allowed=f"{least * 1e3:.4g} to {thread.diameter * 1e3:g} mm",
            fix="give the thinnest part of the shank",
        )
    return replace(thread, shank=diameter)


def _bearing(words: Mapping[str, Any], thread: Thread) -> Bearing:
    usual = bearing_of(thread)
    flats, face = (_number(words, key, "length") for key in ("head_across_flats_mm", "bearing_face_mm"))
    outer = face if face is not None else None if flats is None else _FACE_OF_FLATS * flats
    if outer is None:
        return usual
    # Under a small head the hole is drilled close to the thread, or there would be no face left.
    inner = min(usual.inner, thread.diameter) if outer <= 1.1 * usual.inner else usual.inner
    if outer <= inner:
        key = "bearing_face_mm" if face is not None else "head_across_flats_mm"
        raise BadInput(
            f"a face of {outer * 1e3:.4g} mm under the head leaves no bearing face around {thread}",
            where=key,
            allowed=f"a face above {inner * 1e3:.4g} mm",
            fix="check the size; a washer's or flange's outer diameter goes into bearing_face_mm",
        )
    if outer > _MOST_FACE * thread.diameter:
        key = "bearing_face_mm" if face is not None else "head_across_flats_mm"
        raise BadInput(
            f"a face of {outer * 1e3:.4g} mm under the head of {thread}",
            where=key,
            allowed=f"a face up to {_MOST_FACE * thread.diameter * 1e3:g} mm",
            fix="check the size and its unit",
        )
    return Bearing(outer, inner)
