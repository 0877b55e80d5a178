"""What is believed of a bench before a search: by a campaign's explanation, or by the priors of its tools."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from strikeproof.campaign.records import Campaign
from strikeproof.design.judging import reference_score
from strikeproof.design.records import Worlds
from strikeproof.design.worlds import worlds_from_explanation, worlds_from_priors
from strikeproof.desk.explaining.explain import ExplainOutcome, Progress, explain_workspace, find_explanation
from strikeproof.desk.simulating.bench import read_supply, tool_numbers
from strikeproof.desk.simulating.bench_file import build_setup
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import BadInput, NotFound
from strikeproof.explain import Setting, ToolFacts

__all__ = ["REACH", "Belief", "believe_bench", "believe_campaign"]

REACH: Final = 1.1
"""Times the largest inertia that was run: up to there a prediction is taken to hold."""

_DRAWS: Final = {True: 32, False: 64}
_SEARCHED: Final = 1
_FRESH: Final = 5
"""Streams of a seed."""
_DRIVE: Final = 0.0127  # m, of a tool that names none
_OF_TOOL: Final[tuple[str, ...]] = (
    "hammer_inertia",
    "blow_speed",
    "blow_energy",
    "blow_rate",
    "anvil_stiffness",
    "anvil_inertia",
    "restitution",
    "rebound_share",
)


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """Draws of tools, bolt and rig, and where they are from.

    Parameters
    ----------
    worlds
        By which a search chooses.
    fresh
        Draws of the same, which no search has seen: what was chosen is shown by these.
    settings
        One for every tool that counts.
    outcome
        The explanation behind them; None where only the priors of the tools' classes are.
    reference
        Name of what gains are counted from.
    """

    worlds: Worlds
    fresh: Worlds
    settings: tuple[Setting, ...]
    outcome: ExplainOutcome | None
    reference: str

    @property
    def campaign(self) -> Campaign | None:
        """Whose runs stand behind it."""
        return None if self.outcome is None else self.outcome.campaign

    @property
    def reach(self) -> float | None:
        """Polar inertia up to which runs stand behind a prediction; None without a campaign. [kg·m²]"""
        most = None if self.outcome is None else self.outcome.explanation.evidence.heaviest
        return None if most is None else REACH * most[1]

    @property
    def strongest(self) -> int:
        """The tool that takes the reference highest."""
        tools = range(len(self.settings))
        return max(tools, key=lambda tool: reference_score(self.worlds.middle, tool))


def believe_campaign(
    workspace: Path,
    name: str | None,
    tools: Sequence[str],
    seed: int,
    *,
    quick: bool = False,
    progress: Progress | None = None,
    scheduler: str | None = None,
) -> Belief:
    """By what a campaign's runs taught; its explanation is made where none is stored.

    Raises
    ------
    StrikeproofError
        If there is no such campaign or tool, or it cannot be explained.
    """
    outcome = find_explanation(*open_campaign(workspace, name)) or explain_workspace(
        workspace, name, quick=quick, progress=progress, scheduler=scheduler
    )
    evidence = outcome.explanation.evidence
    settings = _chosen(evidence.settings, tools)
    worlds, fresh = (
        worlds_from_explanation(
            outcome.explanation, settings, _DRAWS[quick], np.random.default_rng([seed, stream])
        )
        for stream in (_SEARCHED, _FRESH)
    )
    return Belief(worlds, fresh, settings, outcome, evidence.reference)


def believe_bench(
    bench: Mapping[str, Any], tools: Sequence[str], seed: int, *, quick: bool = False
) -> Belief:
    """By the priors of the classes of a brief's tools.

    Raises
    ------
    StrikeproofError
        If a value is out of range, missing or unknown, or the bench has no tool or no article.
    """
    several = bench.get("tool", [])
    tables: list[Mapping[str, Any]] = several if isinstance(several, list) else [several]
    for key, there in (("tool", tables), ("article", bench.get("article"))):
        if not there:
            raise BadInput(
                f"no [bench.{key}]",
                where="brief",
                allowed="a tool, and the article of reference, or a campaign",
                fix="add it, or name a workspace with -w",
            )
    setups = [
        build_setup({**{key: each for key, each in bench.items() if key != "tool"}, "tool": table})
        for table in tables
    ]
    every = tuple(_setting(table, setup.duration) for table, setup in zip(tables, setups, strict=True))
    settings = _chosen(every, tools)
    facts = tuple(_facts(table) for table in tables)
    first = setups[0]
    worlds, fresh = (
        worlds_from_priors(
            facts,
            first.article,
            first.bolt,
            first.rig,
            settings,
            _DRAWS[quick],
            np.random.default_rng([seed, stream]),
        )
        for stream in (_SEARCHED, _FRESH)
    )
    return Belief(worlds, fresh, settings, None, str(bench["article"].get("name", first.article.name)))


def _setting(table: Mapping[str, Any], duration: float) -> Setting:
    mechanism = str(table.get("mechanism", "air"))
    ratio = read_supply(table, mechanism, tool_numbers(table).get("supply_ratio"))
    return Setting(str(table.get("name", "tool")), duration, ratio)


def _facts(table: Mapping[str, Any]) -> ToolFacts:
    numbers = tool_numbers(table)
    known: dict[str, float] = {
        key: numbers[key] for key in _OF_TOOL if key in numbers and math.isfinite(numbers[key])
    }
    name, mechanism = str(table.get("name", "tool")), str(table.get("mechanism", "air"))
    return ToolFacts(name, mechanism, numbers.get("drive", _DRIVE), known)


def _chosen(settings: tuple[Setting, ...], tools: Sequence[str]) -> tuple[Setting, ...]:
    """Those of the tools that a brief names, all where it names none."""
    known = [each.tool for each in settings]
    for name in tools:
        if name not in known:
            raise NotFound("tool", name, known)
    return tuple(each for each in settings if not tools or each.tool in tools)
