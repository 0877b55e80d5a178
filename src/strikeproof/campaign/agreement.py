"""Where the keys of campaign.toml must agree: names that meet, a bolt that exists, a rule in known units."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any, NamedTuple, get_args

from strikeproof.campaign.keys import GEOMETRY_KEYS, CampaignFile
from strikeproof.errors import BadInput, StrikeproofError, nearest
from strikeproof.joint import (
    OWN_KEYS,
    BoltParts,
    Friction,
    Hand,
    Rotation,
    Turning,
    TurningDirection,
    allowed_clamp_load,
    parse_class,
    parse_thread,
    proof_load,
    read_bolt_parts,
    settle_turning,
    torque_tension,
)
from strikeproof.parts import read_article
from strikeproof.parts.materials import MaterialBook
from strikeproof.plain_text import TextKind, TextProblem, judge_text
from strikeproof.quantity import is_arbitrary, kind_of_unit, to_si, unit_label, write_number

__all__ = ["Mistake", "find_mistakes", "find_rule_mistakes", "turning_of"]


class Mistake(NamedTuple):
    """Place of the key, what is wrong with it, the fix, and whether it says what is allowed."""

    place: tuple[str | int, ...]
    what: str
    fix: str
    says_allowed: bool = False


def find_mistakes(tables: dict[str, Any], materials: MaterialBook) -> Iterator[Mistake]:
    """What is wrong between the keys of a parsed file, whatever else may be wrong with them.

    `materials` are the person's own, that the articles may be made of.
    """
    yield from _name_mistakes(tables)
    yield from _rig_name_mistakes(tables)
    yield from _geometry_mistakes(tables, materials)
    yield from _reference_mistakes(tables)
    yield from _turning_mistakes(tables)
    for place, rig in _rigs(tables):
        yield from _unit_mistakes(rig, place)
    bolt = tables.get("bolt")
    if isinstance(bolt, dict):
        yield from _friction_mistakes(bolt)
        yield from _bolt_mistakes(bolt)


def turning_of(
    direction: TurningDirection | None, rotation: Rotation | None, thread: str | None, hand: Hand | None
) -> Turning:
    """Direction, rotation and hand as a file gives them, in `protocol` and in the thread or beside it.

    Raises
    ------
    BadInput
        If two of them contradict each other; its key is the one to correct.
    """
    try:
        written = parse_thread(thread).hand if thread else None
    except BadInput:  # said at the thread
        written = None
    if written == "left" and hand == "right":
        raise BadInput(
            f"the thread {thread!r} is left-hand",
            where="bolt.hand",
            allowed="left",
            fix="delete hand, or LH in the thread",
            key="hand",
        )
    return settle_turning(direction, rotation, "left" if written == "left" else hand)


def _turning_mistakes(tables: dict[str, Any]) -> Iterator[Mistake]:
    protocol, bolt = (
        table if isinstance(table := tables.get(name), dict) else {} for name in ("protocol", "bolt")
    )
    given = (
        _one_of(protocol.get("direction"), get_args(TurningDirection)),
        _one_of(protocol.get("rotation"), get_args(Rotation)),
        _one_of(bolt.get("thread"), ()),
        _one_of(bolt.get("hand"), get_args(Hand)),
    )
    try:
        turning_of(*given)
    except BadInput as wrong:
        place = ("bolt", "hand") if wrong.where == "bolt.hand" else ("protocol", "direction")
        yield Mistake(place, wrong.what, wrong.fix)


def _rigs(tables: dict[str, Any]) -> Iterator[tuple[tuple[str | int, ...], dict[str, Any]]]:
    """The campaign's own rig and the others, each with its place."""
    others = tables.get("other_rig")
    placed = [(("other_rig", at), each) for at, each in enumerate(others if isinstance(others, list) else [])]
    for place, rig in ((("rig",), tables.get("rig")), *placed):
        if isinstance(rig, dict):
            yield place, rig


def _unit_mistakes(rig: dict[str, Any], place: tuple[str | int, ...]) -> Iterator[Mistake]:
    """An unknown unit is a typing mistake, until a person says that it is a name of their own."""
    unit = rig.get("unit")
    if (
        not isinstance(unit, str)
        or isinstance(judge_text(unit, TextKind.UNIT), TextProblem)
        or not unit.strip()
    ):
        return
    if rig.get("own_unit") is True:
        if kind_of_unit(unit) is not None:
            fix = "delete it, or name the unit otherwise"
            yield Mistake((*place, "own_unit"), f"{unit!r} is a unit of {kind_of_unit(unit)}", fix)
    elif kind_of_unit(unit) is None and not is_arbitrary(unit):
        fix = (
            "write a unit of force or torque, or 'reading'; for a name of your own, say yes to 'Unit is a "
            "name of your own' (own_unit = true in the file)"
        )
        yield Mistake((*place, "unit"), f"{unit!r} is not a known unit", fix)


