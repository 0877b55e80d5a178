"""Least squares of log scores on block + article (+ tool, + article x tool) and covariates.

A block of one tool is one cell, so tool and block effects are taken out by centring inside the cells, and
what is left of the article columns has a small orthonormal basis. All that the fit needs are the products
of the centred columns with that basis; the randomisation test forms them for thousands of relabellings at
once, through the same two functions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from strikeproof.judge.records import ScoredRun
from strikeproof.judge.repeated import Rows, each_run, means_of_blocks, repeats_in_blocks
from strikeproof.language import say
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = [
    "BREAK_IN",
    "RUN_ORDER",
    "WARM_UP",
    "Design",
    "Fit",
    "Pair",
    "Solution",
    "fit_means",
    "fit_scores",
    "lay_out",
    "solve_columns",
]

Pair = tuple[str, str]
"""Article and tool."""

RUN_ORDER = say("order of the runs")
BOLT_USE = say("bolt use")
WARM_UP = say("warm-up in the block")
BREAK_IN = say("break-in of a new bolt")
"""What the covariates are called wherever they are shown."""
RANK_TOLERANCE = 1e-9
ROOM_FOR_ASKED = 2
ROOM_FOR_BOLT_USE = 4
ROOM_FOR_WARM_UP = 8
ROOM_FOR_ORDER = 12
"""Residual degrees of freedom before a covariate is fitted: the order of the runs earns its place where it
makes the critical value dearer by 1 % at most, warm-up and wear of the bolt, which are expected, sooner. What
a person asks for is fitted where one degree is left."""
FADING = 0.5
"""What warm-up and break-in have left from one run to the next (engineering estimate)."""
OWN_SHARE = 0.02
"""A covariate that shares more than 98 % of its variation inside the blocks with what is fitted already is
left out."""


@dataclass(frozen=True, slots=True)
class Design:
    """Who ran where: cells (tool and block), compared pairs, and the article space inside the cells.

    `basis` (n, r) is orthonormal and centred in every cell; `weights` (m, r) turns the products of `basis`
    with a centred column into the m differences from the reference; `estimable` (m,) says which of them the
    design can give at all.
    """

    pairs: tuple[Pair, ...]
    cell: IntArray
    basis: FloatArray
    weights: FloatArray
    estimable: BoolArray

    @property
    def free(self) -> int:
        """Degrees of freedom left by cells and articles."""
        return len(self.cell) - len(np.unique(self.cell)) - int(self.basis.shape[1])


@dataclass(frozen=True, slots=True)
class Solution:
    """Least squares for d sets of columns: differences (d, m), their variance factors (d, m), slopes (d, k)
    and residual sums of squares (d,)."""

    difference: FloatArray
    variance_factor: FloatArray
    slope: FloatArray
    residual_squares: FloatArray


@dataclass(frozen=True, slots=True)
class Fit:
    """One fit of the runs: differences in log score (m,), their unscaled covariance (m, m), residuals (n,).

    `columns` (n, 1 + k) are log score and covariates, centred in the cells; `slope` and `slope_factor` (k,)
    say what a covariate does and its unscaled variance. `confounded` names what the design cannot tell from
    the articles. `variance` is None without degrees of freedom, or when the runs repeat to the last digit.
    """

    design: Design
    covariates: tuple[str, ...]
    confounded: tuple[str, ...]
    columns: FloatArray
    slope: FloatArray
    slope_factor: FloatArray
    difference: FloatArray
    covariance: FloatArray
    residual: FloatArray
    leverage: FloatArray
    degrees_of_freedom: int
    variance: float | None

    @property
    def standard_error(self) -> FloatArray:
        """Of the differences, NaN where there is none; (m,)."""
        variance = np.nan if self.variance is None else self.variance
        return np.asarray(np.sqrt(variance * np.diag(self.covariance)))


def lay_out(runs: Sequence[ScoredRun], reference: str) -> Design:
    """Find cells, compared pairs and the article space of a set of runs.

    A difference can be estimated when its unit vector has no part in the null space of the centred article
    columns: when article and reference share blocks, if only by way of other articles.

    References
    ----------
    Estimable functions: Seber, Lee, *Linear Regression Analysis*, 2003, section 3.9 (from memory).
    """
    found = dict.fromkeys((each.article, each.tool) for each in runs if each.article != reference)
    pairs = tuple(sorted(found, key=lambda pair: (pair[1], pair[0])))
    place = {pair: i for i, pair in enumerate(pairs)}
    cell = _find_cells(runs)
    marks = np.zeros((len(runs), len(pairs)))
    for i, each in enumerate(runs):
        if each.article != reference:
            marks[i, place[each.article, each.tool]] = 1.0
    inside = centre(marks, cell)
    if not pairs:
        none = np.zeros((0, 0))
        return Design(pairs, cell, np.zeros((len(runs), 0)), none, np.zeros(0, dtype=np.bool_))
    square, direction = np.linalg.eigh(inside.T @ inside)
    kept = square > RANK_TOLERANCE * max(1.0, float(square.max(initial=0.0)))
    weights = direction[:, kept] / np.sqrt(square[kept])
    estimable = np.asarray(np.abs(np.sum(direction[:, kept] ** 2, axis=1) - 1.0) < 1e-6)
    return Design(pairs, cell, _multiply(inside, weights), weights, estimable)


def _find_cells(runs: Sequence[ScoredRun]) -> IntArray:
    """Number of each run's tool and block."""
    return np.unique([f"{each.tool}\0{each.block}" for each in runs], return_inverse=True)[1].astype(np.int64)


