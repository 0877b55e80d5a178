"""What the questions beside the comparison get right and wrong: pairs, a combination, the best, places."""

from __future__ import annotations

import numpy as np
from joblib import Parallel, delayed
from scipy.stats import ttest_ind
from tests.validity.campaigns import Truth, simulate_campaign
from tests.validity.rates import Row, observed, rate

from strikeproof.judge.questions.ageing import find_ageing
from strikeproof.judge.questions.best import find_best
from strikeproof.judge.questions.changed import find_changes
from strikeproof.judge.questions.differences import all_pairs, find_differences
from strikeproof.judge.questions.effects import Effects, fit_effects
from strikeproof.judge.questions.enough import Shape, find_enough, own_scatter, simulate_power
from strikeproof.judge.questions.specimens import judge_product
from strikeproof.judge.questions.tools import compare_tools, find_tool_effects
from strikeproof.judge.questions.written import ask_pair, read_asked

__all__ = ["ageing_scene", "ask_scene", "changes_scene", "enough_scene", "specimens_scene", "tools_scene"]

TOOL = "air"
GROUP = "mean(article-0, article-1) - mean(article-2, plain)"
COUNTED = (
    "pair_error",
    "pairs_covered",
    "group_covered",
    "best_lost",
    "best_covered",
    "best_wrong",
    "places_missed",
    "chance_of_best",
    "settled",
)


def ask_scene(truth: Truth, seed: np.random.SeedSequence, campaigns: int) -> list[Row]:
    """Error rates and coverage of one scene of at least three articles with one tool."""
    jobs = (delayed(_ask)(truth, each) for each in seed.spawn(campaigns))
    counts = np.asarray(Parallel(n_jobs=2, batch_size=20)(jobs), dtype=np.float64)
    found = dict(zip(COUNTED, counts.T, strict=True))
    rows = [
        rate("any pair of equals called different", found["pair_error"], (0.0, 5.0)),
        rate("the intervals of all pairs cover together", found["pairs_covered"], (94.0, 96.0)),
        rate("the interval of one group less another covers", found["group_covered"], (94.0, 96.0)),
        rate("the best, or one of the best alike, is ruled out", found["best_lost"], (0.0, 5.0)),
        rate("the intervals against the best cover together", found["best_covered"], (94.0, 100.0)),
        rate("one is named as the best and is not", found["best_wrong"], (0.0, 5.0)),
        rate("any place lies outside its set", found["places_missed"], (0.0, 5.0)),
    ]
    if truth.gains.count(max(truth.gains)) == 1:
        rows += [
            observed("the best is named, and rightly", found["settled"]),
            observed("mean chance given to those that are best", found["chance_of_best"]),
        ]
    return rows


def _ask(truth: Truth, seed: np.random.SeedSequence) -> tuple[float, ...]:
    effects = _effects(truth, np.random.default_rng(seed))
    true = {"plain": 0.0} | {f"article-{i}": np.log1p(gain / 100.0) for i, gain in enumerate(truth.gains)}
    names = effects.articles(TOOL)
    asked = [(each, TOOL) for each in all_pairs(names)]
    pairs = find_differences(effects, asked, margin_percent=0.0, confidence=0.95).found
    group = find_differences(
        effects, [(read_asked(GROUP, names), TOOL)], margin_percent=0.0, confidence=0.95
    ).found[0]
    apart = [true[each.asked.pair[0]] - true[each.asked.pair[1]] for each in pairs if each.asked.pair]
    best = find_best(effects, TOOL, confidence=0.95)
    against = {
        name: true[name] - max(value for other, value in true.items() if other != name) for name in true
    }
    top = {name for name, value in true.items() if value == max(true.values())}
    possible = {each.article for each in best.possible}
    return (
        any(gap == 0.0 and each.verdict != "cannot tell" for gap, each in zip(apart, pairs, strict=True)),
        all(_holds(each, gap) for gap, each in zip(apart, pairs, strict=True)),
        _holds(group, sum(weight * true[name] for name, weight in group.asked.weights)),
        len(top - possible) / len(top),
        all(
            _log(each.behind_percent) - 1e-12 <= against[each.article] <= _log(each.ahead_percent) + 1e-12
            for each in best.contenders
        ),
        len(possible) == 1 and not possible & top,
        any(_missed(each.article, each.ranks, true) for each in best.contenders),
        sum(each.chance for each in best.contenders if each.article in top),
        possible == top,
    )


