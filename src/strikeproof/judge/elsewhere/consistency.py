"""Whether the sources of a network agree: each two articles compared directly and by way of others, and all
kinds of sources at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.special import fdtrc, stdtr

from strikeproof.judge.elsewhere.network import Level, Stack, fit_network
from strikeproof.quantity import FloatArray

__all__ = ["AllDesigns", "Loop", "find_loops", "judge_designs", "untested_loops"]


@dataclass(frozen=True, slots=True)
class Loop:
    """Two articles that some sources compare directly and others by way of a chain; log ratios.

    Attributes
    ----------
    direct, indirect
        First over second, by the sources that have both and by the others.
    error
        Standard error of what they differ by.
    p
        That they agree, of this loop alone.
    p_all
        The same, that no loop of the network shows so much: Holm's.
    """

    first: str
    second: str
    direct: float
    indirect: float
    error: float
    freedom: float
    p: float
    p_all: float


@dataclass(frozen=True, slots=True)
class AllDesigns:
    """Whether sources with other articles find other ratios.

    Wald's statistic, its freedom, that of the scatter among sources of one design, and p by F.
    """

    statistic: float
    freedom: int
    within: int
    p: float


def find_loops(stack: Stack, variances: dict[Level, float] | None = None) -> tuple[Loop, ...]:
    """Each two articles with both kinds of evidence, the sides split; none where nothing is left to say how
    much benches differ.

    Parameters
    ----------
    stack
        What was measured.
    variances
        As of `fit_network`.

    References
    ----------
    Dias, Welton, Caldwell, Ades, Stat. Med. 29 (2010) 932; both sides moved by half where a source has more
    articles than the two: White, Stata J. 15 (2015) 951. S. Holm, Scand. J. Stat. 6 (1979) 65 (from memory).
    """
    found = []
    for first, second, column in _closed(stack):
        fit = fit_network(stack, column, variances)
        if variances is None and not fit.freedom:
            continue  # nothing is left that says how much benches differ
        weights = np.append(fit.weights(first, second)[:-1], 0.0)
        last = np.zeros(len(weights))
        last[-1] = 1.0
        apart = fit.measure(last)
        indirect, error = float(weights @ fit.effect), float(np.sqrt(apart.variance))
        free = apart.freedom
        p = 2.0 * float(stdtr(free, -abs(apart.value) / error))
        found.append(Loop(first, second, indirect + apart.value, indirect, error, free, p, p))
    return _holm(found)


def untested_loops(stack: Stack, tested: Sequence[Loop]) -> tuple[tuple[str, str], ...]:
    """Two articles each that are compared directly and by way of others, where nothing is left to test it by.

    Parameters
    ----------
    stack
        What was measured.
    tested
        The loops that were.
    """
    done = {(each.first, each.second) for each in tested}
    return tuple((first, second) for first, second, _column in _closed(stack) if (first, second) not in done)


def _closed(stack: Stack) -> Iterator[tuple[str, str, FloatArray]]:
    """Each two articles with both kinds of evidence, and the column that separates them."""
    rank = int(np.linalg.matrix_rank(stack.design))
    for first, second in combinations(stack.articles, 2):
        column = _split(stack, first, second)
        if np.any(column) and int(np.linalg.matrix_rank(np.hstack([stack.design, column]))) > rank:
            yield first, second, column


def _split(stack: Stack, first: str, second: str) -> FloatArray:
    """What a source that has both adds to its ratios, a unit of inconsistency; (n, 1)."""
    arms = np.zeros(len(stack.articles))
    arms[stack.articles.index(first)], arms[stack.articles.index(second)] = 0.5, -0.5
    both = [{first, second} <= set(each.articles) for each in stack.sources]
    mine = np.asarray(both)[stack.source.astype(int)]
    return np.asarray(stack.incidence @ arms * mine)[:, None]


def _holm(loops: Sequence[Loop]) -> tuple[Loop, ...]:
    """The same with p for all together, in their order."""
    ordered = sorted(range(len(loops)), key=lambda i: loops[i].p)
    level, adjusted = 0.0, {}
    for place, i in enumerate(ordered):
        level = max(level, min((len(loops) - place) * loops[i].p, 1.0))
        adjusted[i] = level
    return tuple(
        Loop(
            each.first, each.second, each.direct, each.indirect, each.error, each.freedom, each.p, adjusted[i]
        )
        for i, each in enumerate(loops)
    )


def judge_designs(stack: Stack, variances: dict[Level, float] | None = None) -> AllDesigns | None:
    """Test the interaction of design and article; None where every source has the same articles, none
    can disagree, or no design is there twice, so that nothing says how much sources scatter.

    A design is the set of articles that a source has.

    Parameters
    ----------
    stack
        What was measured.
    variances
        As of `fit_network`.

    References
    ----------
    J. P. T. Higgins, D. Jackson, J. K. Barrett, G. Lu, A. E. Ades, I. R. White, Res. Synth. Methods 3 (2012)
    98; as decomposed squares: U. Krahn, H. Binder, J. König, BMC Med. Res. Methodol. 13 (2013) 35 (from
    memory).
    """
    kinds = [frozenset(each.articles) for each in stack.sources]
    of = np.asarray([list(dict.fromkeys(kinds)).index(kind) for kind in kinds])[stack.source.astype(int)]
    columns = [np.where((of == kind)[:, None], stack.design, 0.0) for kind in range(int(of.max()) + 1)]
    full = np.hstack(columns)
    rank, plain = int(np.linalg.matrix_rank(full)), int(np.linalg.matrix_rank(stack.design))
    within = len(stack.ratio) - rank
    if rank == plain or within == 0:
        return None
    own = fit_network(stack, full, variances)
    same = fit_network(stack, None, own.variances)
    statistic = max(same.heterogeneity - own.heterogeneity, 0.0)
    free = rank - plain
    return AllDesigns(statistic, free, within, float(fdtrc(free, within, statistic / free)))