def centre(columns: FloatArray, cell: IntArray) -> FloatArray:
    """Take the mean of every cell out of every column; (n, c).

    Parameters
    ----------
    columns : (n, c)
        Any.
    cell : (n,)
        Number of each row's cell, from 0.
    """
    sums = np.zeros((int(cell.max(initial=-1)) + 1, columns.shape[1]))
    np.add.at(sums, cell, columns)
    return np.asarray(columns - sums[cell] / np.bincount(cell)[cell][:, None])


def solve_columns(design: Design, products: FloatArray, total: FloatArray) -> Solution:
    """Least squares from products alone.

    Parameters
    ----------
    design
        Who ran where.
    products : (d, r, 1 + k)
        Basis against centred columns (score first, then covariates), for d sets of columns.
    total : (1 + k, 1 + k)
        Products of the centred columns among themselves.

    References
    ----------
    Frisch-Waugh-Lovell theorem; Seber, Lee, *Linear Regression Analysis*, 2003, section 3.7 (from memory).
    """
    left = total - _multiply(np.swapaxes(products, 1, 2), products)
    inverse = _invert(left[:, 1:, 1:], np.sqrt(np.diag(total)[1:]))
    slope = _multiply(inverse, left[:, 1:, :1])[:, :, 0]
    squares = left[:, 0, 0] - np.sum(left[:, 0, 1:] * slope, axis=1)
    weighted = _multiply(design.weights, products)
    by_slope = weighted[:, :, 1:]
    difference = weighted[:, :, 0] - _multiply(by_slope, slope[:, :, None])[:, :, 0]
    own = np.sum(design.weights**2, axis=1)
    shared = np.sum(_multiply(by_slope, inverse) * by_slope, axis=2)
    return Solution(difference, own + shared, slope, np.maximum(squares, 0.0))


def _invert(square: FloatArray, size: FloatArray) -> FloatArray:
    """Inverse of products of covariates (..., k, k) without what the articles explain to the last digits.

    A shuffle of the articles may happen to explain a covariate, which then has no say.
    """
    if len(size) == 0:
        return np.zeros(square.shape)
    scale = np.outer(size, size)
    own, direction = np.linalg.eigh(square / scale)
    inverse = np.where(own > RANK_TOLERANCE, 1.0 / np.maximum(own, RANK_TOLERANCE), 0.0)
    return np.asarray((direction * inverse[..., None, :]) @ np.swapaxes(direction, -1, -2) / scale)


