"""What a test bolt may carry and which torque gets it there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from strikeproof.desk.safety.tightening import FRICTION_SPREAD, BoltLine, TighteningFacts, describe_tightening
from strikeproof.errors import BadInput
from strikeproof.joint import (
    REUSED_SHARE,
    Bearing,
    Friction,
    PropertyClass,
    Thread,
    allowed_clamp_load,
    bearing_of,
    has_standard_head,
    parse_bolt,
    proof_load,
    tensile_load,
    yield_load,
)
from strikeproof.quantity import write_number

__all__ = ["BoltFacts", "describe_bolt"]

_NEED_FRICTION = (
    "friction",
    "nut_factor",
    "torque_per_clamp_load_mm",
    "tightening_torque_at_allowed_nm",
    "loosening_torque_at_allowed_nm",
    "clamp_load_spread_at_allowed_torque",
    "assembly_preload_n",
    "assembly_torque_nm",
    "shares",
)

_ALWAYS = (
    "Impact tests break bolts and sockets: wear eye, ear and hand protection, guard the rig against flying "
    "pieces and stand clear of the bolt's axis.",
    "Keep the clamp load below the proof load; near the yield load take a new bolt for every run.",
    "These figures are calculated for a test bolt and are no instruction for tightening: local codes, the "
    "makers' values and licensed practice come first, and what carries people is tightened last with a "
    "calibrated wrench.",
)


@dataclass(frozen=True, slots=True)
class BoltFacts:
    """A test bolt, in SI; `as_json` and `lines` put units to it.

    Parameters
    ----------
    thread, property_class, bearing
        The bolt and the ring its head turns on.
    share
        Allowed part of the proof load.
    proof_load, yield_load, tensile_load, allowed_clamp_load
        Loads. [N]
    tightening
        None when friction is not known.
    cautions
        What to heed, the general ones first.
    """

    thread: Thread
    property_class: PropertyClass
    bearing: Bearing
    share: float
    proof_load: float
    yield_load: float
    tensile_load: float
    allowed_clamp_load: float
    tightening: TighteningFacts | None
    cautions: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """All facts under keys that carry their unit; what needs friction is None without it."""
        thread = self.thread
        return {
            "thread": thread.designation,
            "class": self.property_class.name,
            "standard": self.property_class.standard,
            "pitch_mm": thread.pitch * 1e3,
            "pitch_diameter_mm": thread.pitch_diameter * 1e3,
            "minor_diameter_mm": thread.minor_diameter * 1e3,
            "stress_area_mm2": thread.stress_area * 1e6,
            "bearing_diameter_mm": self.bearing.friction_diameter * 1e3,
            "proof_load_n": self.proof_load,
            "yield_load_n": self.yield_load,
            "tensile_load_n": self.tensile_load,
            "allowed_clamp_load_n": self.allowed_clamp_load,
            "allowed_share": self.share,
            **(self.tightening.as_json() if self.tightening else dict.fromkeys(_NEED_FRICTION)),
            "cautions": list(self.cautions),
        }

    def lines(self, *, published: bool = False) -> list[tuple[str, str, str]]:
        """Label, value and unit of every fact, or only of those that a published page gives."""
        return [
            (row.label, row.value if isinstance(row.value, str) else write_number(row.value), row.unit)
            for row in self._rows()
            if row.is_published or not published
        ]

    def _rows(self) -> list[BoltLine]:
        thread = self.thread
        allowed = f"allowed clamp load ({_percent(self.share)} of proof)"
        return [
            BoltLine("thread", thread.designation, is_published=True),
            BoltLine("property class", self.property_class.name, is_published=True),
            BoltLine("pitch", thread.pitch * 1e3, "mm"),
            BoltLine("pitch diameter", thread.pitch_diameter * 1e3, "mm"),
            BoltLine("root diameter", thread.minor_diameter * 1e3, "mm"),
            BoltLine("stress area", thread.stress_area * 1e6, "mm²", is_published=True),
            BoltLine("proof load", self.proof_load / 1e3, "kN", is_published=True),
            BoltLine("yield load", self.yield_load / 1e3, "kN"),
            BoltLine("tensile load", self.tensile_load / 1e3, "kN"),
            BoltLine(allowed, self.allowed_clamp_load / 1e3, "kN", is_published=True),
            *(self.tightening.rows() if self.tightening else ()),
        ]


def describe_bolt(
    text: str,
    *,
    friction: float | None,
    thread_friction: float | None = None,
    head_friction: float | None = None,
    share: float = REUSED_SHARE,
) -> BoltFacts:
    """Everything about a test bolt, from its name such as "M24x2 10.9".

    Parameters
    ----------
    text
        Thread and property class.
    friction
        One coefficient for thread and head; None leaves torques unknown unless both parts are given.
    thread_friction, head_friction
        Each takes the place of `friction` where it is given.
    share
        Part of the proof load allowed to the bolt, more than 0 and at most 1.

    Raises
    ------
    BadInput
        If the bolt, a coefficient or the share cannot be used, or only one part of friction is known.
    """
    thread, property_class = parse_bolt(text)
    bearing = bearing_of(thread)
    known = _friction_of(friction, thread_friction, head_friction)
    allowed = allowed_clamp_load(thread, property_class, share)
    proof = proof_load(thread, property_class)
    tightening = (
        None if known is None else describe_tightening(thread, property_class, bearing, known, allowed)
    )
    return BoltFacts(
        thread=thread,
        property_class=property_class,
        bearing=bearing,
        share=share,
        proof_load=proof,
        yield_load=yield_load(thread, property_class),
        tensile_load=tensile_load(thread, property_class),
        allowed_clamp_load=allowed,
        tightening=tightening,
        cautions=_cautions(thread, property_class, share, proof, tightening),
    )


def _friction_of(both: float | None, thread: float | None, head: float | None) -> Friction | None:
    in_thread = both if thread is None else thread
    under_head = both if head is None else head
    if in_thread is None and under_head is None:
        return None
    if in_thread is None or under_head is None:
        missing = "thread" if in_thread is None else "head"
        raise BadInput(
            f"the friction of the {missing} is not given",
            where="friction",
            allowed="one coefficient for both, or thread and head",
            mend=f"give the {missing} friction too",
        )
    return Friction(in_thread, under_head)


def _cautions(
    thread: Thread,
    property_class: PropertyClass,
    share: float,
    proof: float,
    tightening: TighteningFacts | None,
) -> tuple[str, ...]:
    said = [*_ALWAYS]
    if share > REUSED_SHARE:
        said.append(
            f"{_percent(share)} of the proof load is more than the {_percent(REUSED_SHARE)} usual for a bolt "
            "that is used again: take a new one for every run."
        )
    if property_class.name == "12.9":
        said.append(
            "Class 12.9 breaks without warning when plated, corroded or nicked: prefer 10.9 for a rig."
        )
    if not has_standard_head(thread):
        said.append("The head's bearing face is taken as 1.5 d over a hole of d; check it on the part.")
    return (*said, *_friction_cautions(share * proof, proof, tightening))


def _friction_cautions(allowed: float, proof: float, facts: TighteningFacts | None) -> list[str]:
    if facts is None:
        return ["Friction is not given, so no torque is: measure it, or give the range it may lie in."]
    low, high = facts.lowest_load / 1e3, facts.highest_load / 1e3
    said = [
        f"Friction is the largest unknown: {_percent(FRICTION_SPREAD)} more or less of it turns the same "
        f"{facts.allowed_torque:.0f} N·m into {low:.0f} to {high:.0f} kN."
    ]
    if facts.highest_load > proof:
        said.append("With friction that much lower this torque goes beyond the proof load.")
    if allowed > facts.assembly_preload:
        said.append(
            "With this friction the twist of tightening takes the bolt beyond 90 % of yield before the "
            f"allowed clamp load: stop at {facts.assembly_preload / 1e3:.0f} kN or lower the friction."
        )
    if facts.loosening_torque <= 0:
        said.append("With so little friction the bolt turns loose by itself.")
    return said


def _percent(share: float) -> str:
    return f"{100 * share:.3g} %"
