"""What would settle it: next tests that a person can make, ranked by what they are expected to show."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from strikeproof.drivetrain import ArticleModel, with_extension, with_ring
from strikeproof.explain.crew import ALONE, Crew
from strikeproof.explain.fits import Fits
from strikeproof.explain.outlook import Item, look_ahead
from strikeproof.explain.records import ArticleFacts, Candidate, RivalName, Setting
from strikeproof.explain.results import NextTest
from strikeproof.language import say, write_figures
from strikeproof.quantity import FloatArray

__all__ = ["Bits", "expected_bits", "propose", "rank_tests"]

# inertia and stiffness of extensions of 1/2 in and 3/4 in drive (computed from their solids)
_EXTENSIONS = {
    "half": (("75 mm", 1.5e-5, 6.0e3), ("125 mm", 2.5e-5, 3.6e3), ("250 mm", 5.0e-5, 1.8e3)),
    "three-quarter": (("100 mm", 1.2e-4, 18.0e3), ("250 mm", 3.0e-4, 7.3e3)),
}
RINGS = (1.5, 2.5, 4.0, 7.0)


def propose(fits: Fits) -> tuple[Candidate, ...]:
    """Rings on the reference, a known extension, and the best article for a quarter and three times the
    time.
    """
    evidence = fits.evidence
    facts = evidence.article(evidence.reference)
    model = facts.model
    assert model is not None
    found = []
    for setting in evidence.settings:
        drive = next(each.drive for each in evidence.tools if each.name == setting.tool)
        for factor in RINGS:
            ring = with_ring(model, model.polar_inertia * (factor - 1.0))
            words = say(
                "a rigid ring that makes the reference's inertia {factor} times as large",
                factor=write_figures(f"{factor:g}"),
            )
            found.append(_candidate(words, _changed(facts, ring, factor), setting))
        for length, inertia, stiffness in _EXTENSIONS["half" if drive < 0.016 else "three-quarter"]:
            longer = with_extension(model, inertia, stiffness, lumps=1)
            words = say("the reference on a {length} extension of known stiffness", length=length)
            found.append(_candidate(words, _changed(facts, longer, 1.4, stiffness_percent=5.0), setting))
        top = max((g for g in evidence.gains if g.setting == setting), key=lambda g: abs(g.log_gain)).article
        for share, words in (
            (0.25, say("{article} and the reference for a quarter of the time", article=top)),
            (
                3.0,
                say(
                    "{article} and the reference for three times the time, where bolt and article "
                    "withstand it",
                    article=top,
                ),
            ),
        ):
            other = replace(setting, duration=setting.duration * share)
            found.append(_candidate(words, evidence.article(top), other))
    several = len(evidence.settings) > 1
    return tuple(
        replace(each, name=say("{test}, with {tool}", test=each.name, tool=each.setting.tool))
        if several
        else each
        for each in found
    )


def _candidate(words: str, facts: ArticleFacts, setting: Setting) -> Candidate:
    return Candidate(words, facts, setting)


def _changed(
    facts: ArticleFacts, model: ArticleModel, heavier: float, *, stiffness_percent: float | None = None
) -> ArticleFacts:
    """Facts of a built variant; a ring's mass goes about with the root of its inertia."""
    return replace(
        facts,
        model=model,
        mass=None if facts.mass is None else facts.mass * math.sqrt(heavier),
        stiffness_percent=facts.stiffness_percent if stiffness_percent is None else stiffness_percent,
    )


def rank_tests(
    fits: Fits,
    chances: dict[RivalName, float],
    candidates: Sequence[Candidate],
    size: int,
    rng: np.random.Generator,
    *,
    crew: Crew = ALONE,
) -> tuple[NextTest, ...]:
    """The candidates by falling expected information.

    Parameters
    ----------
    fits
        All explanations, fitted.
    chances
        Probability of every explanation now.
    candidates
        In any order; none gives none.
    size
        Draws of each explanation.
    rng
        The only source of chance.
    crew
        Threads, and what keeps finished pieces.

    References
    ----------
    Expected information: `expected_bits`. A test compares two means of n runs, so that its noise is σ√(2/n);
    what the article has of its own comes on top, for nothing else is learned from that.
    """
    if not candidates:
        return ()
    names = [name for name, chance in chances.items() if chance > 0.01]
    total = sum(chances[name] for name in names)
    share = np.array([chances[name] / total for name in names])
    items = [Item(each.article, each.setting) for each in candidates]
    draws = look_ahead(fits, items, names, size, rng, crew=crew)
    own = math.sqrt(float(share @ np.array([np.mean(draws[name][1] ** 2) for name in names])))
    tests = []
    for i, each in enumerate(candidates):
        noise = math.hypot(fits.evidence.run_scatter * math.sqrt(2.0 / max(each.runs, 1)), own)
        bits = _bits([draws[name][0][:, i] for name in names], share, noise)
        tests.append(NextTest(each.name, bits.rivals + bits.parameters, bits.rivals, bits.parameters))
    return tuple(sorted(tests, key=lambda each: -each.bits))


