"""What the templates of a plan say: the bar, the steps, and the one that is open."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from strikeproof.desk.articles.draft import draft_article
from strikeproof.desk.articles.starting_shapes import SHAPES
from strikeproof.desk.calibrating.readings import readings_text
from strikeproof.desk.safety.head_fit import find_head, say_head_fit
from strikeproof.desk.setting_up.editor import Fault, SetUp
from strikeproof.desk.setting_up.fields import fields_of, tell_fault
from strikeproof.errors import end_sentence
from strikeproof.quantity import write_number
from strikeproof.web.frame import View
from strikeproof.web.planning.boxes import boxes_of

__all__ = ["DRIVES", "STEPS", "count_of", "plan_facts"]

STEPS: Final[Mapping[str, tuple[str, tuple[str, ...]]]] = {
    "tools": ("Tools", ("tool",)),
    "articles": ("Articles", ("article", "campaign.reference")),
    "bolt": ("Bolt and rig", ("bolt", "rig")),
    "calibration": ("Calibration", ("calibration",)),
    "protocol": ("Protocol and repeats", ("protocol", "campaign")),
    "sheet": ("Run sheet", ()),
}
"""Each step's name, and the tables of the campaign that it is about."""

_TABLES: Final = {each for _label, tables in STEPS.values() for each in tables if "." not in each}
_TOOL = ("name", "mechanism", "drive_mm", "supply")
_MECHANISMS = {
    "mechanism": (("air", "air"), ("spring-and-cam", "spring and cam"), ("oil-pulse", "oil pulse"))
}
_BOLT = ("thread", "class", "hand", "friction", "runs_per_bolt", "largest_proof_share")
_RIG = ("name", "channel", "unit", "own_unit", "repeatability_percent")
_CALIBRATION = ("applied_unit", "reference_uncertainty_percent", "degree")
_CAMPAIGN = ("name", "margin_percent", "currency", "note")
_PROTOCOL = (
    "duration",
    "direction",
    "rotation",
    "score",
    "cool_down",
    "repeats",
    "looks",
    "smallest_difference_percent",
)
_USUAL_HEAD_MM = 24.0
DRIVES: Final = (
    ("6.3", "6.3 mm (1/4 in)"),
    ("10", "10 mm (3/8 in)"),
    ("12.5", "12.5 mm (1/2 in)"),
    ("20", "20 mm (3/4 in)"),
    ("25", "25 mm (1 in)"),
    ("40", "40 mm (1 1/2 in)"),
)
_ONLY_A_NAME = ("", "only a name; I have not measured or described it yet")

Facts = dict[str, Any]


def count_of(number: int, word: str) -> str:
    """A number with its word, as "2 tools"."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def plan_facts(view: View, set_up: SetUp, step: str) -> Facts:
    """All that the templates of one step say."""
    word = set_up.folder.name

    def to(name: str) -> str:
        return view.to("/plan", set_up=word, step=name)

    names = list(STEPS)
    at = names.index(step)
    onward = [(f"Back: {STEPS[names[at - 1]][0]}", to(names[at - 1]), False)] if at else []
    onward += [(f"Next: {STEPS[each][0]}", to(each), True) for each in names[at + 1 : at + 2]]
    return {
        "name": set_up.name,
        "mark": set_up.mark,
        "changes": view.to("/plan/change", set_up=word, step=step),
        "fills": view.to(f"/data/filled/plan/{step}", set_up=word, mark=set_up.mark),
        "can_undo": set_up.can_undo,
        "can_redo": set_up.can_redo,
        "state": _state(set_up),
        "step": step,
        "steps": [
            {"label": label, "address": to(name), "open": name == step, "faults": _count_faults(set_up, name)}
            for name, (label, _places) in STEPS.items()
        ],
        "onward": onward,
        **_FACTS[step](view, set_up),
    }


def _state(set_up: SetUp) -> str:
    count = len(set_up.faults)
    words = "Complete: every change is saved." if not count else f"{count} to fix; everything typed is saved."
    return words + (f" {count_of(len(set_up.made), 'run')} made." if set_up.made else "")


def _count_faults(set_up: SetUp, step: str) -> int:
    return sum(_is_of(fault.place, step) for fault in set_up.faults)


def _is_of(place: tuple[str | int, ...], step: str) -> bool:
    """Whether a fault belongs to a step; the reference is the articles', not the protocol's."""
    if place[:2] == ("campaign", "reference"):
        return step == "articles"
    return str(place[0]) in STEPS[step][1]


def _tools(view: View, set_up: SetUp) -> Facts:
    words = "What more is known of it: inertia, speed and rate of its blows"
    return {
        "tools": [
            (
                str(tool.get("name") or f"Tool {number + 1}"),
                boxes_of(set_up, view.units).group(
                    ("tool", number),
                    fields_of("tool"),
                    _TOOL,
                    words=words,
                    choices=_MECHANISMS,
                ),
            )
            for number, tool in enumerate(set_up.tables.get("tool", []))
        ]
    }


def _articles(view: View, set_up: SetUp) -> Facts:
    articles = set_up.tables.get("article", [])
    names = [str(each.get("name", "")) for each in articles]
    reference = str(set_up.tables.get("campaign", {}).get("reference", ""))
    missing = [] if reference in names else [(reference, reference or "not given")]
    bolts = find_head(set_up.tables.get("bolt", {}))
    flats = _USUAL_HEAD_MM if bolts is None else bolts.flats_mm
    return {
        "articles": [_article(view, set_up, number, each) for number, each in enumerate(articles)],
        "references": [*missing, *((name, name) for name in names)],
        "reference": reference,
        "shapes": [*((each.word, f"{each.label}: {each.says}") for each in SHAPES), _ONLY_A_NAME],
        "head": f"{view.units.from_si(1e-3 * flats, 'length'):.4g}",
        "head_says": "the bolt is not described yet; an M24 has 36 mm"
        if bolts is None
        else f"the bolt's head is {bolts}",
        "drives": DRIVES,
        "drive": _nearest_drive(set_up),
    }


def _article(view: View, set_up: SetUp, number: int, article: Mapping[str, Any]) -> Facts:
    name = str(article.get("name", f"Article {number + 1}"))
    faults = set_up.faults_in("article", number)
    bolt = set_up.tables.get("bolt", {})
    fits = [] if faults else say_head_fit(bolt, [article], fix="give its width in the step Bolt and rig")
    return {
        "name": name,
        "address": view.to("/articles", set_up=set_up.folder.name, article=number + 1),
        "is_reference": name == set_up.tables.get("campaign", {}).get("reference"),
        "fault": f"{len(faults)} to fix: {faults[0].beside or faults[0].problem}" if faults else "",
        "figures": "" if faults else _figures(view, set_up, article),
        "head": [end_sentence(each[:1].upper() + each[1:]) for each in fits],
    }


def _figures(view: View, set_up: SetUp, article: Mapping[str, Any]) -> str:
    draft = draft_article(article, folder=set_up.folder)
    price = article.get("price")
    told = []
    if draft.facts is not None:
        found = draft.facts.properties
        told = [
            view.units.write(found.mass, "mass", 3),
            f"{write_number(found.polar_inertia * 1e6, 3)} kg·mm²",
            f"{write_number(found.stiffness / 1e3, 3)} kN·m/rad",
        ]
    if isinstance(price, int | float):
        told.append(f"{price:.2f} {set_up.currency}")
    return " · ".join(told) or "only its name is known: describe it to have it explained and designed with"


def _nearest_drive(set_up: SetUp) -> str:
    """The square on offer that comes nearest to the first tool's."""
    told = [each.get("drive_mm") for each in set_up.tables.get("tool", [])]
    drive = next((each for each in told if isinstance(each, float | int)), 12.7)
    return min((value for value, _words in DRIVES), key=lambda value: abs(float(value) - drive))