def specimens_scene(truth: Truth, seed: np.random.SeedSequence, campaigns: int) -> list[Row]:
    """Whether the interval of a product covers, whose specimens are all articles, and that of one of them."""
    jobs = (delayed(_ask_product)(truth, each) for each in seed.spawn(campaigns))
    found = np.asarray(Parallel(n_jobs=2, batch_size=20)(jobs), dtype=np.float64).T
    return [
        rate("the interval of the product covers", found[0], (94.0, 100.0)),
        rate("the product is called different and is not", found[1], (0.0, 5.0)),
        observed("the interval of one specimen covers the product", found[2]),
    ]


def ageing_scene(truth: Truth, seed: np.random.SeedSequence, campaigns: int) -> list[Row]:
    """Whether intervals of a change from run to run cover it together, and how often one is seen."""
    jobs = (delayed(_ask_ageing)(truth, each) for each in seed.spawn(campaigns))
    covered, seen, wrong = np.asarray(Parallel(n_jobs=2, batch_size=20)(jobs), dtype=np.float64).T
    rows = [rate("all intervals cover", covered, (94.0, 100.0))]
    if truth.drift_percent == 0.0:
        return [*rows, rate("a change is seen that is not there", seen, (0.0, 5.0))]
    return [*rows, observed("the change is seen", seen), rate("the wrong way", wrong, (0.0, 2.5))]


def changes_scene(truth: Truth, seed: np.random.SeedSequence, campaigns: int) -> list[Row]:
    """Whether the interval of a change covers it, and how often one is called so."""
    jobs = (delayed(_ask_change)(truth, each) for each in seed.spawn(campaigns))
    covered, said, bare = np.asarray(Parallel(n_jobs=2, batch_size=20)(jobs), dtype=np.float64).T
    seen = (
        observed("the change is called so", said)
        if truth.gains[1]
        else rate("a change is called that is not there", said, (0.0, 5.0))
    )
    return [
        rate("the interval covers", covered, (94.0, 96.0)),
        observed("the same of the two means alone, without the reference", bare),
        seen,
    ]


