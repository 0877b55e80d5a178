"""One article against its brief: geometry, price, mass, physics, margins; and how far it breaks a limit.

What would hold everywhere is asked first, what costs a simulation last. Each limit has one plain name, under
which the refused are counted.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from joblib import Parallel, delayed

from strikeproof.design.envelope import fits_envelope
from strikeproof.design.limits import LIMITS, Reached, find_excess
from strikeproof.design.plans import Plan, Recipe
from strikeproof.design.records import Brief, Table, World
from strikeproof.drivetrain import (
    ArticleModel,
    Batch,
    Bench,
    Rider,
    ToolModel,
    list_joints,
    place_peaks,
    simulate_batch,
)
from strikeproof.errors import StrikeproofError
from strikeproof.explain.article_model import article_model
from strikeproof.explain.physical import DISCREPANCY
from strikeproof.parts import ArticleProperties, Margin, read_article, work_out
from strikeproof.quantity import BoolArray, FloatArray, IntArray
from strikeproof.team import ALONE, Team

__all__ = [
    "REASONS",
    "Draft",
    "Results",
    "Strain",
    "draft_article",
    "excess",
    "find_broken",
    "find_weak",
    "reference_score",
    "run_worlds",
    "stiffen",
    "worst_margins",
]

REASONS: Final[dict[str, str]] = {
    "geometry": "cannot be made so",
    "envelope": "touches what is around it",
    "price": "no price for it",
    **{key: kind.refused for key, kind in LIMITS.items()},
}
"""In the order in which they are asked: the key of the limit, and what a person reads."""

_STIFF: Final = 15.0e3
_ROUGH: Final = 8.0e3
"""Own frequency of a rider on its bond above which it is taken for one piece with its carrier, and the same
in the wide look. Welds of 16 kHz and above move the end load by 0.4 % so, at 6 kHz by up to 5 %. [Hz]"""
_HARD_SHARE: Final = 3
_CHUNK: Final = 16


@dataclass(frozen=True, slots=True, eq=False)
class Draft:
    """An article that can be made, worked out.

    Parameters
    ----------
    recipe, places
        Which recipe, and its values in steps.
    plan, table
        On paper, and as a file holds it.
    properties, model
        What follows from its parts.
    """

    recipe: Recipe
    places: tuple[int, ...]
    plan: Plan
    table: Table
    properties: ArticleProperties
    model: ArticleModel

    @property
    def size(self) -> FloatArray:
        """Log inertia, mass, price and diameter, by which two articles of a kind are separated; (4,)."""
        known = self.properties
        values = (known.polar_inertia, known.mass, known.price or 1.0, known.outer_diameter or 1.0)
        return np.log(np.maximum(values, 1e-9))


@dataclass(frozen=True, slots=True, eq=False)
class Results:
    """Of articles in worlds.

    Parameters
    ----------
    gains, peaks : (articles, worlds, tools)
        Log gains, and peak torques at the bolt's head. [1, N·m]
    places : (worlds, tools, limits) of each article
        Peak torque in the joint of each of its limits. [N·m]
    """

    gains: FloatArray
    peaks: FloatArray
    places: tuple[FloatArray, ...]


def draft_article(brief: Brief, recipe: Recipe, places: Sequence[float] | FloatArray) -> Draft | None:
    """The article of a recipe with its values so many steps up; None where it cannot be made.

    Parameters
    ----------
    brief
        Its materials and prices.
    recipe
        What is left open, and how to build it.
    places : (variables,)
        Steps above the low end of each variable.
    """
    plan = recipe.build(recipe.values(places))
    if plan is None:
        return None
    table = {"name": plan.title, "note": plan.words, "part": [dict(each) for each in plan.parts]}
    try:
        article = read_article(table, materials=brief.materials)
        properties = work_out(article, materials=brief.materials, prices=brief.prices)
    except StrikeproofError:
        return None
    steps = tuple(round(float(each)) for each in places)
    return Draft(recipe, steps, plan, table, properties, article_model(properties))


def excess(brief: Brief, draft: Draft) -> dict[str, float]:
    """How far an article breaks the limits that need no physics: log of value over limit, by key.

    Parameters
    ----------
    brief
        Its limits.
    draft
        The article, worked out.

    Returns
    -------
    Only the limits that are broken; infinite where no number says how far.
    """
    known = draft.properties
    found: dict[str, float] = {}
    if not fits_envelope(known, brief.envelope):
        found["envelope"] = math.inf
    return found | find_excess(brief, Reached(known))


def worst_margins(margins: Sequence[Margin]) -> tuple[float, float]:
    """Smallest static and fatigue margin; infinite where there is none."""
    lasting = [each.fatigue for each in margins if each.fatigue is not None]
    return min((each.static for each in margins), default=math.inf), min(lasting, default=math.inf)


def find_weak(brief: Brief, margins: Sequence[Margin]) -> dict[str, float]:
    """How far margins are too small: log of limit over margin, by key."""
    return find_excess(brief, Reached(None, *worst_margins(margins)))


def find_broken(brief: Brief, margins: Sequence[Margin], gain: float) -> dict[str, float]:
    """How far it breaks the limits that need physics: log of limit over margin, and the gain that is missing.

    Parameters
    ----------
    brief
        Its limits.
    margins
        At the peaks that it must withstand.
    gain
        Log gain that counts.

    Returns
    -------
    Only the limits that are broken.
    """
    return find_excess(brief, Reached(None, *worst_margins(margins), gain))


def stiffen(article: ArticleModel, above: float) -> ArticleModel:
    """The article with riders on stiff bonds in one piece with the lump that carries them.

    What rides on a rider that stays, and what is loose, stays too.

    Parameters
    ----------
    article
        Its riders on springs.
    above
        Own frequency √(k/J)/2π from which a bond counts as rigid. [Hz]
    """
    if any(each.carrier_rider is not None for each in article.riders):
        return article
    added = [0.0] * len(article.lumps)
    kept: list[Rider] = []
    for each in article.riders:
        if each.gap == 0.0 and math.sqrt(each.stiffness / each.inertia) >= 2.0 * math.pi * above:
            added[each.carrier] += each.inertia
        else:
            kept.append(each)
    lumps = tuple(
        replace(lump, inertia=lump.inertia + more) for lump, more in zip(article.lumps, added, strict=True)
    )
    return replace(article, lumps=lumps, riders=tuple(kept))


_Ran = tuple[FloatArray, FloatArray, tuple[FloatArray, ...]]
"""Clamp loads and peaks at the head (articles, worlds, tools), and peaks of each one's limits."""