def _bolt(view: View, set_up: SetUp) -> Facts:
    bolt = "Own strength, head and shank; friction apart, its uncertainty, one bolt's name"
    rig = "Sample rate, resolution, full scale, stiffness of the clamped parts"
    return {
        "bolt": boxes_of(set_up, view.units).group(("bolt",), fields_of("bolt"), _BOLT, words=bolt),
        "has_bolt": bool(set_up.tables.get("bolt")),
        "rig": boxes_of(set_up, view.units).group(("rig",), fields_of("rig"), _RIG, words=rig),
    }


def _calibration(view: View, set_up: SetUp) -> Facts:
    if "calibration" not in set_up.tables:
        return {"calibration": None}
    fields = [each for each in fields_of("calibration") if each.key != "sheet"]
    words = "Rig and bolt it was made on"
    return {
        "calibration": boxes_of(set_up, view.units).group(
            ("calibration",), fields, _CALIBRATION, words=words
        ),
        "readings": readings_text(view.site.workspace, set_up.folder.name),
    }


def _protocol(view: View, set_up: SetUp) -> Facts:
    rig = [each for each in fields_of("rig") if each.key == "repeatability_percent"]
    campaign = [each for each in fields_of("campaign") if each.key != "reference"]
    return {
        "protocol": boxes_of(set_up, view.units).group(
            ("protocol",),
            fields_of("protocol"),
            _PROTOCOL,
            words="Supply for all tools, seed of the random order",
        ),
        "repeatability": boxes_of(set_up, view.units).group(("rig",), rig, ("repeatability_percent",)),
        "campaign": boxes_of(set_up, view.units).group(
            ("campaign",), campaign, _CAMPAIGN, words="Simulated runs"
        ),
    }


def _sheet(view: View, set_up: SetUp) -> Facts:
    return {"wanting": [_wanting(view, set_up, fault) for fault in set_up.faults[:12]]}


def _wanting(view: View, set_up: SetUp, fault: Fault) -> tuple[str, str, str]:
    """What is wrong, with the step where it is fixed: its name and its address."""
    step = next((each for each in STEPS if _is_of(fault.place, each)), "tools")
    address = view.to("/plan", set_up=set_up.folder.name, step=step)
    return _fault_words(fault, set_up.tables), STEPS[step][0], address


def _fault_words(fault: Fault, tables: Mapping[str, Any]) -> str:
    """What is wrong, and where: by the labels of the form, and the name of the tool or article."""
    kind, key = str(fault.place[0]), str(fault.place[-1])
    field = next((each for each in fields_of(kind) if each.key == key), None) if kind in _TABLES else None
    if field is not None and len(fault.place) == 2:
        return f"{field.label}: {tell_fault(field, fault)}"
    if fault.lacks and len(fault.place) == 1:
        return f"There is no {kind} yet."
    said = f"{fault.problem}; {fault.fix}"
    match fault.place:
        case (str(kind), int(number), *_rest) if fault.beside:
            entries = tables.get(kind)
            entry = entries[number] if isinstance(entries, list) and number < len(entries) else None
            name = entry.get("name") if isinstance(entry, Mapping) else None
            said = f"{kind} {name or number + 1}: {fault.beside}; {fault.fix}"
    return end_sentence(said)


_FACTS: Final[Mapping[str, Callable[[View, SetUp], Facts]]] = {
    "tools": _tools,
    "articles": _articles,
    "bolt": _bolt,
    "calibration": _calibration,
    "protocol": _protocol,
    "sheet": _sheet,
}