def enough_scene(truth: Truth, seed: np.random.SeedSequence, campaigns: int) -> list[Row]:
    """The power that the number of blocks truly has which a small campaign's own scatter asks for."""
    jobs = (delayed(_ask_enough)(truth, each) for each in seed.spawn(max(campaigns // 20, 1)))
    found = np.asarray(Parallel(n_jobs=2, batch_size=2)(jobs), dtype=np.float64)
    return [observed("power of the blocks that are called enough for 4 %, where 80 is asked", found)]


def _ask_enough(truth: Truth, seed: np.random.SeedSequence) -> float:
    rng = np.random.default_rng(seed)
    names = ("plain", *(f"article-{i}" for i in range(len(truth.gains))))
    shape = Shape(names, (TOOL,), "plain", 0.95, None, 60.0)
    scatter = own_scatter(fit_effects(simulate_campaign(truth, rng), "plain"))
    found = find_enough(scatter, shape, 4.0, campaigns=60)
    blocks = found.needed.blocks if found.needed is not None else found.tried[-1].blocks
    true = rng.normal(0.0, truth.scatter_percent / 100.0, 5_000)
    return simulate_power(true, shape, 4.0, blocks, rng, 60).power


def _ask_change(truth: Truth, seed: np.random.SeedSequence) -> tuple[float, ...]:
    rng = np.random.default_rng(seed)
    while True:
        runs = simulate_campaign(truth, rng)
        effects = fit_effects(runs, "plain")
        if min(effects.witnesses(f"article-{i}", TOOL) for i in (0, 1)) > 1:
            break
    (found,) = find_changes(runs, "plain", "article-0", "article-1", margin_percent=0.0, confidence=0.95)
    true = float(np.log1p(truth.gains[1] / 100.0))
    logs = [[np.log(each.score) for each in runs if each.article == f"article-{i}"] for i in (1, 0)]
    low, high = ttest_ind(*logs, equal_var=False).confidence_interval(0.95)
    return _holds(found.difference, true), found.difference.verdict != "cannot tell", low <= true <= high


def _ask_ageing(truth: Truth, seed: np.random.SeedSequence) -> tuple[float, ...]:
    found = find_ageing(simulate_campaign(truth, np.random.default_rng(seed)), "plain", confidence=0.95)
    true = float(np.log1p(truth.drift_percent / 100.0))
    wrong = "lower" if truth.drift_percent > 0.0 else "higher"
    return (
        all(_holds(each, true) for each in found),
        any(each.verdict != "cannot tell" for each in found),
        any(each.verdict == wrong for each in found),
    )


def _ask_product(truth: Truth, seed: np.random.SeedSequence) -> tuple[float, ...]:
    effects = _effects(truth, np.random.default_rng(seed))
    names = [f"article-{i}" for i in range(len(truth.gains))]
    found = judge_product(effects, names, TOOL, margin_percent=0.0, confidence=0.95)
    one = find_differences(
        effects, [(ask_pair(names[0], "plain"), TOOL)], margin_percent=0.0, confidence=0.95
    ).found[0]
    return _holds(found, 0.0), found.verdict != "cannot tell", _holds(one, 0.0)


def _effects(truth: Truth, rng: np.random.Generator) -> Effects:
    """The fit of a campaign in which each article has two runs; one that lost more is drawn again."""
    while True:
        effects = fit_effects(simulate_campaign(truth, rng), "plain")
        if min(effects.witnesses(f"article-{i}", TOOL) for i in range(len(truth.gains))) > 1:
            return effects


def _log(percent: float | None) -> float:
    return np.nan if percent is None else float(np.log1p(percent / 100.0))


def _holds(found, truth: float) -> bool:  # type: ignore[no-untyped-def]  # any record with two ends
    return bool(_log(found.low_percent) <= truth <= _log(found.high_percent))


def _missed(name: str, ranks: tuple[int, int], true: dict[str, float]) -> bool:
    """Whether a place set says that an equal, or a worse one, is surely better, or the reverse."""
    better = sum(value > true[name] for value in true.values())
    worse = sum(value < true[name] for value in true.values())
    return ranks[0] > 1 + better or ranks[1] < len(true) - worse


def tools_scene(truth: Truth, seed: np.random.SeedSequence, campaigns: int) -> list[Row]:
    """Error rates and coverage of the questions about two tools."""
    jobs = (delayed(_ask_tools)(truth, each) for each in seed.spawn(campaigns))
    found = np.asarray(Parallel(n_jobs=2, batch_size=20)(jobs), dtype=np.float64).T
    more, gains = truth.tool_percent, truth.tool_gains
    rows = [rate("the interval between the tools covers", found[0], (94.0, 96.0))]
    what = "the tools are called different"
    rows.append(observed(what, found[1]) if more else rate(what, found[1], (0.0, 5.0)))
    rows.append(rate("the intervals of all gains between tools cover together", found[2], (94.0, 96.0)))
    rows.append(rate("any gain that holds is called differing", found[3], (0.0, 5.0)))
    what = "F of all at once below 5 %"
    rows.append(observed(what, found[4]) if any(gains) else rate(what, found[4], (0.0, 5.0)))
    return rows


def _ask_tools(truth: Truth, seed: np.random.SeedSequence) -> tuple[float, ...]:
    rng = np.random.default_rng(seed)
    while True:
        runs = simulate_campaign(truth, rng)
        effects = fit_effects(runs, "plain")
        apart = find_tool_effects(effects, margin_percent=0.0, confidence=0.95)
        tools = compare_tools(runs, "plain", margin_percent=0.0, confidence=0.95)
        if apart is not None and tools is not None and len(apart.found) == len(truth.gains):
            break
    (between,) = tools.differences.found
    first = between.asked.pair and between.asked.pair[0]
    true = np.log1p(truth.tool_percent / 100.0) * (1.0 if first == truth.tools[1] else -1.0)
    gaps = {
        f"article-{i}": -np.log1p(gain / 100.0)
        for i, gain in enumerate(truth.tool_gains or (0.0,) * len(truth.gains))
    }
    return (
        _holds(between, true),
        between.verdict != "cannot tell",
        all(_holds(each, gaps[each.article]) for each in apart.found),
        any(gaps[each.article] == 0.0 and each.verdict != "cannot tell" for each in apart.found),
        apart.p_f < 0.05,
    )