@dataclass(frozen=True, slots=True)
class Strain:
    """How articles are run.

    Parameters
    ----------
    rough
        Riders on stiff bonds as one piece from a lower own frequency on.
    scatter
        Whether the peaks are those of blows that scatter, with all of an article's properties; else they are
        those of the runs that give the gains.
    team
        Threads, in which the engine's kernels run side by side, or the workers of a scheduler.
    """

    rough: bool = False
    scatter: bool = True
    team: Team = ALONE
    cancelled: Callable[[], bool] | None = field(default=None)

    @property
    def is_over(self) -> bool:
        """Whether it was cancelled."""
        return self.cancelled is not None and self.cancelled()


def run_worlds(models: Sequence[ArticleModel], worlds: Sequence[World], strain: Strain) -> Results:
    """Gains over the reference and peaks of articles in every world with every tool.

    What is found of an article depends neither on the number of workers nor on the others beside it. What was
    not run when it was cancelled is NaN.

    Parameters
    ----------
    models
        Articles, with their limits.
    worlds
        With the same tools, each at its setting.
    strain
        How they are run, and by whom.

    Raises
    ------
    BadInput
        If inertias and stiffnesses of a chain lie too far apart.
    DidNotConverge
        If the contacts of a blow switch without end.
    """
    above = _ROUGH if strain.rough else _STIFF
    every = np.ones((len(models), len(worlds)), dtype=np.bool_)
    still = _run_all(models, worlds, every, strain, lambda w: w.change, above)
    loads, peaks, places = still
    references = [[reference_score(world, t) for t in range(loads.shape[2])] for world in worlds]
    gains = np.log(np.maximum(loads, 1.0)) - np.array(references)
    if strain.scatter:
        peaks, places = _scattered_peaks(models, worlds, still, strain)
    own = np.array([each.own or (0.0,) * loads.shape[2] for each in worlds])
    return Results(gains + _misfits(models, worlds)[:, :, None] + own, peaks, places)


def reference_score(world: World, tool: int) -> float:
    """Log clamp load that the reference reaches with one of the tools.

    Parameters
    ----------
    world
        Reference, bolt and rig.
    tool
        Its place among the tools of the world.

    Returns
    -------
    Of a load in newtons, 1 N at least.
    """
    batch = simulate_batch([world.reference], [world.tools[tool]], _bench(world, tool))
    return float(np.log(max(float(batch.end_load[0, 0, 0]), 1.0)))


def _bench(world: World, tool: int) -> Bench:
    return Bench(world.bolt, world.rig, world.settings[tool].duration, world.direction)


