"""A simulated bench as a person writes it: tables of keys in, records of the drivetrain out.

The keys are those of a campaign's folder; each may also be written without its unit, which is the same then.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal, cast, get_args

from strikeproof.campaign.agreement import turning_of
from strikeproof.campaign.keys import meanings_of
from strikeproof.campaign.records import ScoreRule
from strikeproof.campaign.toml_reader import parse_toml
from strikeproof.desk.safety.supply import supply_ratio
from strikeproof.desk.simulating.stated import Stated
from strikeproof.drivetrain import (
    PRIOR_SOURCES,
    ArticleModel,
    BoltModel,
    CompletedTool,
    RigModel,
    ToolModel,
    TorqueLimit,
    at_supply,
    complete_tool,
    plain_article,
)
from strikeproof.errors import BadFile, BadInput, NotFound
from strikeproof.joint import (
    OWN_KEYS,
    BoltYield,
    Hand,
    Rotation,
    Turning,
    TurningDirection,
    bolt_twist_stiffness,
    bolt_yield,
    parse_bolt,
    proof_load,
    read_bolt_parts,
    settle_turning,
    snug_load,
    usual_grip,
)
from strikeproof.joint.own_bolt import OWN_STRENGTH_KEYS
from strikeproof.quantity import ending_of, parse_quantity

__all__ = ["ASSUMED_SOURCES", "Setup", "override", "read_setup", "read_supply", "tool_numbers"]


@dataclass(frozen=True, slots=True)
class Setup:
    """All that one simulated run needs.

    Attributes
    ----------
    level, level_is_torque
        Level of a `time to` score, a clamp load [N] or its torque equivalent [N·m].
    start_load
        Clamp load before the first blow, None for the rig's snug load. [N]
    priors
        Values taken from the priors of the tool's class: (name, value, SI unit).
    assumed
        The same of bolt and rig, for what their tables leave open.
    supply
        Over the rated supply.
    stated
        What the tool's table states of its blows at this supply; nothing at another than the rated one.
    yields
        Tension and torsion at which the bolt yields, None where its class is not known.
    """

    tool: ToolModel
    article: ArticleModel
    bolt: BoltModel
    rig: RigModel
    duration: float = 10.0
    direction: Literal["tighten", "loosen"] = "tighten"
    turning: Turning = field(default_factory=lambda: settle_turning(None, None, None))
    score: ScoreRule = field(default_factory=ScoreRule)
    level: float | None = None
    level_is_torque: bool = False
    start_load: float | None = None
    priors: tuple[tuple[str, float, str], ...] = ()
    assumed: tuple[tuple[str, float, str], ...] = ()
    supply: float = 1.0
    stated: Stated = field(default_factory=Stated)
    yields: BoltYield | None = None


_NUMBERS: dict[str, dict[str, str]] = {
    "protocol": {"duration": "s", "start_load": "n"},
    "rig": {
        "clamp_stiffness": "n_per_m",
        "snug_load": "n",
    },
    "bolt": {
        "friction": "",
        "thread_friction": "",
        "head_friction": "",
        "static_ratio": "",
        "shank_stiffness": "n_m_per_rad",
        "grip_length": "mm",
        "prevailing_torque": "n_m",
        "breakaway_torque": "n_m",
        "proof_stress": "mpa",
        "tensile_strength": "mpa",
        "yield_strength": "mpa",
        "shank_diameter": "mm",
        "head_across_flats": "mm",
        "bearing_face": "mm",
    },
    "tool": {
        "drive": "mm",
        "hammer_inertia": "kg_m2",
        "blow_speed": "rad_s",
        "blow_energy": "j",
        "blow_rate": "hz",
        "anvil_stiffness": "n_m_per_rad",
        "anvil_inertia": "kg_m2",
        "restitution": "",
        "rebound_share": "",
        "supply_ratio": "",
    },
    "article": {
        "polar_inertia": "kg_m2",
        "stiffness": "n_m_per_rad",
        "hexagon_gap": "deg",
        "square_gap": "deg",
        "head_stiffness": "n_m_per_rad",
        "torque_limit": "n_m",
    },
}
"""Keys of numbers without their unit, and the unit that they end in."""
_WORDS = {table: tuple(meanings_of(table)) for table in _NUMBERS}
"""All keys that a campaign has; those that are no number here are words, or what other rooms read."""
ASSUMED_SOURCES: Mapping[str, str] = {
    **PRIOR_SOURCES,
    "grip_length": "three diameters, common practice, no source",
    "snug_load": "a tenth of the proof load, as tests of structural bolts begin (from memory)",
}
"""Where each value comes from that is assumed of tool, bolt or rig."""
_DRIVE = 0.0127  # m, when the tool's square is not given
_HEAD = 5.0e4  # N·m/rad, hexagon with the bolt's head (M)


def override(
    tables: Mapping[str, Mapping[str, Any]], changes: Sequence[tuple[str, str]]
) -> dict[str, dict[str, Any]]:
    """The tables with changes such as `("article.polar_inertia", "3e-4")` or `("protocol.duration", "5 s")`.

    Raises
    ------
    BadInput
        If the key of a change is not `table.key`.
    NotFound
        If the table or the key is unknown.
    """
    changed = {name: dict(table) for name, table in tables.items()}
    for place, text in changes:
        table, dot, key = place.strip().partition(".")
        if not (dot and key and text.strip()):
            raise BadInput(
                repr(f"{place} {text}".strip()),
                where="--with",
                allowed="table.key and a value",
                fix='write --with "article.polar_inertia 3e-4"',
            )
        full = _full_key(table, key)
        changed.setdefault(table, {})
        for spelling in (full, _bare_key(table, full)):
            changed[table].pop(spelling, None)
        changed[table][full] = _read_value(text.strip())
    return changed


def _read_value(text: str) -> Any:
    """A value as TOML writes it; what is none is taken as text."""
    try:
        return parse_toml(f"value = {text}", Path("value"))["value"]
    except BadFile:
        return text


def _full_key(table: str, key: str) -> str:
    """The key with its unit, from either spelling."""
    if table not in _NUMBERS:
        raise NotFound("table", table, _NUMBERS)
    for name, spec in _NUMBERS[table].items():
        full = f"{name}_{spec}" if spec else name
        if key in (name, full):
            return full
    if key in _WORDS[table]:
        return key
    raise NotFound(f"key in [{table}]", key, [*_NUMBERS[table], *_WORDS[table]])


def _bare_key(table: str, full: str) -> str:
    return next(
        (name for name, spec in _NUMBERS[table].items() if full == f"{name}_{spec}"),
        full,
    )


def _numbers(table: str, entries: Mapping[str, Any]) -> dict[str, float]:
    """All numbers of a table in SI, by their name without unit."""
    found = {}
    for key, value in entries.items():
        name = _bare_key(table, _full_key(table, key))
        if name in _NUMBERS[table]:
            found[name] = _as_number(f"{table}.{key}", value, _NUMBERS[table][name])
    return found


def _as_number(where: str, value: Any, unit: str) -> float:
    ending = ending_of(unit)
    if isinstance(value, str) and ending is not None:
        return parse_quantity(value, ending.kind)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise BadInput(
            f"{value!r} is no number",
            where=where,
            allowed=f"a finite number {unit}".strip(),
            fix="give one",
        )
    return float(value) * (ending.factor if ending else 1.0)


def read_setup(
    tables: Mapping[str, Mapping[str, Any]],
    *,
    article: ArticleModel | None = None,
    rigid_shank: bool = False,
) -> Setup:
    """A setup from the tables of its file.

    Parameters
    ----------
    tables
        `protocol`, `rig`, `bolt`, `tool` and `article`, keys as in a campaign's folder.
    article
        Takes the place of the article's table, for one that was made from its geometry.
    rigid_shank
        Take a rigid shank, not a usual grip length, where neither grip nor stiffness is given: a run of it
        takes a half to a quarter of the time, which thousands of runs of a fit or a search feel.

    Raises
    ------
    BadInput
        If a value is out of range or missing.
    NotFound
        If a table, key, mechanism, thread or class is unknown.
    """
    for name in tables:
        if name not in _NUMBERS:
            raise NotFound("table", name, _NUMBERS)
    protocol = _numbers("protocol", tables.get("protocol", {}))
    turning = _read_turning(tables.get("protocol", {}), tables.get("bolt", {}))
    done, tool, supply = _read_tool(tables.get("tool", {}))
    bolt, snug, yields, assumed = _read_bolt(tables.get("bolt", {}))
    if rigid_shank and assumed:
        bolt, assumed = replace(bolt, shank_stiffness=math.inf), ()
    rig = _read_rig(tables.get("rig", {}), snug)
    rule, level, is_torque = _read_score(tables.get("protocol", {}).get("score", "end"))
    return Setup(
        tool=tool,
        article=article or _read_article(tables.get("article", {})),
        bolt=bolt,
        yields=yields,
        rig=rig,
        duration=protocol.get("duration", 10.0),
        direction=turning.direction,
        turning=turning,
        score=rule,
        level=level,
        level_is_torque=is_torque,
        start_load=protocol.get("start_load"),
        priors=done.priors,
        assumed=(*assumed, *_assumed_of_rig(tables, rig)),
        supply=supply,
        stated=_stated(tables.get("tool", {}), done) if supply == 1.0 else Stated(),
    )


def _read_turning(protocol: Mapping[str, Any], bolt: Mapping[str, Any]) -> Turning:
    words = {
        "protocol.direction": (protocol.get("direction"), get_args(TurningDirection)),
        "protocol.rotation": (protocol.get("rotation"), get_args(Rotation)),
        "bolt.hand": (bolt.get("hand"), get_args(Hand)),
    }
    for where, (word, choices) in words.items():
        if word is not None and word not in choices:
            raise BadInput(repr(word), where=where, allowed=" or ".join(choices), fix="write one of them")
    direction, rotation, hand = (word for word, _choices in words.values())
    thread = " ".join(str(bolt.get("thread", "")).split()[:2]) or None
    return turning_of(direction, rotation, thread, hand)


def _read_score(text: Any) -> tuple[ScoreRule, float | None, bool]:
    """The rule, and the level of `time to` as a load or a torque."""
    words = str(text).strip()
    if words in ("end", "peak"):
        return ScoreRule(cast(Literal["end", "peak"], words)), None, False
    if words.startswith("at "):
        return ScoreRule("at", at_s=parse_quantity(words[3:], "time")), None, False
    if words.startswith("time to "):
        level = words[8:]
        try:
            value, is_torque = parse_quantity(level, "torque"), True
        except BadInput:
            value, is_torque = parse_quantity(level, "force"), False
        return ScoreRule("time to", level=value, level_unit="N m" if is_torque else "N"), value, is_torque
    raise BadInput(
        repr(words),
        where="protocol.score",
        allowed='"end", "peak", "at 5 s", "time to 400 N m"',
        fix="write one",
    )


def _read_rig(table: Mapping[str, Any], snug: float) -> RigModel:
    """The rig; a run starts at the snug load of the bolt, `snug`, unless the table says another."""
    numbers = _numbers("rig", table)
    stiffness = numbers.get("clamp_stiffness", RigModel().clamp_stiffness)
    return RigModel(stiffness, numbers.get("snug_load", snug))


def _assumed_of_rig(
    tables: Mapping[str, Mapping[str, Any]], rig: RigModel
) -> tuple[tuple[str, float, str], ...]:
    started = {*_numbers("rig", tables.get("rig", {})), *_numbers("protocol", tables.get("protocol", {}))}
    return () if {"snug_load", "start_load"} & started else (("snug_load", rig.snug_load, "N"),)


def _stated(table: Mapping[str, Any], done: CompletedTool) -> Stated:
    numbers = _numbers("tool", table)
    speed = done.speed if {"blow_speed", "blow_energy"} & set(numbers) else None
    return Stated(numbers.get("blow_rate"), speed, done.speed, done.most_rate)


def _read_tool(table: Mapping[str, Any]) -> tuple[CompletedTool, ToolModel, float]:
    """The tool as completed, the same at its supply, and that over the rated supply."""
    numbers = _numbers("tool", table)
    drive, mechanism = numbers.pop("drive", _DRIVE), str(table.get("mechanism", "air"))
    ratio = read_supply(table, mechanism, numbers.pop("supply_ratio", None))
    done = complete_tool(
        str(table.get("name", "tool")), mechanism, drive, cast(Mapping[str, float | None], numbers)
    )
    return done, done.tool if ratio == 1.0 else at_supply(done.tool, ratio), ratio


def tool_numbers(table: Mapping[str, Any]) -> dict[str, float]:
    """What a `[tool]` table says in numbers, SI, by their names without unit.

    Raises
    ------
    BadInput, NotFound
        If a value is out of range or a key unknown.
    """
    return _numbers("tool", table)


def read_supply(table: Mapping[str, Any], mechanism: str, given: float | None) -> float:
    """Share of the rated supply, given by itself or by the supply; the table's values hold at the rating.

    Raises
    ------
    BadInput
        If the two disagree, or the supply is none.
    """
    told = supply_ratio(mechanism, table.get("supply"), table.get("rated_supply"))
    if given is not None and "supply" in table and abs(given / told - 1.0) > 0.01:
        raise BadInput(
            f"{given:g} with supply {table['supply']!r}",
            where="tool.supply_ratio",
            allowed=f"{told:.3g}, the supply over the rated supply",
            fix="leave one of them out",
        )
    return told if given is None else given


def _read_article(table: Mapping[str, Any]) -> ArticleModel:
    numbers = _numbers("article", table)
    if "polar_inertia" not in numbers:
        raise BadInput(
            "not given",
            where="article.polar_inertia_kg_m2",
            allowed="1e-08 to 10 kg·m²",
            fix="give it, or the article's parts",
        )
    limit = numbers.pop("torque_limit", None)
    name = str(table.get("name", "article"))
    article = plain_article(name, numbers.pop("polar_inertia"), **numbers)
    if limit is None:
        return article
    return replace(article, torque_limits=(TorqueLimit(name, limit, (0, 1)),))


def _own_parts(numbers: dict[str, float]) -> dict[str, float]:
    """What makes a bolt one's own, by the keys of a campaign file; taken out of the numbers."""
    found = {}
    for name, unit in _NUMBERS["bolt"].items():
        key, ending = f"{name}_{unit}", ending_of(unit)
        if key in OWN_KEYS and ending is not None and name in numbers:
            found[key] = numbers.pop(name) / ending.factor
    return found


