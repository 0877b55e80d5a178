"""What an article's dimensions say about it, with the cautions that belong to it."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from strikeproof.errors import BadFile, BadInput, NotFound, Problem, nearest
from strikeproof.parts import (
    EXAMPLE_PRICES,
    Article,
    ArticleProperties,
    Margin,
    Material,
    PriceTable,
    Sheet,
    draw_article,
    margins_at,
    read_article,
    read_materials,
    read_prices,
    work_out,
)

__all__ = ["ArticleFacts", "describe_article"]

_ALWAYS = (
    "Use impact-rated parts only on an impact wrench: hand sockets can shatter. Wear eye, ear and hand "
    "protection.",
    "Look for cracks before every run, prove a new article behind a guard with nobody near, and hold it "
    "with its pin and ring.",
    "These figures are estimates from dimensions and typical materials; local codes, the makers' "
    "instructions and licensed practice come first.",
)
_PREHEAT = (
    "A weld beside hardened alloy steel leaves a brittle zone: preheat to about 300 °C, relieve stress "
    "at about 550 °C but below the tempering temperature, check the hardness, and leave it to a qualified "
    "welder."
)
_FUMES = (
    "Lead and zinc give poisonous fumes: no melting or welding of leaded or galvanised parts without "
    "extraction and the protection that local rules ask for; wash hands after touching lead."
)
_SPIN = (
    "A part that spins free at the tool's no-load speed must be balanced: {off:.3g} g·mm is off balance "
    "here; never run it without a bolt in it."
)
_LOOSE = "A loose rider can fly off: give it a stop at both ends."


@dataclass(frozen=True, slots=True)
class ArticleFacts:
    """An article worked out, in SI; `as_json` and `lines` put units to it.

    Parameters
    ----------
    article, properties
        What it is and what follows from it.
    peak_torque
        What the margins are for; None when none was given. [N·m]
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

    def drawing(self) -> Sheet:
        """A dimensioned half-section with its part list.

        Raises
        ------
        BadInput
            If the article has no parts.
        """
        return draw_article(self.article, self.properties, self.materials)

    def as_json(self) -> dict[str, Any]:
        """The facts with their units in the keys; what is infinite or unknown is null."""
        facts = self.properties
        weakest = facts.weakest
        return {
            "name": facts.name,
            "mass_kg": facts.mass,
            "polar_inertia_kg_m2": facts.polar_inertia,
            "stiffness_n_m_per_rad": facts.stiffness,
            "drive_stiffness_n_m_per_rad": _finite(facts.drive_stiffness),
            "hexagon_stiffness_n_m_per_rad": _finite(facts.hexagon_stiffness),
            "gap_deg": {
                "square": math.degrees(facts.drive_gap),
                "hexagon": math.degrees(facts.hexagon_gap),
            },
            "outer_diameter_m": facts.outer_diameter,
            "length_m": facts.length,
            "price": facts.price,
            "parts": [_part_json(part) for part in facts.parts],
            "lumps": [
                {"polar_inertia_kg_m2": lump.inertia, "parts": list(lump.parts)} for lump in facts.lumps
            ],
            "riders": self._riders(),
            "sections": [_section_json(section) for section in facts.sections],
            "peak_torque_n_m": self.peak_torque,
            "stop": self.stop,
            "margins": [
                {
                    "part": m.part,
                    "mode": m.mode,
                    "static": m.static,
                    "fatigue": m.fatigue,
                    "verdict": m.verdict,
                }
                for m in self.margins
            ],
            "weakest": weakest
            and {
                "part": weakest.part,
                "mode": weakest.mode,
                "holds_to_n_m": weakest.holds_to,
                "endures_to_n_m": weakest.endures_to,
            },
            "welds": [
                {
                    "part": weld.part,
                    "to": weld.to,
                    "throat_mm": weld.throat * 1e3,
                    "length_mm": weld.length * 1e3,
                    "preheat": weld.preheat,
                }
                for weld in facts.welds
            ],
            "cuts": [
                {"part": c.part, "stock": c.stock, "material": c.material, "length_mm": c.length * 1e3}
                for c in facts.cuts
            ],
            "off_balance_kg_m": facts.off_balance,
            "differences": [
                {
                    "quantity": each.quantity,
                    "computed": each.computed,
                    "measured": each.measured,
                    "percent": each.percent,
                    "standard_uncertainties": each.uncertainties,
                }
                for each in facts.differences
            ],
            "notes": list(facts.notes),
            "cautions": list(self.cautions),
        }

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
                    "stiffness_n_m_per_rad": _finite(rider.stiffness) if rider else None,
                    "damping_n_m_s_per_rad": rider.damping if rider else None,
                    "slip_torque_n_m": _finite(rider.slip_torque) if rider else None,
                    "frequency_hz": rider.frequency if rider else None,
                }
            )
        return rows


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _part_json(part: Any) -> dict[str, Any]:
    return {
        "name": part.name,
        "carrier": part.carrier,
        "material": part.material,
        "mass_kg": part.mass,
        "polar_inertia_kg_m2": part.polar_inertia,
        "start_m": part.start,
        "end_m": part.end,
        "price": part.price,
    }


def _section_json(section: Any) -> dict[str, Any]:
    return {
        "part": section.part,
        "start_m": section.start,
        "end_m": section.end,
        "torsion_constant_m4": section.torsion_constant,
        "shear_pa_per_n_m": section.shear,
        "notch_shear_pa_per_n_m": section.notch_shear,
        "wall_pa_per_n_m": section.wall,
    }


def describe_article(
    source: Path | str | Mapping[str, Any],
    peak_torque: float | None = None,
    *,
    name: str | None = None,
    workspace: Path | None = None,
) -> ArticleFacts:
    """An article from a file, or from its table.

    Parameters
    ----------
    source
        A TOML file with `[article]` or `[[article]]` tables, or the whole of one as a mapping, or the
        article's own table.
    peak_torque
        At the bolt; margins are given for it. [N·m]
    name
        Which article, where the file has several.
    workspace
        Folder whose `materials.toml` and `prices.csv` are the person's own; that of the file when None.

    Raises
    ------
    BadFile, BadInput, NotFound
        If the file, a value in it, or a name cannot be used.
    """
    whole: Mapping[str, Any]
    if isinstance(source, Mapping):
        whole, folder = source, workspace
    else:
        whole, folder = _read_toml(Path(source)), workspace or Path(source).parent
    materials = _own_materials(whole, folder)
    article = read_article(_pick(whole, name), materials=materials)
    properties = work_out(article, materials=materials, prices=_own_prices(folder))
    margins = () if peak_torque is None else margins_at(properties, peak_torque)
    cautions = _cautions(properties, margins, peak_torque)
    return ArticleFacts(article, properties, peak_torque, margins, cautions, materials)


def _read_toml(path: Path) -> Mapping[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError as cause:
        known = [each.name for each in path.parent.glob("*.toml")]
        raise NotFound(f"file in {path.parent}:", path.name, known) from cause
    except (OSError, UnicodeDecodeError) as cause:
        raise BadFile([Problem(str(path), None, "cannot be read as text", "save it as UTF-8")]) from cause
    except tomllib.TOMLDecodeError as cause:
        raise BadFile([Problem(str(path), None, f"not TOML: {cause}", "mend the line named")]) from cause


def _pick(whole: Mapping[str, Any], name: str | None) -> Mapping[str, Any]:
    """The article's table out of a file's."""
    if "article" not in whole:
        if any(key in whole for key in ("part", "polar_inertia_kg_m2", "measured")):
            return whole
        hint = nearest("article", whole)
        raise BadInput(
            "no [article] table" + (f", but {hint!r}" if hint else ""),
            where="file",
            allowed="one",
            mend="add it",
        )
    found: Any = whole["article"]
    if isinstance(found, Mapping):
        return found
    if not isinstance(found, list) or not all(isinstance(each, Mapping) for each in found):
        raise BadInput(
            "article is no table", where="file", allowed="[article] or [[article]]", mend="write it so"
        )
    by_name: dict[str, Mapping[str, Any]] = {
        str(each.get("name", f"article {i}")): each for i, each in enumerate(found, start=1)
    }
    if name is None and len(by_name) == 1:
        return next(iter(by_name.values()))
    if name is None:
        raise BadInput(
            f"{len(by_name)} articles",
            where="file",
            allowed="one, or its name",
            mend=f"name one of {', '.join(by_name)}",
        )
    if name not in by_name:
        raise NotFound("article", name, by_name)
    return by_name[name]


def _own_materials(whole: Mapping[str, Any], folder: Path | None) -> dict[str, Material]:
    """Materials of the workspace, then those of the file itself, which win."""
    shared = folder / "materials.toml" if folder is not None else None
    tables: dict[str, Any] = {}
    if shared is not None and shared.is_file():
        tables |= _read_toml(shared).get("material", {})
    tables |= whole.get("material", {}) if "article" in whole else {}
    return read_materials(tables)


def _own_prices(folder: Path | None) -> PriceTable:
    own = folder / "prices.csv" if folder is not None else None
    return (
        read_prices(own.read_text(encoding="utf-8-sig"))
        if own is not None and own.is_file()
        else EXAMPLE_PRICES
    )


def _cautions(
    facts: ArticleProperties, margins: tuple[Margin, ...], peak_torque: float | None
) -> tuple[str, ...]:
    stops = [
        f"STOP: {m.part} ({m.mode}) gives at {m.static * (peak_torque or 0.0):.4g} N·m, below the peak of "
        f"{peak_torque:.4g} N·m. Do not run it."
        for m in margins
        if m.verdict == "stop"
    ]
    finite = [
        f"{m.part} ({m.mode}) has a finite life at this peak." for m in margins if m.verdict == "finite life"
    ]
    lead = any("lead" in part.material.lower() for part in facts.parts)
    special = [
        (_PREHEAT, any(weld.preheat for weld in facts.welds)),
        (_FUMES, lead or bool(facts.welds)),
        (_LOOSE, any(rider.bond == "loose" for rider in facts.riders)),
        (_SPIN.format(off=facts.off_balance * 1e6), bool(facts.parts)),
    ]
    return (*stops, *finite, *_ALWAYS, *(text for text, applies in special if applies))
