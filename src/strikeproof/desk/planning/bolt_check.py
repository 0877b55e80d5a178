"""The test bolt beside what the tools are expected to do to it: a predicted load above proof is a stop."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from strikeproof.desk.safety.bolt import BoltFacts, describe_parts
from strikeproof.desk.safety.bolt_limit import full_scale_words
from strikeproof.desk.safety.cautions import Stop
from strikeproof.desk.setting_up.editor import open_set_up
from strikeproof.desk.simulating.simulate import Margin, simulate_tables
from strikeproof.errors import BadInput, StrikeproofError
from strikeproof.joint import OWN_KEYS, read_bolt_parts
from strikeproof.language import say, write_figures
from strikeproof.quantity import from_si, kind_of_unit

__all__ = ["BoltCheck", "Expected", "check_bolt", "check_bolt_of"]

_MOST_PAIRS: Final = 60  # of tool and article; the bolt is judged by the worst of them
_KNOWN_PAIRS: Final = 256
_RIG: Final = ("clamp_stiffness_n_per_m",)
_HELPS: Final = say("Shorten the run, take a larger or stronger bolt, or lower the supply.")
_BOLT: Final = (
    "thread",
    "class",
    "hand",
    "friction",
    "thread_friction",
    "head_friction",
    "grip_length_mm",
    *OWN_KEYS,
)
_PROTOCOL: Final = ("duration", "direction", "rotation")
_PLAIN: Final = (
    "name",
    "polar_inertia_kg_m2",
    "stiffness_n_m_per_rad",
    "hexagon_gap_deg",
    "square_gap_deg",
)
_DIMENSIONS: Final = ("part", "measured", "bolt_across_flats_mm", "drive_across_flats_mm", "mass_kg")
_AS_SHOWN: Final = {"m": ("mm", 1e3), "N": ("kN", 1e-3)}  # lengths and loads
_USUAL: Final = "a usual socket"
# A socket of the drive's size where no article is described yet: PHYSICS priors, from memory. [kg·m²]
_USUAL_INERTIA: Final = {"half": 6e-5, "three-quarter": 2.7e-4}


@dataclass(frozen=True, slots=True)
class Expected:
    """What one tool is expected to do with one article.

    Attributes
    ----------
    load, peak_torque
        Largest clamp load of runs with the tool's scatter, and the highest torque at the bolt's head.
        [N, N·m]
    withstood_share, allowed_share
        The load over what the bolt withstands without lasting stretch, and over what it is allowed.
    is_twisted
        Whether it withstands less than its proof load, since tightening twists it too.
    assumed
        What had to be assumed, in words.
    """

    tool: str
    article: str
    load: float
    peak_torque: float
    withstood_share: float
    allowed_share: float
    is_twisted: bool
    assumed: tuple[str, ...]

    @property
    def verdict(self) -> str:
        """ "stop" above what it withstands, "too much" above what is allowed, else "holds"."""
        return "stop" if self.withstood_share > 1.0 else "too much" if self.allowed_share > 1.0 else "holds"


@dataclass(frozen=True, slots=True)
class BoltCheck:
    """A bolt, the hardest that each tool is expected to be on it, and why some could not be predicted.

    Attributes
    ----------
    stops
        Places of articles that give at the peak of their own joint, in words.
    near
        Places of articles that may give, since their limit is not sure enough, in words.
    pairs
        What is expected of every tool with every article.
    blind
        That the rig saturates before the bolt's limit, in words; empty where it does not.
    """

    facts: BoltFacts
    expected: tuple[Expected, ...]
    untold: tuple[str, ...]
    stops: tuple[str, ...]
    near: tuple[str, ...] = ()
    pairs: tuple[Expected, ...] = ()
    blind: str = ""

    @property
    def stop(self) -> bool:
        """Whether a run is predicted to go beyond what the bolt withstands."""
        return any(each.verdict == "stop" for each in self.expected)

    @property
    def says(self) -> str:
        """The worst of it in one sentence."""
        if not self.expected:
            return "Nothing can be predicted yet: describe a tool."
        worst = max(self.expected, key=lambda each: each.withstood_share)
        return self.caution or f"The hardest run, {_run_words(worst)}."

    @property
    def caution(self) -> str:
        """That the hardest run is expected to overload the bolt, and what helps; empty where none is.

        It is a `Stop` beyond what the bolt withstands.
        """
        return self._caution(max(self.expected, key=lambda each: each.withstood_share, default=None))

    @property
    def other_cautions(self) -> tuple[str, ...]:
        """The same of every other tool that is expected to overload it."""
        every = (self._caution(each) for each in self.expected)
        return tuple(each for each in every if each and each != self.caution)

    def caution_of(self, tool: str, article: str) -> str:
        """The same of one tool with one article, or with a usual socket where no article is described."""
        of_tool = {each.article: each for each in self.pairs if each.tool == tool}
        return self._caution(of_tool.get(article, of_tool.get(_USUAL)))

    def _caution(self, run: Expected | None) -> str:
        if run is None or run.verdict == "holds":
            return ""
        if run.verdict == "stop":
            return Stop(say("STOP: {run}. {helps}", run=_run_words(run), helps=_HELPS))
        return say(
            "{run}, more than the {allowed} % allowed: an overload. {helps}",
            run=_run_words(run),
            allowed=write_figures(f"{100 * self.facts.share:.0f}"),
            helps=_HELPS,
        )


def _run_words(run: Expected) -> str:
    if run.is_twisted:
        return say(
            "{tool} with {article} is expected to reach {share} % of the load at which tension and twist "
            "make the bolt yield",
            tool=run.tool,
            article=run.article,
            share=write_figures(f"{100 * run.withstood_share:.0f}"),
        )
    return say(
        "{tool} with {article} is expected to reach {share} % of the proof load",
        tool=run.tool,
        article=run.article,
        share=write_figures(f"{100 * run.withstood_share:.0f}"),
    )


@dataclass(frozen=True, slots=True)
class _Hardest:
    """What is asked of the run of a pair: largest load [N] and torque [N·m], margins, what was assumed.

    `priors` are of the tool, `assumed` of bolt and rig.
    """

    load: float
    peak_torque: float
    margins: tuple[Margin, ...]
    priors: tuple[tuple[str, float, str], ...]
    assumed: tuple[tuple[str, float, str], ...]


def check_bolt(tables: Mapping[str, Any]) -> BoltCheck:
    """The bolt of a campaign that is being set up, under the hardest run of each tool.

    A simulated load is an estimate; where the tool's own figures are not known those usual for its kind stand
    in, and that is said.

    Raises
    ------
    BadInput
        If the bolt's thread, class or friction is not given or cannot be used.
    """
    bolt = tables.get("bolt", {})
    parts = read_bolt_parts(bolt)
    if parts is None or parts.property_class is None:
        raise BadInput(
            "the bolt is not described",
            where="bolt",
            allowed="a thread and a property class",
            fix="give bolt.thread and bolt.class",
        )
    facts = describe_parts(
        parts,
        friction=bolt.get("friction"),
        thread_friction=bolt.get("thread_friction"),
        head_friction=bolt.get("head_friction"),
        share=bolt.get("largest_proof_share", 0.75),
    )
    expected: list[Expected] = []
    pairs: list[Expected] = []
    untold: list[str] = []
    stops: list[str] = []
    near: list[str] = []
    for tool in tables.get("tool", []):
        found: list[Expected] = []
        for article, assumed in _articles(tables, tool):
            try:
                run = _simulate(tables, tool, article)
                found.append(_expect(run, tables, tool, article, facts, assumed))
                pair = f"{tool.get('name', 'tool')} with {article['name']}"
                stops += _stops(run, pair)
                near += [f"{pair}: {each.near}" for each in run.margins if each.near]
            except StrikeproofError as wrong:
                untold.append(f"{tool.get('name', 'tool')} with {article['name']}: {wrong.problem}")
        if found:
            expected.append(max(found, key=lambda each: each.load))
            pairs += found
    untold = list(dict.fromkeys(untold))
    blind = _blind(tables.get("rig", {}), facts)
    return BoltCheck(facts, tuple(expected), tuple(untold), tuple(stops), tuple(near), tuple(pairs), blind)


def _blind(rig: Mapping[str, Any], facts: BoltFacts) -> str:
    most, unit, zero = rig.get("full_scale"), str(rig.get("unit", "reading")), rig.get("zero")
    torque = None if facts.tightening is None else facts.tightening.allowed_torque
    kind = kind_of_unit(unit)
    load = {"force": facts.allowed_clamp_load, "torque": torque}.get(kind or "")
    if not isinstance(most, int | float) or kind is None or load is None:
        return ""
    reading = from_si(load, unit, kind) + (zero if isinstance(zero, int | float) else 0.0)
    hidden = full_scale_words(unit, float(most), reading)
    return hidden and f"Nothing will watch this rig for overload: {hidden}. Use a cell that reads further."


def check_bolt_of(workspace: Path, name: str, mark: str = "") -> BoltCheck:
    """The same of the campaign called `name`, as far as it is set up.

    Parameters
    ----------
    mark
        Of the state that is asked about: who shares answers must not share one of another state.

    Raises
    ------
    BadInput, NotFound
        If what describes the bolt is missing or wrong.
    """
    found = open_set_up(workspace, name)
    for fault in found.faults_in("bolt"):
        raise BadInput(fault.problem, where="bolt", allowed="as its field says", fix=fault.fix)
    return check_bolt(found.tables)


def _articles(
    tables: Mapping[str, Any], tool: Mapping[str, Any]
) -> Iterator[tuple[dict[str, Any], tuple[str, ...]]]:
    """Every article of which enough is known; a usual one where there is none."""
    known = [
        each for each in tables.get("article", []) if each.get("part") or each.get("polar_inertia_kg_m2")
    ]
    for each in known[: max(1, _MOST_PAIRS // max(1, len(tables.get("tool", []))))]:
        keys = (*_PLAIN, *(_DIMENSIONS if each.get("part") else ()))
        yield {"name": "article", **{key: each[key] for key in keys if key in each}}, ()
    if not known:
        drive = tool.get("drive_mm")
        size = "three-quarter" if isinstance(drive, int | float) and drive > 16 else "half"
        inertia = _USUAL_INERTIA[size]
        said = f"no article is described: a usual socket of {inertia:g} kg·m²"
        yield {"name": _USUAL, "polar_inertia_kg_m2": inertia}, (said,)


def _simulate(tables: Mapping[str, Any], tool: Mapping[str, Any], article: Mapping[str, Any]) -> _Hardest:
    pair = {
        "protocol": _some(tables.get("protocol", {}), _PROTOCOL),
        "rig": _some(tables.get("rig", {}), _RIG),
        "bolt": _some(tables.get("bolt", {}), _BOLT),
        "tool": tool,
        "article": article,
    }
    return _simulate_text(json.dumps(pair, default=str))


@lru_cache(maxsize=_KNOWN_PAIRS)
def _simulate_text(pair: str) -> _Hardest:
    """The tables of a pair as text, by which it is known again: a plan asks several times for the same."""
    run = simulate_tables(json.loads(pair))
    return _Hardest(
        # Runs scatter, and near a stall most of them go far beyond the one whose blows are alike.
        max(
            (each.load for each in run.margins if each.unit == "n"),
            default=max(float(run.run.clamp_load.max(initial=0.0)), run.run.start_load),
        ),
        float(run.run.peak_torque.max(initial=0.0)),
        run.margins,
        run.setup.priors,
        run.setup.assumed,
    )


def _stops(run: _Hardest, pair: str) -> Iterator[str]:
    """Places of the article, not the bolt, that give."""
    for each in run.margins:
        if each.unit == "nm" and each.factor < 1.0:
            yield (
                f"STOP: {pair}: {each.what} fails at {each.limit:.4g} N·m, and its own joint is expected to "
                f"see {each.load:.4g} N·m. Do not run it."
            )


def _expect(
    run: _Hardest,
    tables: Mapping[str, Any],
    tool: Mapping[str, Any],
    article: Mapping[str, Any],
    facts: BoltFacts,
    assumed: tuple[str, ...],
) -> Expected:
    withstands = min([facts.proof_load, *(each.limit for each in run.margins if each.unit == "n")])
    return Expected(
        str(tool.get("name", "tool")),
        str(article["name"]),
        run.load,
        run.peak_torque,
        run.load / withstands,
        run.load / facts.allowed_clamp_load,
        withstands < facts.proof_load,
        (*assumed, *_taken(run, tables)),
    )


def _some(table: Mapping[str, Any], keys: tuple[str, ...]) -> dict[str, Any]:
    return {key: table[key] for key in keys if key in table}


def _taken(run: _Hardest, tables: Mapping[str, Any]) -> Iterator[str]:
    if run.priors:
        yield f"of the tool: {', '.join(name.replace('_', ' ') for name, _value, _unit in run.priors)}"
    if not any("friction" in key for key in tables.get("bolt", {}) if "uncertainty" not in key):
        yield "friction 0.12"
    if "clamp_stiffness_n_per_m" not in tables.get("rig", {}):
        yield "the usual stiffness of the clamped parts"
    for name, value, unit in run.assumed:
        shown, factor = _AS_SHOWN[unit]
        yield f"a {name.replace('_', ' ')} of {factor * value:.3g} {shown}"
