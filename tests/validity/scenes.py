"""The simulated worlds of the study, by their titles."""

from __future__ import annotations

from dataclasses import replace

from tests.validity.campaigns import Truth

__all__ = [
    "ASKED",
    "ASKED_AGEING",
    "ASKED_CHANGES",
    "ASKED_ENOUGH",
    "ASKED_LIMITS",
    "ASKED_SPECIMENS",
    "ASKED_TOOLS",
    "HELD",
    "LIMITS",
    "MARGIN_SCENES",
    "SCENES",
    "WHOLE",
]

ORDINARY = Truth()
TWO_TOOLS = replace(ORDINARY, gains=(0.0,) * 4, tools=("air", "battery"), outliers=0.02)
WARM = replace(ORDINARY, missing=0.0, blocks=(8, 8), warm_up_percent=3.0)
WHOLE_SCENES = {
    "7 articles, 4 to 7 unequal blocks, drift": ORDINARY,
    "the same with 2 % outliers": replace(ORDINARY, outliers=0.02),
    "two tools, 4 articles each, 2 % outliers": TWO_TOOLS,
}
WHOLE = tuple(WHOLE_SCENES)
"""These get all campaigns, the others half as many."""
SCENES = WHOLE_SCENES | {
    "small: 3 articles, 3 blocks": replace(ORDINARY, gains=(0.0,) * 3, blocks=(3, 3)),
    "strong drift, up to 0.6 % a run": replace(ORDINARY, largest_drift_percent=0.6),
    "bolt wears in by 0.3 % a run": replace(ORDINARY, bolt_wear_percent=0.3),
    "five of seven articles differ": replace(ORDINARY, gains=(0.0, 0.0, 2.0, 4.0, 8.0, -5.0, 15.0)),
    "four of seven articles differ a little": replace(
        ORDINARY, gains=(0.0, 0.0, 0.0, 3.0, -3.0, 5.0, -5.0), blocks=(6, 6)
    ),
    "warm-up of 3 % in each of 8 blocks, as the plan shuffles": WARM,
    "warm-up of 6 % in each of 12 blocks, as the plan shuffles": replace(
        WARM, warm_up_percent=6.0, blocks=(12, 12)
    ),
    "warm-up of 3 % in each of 8 blocks, reference at both ends": replace(WARM, order="ends"),
    "three runs of an article in each of 4 blocks, 2 % of an article's own in a block": replace(
        ORDINARY, missing=0.0, blocks=(4, 4), each=3, article_by_block_percent=2.0
    ),
    "two runs of an article in some of 6 blocks, 2 % of an article's own in a block": replace(
        ORDINARY, gains=(0.0,) * 4, missing=0.3, blocks=(6, 6), each=2, article_by_block_percent=2.0
    ),
    "small: warm-up of 3 %, 3 articles, 3 blocks, as the plan shuffles": replace(
        WARM, gains=(0.0,) * 3, blocks=(3, 3)
    ),
}
HELD = {
    "held: a run's scatter follows the run before, correlation 0.5": replace(ORDINARY, following=0.5),
    "held: heavy tails, t with 3 degrees of freedom": replace(ORDINARY, tails=3),
    "held: bolts differ by 2 %": replace(ORDINARY, bolt_step_percent=2.0),
    "held: 30 articles": replace(ORDINARY, gains=(0.0,) * 30),
    "held: scores read in steps of 2 %, so that many are equal": replace(ORDINARY, read_in_percent=2.0),
    "held: 40 % of the runs missing": replace(ORDINARY, missing=0.4),
    "held: two articles, 2 blocks": replace(ORDINARY, gains=(0.0,) * 2, blocks=(2, 2), missing=0.0),
    "held: a single block, each of 3 articles four times": replace(
        ORDINARY, gains=(0.0,) * 3, blocks=(1, 1), each=4, missing=0.0
    ),
    "held: two tools, two of 4 articles never run with one": replace(TWO_TOOLS, absent=2),
    "held: scatter added to the score, not its log": replace(ORDINARY, scatter_percent=1.0, added=0.025),
}
"""Departures that the comparison stands, kept so that it goes on to."""
SCENES |= HELD
CALM = replace(ORDINARY, scatter_percent=1.0)
MARGIN_SCENES = {
    "all articles at the margin, either side": replace(CALM, gains=(3.0, -3.0, 3.0, -3.0, 3.0, -3.0, 3.0)),
    "all at the upper margin": replace(CALM, gains=(3.0,) * 7),
    "one at the margin, six equal": replace(CALM, gains=(3.0, *(0.0,) * 6)),
    "all at the margin, 2 % outliers": replace(
        CALM, gains=(3.0, -3.0, 3.0, -3.0, 3.0, -3.0, 3.0), outliers=0.02
    ),
    "all at the margin, warm-up of 3 %": replace(
        WARM, gains=(3.0, -3.0, 3.0, -3.0, 3.0, -3.0, 3.0), scatter_percent=1.0
    ),
}
FOUR = replace(ORDINARY, gains=(0.0,) * 4)
ASKED = {
    "asked: five equal articles, 4 to 7 unequal blocks, drift": FOUR,
    "asked: two best by 4 %, one behind by 4 %": replace(FOUR, gains=(4.0, 4.0, 0.0, -4.0)),
    "asked: one best by 5 %, 2 % outliers": replace(FOUR, gains=(5.0, 0.0, 0.0, -2.0), outliers=0.02),
    "asked: warm-up of 3 % in each of 8 blocks": replace(WARM, gains=(0.0,) * 4),
    "asked: three runs of an article in each of 4 blocks, 2 % of its own in a block": replace(
        FOUR, missing=0.0, blocks=(4, 4), each=3, article_by_block_percent=2.0
    ),
}
TURNS = replace(ORDINARY, gains=(0.0,) * 4, tools=("air", "battery"), tool_order="dealt", blocks=(5, 8))
ASKED_TOOLS = {
    "asked of tools: equal tools, 4 articles, 5 to 8 rounds, drift": TURNS,
    "asked of tools: one gives 4 % more, two gains are 4 % and 8 % less with it": replace(
        TURNS, gains=(5.0, 10.0, 0.0, 0.0), tool_percent=4.0, tool_gains=(-4.0, -8.0, 0.0, 0.0)
    ),
    "asked of tools: equal tools, strong drift, up to 0.6 % a run, 2 % outliers": replace(
        TURNS, largest_drift_percent=0.6, outliers=0.02
    ),
}
ASKED_SPECIMENS = {
    "asked of specimens: five that scatter by 4 %": replace(ORDINARY, gains=(0.0,) * 5, specimen_percent=4.0),
    "asked of specimens: three that scatter by 2 %": replace(
        ORDINARY, gains=(0.0,) * 3, specimen_percent=2.0
    ),
}
STILL = replace(ORDINARY, gains=(0.0,) * 4, largest_drift_percent=0.0, blocks=(6, 10))
ASKED_AGEING = {
    "asked of ageing: nothing changes, 6 to 10 blocks": STILL,
    "asked of ageing: nothing changes, two tools, 2 % outliers": replace(
        STILL, tools=("air", "battery"), outliers=0.02
    ),
    "asked of ageing: nothing changes, warm-up of 3 % in the block": replace(STILL, warm_up_percent=3.0),
    "asked of ageing: a run is 0.1 % less than the one before": replace(STILL, drift_percent=-0.1),
    "asked of ageing: the same in 12 blocks": replace(STILL, drift_percent=-0.1, blocks=(12, 12)),
}
HALVES = replace(ORDINARY, gains=(0.0,) * 4, blocks=(8, 8), halves=True, halfway_percent=5.0)
ASKED_CHANGES = {
    "asked of a change: it does nothing, all scores rise by 5 % meanwhile": HALVES,
    "asked of a change: the same, drift up to 0.6 % a run": replace(HALVES, largest_drift_percent=0.6),
    "asked of a change: it gives 6 %, all scores rise by 5 % meanwhile": replace(
        HALVES, gains=(0.0, 6.0, 0.0, 0.0)
    ),
}
ASKED_ENOUGH = {
    "asked of enough: after 4 to 7 unequal blocks with drift": FOUR,
    "asked of enough: after 8 blocks, warm-up of 3 % in the block": replace(WARM, gains=(0.0,) * 4),
}
ASKED_LIMITS = {
    "asked: one article scatters three times as much": replace(FOUR, unsteady=3.0),
}
LIMITS = {
    "2 % of an article's own in a block, each once in 8 blocks and the reference twice": replace(
        ORDINARY, missing=0.0, blocks=(8, 8), article_by_block_percent=2.0
    ),
    "the reference, then the article, in each of 10 blocks, the second run 2 % better": replace(
        WARM, gains=(0.0,), order="alternate", blocks=(10, 10), warm_up_percent=2.7, warm_up_runs=0.7
    ),
    "one article scatters three times as much": replace(ORDINARY, unsteady=3.0),
    "10 % outliers": replace(ORDINARY, outliers=0.10),
    "slow warm-up of 3 % over 4 runs, reference at both ends": replace(WARM, order="ends", warm_up_runs=4.0),
    "warm-up of 6 %, small: 3 articles, 3 blocks, reference at both ends": replace(
        WARM, gains=(0.0,) * 3, blocks=(3, 3), warm_up_percent=6.0, order="ends"
    ),
}