def _read_bolt(
    table: Mapping[str, Any],
) -> tuple[BoltModel, float, BoltYield | None, tuple[tuple[str, float, str], ...]]:
    """The bolt, its snug load [N], where it yields, and what was assumed of its shank.

    Thread and bearing go by their standards; `friction` is for both unless they are given apart. The shank
    twists over the grip length, which is a usual one where it is not given.
    """
    numbers = _numbers("bolt", table)
    total = numbers.pop("friction", 0.12)
    text = str(table.get("thread", "M20x2.5"))
    named = str(table["class"]) if "class" in table else None
    own = _own_parts(numbers)
    if named is None and len(text.split()) > 1 and not any(key in own for key in OWN_STRENGTH_KEYS):
        found, property_class = parse_bolt(text)
        text, named = found.designation, property_class.name
    parts = read_bolt_parts({"thread": text, "class": named, **own})
    assert parts is not None  # a thread is named
    thread, strength = parts.thread, parts.property_class
    assumed: tuple[tuple[str, float, str], ...] = ()
    if not {"grip_length", "shank_stiffness"} & set(numbers):
        assumed = (("grip_length", usual_grip(thread), "m"),)
    grip = numbers.pop("grip_length", usual_grip(thread))
    numbers = {"shank_stiffness": bolt_twist_stiffness(thread, grip), **numbers}
    bolt = BoltModel(
        pitch=thread.pitch,
        thread_radius=0.5 * thread.pitch_diameter,
        head_radius=0.5 * parts.bearing.friction_diameter,
        thread_friction=numbers.pop("thread_friction", total),
        head_friction=numbers.pop("head_friction", total),
        proof_load=math.inf if strength is None else proof_load(thread, strength),
        **numbers,
    )
    yields = None if strength is None else bolt_yield(thread, strength)
    return bolt, snug_load(thread, strength), yields, assumed
