"""What an article asks of those who weld, heat and hold it: one place for its page and its workshop sheet."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from typing import Final

from strikeproof.language import say, write_figures
from strikeproof.parts.article import Article, Part
from strikeproof.parts.hardness import (
    brinell_at_temper,
    brinell_from_rockwell,
    rockwell_from_brinell,
    temper_at_brinell,
)
from strikeproof.parts.materials import BY_HARDNESS, BY_TEMPER

__all__ = [
    "PREHEAT",
    "is_weldable",
    "tell_heat",
    "tell_holding",
    "tell_hollows",
    "tell_relief",
    "temper_of",
]

PREHEAT: Final = 300.0
"""Of quenched and tempered 42CrMo4 before a weld: data sheet after ISO 683-2:2018. [°C]"""
_RELIEF: Final = 550.0
"""Stress relief of 42CrMo4, and below its tempering temperature: the same sheet. [°C]"""
_LEAST_TEMPER: Final = 540.0
"""Lowest tempering temperature of 42CrMo4 +QT, 540 to 680 °C: the same sheet. [°C]"""
_BELOW: Final = 30.0  # °C under the tempering temperature: common practice, no source
_QUENCHED: Final = re.compile(r"42CrMo4 ?\+QT", re.IGNORECASE)
_VENT: Final = 5e-3
"""Length of a seam that is left open as a vent: common practice, no source. [m]"""


def temper_of(material: str) -> float | None:
    """At which temperature a steel of that name was tempered; None where the name does not say. [°C]"""
    name = material.strip()
    if hard := BY_HARDNESS.fullmatch(name):
        value = float(hard[1])
        return temper_at_brinell(brinell_from_rockwell(value) if hard[2].upper() == "HRC" else value)
    if told := BY_TEMPER.fullmatch(name):
        return float(told[1])
    return _LEAST_TEMPER if _QUENCHED.match(name) else None


def is_weldable(materials: Iterable[str]) -> bool:
    """Whether these materials keep their hardness through the preheat of a weld."""
    return all(temper - _BELOW >= PREHEAT for each in materials if (temper := temper_of(each)) is not None)


def tell_heat(materials: Sequence[str]) -> str:
    """The heats of a weld beside hardened steel: preheat, stress relief, and what hardness they cost."""
    relief = tell_relief(materials)
    if not is_weldable(materials):
        return relief
    return say(
        "Preheat it to about {preheat} °C. {relief}", preheat=write_figures(f"{PREHEAT:.0f}"), relief=relief
    )


def tell_relief(materials: Iterable[str]) -> str:
    """How an article of these materials is relieved of stress after welding, and what hardness that costs."""
    tempers = [temper for each in materials if (temper := temper_of(each)) is not None]
    if not tempers:
        return say(
            "Relieve the stress for two hours at {relief} °C, or {below} °C below the temperature at which "
            "the steel was tempered where that is less: its certificate says it.",
            relief=write_figures(f"{_RELIEF:.0f}"),
            below=write_figures(f"{_BELOW:.0f}"),
        )
    temper = min(tempers)
    if temper - _BELOW < PREHEAT:
        return say(
            "Do not weld it as it is: it was tempered at about {temper} °C, so the preheat of {preheat} °C "
            "already softens it, from about {before} to {after}. Weld it soft and harden it afterwards, or "
            "take another steel.",
            temper=write_figures(f"{temper:.0f}"),
            preheat=write_figures(f"{PREHEAT:.0f}"),
            **_loss(temper, PREHEAT),
        )
    if temper - _BELOW >= _RELIEF:
        return say(
            "Relieve the stress for two hours at {relief} °C, below the {temper} °C at which it was "
            "tempered: it keeps its hardness.",
            relief=write_figures(f"{_RELIEF:.0f}"),
            temper=write_figures(f"{temper:.0f}"),
        )
    low = 10.0 * ((temper - _BELOW) // 10.0)
    return say(
        "Relieve the stress for two hours at no more than {low} °C: it was tempered at about {temper} °C "
        "and keeps its hardness below that. The usual {relief} °C would soften it, from about {before} to "
        "{after}; less heat leaves more stress in the weld, so look for cracks more often.",
        low=write_figures(f"{low:.0f}"),
        temper=write_figures(f"{temper:.0f}"),
        relief=write_figures(f"{_RELIEF:.0f}"),
        **_loss(temper, _RELIEF),
    )


def _loss(temper: float, heated: float) -> dict[str, str]:
    """The hardness before and after, both of the table of tempers of 4140."""
    rows = (brinell_at_temper(temper), brinell_at_temper(heated))
    before, after = (f"{each:.0f} HB ({rockwell_from_brinell(each):.0f} HRC)" for each in rows)
    return {"before": before, "after": after}


def tell_holding(article: Article) -> str:
    """How it is held on the square: by a pin where its drive end has a cross hole for one."""
    if any(_has_pin_hole(part) for part in article.parts):
        return "Hold it on the square with a pin through its cross hole and a ring over the pin."
    return (
        "Only the friction ring or ball of the tool's own square holds it: press it home before each run, "
        "and never "
        "point the tool at anyone. No pin hole is part of this design; drilling one would make it "
        "weaker than "
        "is worked out here."
    )


def _has_pin_hole(part: Part) -> bool:
    depth = max(
        (cut.depth for cut in part.cuts if cut.kind == "square drive" and cut.end == "drive"), default=0.0
    )
    return any(cut.kind == "cross hole" and cut.at <= depth for cut in part.cuts)


def _list_closed(article: Article) -> tuple[Part, ...]:
    """Riders whose weld runs round both ends and so closes the gap between them and their carrier."""
    return tuple(
        part
        for part in article.parts
        if part.carrier is not None
        and part.bond.kind == "weld"
        and (part.bond.runs >= 2 or part.second_carrier is not None)
        and part.bond.coverage >= 1.0
    )


def tell_hollows(article: Article) -> tuple[str, ...]:
    """What closed hollows ask for before anything is welded, heated or poured."""
    found = []
    for part in _list_closed(article):
        inside = part.bore if part.seat == "outside" else part.outer
        bead = math.pi * (inside or part.outer).size * part.bond.runs
        found.append(
            say(
                "Two welds close the gap under the {part}: trapped air or oil bursts out when it is heated. "
                "Clean and dry the gap, and leave {vent} mm of one seam open for good as a vent; that takes "
                "{share} % of the weld's strength.",
                part=part.name,
                vent=write_figures(f"{_VENT * 1e3:.0f}"),
                share=write_figures(f"{100 * _VENT / bead:.1g}"),
            )
        )
    for part in article.parts:
        if part.shape == "fill":
            found.append(
                say(
                    "The {part} fills a hollow: give the hollow a vent before it is closed, welded or "
                    "heated, for trapped gas bursts it.",
                    part=part.name,
                )
            )
            if "lead" in part.material.lower():
                found.append(
                    say(
                        "Dry and warm the hollow of the {part} above 100 °C all through before lead is "
                        "poured: molten lead on damp erupts. Face shield, gloves, extraction.",
                        part=part.name,
                    )
                )
    return tuple(found)
