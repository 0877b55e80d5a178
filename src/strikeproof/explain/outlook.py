"""What every fitted explanation expects of articles and settings that were not run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from strikeproof.explain.crew import ALONE, Crew
from strikeproof.explain.fits import Fits, make_table
from strikeproof.explain.kinds import EXPLANATIONS, KEPT
from strikeproof.explain.own_part import KIN, UNSEEN
from strikeproof.explain.parameters import list_parameters
from strikeproof.explain.particles import draw_with_sizes, foresee
from strikeproof.explain.physical import Physical, discrepancy
from strikeproof.explain.records import ArticleFacts, Evidence, Gain, RivalName, Setting
from strikeproof.explain.statistical import Table
from strikeproof.explain.surrogate import plan_jobs, read_gains, run_plan
from strikeproof.explain.variants import Properties
from strikeproof.quantity import FloatArray

__all__ = ["Item", "Outlook", "look_ahead", "run_ahead"]


@dataclass(frozen=True, slots=True)
class Item:
    """An article in a setting, run or not.

    `kin`: it is the reference but for what was changed, or only a difference is asked for, so that what the
    reference has of its own cancels.
    """

    facts: ArticleFacts
    setting: Setting
    kin: bool = False


@dataclass(frozen=True, slots=True)
class Outlook:
    """Draws (s, items): log gains of the items, and the reference's log score in their settings.

    What an item would have of its own is left out of its gain; `own` (s,) is the standard deviation of that.
    """

    gains: FloatArray
    reference: FloatArray
    own: FloatArray


def run_ahead(
    fits: Fits,
    fit: Physical,
    items: Sequence[Item],
    size: int,
    rng: np.random.Generator,
    crew: Crew = ALONE,
) -> Outlook:
    """Engine runs of the items at draws of an explanation's posterior, their own uncertainty included.

    Parameters
    ----------
    fits
        All explanations, fitted.
    fit
        The one whose posterior is drawn from.
    items
        n articles in settings, their inertia known.
    size
        Draws, s.
    rng
        The only source of chance.
    crew
        Threads, and what keeps finished pieces.

    References
    ----------
    Derived here (docs/explain.md): engine runs, not the emulator, since the items were not run.
    """
    wanted = _evidence_for(fits, items)
    plan = plan_jobs(wanted, KEPT[fit.name])
    parameters = list_parameters(wanted, bonds=KEPT[fit.name].bond)
    chosen = rng.integers(len(fit.chains.flat), size=size)
    flat, own_parts = fit.chains.flat[chosen], fit.own[chosen]
    points = rng.standard_normal((size, len(parameters)))
    place = {(each.tool, each.name): i for i, each in enumerate(fit.parameters)}
    for column, each in enumerate(parameters):
        if (each.tool, each.name) in place:
            points[:, column] = flat[:, place[each.tool, each.name]]
    own = np.clip(rng.standard_normal((size, 3)), -2.5, 2.5)
    runs = run_plan(wanted, parameters, plan, points, own, crew=crew.at(fit.name))
    gains, base = read_gains(plan, runs), runs.scores[:, list(plan.reference_of)]
    spread = np.sqrt(np.diag(discrepancy(make_table(wanted))))
    gains = gains + spread * rng.standard_normal((size, 1)) - _of_reference(fits, items, own_parts[:, 1:])
    return Outlook(gains, base, own_parts[:, 0])


def _of_reference(fits: Fits, items: Sequence[Item], parts: FloatArray) -> FloatArray:
    """The reference's own part (s, items) where it does not cancel, of parts (s, settings) by setting run."""
    settings = fits.evidence.settings
    found = np.zeros((len(parts), len(items)))
    for column, each in enumerate(items):
        if not each.kin:
            tools = [i for i, other in enumerate(settings) if other.tool == each.setting.tool]
            run = [settings.index(each.setting)] if each.setting in settings else tools[:1]
            found[:, column] = parts[:, run or list(range(len(settings)))].mean(axis=1)
    return found


def _evidence_for(fits: Fits, items: Sequence[Item]) -> Evidence:
    """The evidence with the items in place of its gains."""
    reference = fits.evidence.article(fits.evidence.reference)
    renamed = [replace(each.facts, name=f"{i} {each.facts.name}") for i, each in enumerate(items)]
    return replace(
        fits.evidence.with_clues(()),
        articles=(reference, *renamed),
        gains=tuple(
            Gain(facts.name, each.setting, 0.0, 1) for facts, each in zip(renamed, items, strict=True)
        ),
        covariance=np.eye(len(items)),
        levels=(),
    )


def look_ahead(
    fits: Fits,
    items: Sequence[Item],
    names: Sequence[RivalName],
    size: int,
    rng: np.random.Generator,
    *,
    crew: Crew = ALONE,
) -> Mapping[RivalName, tuple[FloatArray, FloatArray]]:
    """Draws (size, items) of the log gains by each of the named explanations, and the sizes (size,) of what
    an article has of its own, which is left out of them.

    Parameters
    ----------
    fits
        All explanations, fitted.
    items
        Articles in settings, their inertia known.
    names
        Of the explanations to ask.
    size
        Draws of each.
    rng
        The only source of chance.
    crew
        Threads, and what keeps finished pieces.
    """
    found: dict[RivalName, tuple[FloatArray, FloatArray]] = {}
    for name in names:
        if name in KEPT:
            view = run_ahead(fits, fits.chain(name), items, size, rng, crew)
            found[name] = view.gains, view.own
        else:
            found[name] = _foresee_items(fits, items, name, size, rng)
    return found


def _foresee_items(
    fits: Fits, items: Sequence[Item], name: RivalName, size: int, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    n, k = len(fits.gains), len(items)
    more = tuple(
        (each.setting, each.facts.model.polar_inertia, each.facts.mass, KIN if each.kin else UNSEEN)
        for each in items
        if each.facts.model is not None
    )
    table: Table = make_table(fits.evidence, more)
    scatter = 1e-10 * np.eye(n + k)
    scatter[:n, :n] = fits.evidence.covariance
    gains = np.r_[fits.gains, np.zeros(k)]
    believes = EXPLANATIONS[name].believes
    assert not isinstance(believes, Properties)
    view = foresee(believes(table), gains, scatter, range(n, n + k))
    return draw_with_sizes(view, size, rng)