def _run_all(
    models: Sequence[ArticleModel],
    worlds: Sequence[World],
    wanted: BoolArray,
    strain: Strain,
    believe: Callable[[World], Callable[[ArticleModel], ArticleModel]],
    above: float,
    *,
    scatter: bool = False,
) -> _Ran:
    """What articles do in the worlds where `wanted`, (articles, worlds), by the team; NaN elsewhere."""
    shape = (len(models), len(worlds), len(worlds[0].tools))
    loads, peaks = np.full(shape, np.nan), np.full(shape, np.nan)
    places = tuple(np.full((*shape[1:], len(each.torque_limits)), np.nan) for each in models)
    rows_of = [np.flatnonzero(wanted[:, column]) for column in range(len(worlds))]
    jobs = [
        (rows_of[column][start : start + _CHUNK], column, tool)
        for start in range(0, shape[0], _CHUNK)
        for column, tool in np.ndindex(*shape[1:])
        if start < len(rows_of[column])
    ]

    def run(rows: IntArray, column: int, tool: int) -> tuple[Batch, list[ArticleModel]] | None:
        if strain.is_over:
            return None
        world = worlds[column]
        believed = [stiffen(believe(world)(models[row]), above) for row in rows.tolist()]
        seed = column if scatter else None
        return strain.team.call(_run_chunk, believed, world.tools[tool], _bench(world, tool), seed), believed

    tasks = (delayed(run)(*job) for job in jobs)
    found = Parallel(n_jobs=strain.team.size, prefer="threads", return_as="generator")(tasks)
    for (rows, column, tool), result in zip(jobs, found, strict=True):
        if result is None:
            continue
        batch, believed = result
        loads[rows, column, tool] = batch.end_load[:, 0, 0]
        peaks[rows, column, tool] = batch.peak_torque[:, 0, 0]
        for row, run_as, joints in zip(rows.tolist(), believed, batch.peaks[:, 0, 0], strict=True):
            own = place_peaks(models[row], run_as, joints[: len(list_joints(run_as))])
            places[row][column, tool] = own
    return loads, peaks, places


def _run_chunk(articles: list[ArticleModel], tool: ToolModel, bench: Bench, seed: int | None) -> Batch:
    return simulate_batch(articles, [tool], bench, seed=seed)


def _scattered_peaks(
    models: Sequence[ArticleModel], worlds: Sequence[World], still: _Ran, strain: Strain
) -> tuple[FloatArray, tuple[FloatArray, ...]]:
    """Peaks with blows that scatter: run in a third of the worlds, those where any of an article's places or
    the head comes highest. Elsewhere the head is raised by the median ratio there and every place by the
    greatest, for a bond's highest draws need not be the head's. Every rider hangs on its own bond here,
    however stiff."""
    _loads, heads, places = still
    count = math.ceil(len(worlds) / _HARD_SHARE)
    hard = np.stack([_hard_worlds(*rows, count) for rows in zip(heads, places, strict=True)])
    wanted = np.zeros(heads.shape[:2], dtype=np.bool_)
    np.put_along_axis(wanted, hard, values=True, axis=1)
    _loads, found, exact = _run_all(models, worlds, wanted, strain, lambda w: w.whole, math.inf, scatter=True)
    raised = tuple(_raise(*rows, np.max) for rows in zip(places, exact, hard, strict=True))
    return np.stack([_raise(*rows, np.median) for rows in zip(heads, found, hard, strict=True)]), raised


def _hard_worlds(heads: FloatArray, places: FloatArray, count: int) -> IntArray:
    """The worlds that come highest at the head or at any place of one article, in their order."""
    every = np.column_stack([np.median(heads, axis=1), np.median(places, axis=1)])
    ranks = np.argsort(np.argsort(-every, axis=0, kind="stable"), axis=0, kind="stable")
    return np.sort(np.argsort(ranks.min(axis=1), kind="stable")[:count])


def _raise(
    still: FloatArray, found: FloatArray, hard: IntArray, middle: Callable[..., FloatArray]
) -> FloatArray:
    """Peaks of one article in all worlds, from those found in its hard ones; worlds come first."""
    raised = still * middle(found[hard] / still[hard], axis=0)
    raised[hard] = found[hard]
    return np.asarray(raised)


def _misfits(models: Sequence[ArticleModel], worlds: Sequence[World]) -> FloatArray:
    """What the physics may leave out of each gain in each world: smooth in log inertia, as in `explain`."""
    shares = np.array([each.misfit for each in worlds])
    base = np.array([each.reference.polar_inertia for each in worlds])
    own = np.array([each.polar_inertia for each in models])
    apart = np.log(own[:, None] / base[None, :])
    spread = DISCREPANCY * np.sqrt(2.0 * -np.expm1(-0.5 * apart**2))  # of `curve_covariance` on its diagonal
    return np.asarray(spread * shares)