def fit_scores(runs: Sequence[ScoredRun], reference: str) -> Fit:
    """Fit the log scores of runs that all count, each by itself; scores must be > 0.

    Parameters
    ----------
    runs
        That count, scores > 0.
    reference
        What all others are compared with.

    Returns
    -------
    Differences in log score.

    Raises
    ------
    FloatingPointError
        If the fit gives no number, which is a mistake of arithmetic.
    """
    return fit_rows(runs, each_run(runs), reference)


def fit_means(runs: Sequence[ScoredRun], reference: str) -> tuple[Fit, Rows]:
    """Fit the means of each article in each block where articles repeat there, else every run.

    A campaign whose means leave no degrees of freedom, as a single block does, is fitted run by run.

    Raises
    ------
    FloatingPointError
        If the fit gives no number, which is a mistake of arithmetic.
    """
    if repeats_in_blocks(runs, reference):
        rows = means_of_blocks(runs)
        if lay_out(rows.runs, reference).free > 0:
            return fit_rows(runs, rows, reference), rows
    return fit_scores(runs, reference), each_run(runs)


def fit_rows(runs: Sequence[ScoredRun], rows: Rows, reference: str) -> Fit:
    """Fit the mean log scores of the rows.

    Parameters
    ----------
    runs
        That count, scores > 0.
    rows
        Which of them count together.
    reference
        What all others are compared with.

    Returns
    -------
    Differences in log score.

    Raises
    ------
    FloatingPointError
        If the fit gives no number, which is a mistake of arithmetic.

    References
    ----------
    As `solve_columns`.
    """
    design = lay_out(rows.runs, reference)
    terms = [
        Term(term.name, term.room, rows.mean(term.values)) for term in list_terms(runs, _find_cells(runs))
    ]
    names, covariates = _choose_covariates(terms, design)
    score = rows.mean(np.log([each.score for each in runs]))
    columns = centre(np.column_stack([score, covariates]), design.cell)
    products = _multiply(design.basis.T, columns)
    total = columns.T @ columns
    solution = solve_columns(design, products[None], total)
    slope = solution.slope[0]
    adjusted = columns @ np.r_[1.0, -slope]
    residual = adjusted - _multiply(design.basis, products @ np.r_[1.0, -slope][:, None])[:, 0]
    own = columns[:, 1:] - _multiply(design.basis, products[:, 1:])
    inverse = _invert(_multiply(own.T, own), np.sqrt(np.diag(total)[1:]))
    weighted = _multiply(design.weights, products[:, 1:])
    covariance = _multiply(design.weights, design.weights.T)
    covariance += _multiply(_multiply(weighted, inverse), weighted.T)
    leverage = (
        1.0 / np.bincount(design.cell)[design.cell]
        + np.sum(design.basis**2, axis=1)
        + np.sum(_multiply(own, inverse) * own, axis=1)
    )
    free = design.free - len(names)
    variance = _variance(float(residual @ residual), float(total[0, 0]), free)
    _must_be_numbers(solution.difference[0], covariance, residual, leverage)
    return Fit(
        design=design,
        covariates=names,
        confounded=_find_confounded(terms, design),
        columns=columns,
        slope=slope,
        slope_factor=np.diag(inverse).copy(),
        difference=solution.difference[0],
        covariance=covariance,
        residual=residual,
        leverage=leverage,
        degrees_of_freedom=max(free, 0),
        variance=variance,
    )


def _multiply(left: FloatArray, right: FloatArray) -> FloatArray:
    """Matrix product, zeros where an operand is empty: no library routine is ever given nothing to do.

    A memory checker finds that `einsum` of an empty slice gives what depends on memory that nobody wrote.
    """
    if left.size and right.size:
        return np.asarray(left @ right)
    ahead = np.broadcast_shapes(left.shape[:-2], right.shape[:-2])
    return np.zeros((*ahead, left.shape[-2], right.shape[-1]))


