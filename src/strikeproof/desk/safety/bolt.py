"""What a test bolt may carry, which torque gets it there, and how it tightens."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from strikeproof.errors import BadInput
from strikeproof.joint import (
    FRICTION_SPREAD,
    REUSED_SHARE,
    Bearing,
    BoltParts,
    Friction,
    PropertyClass,
    Thread,
    TorqueTension,
    allowed_clamp_load,
    assembly_preload,
    bearing_of,
    has_standard_head,
    needed_engagement,
    parse_bolt,
    proof_load,
    read_bolt_parts,
    tensile_load,
    torque_tension,
    total_friction,
    yield_load,
)
from strikeproof.joint.own_bolt import OWN_STRENGTH_KEYS
from strikeproof.language import say
from strikeproof.quantity import write_number

__all__ = [
    "BoltFacts",
    "BoltLine",
    "TighteningFacts",
    "describe_bolt",
    "describe_own_bolt",
    "describe_parts",
]

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

_PROTECTION = (
    "Impact tests break bolts and sockets: wear eye, ear and hand protection, guard the rig against flying "
    "pieces and stand clear of the bolt's axis."
)
_NO_INSTRUCTION = (
    "These figures are calculated for a test bolt and are no instruction for tightening: local codes, the "
    "makers' values and licensed practice come first, and what carries people is tightened last with a "
    "calibrated wrench."
)


@dataclass(frozen=True, slots=True)
class BoltFacts:
    """A test bolt, in SI; `as_json` and `lines` put units to it.

    Parameters
    ----------
    thread, property_class, bearing
        The bolt and the ring its head turns on.
    share
        Allowed part of the proof load: the one asked for, or what the twist of tightening leaves of it.
    proof_load, yield_load, tensile_load, allowed_clamp_load
        Loads. [N]
    needed_engagement
        Thread length in steel as strong as the bolt that lets it break before the thread shears. [m]
    tightening
        None when friction is not known.
    cautions
        Warnings, the general ones first.
    """

    thread: Thread
    property_class: PropertyClass
    bearing: Bearing
    share: float
    proof_load: float
    yield_load: float
    tensile_load: float
    allowed_clamp_load: float
    needed_engagement: float
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
            "needed_engagement_mm": self.needed_engagement * 1e3,
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
        allowed = say("allowed clamp load ({share} of proof)", share=_percent(self.share))
        return [
            BoltLine(say("thread"), thread.designation, is_published=True),
            BoltLine(say("property class"), self.property_class.name, is_published=True),
            BoltLine("pitch", thread.pitch * 1e3, "mm"),
            BoltLine("pitch diameter", thread.pitch_diameter * 1e3, "mm"),
            BoltLine("root diameter", thread.minor_diameter * 1e3, "mm"),
            BoltLine(say("stress area"), thread.stress_area * 1e6, "mm²", is_published=True),
            *(
                [BoltLine(say("thinnest shank"), thread.shank * 1e3, "mm", is_published=True)]
                if thread.shank is not None
                else []
            ),
            BoltLine(say("proof load"), self.proof_load / 1e3, "kN", is_published=True),
            BoltLine("yield load", self.yield_load / 1e3, "kN"),
            BoltLine("tensile load", self.tensile_load / 1e3, "kN"),
            BoltLine("thread to engage in steel as strong", self.needed_engagement * 1e3, "mm"),
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
    return describe_parts(
        BoltParts(thread, property_class, bearing_of(thread)),
        friction=friction,
        thread_friction=thread_friction,
        head_friction=head_friction,
        share=share,
    )


def describe_own_bolt(
    text: str,
    own: Mapping[str, Any],
    *,
    friction: float | None,
    thread_friction: float | None = None,
    head_friction: float | None = None,
    share: float = REUSED_SHARE,
) -> BoltFacts:
    """The same of a bolt with what makes it one's own, by the keys of a campaign file.

    `text` is the thread, with a property class where no strength is among `own`.

    Raises
    ------
    BadInput
        As `describe_bolt`; also if what is given of the bolt does not fit together.
    """
    if any(key in own for key in OWN_STRENGTH_KEYS):
        words = {"thread": text}
    else:
        thread, property_class = parse_bolt(text)
        words = {"thread": thread.designation, "class": property_class.name}
    parts = read_bolt_parts({**words, **own})
    assert parts is not None  # a thread is named
    return describe_parts(
        parts,
        friction=friction,
        thread_friction=thread_friction,
        head_friction=head_friction,
        share=share,
    )


def describe_parts(
    parts: BoltParts,
    *,
    friction: float | None,
    thread_friction: float | None = None,
    head_friction: float | None = None,
    share: float = REUSED_SHARE,
) -> BoltFacts:
    """The same of a bolt whose parts are known, such as one of the person's own.

    Raises
    ------
    BadInput
        As `describe_bolt`; also if the strength is not known.
    """
    thread, property_class, bearing = parts.thread, parts.property_class, parts.bearing
    if property_class is None:
        raise BadInput("not given", where="bolt.class", allowed="a property class", fix="give bolt.class")
    known = _friction_of(friction, thread_friction, head_friction)
    allowed = allowed_clamp_load(thread, property_class, share, known)
    proof = proof_load(thread, property_class)
    tightening = (
        None if known is None else _describe_tightening(thread, property_class, bearing, known, allowed)
    )
    return BoltFacts(
        thread=thread,
        property_class=property_class,
        bearing=bearing,
        share=allowed / proof,
        proof_load=proof,
        yield_load=yield_load(thread, property_class),
        tensile_load=tensile_load(thread, property_class),
        needed_engagement=needed_engagement(
            thread, property_class, property_class.strength(thread).tensile_strength
        ),
        allowed_clamp_load=allowed,
        tightening=tightening,
        cautions=_cautions(parts, property_class, share, proof, tightening),
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
            fix=f"give the {missing} friction too",
        )
    return Friction(in_thread, under_head)


def _cautions(
    parts: BoltParts,
    property_class: PropertyClass,
    share: float,
    proof: float,
    tightening: TighteningFacts | None,
) -> tuple[str, ...]:
    yields = yield_load(parts.thread, property_class)
    limits = (
        f"Keep the clamp load below the proof load, {proof / 1e3:.0f} kN; take a new bolt for every run that "
        f"comes near the yield load, {yields / 1e3:.0f} kN."
    )
    said = [_PROTECTION, limits, _NO_INSTRUCTION]
    if share > REUSED_SHARE:
        said.append(
            f"{_percent(share)} of the proof load is more than the {_percent(REUSED_SHARE)} usual for a bolt "
            "that is used again: take a new one for every run."
        )
    if property_class.name == "12.9":
        said.append(
            "Class 12.9 breaks without warning when plated, corroded or nicked: prefer 10.9 for a rig."
        )
    if property_class.standard == "as given":
        said.append(
            "The strength is your own figure and by no standard: have it from a certificate or a test."
        )
    said.append(
        "The thread to engage holds for basic sizes and the least strength of the class; for a bolt that is "
        "to break before its thread strips, at its largest strength, engage about a third more."
    )
    thread = parts.thread
    if thread.carrying_diameter < thread.stress_diameter:
        said.append(
            f"The shank of {write_number(thread.carrying_diameter * 1e3, 3)} mm is the weakest section: all "
            "loads here are the shank's."
        )
    if parts.bearing == bearing_of(thread) and not has_standard_head(thread):
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
    turned = facts.assembly_preload / 0.9  # that is nine tenths of yield under tension and torsion together
    if turned < proof:
        said.append(
            f"While it is tightened, with this friction, it yields at {turned / 1e3:.0f} kN, below the proof "
            "load: stay below that."
        )
    if allowed > facts.assembly_preload:
        said.append(
            "With this friction tension and the twist of tightening use 90 % of the yield strength at "
            f"{facts.assembly_preload / 1e3:.0f} kN, before the share of the proof load that was asked for: "
            "no more is allowed. Lower the friction for more."
        )
    if facts.loosening_torque <= 0:
        said.append("With so little friction the bolt turns loose by itself.")
    return said


def _percent(share: float) -> str:
    return f"{100 * share:.3g} %"


class BoltLine(NamedTuple):
    """A fact of a bolt with its unit; `is_published` where a published page gives it, too."""

    label: str
    value: float | str
    unit: str = ""
    is_published: bool = False


@dataclass(frozen=True, slots=True)
class TighteningFacts:
    """What follows once friction is known.

    Parameters
    ----------
    friction
        In the thread and under the head.
    total_friction
        The one coefficient that gives the same torque.
    tension
        Levers between torque and clamp load.
    allowed_torque, loosening_torque
        At the allowed clamp load. [N·m]
    lowest_load, highest_load
        Clamp load at `allowed_torque` when friction is `FRICTION_SPREAD` higher and lower. [N]
    assembly_preload, assembly_torque
        Where tension and twist together reach 0.9 of the yield strength. [N, N·m]
    """

    friction: Friction
    total_friction: float
    tension: TorqueTension
    allowed_torque: float
    loosening_torque: float
    lowest_load: float
    highest_load: float
    assembly_preload: float
    assembly_torque: float

    def as_json(self) -> dict[str, Any]:
        """All facts under keys that carry their unit."""
        tension, friction = self.tension, self.friction
        return {
            "friction": {"thread": friction.thread, "head": friction.head, "total": self.total_friction},
            "nut_factor": tension.nut_factor,
            "torque_per_clamp_load_mm": tension.torque_per_force * 1e3,
            "tightening_torque_at_allowed_nm": self.allowed_torque,
            "loosening_torque_at_allowed_nm": self.loosening_torque,
            "clamp_load_spread_at_allowed_torque": {
                "friction_change_percent": 100 * FRICTION_SPREAD,
                "low_n": self.lowest_load,
                "high_n": self.highest_load,
            },
            "assembly_preload_n": self.assembly_preload,
            "assembly_torque_nm": self.assembly_torque,
            "shares": {
                "pitch": tension.pitch_share,
                "thread": tension.thread_share,
                "bearing": tension.bearing_share,
            },
        }

    def rows(self) -> list[BoltLine]:
        """Every fact."""
        tension, percent = self.tension, f"{100 * FRICTION_SPREAD:.0f} %"
        return [
            BoltLine("friction, thread", self.friction.thread, ""),
            BoltLine("friction, head", self.friction.head, ""),
            BoltLine(say("friction, total"), self.total_friction, "", is_published=True),
            BoltLine(say("nut factor K"), tension.nut_factor, "", is_published=True),
            BoltLine(
                say("torque per clamp load"), tension.torque_per_force * 1e3, "N·m/kN", is_published=True
            ),
            BoltLine(say("tightening torque at allowed load"), self.allowed_torque, "N·m", is_published=True),
            BoltLine("loosening torque at allowed load", self.loosening_torque, "N·m"),
            BoltLine(
                say("clamp load if friction is {percent} higher", percent=percent),
                self.lowest_load / 1e3,
                "kN",
                is_published=True,
            ),
            BoltLine(
                say("clamp load if friction is {percent} lower", percent=percent),
                self.highest_load / 1e3,
                "kN",
                is_published=True,
            ),
            BoltLine("clamp load at 90 % of yield, tightened", self.assembly_preload / 1e3, "kN"),
            BoltLine("torque for it", self.assembly_torque, "N·m"),
            BoltLine("share of torque, pitch", 100 * tension.pitch_share, "%"),
            BoltLine("share of torque, thread friction", 100 * tension.thread_share, "%"),
            BoltLine("share of torque, head friction", 100 * tension.bearing_share, "%"),
        ]


def _describe_tightening(
    thread: Thread, property_class: PropertyClass, bearing: Bearing, friction: Friction, allowed: float
) -> TighteningFacts:
    """All that follows from friction for a bolt allowed a clamp load. [N]

    Raises
    ------
    BadInput
        If the class does not cover the thread.
    """
    tension = torque_tension(thread, friction, bearing)
    torque = tension.torque(allowed)
    preload = assembly_preload(thread, property_class, friction)
    return TighteningFacts(
        friction=friction,
        total_friction=total_friction(thread, friction, bearing),
        tension=tension,
        allowed_torque=torque,
        loosening_torque=tension.loosening_torque(allowed),
        lowest_load=tension.with_friction_changed(1 + FRICTION_SPREAD).clamp_load(torque),
        highest_load=tension.with_friction_changed(1 - FRICTION_SPREAD).clamp_load(torque),
        assembly_preload=preload,
        assembly_torque=tension.torque(preload),
    )