def _one_of(value: Any, words: tuple[str, ...]) -> Any:
    """A word, None where it is not one of those; what it is instead is said elsewhere."""
    return value if isinstance(value, str) and (not words or value in words) else None


def find_rule_mistakes(file: CampaignFile) -> Iterator[Mistake]:
    """What is wrong between the score rule, or the rig's zero, and the rest of a file whose keys are right
    one by one."""
    yield from _zero_mistakes(file, ("rig", "zero"))
    for at, other in enumerate(file.other_rig):
        yield from _zero_mistakes(file.model_copy(update={"rig": other}), ("other_rig", at, "zero"))
    rule, window = file.protocol.score, file.protocol.duration
    place = ("protocol", "score")
    if rule.at_s is not None and rule.at_s > window:
        fix = "name a time inside the window, or lengthen protocol.duration"
        yield Mistake(place, f"{rule.at_s:g} s lies after the timed window of {window:g} s", fix)
    if rule.level_unit is not None and not _can_be_told(rule.level_unit, file):
        told = file.calibration.applied_unit if file.calibration else file.rig.unit
        fix = "use that unit, or add what leads to it: a calibration, or the bolt's thread and friction"
        yield Mistake(place, f"a level in {rule.level_unit!r} cannot be given in {told!r}", fix)


def _zero_mistakes(file: CampaignFile, place: tuple[str | int, ...]) -> Iterator[Mistake]:
    """A zero beyond what the rig can show, or its bolt may carry, is one that was typed wrongly."""
    rig = file.rig
    if rig.zero is None:
        return
    shown = f"{rig.zero:g} {unit_label(rig.unit)}"
    fix = f"give what the rig shows with the bolt loose, in {unit_label(rig.unit)} or with its unit"
    if rig.full_scale is not None and abs(rig.zero) > rig.full_scale:
        most = f"{rig.full_scale:g} {unit_label(rig.unit)}"
        yield Mistake(place, f"{shown} is more than the rig's full scale of {most}", fix)
        return
    most_load, load = _allowed_load(file), _as_load(file, abs(rig.zero))
    if most_load is not None and load is not None and load > most_load:
        most = f"{write_number(most_load / 1000, 3)} kN that the bolt may carry"
        yield Mistake(place, f"{shown} with the bolt loose is more than the {most}", fix)


def _allowed_load(file: CampaignFile) -> float | None:
    parts = _bolt_parts(file)
    if parts is None or parts.property_class is None:
        return None
    return allowed_clamp_load(parts.thread, parts.property_class, file.bolt.largest_proof_share)


def _bolt_parts(file: CampaignFile) -> BoltParts | None:
    try:
        return read_bolt_parts(file.bolt.model_dump(by_alias=True, exclude_none=True))
    except BadInput:  # said at its own key
        return None


def _as_load(file: CampaignFile, level: float) -> float | None:
    """A level of the rig as clamp load; None where its unit does not say it. [N]"""
    kind, parts, bolt = kind_of_unit(file.rig.unit), _bolt_parts(file), file.bolt
    if kind is None:
        return None
    if kind == "force":
        return to_si(level, file.rig.unit, kind)
    thread, head = bolt.friction or bolt.thread_friction, bolt.friction or bolt.head_friction
    if parts is None or thread is None or head is None:
        return None
    lever = torque_tension(parts.thread, Friction(thread, head), parts.bearing).torque_per_force
    return to_si(level, file.rig.unit, kind) / lever


def _names(tables: dict[str, Any], kind: str) -> list[str]:
    entries = tables.get(kind)
    entries = entries if isinstance(entries, list) else []
    return [str(each.get("name", "")).strip() if isinstance(each, dict) else "" for each in entries]


def _name_mistakes(tables: dict[str, Any]) -> Iterator[Mistake]:
    for kind in ("tool", "article"):
        names = _names(tables, kind)
        for position, name in enumerate(names):
            if name and name in names[:position]:
                yield Mistake(
                    (kind, position, "name"), f"two {kind}s are named {name!r}", "give each its own name"
                )


def _rig_name_mistakes(tables: dict[str, Any]) -> Iterator[Mistake]:
    """A run names its rig."""
    seen: set[str] = set()
    for place, rig in _rigs({"rig": {}, **tables}):
        name = str(rig.get("name", "rig" if place == ("rig",) else "")).strip()
        if name and name in seen:
            yield Mistake((*place, "name"), f"two rigs are named {name!r}", "give each its own name")
        seen.add(name)


def _geometry_mistakes(tables: dict[str, Any], materials: MaterialBook) -> Iterator[Mistake]:
    entries = tables.get("article")
    for position, entry in enumerate(entries if isinstance(entries, list) else []):
        if not isinstance(entry, dict) or not (entry.get("part") or entry.get("measured")):
            continue
        # Plain values are judged key by key elsewhere; here only what the geometry says is.
        geometry = {key: value for key, value in entry.items() if key in ("name", *GEOMETRY_KEYS)}
        try:
            read_article(geometry, materials=materials)
        except StrikeproofError as wrong:
            yield Mistake(
                ("article", position, *wrong.place),
                wrong.problem,
                wrong.fix,
                says_allowed=isinstance(wrong, BadInput),
            )


def _reference_mistakes(tables: dict[str, Any]) -> Iterator[Mistake]:
    campaign, names = tables.get("campaign"), _names(tables, "article")
    reference = campaign.get("reference") if isinstance(campaign, dict) else None
    if reference is None or not names or str(reference).strip() in names:
        return
    hint = nearest(str(reference), names)
    fix = f"did you mean {hint!r}?" if hint else f"name one of: {', '.join(names)}"
    yield Mistake(("campaign", "reference"), f"the reference {reference!r} is not among the articles", fix)


def _friction_mistakes(bolt: dict[str, Any]) -> Iterator[Mistake]:
    apart = [key for key in ("thread_friction", "head_friction") if key in bolt]
    if "friction" in bolt and apart:
        fix = "keep either friction, or thread_friction with head_friction"
        yield Mistake(("bolt", "friction"), "friction is given both in total and apart", fix)
    elif len(apart) == 1:
        fix = "add the other, or give friction"
        yield Mistake(("bolt", apart[0]), "thread_friction and head_friction go together", fix)


def _bolt_mistakes(bolt: dict[str, Any]) -> Iterator[Mistake]:
    thread, found = _parsed(bolt, "thread", parse_thread)
    yield from found
    property_class, found = _parsed(bolt, "class", parse_class)
    yield from found
    if thread is None:
        return
    try:
        if property_class is not None:
            proof_load(thread, property_class)
    except BadInput as wrong:
        yield Mistake(("bolt", "class"), wrong.problem, wrong.fix, says_allowed=True)
        return
    own = {key: bolt[key] for key in OWN_KEYS if _may_be_size(bolt.get(key))}
    named = {} if property_class is None else {"class": bolt["class"]}
    try:
        read_bolt_parts({"thread": bolt["thread"], **named, **own})
    except BadInput as wrong:
        if wrong.where in OWN_KEYS:  # the others are said at their own keys
            yield Mistake(("bolt", wrong.where), wrong.problem, wrong.fix, says_allowed=True)


def _may_be_size(value: Any) -> bool:
    """Whether a value is right by itself; what is wrong else is said at its key."""
    return isinstance(value, str) or (isinstance(value, int | float) and value > 0 and value is not True)


def _parsed(bolt: dict[str, Any], key: str, parse: Callable[[str], Any]) -> tuple[Any, Iterable[Mistake]]:
    text = bolt.get(key)
    if not isinstance(text, str) or not text.strip():
        return None, ()
    try:
        return parse(text), ()
    except BadInput as wrong:
        what = f"{wrong.what} (allowed: {wrong.allowed})"
        return None, [Mistake(("bolt", key), what, wrong.fix, says_allowed=True)]


def _can_be_told(unit: str, file: CampaignFile) -> bool:
    """Whether a level in `unit` can be turned into the unit of a score."""
    told = file.calibration.applied_unit if file.calibration else file.rig.unit
    if unit == told:
        return True
    kinds = kind_of_unit(unit), kind_of_unit(told)
    if None in kinds:
        return False
    bolt = file.bolt
    lever_is_known = bolt.thread is not None and (bolt.friction or bolt.thread_friction) is not None
    return kinds[0] == kinds[1] or lever_is_known