def _must_be_numbers(*parts: FloatArray) -> None:
    """Scores are finite and above 0, so a fit without a number is a mistake of arithmetic, not a result."""
    if not all(np.isfinite(part).all() for part in parts):
        raise FloatingPointError("the fit of the scores gave no number")


def _variance(squares: float, total: float, free: int) -> float | None:
    """Residual variance; None when there is nothing to judge it by."""
    return squares / free if free > 0 and squares > 1e-20 * max(total, 1e-12) else None


@dataclass(frozen=True, slots=True)
class Term:
    """A covariate that may be fitted: its name, the degrees of freedom it asks for, its values (n,)."""

    name: str
    room: int
    values: FloatArray


def list_terms(runs: Sequence[ScoredRun], cell: IntArray) -> list[Term]:
    """What a score may depend on beside article and block, most expected first."""
    order = np.asarray([each.order for each in runs], dtype=np.float64)
    terms = [
        Term(WARM_UP, ROOM_FOR_WARM_UP, FADING ** _places(order, cell)),
        Term(RUN_ORDER, ROOM_FOR_ORDER, order),
    ]
    uses = [each.bolt_use for each in runs if each.bolt_use is not None]
    if len(uses) == len(runs):
        terms.insert(0, Term(BOLT_USE, ROOM_FOR_BOLT_USE, np.asarray(uses)))
        if uses.count(0) > 1:
            terms.append(Term(BREAK_IN, ROOM_FOR_ORDER, FADING ** np.asarray(uses)))
    asked = [
        Term(name, ROOM_FOR_ASKED, np.asarray([each.asked[i][1] for each in runs]))
        for i, (name, _value) in enumerate(runs[0].asked if runs else ())
    ]
    return [*asked, *terms]


def _places(order: FloatArray, cell: IntArray) -> FloatArray:
    """Runs of the same block and tool before each run."""
    ahead = (cell[:, None] == cell) & (order < order[:, None])
    return np.asarray(ahead.sum(axis=1), dtype=np.float64)


def _choose_covariates(terms: Sequence[Term], design: Design) -> tuple[tuple[str, ...], FloatArray]:
    """The terms for which the design (never the scores) leaves room; (n, k)."""
    names: list[str] = []
    kept = np.zeros((len(design.cell), 0))
    for term in terms:
        column = term.values[:, None]
        if design.free - len(names) >= term.room and _own_share(column, kept, design) > OWN_SHARE:
            names.append(term.name)
            kept = np.column_stack([kept, column])
    return tuple(names), kept


def _find_confounded(terms: Sequence[Term], design: Design) -> tuple[str, ...]:
    """The terms that differ inside the blocks, but only as the articles do."""
    if design.free < 1 or not design.estimable.any():
        return ()
    none = np.zeros((len(design.cell), 0))
    return tuple(
        term.name
        for term in terms
        if np.ptp(centre(term.values[:, None], design.cell)) > RANK_TOLERANCE
        and _own_share(term.values[:, None], none, design) <= OWN_SHARE
    )


def _own_share(column: FloatArray, kept: FloatArray, design: Design) -> float:
    """Share of a column's variation inside the cells that articles and used covariates do not explain."""
    inside = centre(column, design.cell)[:, 0]
    size = float(inside @ inside)
    if size < RANK_TOLERANCE:
        return 0.0
    columns = np.column_stack([inside, centre(kept, design.cell)])
    columns -= _multiply(design.basis, _multiply(design.basis.T, columns))
    rest, others = columns[:, 0], columns[:, 1:]
    if others.size:
        rest = rest - others @ np.linalg.lstsq(others, rest, rcond=None)[0]
    return float(rest @ rest) / size