def _bits(predictions: list[FloatArray], share: FloatArray, noise: float) -> Bits:
    return expected_bits(predictions, share, max(noise, 2e-3))


GRID = 1200
SHARES = (1.0, 0.5, 0.25, 0.125, 0.0625)
CLEARLY = 2.0
"""Of the usual smoothing, and how much likelier (log) the draws must be with less of it."""
MANY = 400
"""Draws that this is judged by, at most."""


@dataclass(frozen=True, slots=True)
class Bits:
    """About which explanation is true, and about the unknowns within the explanations; both together are the
    whole."""

    rivals: float
    parameters: float


def expected_bits(predictions: Sequence[FloatArray], chances: FloatArray, noise: float) -> Bits:
    """Mutual information between a future reading and what is unknown, by quadrature over the reading.

    I(r, θ; y) = I(r; y) + Σ_r P(r) I(θ; y | r), each a difference of entropies of mixtures of normals.

    Parameters
    ----------
    predictions
        For every explanation draws (s,) of what the reading would be without noise.
    chances : (k,)
        Probabilities of the explanations, summing to 1.
    noise
        Standard deviation of the reading, > 0.

    References
    ----------
    Lindley, "On a measure of the information provided by an experiment", Ann. Math. Stat. 27 (1956) 986.
    """
    every = np.concatenate([np.asarray(each) for each in predictions])
    reading = np.linspace(every.min() - 6.0 * noise, every.max() + 6.0 * noise, GRID)
    density = np.stack([_density(reading, np.asarray(each), noise) for each in predictions])
    step = float(reading[1] - reading[0])
    inside = _entropies(density, step)
    of_noise = 0.5 * np.log2(2.0 * math.pi * math.e * noise**2)
    whole = _entropies((chances @ density)[None], step)[0]
    return Bits(
        max(0.0, float(whole - chances @ inside)),
        max(0.0, float(chances @ np.maximum(inside - of_noise, 0.0))),
    )


def _density(reading: FloatArray, draws: FloatArray, noise: float) -> FloatArray:
    """Of a reading, by draws of what it would be without noise: few draws are smoothed, their variance
    unchanged.

    Without it two explanations that expect the same would be separated by their draws, which never coincide.
    """
    return np.asarray(_bells(reading, draws, _smoothing(draws, noise), noise).mean(axis=1))


def _smoothing(draws: FloatArray, noise: float) -> float:
    """Width of each draw's bell over the spread of all: Silverman's for one hump, less where each draw is
    clearly likelier by the others with less, as in two humps far apart.

    References
    ----------
    Silverman, *Density Estimation*, 1986, sections 3.4.2 and 3.4.4 (from memory).
    """
    usual = min(float((4.0 / (3.0 * len(draws))) ** 0.2), 1.0)
    some = draws[:: 1 + len(draws) // MANY]
    apart = some[:, None] != some[None, :]
    best, most = usual, -np.inf
    for share in SHARES:
        others = np.sum(_bells(some, some, usual * share, noise), axis=1, where=apart)
        likely = float(np.sum(np.log(np.maximum(others, 1e-300))))
        if likely > most + CLEARLY:
            best, most = usual * share, likely
    return best


def _bells(reading: FloatArray, draws: FloatArray, smooth: float, noise: float) -> FloatArray:
    """Density of each reading (n,) by each draw (s,) alone; (n, s)."""
    means = draws.mean() + np.sqrt(1.0 - smooth**2) * (draws - draws.mean())
    wide = np.hypot(noise, smooth * float(draws.std()))
    return np.asarray(
        np.exp(-0.5 * ((reading[:, None] - means[None, :]) / wide) ** 2) / (wide * np.sqrt(2.0 * np.pi))
    )


def _entropies(density: FloatArray, step: float) -> FloatArray:
    """−∫ p log2 p of each row."""
    safe = np.where(density > 0.0, density, 1.0)
    return np.asarray(-np.sum(density * np.log2(safe), axis=1) * step)
