"""The facts of an article, with their units, for JSON and for a terminal."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from strikeproof.desk.articles.life_words import tell_life, tell_static
from strikeproof.parts import (
    Article,
    ArticleProperties,
    Margin,
    Material,
    Sheet,
    draw_article,
)
from strikeproof.quantity import write_number, write_percent

__all__ = ["ArticleFacts"]


@dataclass(frozen=True, slots=True)
class ArticleFacts:
    """An article worked out, in SI; `as_json` and `lines` put units to it.

    Parameters
    ----------
    article, properties
        What it is and what follows from it.
    peak_torque
        What the margins are for, in every joint but those that were given their own; None when none was
        given. [N·m]
    margins
        Smallest first, empty without a peak torque.
    cautions
        A predicted overstress first.
    materials
        The person's own.
    """

    article: Article
    properties: ArticleProperties
    peak_torque: float | None
    margins: tuple[Margin, ...]
    cautions: tuple[str, ...]
    materials: Mapping[str, Material]

    @property
    def stop(self) -> bool:
        """Whether some place gives at the peak torque."""
        return any(margin.verdict == "stop" for margin in self.margins)

    def drawing(self, *, part_list: bool = True, letters: float = 1.0) -> Sheet:
        """A dimensioned half-section with its part list, its figures so many times the usual size.

        Raises
        ------
        BadInput
            If the article has no parts.
        """
        return draw_article(
            self.article, self.properties, self.materials, part_list=part_list, letters=letters
        )

    def as_json(self) -> dict[str, Any]:
        """The facts with their units in the keys; what is infinite or unknown is null."""
        facts = self.properties
        return {
            "name": facts.name,
            "mass_kg": facts.mass,
            "polar_inertia_kg_m2": facts.polar_inertia,
            "stiffness_n_m_per_rad": facts.stiffness,
            "drive_stiffness_n_m_per_rad": facts.drive_stiffness,
            "hexagon_stiffness_n_m_per_rad": facts.hexagon_stiffness,
            "gap_deg": {
                "square": math.degrees(facts.drive_gap),
                "hexagon": math.degrees(facts.hexagon_gap),
            },
            "outer_diameter_m": facts.outer_diameter,
            "length_m": facts.length,
            "price": facts.price,
            "parts": facts.parts,
            "lumps": facts.lumps,
            "riders": self._riders(),
            "sections": facts.sections,
            "peak_torque_n_m": self.peak_torque,
            "stop": self.stop,
            "margins": self.margins,
            "weakest": facts.weakest,
            "welds": facts.welds,
            "cuts": facts.cuts,
            "off_balance_kg_m": facts.off_balance,
            "differences": facts.differences,
            "notes": facts.notes,
            "cautions": self.cautions,
        }

    def lines(self) -> list[tuple[str, str, str]]:
        """Label, value and unit of every fact, for a terminal."""
        facts, weakest = self.properties, self.properties.weakest
        rows: list[tuple[str, float | None, str]] = [
            ("mass", facts.mass * 1e3, "g"),
            ("polar inertia", facts.polar_inertia * 1e6, "kg·mm²"),
            ("stiffness of the torque path", facts.stiffness / 1e3, "kN·m/rad"),
            ("gap at the square", math.degrees(facts.drive_gap), "°"),
            ("gap at the hexagon", math.degrees(facts.hexagon_gap), "°"),
            ("outer diameter", _times(facts.outer_diameter, 1e3), "mm"),
            ("length", _times(facts.length, 1e3), "mm"),
            ("off balance", facts.off_balance * 1e6, "g·mm"),
            ("price", facts.price, ""),
            *((f"own frequency of {rider.name}", rider.frequency, "Hz") for rider in facts.riders),
        ]
        if weakest is not None:
            rows.append((f"weakest: {weakest.part} ({weakest.mode}), static limit", weakest.holds_to, "N·m"))
        told = [(label, write_number(value), unit) for label, value, unit in rows]
        told += [
            (
                f"{m.part} ({m.mode})",
                f"{tell_static(m.static, m.static_uncertainty)} the peak of {write_number(m.peak)} N·m",
                f"{m.verdict}: {tell_life(m)}" if m.verdict == "finite life" else m.verdict,
            )
            for m in self.margins
        ]
        return told + [
            (f"measured {each.quantity}", f"{write_percent(each.percent)} from computed", "")
            for each in facts.differences
        ]

    def _riders(self) -> list[dict[str, Any]]:
        """Every rider, those that hold rigidly too: their frequency is null."""
        soft = {rider.name: rider for rider in self.properties.riders}
        rows = []
        for part in self.properties.parts:
            if part.carrier is None:
                continue
            rider = soft.get(part.name)
            rows.append(
                {
                    "name": part.name,
                    "carrier": part.carrier,
                    "bond": part.bond,
                    "polar_inertia_kg_m2": part.polar_inertia,
                    "stiffness_n_m_per_rad": rider.stiffness if rider else None,
                    "damping_n_m_s_per_rad": rider.damping if rider else None,
                    "slip_torque_n_m": rider.slip_torque if rider else None,
                    "frequency_hz": rider.frequency if rider else None,
                }
            )
        return rows


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor
