"""What an article's dimensions say about it, with the cautions that belong to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from strikeproof.campaign.toml_reader import read_toml
from strikeproof.desk.articles.facts import ArticleFacts
from strikeproof.desk.articles.life_words import LIFE_UNSURE, tell_life, tell_near
from strikeproof.desk.articles.rounding import tell_rounding
from strikeproof.desk.safety.cautions import OwnCaution, Stop
from strikeproof.errors import BadInput, NotFound, nearest
from strikeproof.language import say
from strikeproof.parts import (
    EXAMPLE_PRICES,
    Article,
    ArticleProperties,
    Margin,
    Material,
    PriceTable,
    margins_at,
    read_article,
    read_materials,
    read_prices,
    tell_heat,
    tell_holding,
    tell_hollows,
    tell_swallowed,
    work_out,
)
from strikeproof.quantity import parse_quantity

__all__ = [
    "ArticleFacts",
    "describe_article",
    "draw_article_file",
    "material_tables",
    "own_materials",
    "own_prices",
    "read_peaks",
]

_ALWAYS = (
    "Use impact-rated parts only on an impact wrench: hand sockets can shatter. Wear eye, ear and hand "
    "protection.",
    "Look for cracks before every run. Prove a new article with the tool fixed in a frame, a guard "
    "around it and "
    "the trigger worked from outside, the supply raised in steps.",
    "These figures are estimates from dimensions and typical materials; local codes, the makers' "
    "instructions and licensed practice come first.",
)
_ONE_PEAK = (
    "The peak torque given is taken for every joint{but}. The square drive and the bond of a rider can see "
    "several times the torque at the bolt: `simulate` and `predict` give each joint its own peak."
)
_PREHEAT = say(
    "A weld beside hardened alloy steel leaves a brittle zone. {heat} Check the hardness, and leave it to a "
    "qualified welder."
)
_LEAD = OwnCaution(
    say(
        "Lead gives poisonous fumes and dust: no melting or welding of leaded parts without extraction "
        "and the "
        "protection that local rules ask for; wash hands after touching lead."
    )
)
_ZINC = OwnCaution(
    say(
        "Zinc gives poisonous fumes when it is welded: take it off galvanised parts first, and use "
        "extraction "
        "and the protection that local rules ask for."
    )
)
_SPIN = (
    "It is {off:.3g} g·mm off balance: balance it, or it shakes tool and hand at the tool's no-load speed."
)
_FREE = "Never run it free, without a bolt in it: what it carries flies off at no-load speed."
_LOOSE = OwnCaution(say("A loose rider can fly off: give it a stop at both ends."))
_BALANCED = 0.05e-6  # kg·m: below what a figure would show


def describe_article(
    source: Path | str | Mapping[str, Any],
    peak_torque: float | None = None,
    *,
    name: str | None = None,
    workspace: Path | None = None,
    joint_peaks: Mapping[str, float] | None = None,
) -> ArticleFacts:
    """An article from a file, or from its table.

    Parameters
    ----------
    source
        A TOML file with `[article]` or `[[article]]` tables, or the whole of one as a mapping, or the
        article's own table.
    peak_torque
        Taken for every joint; margins are given for it. [N·m]
    name
        Which article, where the file has several.
    workspace
        Folder whose `materials.toml` and `prices.csv` are the person's own; that of the file when None.
    joint_peaks
        By part, where its joint sees another peak than `peak_torque`. [N·m]

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
    materials = own_materials(whole, folder)
    article = read_article(_pick(whole, name), materials=materials)
    properties = work_out(article, materials=materials, prices=own_prices(folder))
    margins = _margins(properties, peak_torque, joint_peaks or {})
    cautions = _cautions(article, properties, margins, tuple(joint_peaks or ()))
    return ArticleFacts(article, properties, peak_torque, margins, cautions, materials)


def read_peaks(typed: Sequence[str]) -> tuple[float | None, dict[str, float]]:
    """The peak torque of every joint, and those of the joints of single parts, as typed: "PART=900 N m".

    Raises
    ------
    BadInput
        If one is no torque, has a "=" without a part before it, or is given twice.
    """
    found: dict[str, float] = {}
    for each in typed:
        part, equals, text = each.rpartition("=")
        part = part.strip()
        if equals and not part:
            raise _bad_peak(f"{each!r} names no part")
        if part in found:
            raise _bad_peak(f"two are given for {f'part {part!r}' if part else 'every joint'}")
        found[part] = parse_quantity(text, "torque")
    return found.pop("", None), found


def _bad_peak(what: str) -> BadInput:
    allowed = "one for every joint, and one more for each part whose joint has its own"
    return BadInput(what, where="peak torque", allowed=allowed, fix='write "900 N m" or "PART=900 N m"')


def _margins(
    properties: ArticleProperties, peak: float | None, of_parts: Mapping[str, float]
) -> tuple[Margin, ...]:
    parts = list(dict.fromkeys(check.part for check in properties.checks))
    for part in of_parts:
        if part not in parts:
            raise NotFound("part with a margin", part, parts, key="peak torque")
    if peak is None:
        if of_parts:
            raise BadInput(
                "no torque is given for the other joints",
                where="peak torque",
                allowed="one for all, and more for single parts",
                fix='give one without a part, such as "800 N m"',
            )
        return ()
    return margins_at(properties, [of_parts.get(check.part, peak) for check in properties.checks] or peak)


def draw_article_file(facts: ArticleFacts, path: Path) -> Path:
    """Write the dimensioned half-section: .svg, .dxf or .pdf by the file's ending.

    Raises
    ------
    BadInput, StrikeproofError
        If the ending is another one, there is no geometry to draw, or the file cannot be written.
    """
    # Drawing a PDF takes a plotting library, which nobody waits for who wants the figures only.
    from strikeproof.publish.article_drawing import write_drawing

    write_drawing(facts.drawing(), path)
    return path


def _read_toml(path: Path) -> Mapping[str, Any]:
    if not path.exists():
        known = [each.name for each in path.parent.glob("*.toml")]
        raise NotFound(f"file in {path.parent}:", path.name, known)
    return read_toml(path)[0]


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
            fix="add it",
        )
    found: Any = whole["article"]
    if isinstance(found, Mapping):
        return found
    if not isinstance(found, list) or not all(isinstance(each, Mapping) for each in found):
        raise BadInput(
            "article is no table", where="file", allowed="[article] or [[article]]", fix="write it so"
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
            fix=f"name one of {', '.join(by_name)}",
        )
    if name not in by_name:
        raise NotFound("article", name, by_name)
    return by_name[name]


def own_materials(whole: Mapping[str, Any], folder: Path | None) -> dict[str, Material]:
    """Materials of the folder, then those of the file itself, which win.

    Raises
    ------
    BadFile, BadInput, NotFound
        If they cannot be used.
    """
    tables = {} if folder is None else material_tables(folder)
    tables |= whole.get("material", {}) if "article" in whole else {}
    return read_materials(tables)


def material_tables(folder: Path) -> dict[str, Any]:
    """The materials in a folder's `materials.toml`, each as its table; none where there is no such file.

    Raises
    ------
    BadFile
        If it is no TOML.
    """
    shared = folder / "materials.toml"
    return dict(_read_toml(shared).get("material", {})) if shared.is_file() else {}


def own_prices(folder: Path | None) -> PriceTable:
    """Prices of the folder; the example ones where it has none."""
    own = folder / "prices.csv" if folder is not None else None
    return (
        read_prices(own.read_text(encoding="utf-8-sig"))
        if own is not None and own.is_file()
        else EXAMPLE_PRICES
    )


def _one_peak(own: Sequence[str]) -> str:
    return _ONE_PEAK.format(but=f" but that of {', '.join(own)}" if own else "")


def _cautions(
    article: Article, facts: ArticleProperties, margins: tuple[Margin, ...], own_peaks: Sequence[str]
) -> tuple[str, ...]:
    stops = [
        Stop(
            f"STOP: {m.part} ({m.mode}) fails at {m.holds_to:.4g} N·m, below the peak of {m.peak:.4g} N·m. "
            "Do not run it."
        )
        for m in margins
        if m.verdict == "stop"
    ]
    finite = [
        f"{m.part} ({m.mode}) has a finite life at this peak: {tell_life(m)}, if every blow is as hard."
        for m in margins
        if m.verdict == "finite life"
    ]
    if finite:
        finite.append(LIFE_UNSURE)
    lead = any("lead" in part.material.lower() for part in facts.parts)
    preheat = any(weld.preheat for weld in facts.welds)
    heat = tell_heat([part.material for part in article.parts]) if preheat else ""
    special = [
        (OwnCaution(say(_PREHEAT, heat=heat)), preheat),
        (_LEAD, lead),
        (_ZINC, bool(facts.welds)),
        (_LOOSE, any(rider.bond == "loose" for rider in facts.riders)),
        (_SPIN.format(off=facts.off_balance * 1e6), facts.off_balance > _BALANCED),
        (_FREE, any(part.carrier for part in article.parts)),
    ]
    return (
        *stops,
        *tell_near(margins),
        *tell_rounding(facts, margins),
        *tell_swallowed(article),
        *finite,
        *([_one_peak(own_peaks)] if margins else []),
        *_ALWAYS,
        *([tell_holding(article)] if article.parts else []),
        *map(OwnCaution, tell_hollows(article)),
        *(text for text, applies in special if applies),
    )
