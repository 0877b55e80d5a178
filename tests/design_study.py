"""Whether the search finds the best, and says truly how sure it is, on simulated benches of known truth.

Run `python -m tests.design_study --into FOLDER` to work through 30 benches, one line of FOLDER/benches.jsonl
each: a run that was stopped goes on where it was. A bench of which no brief can be kept is passed over. On
every bench a campaign is simulated, the chain fitted to it thoroughly, and the next prototype searched for,
quickly, by what that taught. Then every recipe of the search is tried on a grid in the true world. The table
is printed; with `--write` it replaces the part of docs/validity.md between this study's two marks. Exit code
1 when a goal is not reached.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from itertools import count, islice, product
from pathlib import Path
from typing import Any

import numpy as np
from tests.design_benches import OWN, TrueBench, draw_bench, true_world
from tests.study_page import put_between

from strikeproof.design.finishing import places_beyond
from strikeproof.design.judging import Strain, draft_article, excess, find_broken, run_worlds
from strikeproof.design.plans import Recipe
from strikeproof.design.recipes import list_recipes
from strikeproof.design.records import Search, Worlds
from strikeproof.design.search import QUICK, search_designs
from strikeproof.design.worlds import worlds_from_fit
from strikeproof.drivetrain import ArticleModel
from strikeproof.errors import BadInput
from strikeproof.explain import Setting
from strikeproof.explain.article_model import article_model
from strikeproof.explain.fits import FULL, make_table
from strikeproof.explain.physical import fit_physical
from strikeproof.parts import margins_at
from strikeproof.team import Team

SEED = 20261125
MARKS = ("<!-- design: measured -->", "<!-- design: end of measured -->")
PAGE = Path(__file__).parent.parent / "docs" / "validity.md"
DRAWS = 64  # as many as the desk takes for a thorough search
BRIEFS = 20
CELLS = 8_000  # articles of the grid, over all recipes
EFFORT = replace(QUICK, front=0)
LEVELS = {"place": 3, "interference": 2}

Row = dict[str, Any]


def run_bench(number: int, seed: int, workers: int) -> Row:
    """One bench: what was found, what it truly gains, and the best of the grid."""
    start = time.perf_counter()
    bench = draw_bench(number, seed)
    rng = np.random.default_rng([seed, number, 1])
    row: Row = {"number": number, "mechanism": bench.evidence.tools[0].mechanism}
    table = make_table(bench.evidence)
    fit = fit_physical(bench.evidence, table, "chain-bonds", replace(FULL, workers=workers), rng)
    worlds = worlds_from_fit(bench.evidence, fit, [Setting("tool")], DRAWS, rng)
    tried = _search(bench, number, seed, worlds, rng, workers)
    if tried is None:
        return row | {"passed over": True}
    bench, found = tried
    searched = time.perf_counter()
    strain = Strain(team=Team(workers), scatter=False)
    models = [article_model(each.properties) for each in found.proposals]
    true = run_worlds(models, [bench.truth], strain).gains[:, 0, 0]
    best, cells, name = grid_best(bench, worlds, workers)
    return row | {
        "r_hat": fit.chains.r_hat,
        "searched": found.searched,
        "seconds": [searched - start, time.perf_counter() - searched],
        "proposals": [each.name for each in found.proposals],
        "predicted": [np.quantile(each.gains[:, 0], [0.05, 0.5, 0.95]).tolist() for each in found.proposals],
        "true": true.tolist(),
        "built": _built(bench, models, rng),
        "grid": best,
        "grid_name": name,
        "cells": cells,
    }


def _search(
    bench: TrueBench, number: int, seed: int, worlds: Worlds, rng: np.random.Generator, workers: int
) -> tuple[TrueBench, Search] | None:
    """The search by the first brief of the bench that can be kept; None where none of so many can."""
    for attempt in range(BRIEFS):
        tried = replace(bench, brief=draw_bench(number, seed, attempt).brief)
        try:
            return tried, search_designs(tried.brief, worlds, rng=rng, effort=EFFORT, team=Team(workers))
        except BadInput:
            continue
    return None


def _built(bench: TrueBench, models: list[ArticleModel], rng: np.random.Generator) -> list[float]:
    """True log gains of the proposals as built, each off its record as far as its dimensions may be."""
    gains = []
    for model in models:
        world = true_world(bench.evidence, bench.unknowns, np.array(OWN) * rng.standard_normal(3))
        gains.append(float(run_worlds([model], [world], Strain(scatter=False)).gains[0, 0, 0]))
    return gains


def grid_best(bench: TrueBench, worlds: Worlds, workers: int, size: int = CELLS) -> tuple[float, int, str]:
    """Largest true log gain on the grid of what keeps the brief, how many articles it has, and its name.

    The strength is asked for as the search asks: at the peak believed, which no one can know better.
    """
    brief = bench.brief
    recipes = list_recipes(brief)
    drafts = [
        draft
        for recipe in recipes
        for places in grid_places(recipe, size // len(recipes))
        if (draft := draft_article(brief, recipe, places)) is not None and not excess(brief, draft)
    ]
    rough = Strain(rough=True, scatter=False, team=Team(workers))
    gains = run_worlds([each.model for each in drafts], [bench.truth], rough).gains[:, 0, 0]
    ranked = iter([drafts[i] for i in np.argsort(-gains)])
    while batch := list(islice(ranked, 12)):
        results = run_worlds([each.model for each in batch], worlds.draws, Strain(team=Team(workers)))
        kept = [
            each
            for each, peaks in zip(batch, places_beyond(results), strict=True)
            if not find_broken(brief, margins_at(each.properties, peaks.tolist()), 0.0)
        ]
        if kept:
            exact = Strain(scatter=False, team=Team(workers))
            true = run_worlds([each.model for each in kept], [bench.truth], exact).gains[:, 0, 0]
            return float(true.max()), len(drafts), kept[int(true.argmax())].plan.title
    return -np.inf, len(drafts), ""


def grid_places(recipe: Recipe, cells: int) -> Iterator[tuple[int, ...]]:
    """An even grid over a recipe: few places along the body, sizes as fine as the number of cells allows."""
    counts = recipe.counts
    kinds = [LEVELS.get(each.name.split()[0]) for each in recipe.variables]
    levels = [min(count, kind or 2) for count, kind in zip(counts, kinds, strict=True)]
    sizes = [i for i, kind in enumerate(kinds) if kind is None]
    while sizes:
        finer = [min(level + 1, counts[i]) if i in sizes else level for i, level in enumerate(levels)]
        if finer == levels or np.prod(finer) > cells:
            break
        levels = finer
    axes = [
        np.unique(np.rint(np.linspace(0, count - 1, level)).astype(int)).tolist()
        for count, level in zip(counts, levels, strict=True)
    ]
    yield from product(*axes)


def work(benches: int, seed: int, into: Path, workers: int) -> list[Row]:
    """Do what is not done yet, until there are so many benches that were not passed over; all rows."""
    into.mkdir(parents=True, exist_ok=True)
    path = into / "benches.jsonl"
    done = _read(path)
    rows: list[Row] = []
    with path.open("a", encoding="utf-8") as stream:
        for number in count():
            if len(_whole(rows)) == benches:
                break
            row = done.get(number) or run_bench(number, seed, workers)
            rows.append(row)
            if number not in done:
                stream.write(json.dumps(row) + "\n")
                stream.flush()
                print(_short(row), file=sys.stderr)
    return rows


def _whole(rows: list[Row]) -> list[Row]:
    return [row for row in rows if "passed over" not in row]


def _short(row: Row) -> str:
    if "passed over" in row:
        return f"{row['number']}: none of {BRIEFS} briefs can be kept"
    true, grid = np.expm1(row["true"][0]), np.expm1(row["grid"])
    return (
        f"{row['number']}: {row['proposals'][0]}, true {true:.1%}, grid {grid:.1%} "
        f"({row['grid_name']}), lost {100.0 * (grid - true):.1f} points, covered {sum(_covered(row))} of "
        f"{len(row['true'])}, {row['seconds']}"
    )


def _read(path: Path) -> dict[int, Row]:
    lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
    return {row["number"]: row for row in map(json.loads, lines)}


def _covered(row: Row) -> list[bool]:
    return [low <= true <= high for (low, _, high), true in zip(row["predicted"], row["built"], strict=True)]


def tell(rows: list[Row], command: str) -> tuple[str, bool]:
    """The table, and whether all goals are reached."""
    over = [row["number"] for row in rows if "passed over" in row]
    rows = _whole(rows)
    lost = np.array([100.0 * (np.exp(row["grid"]) - np.exp(row["true"][0])) for row in rows])
    covered = np.concatenate([_covered(row) for row in rows])
    widths = [100.0 * (np.exp(high) - np.exp(low)) for row in rows for low, _, high in row["predicted"]]
    by_bench = np.array([np.mean(_covered(row)) for row in rows])
    goals = [
        (
            "benches on which the chosen design's true gain is at most 3 points below the best of the grid",
            f"{(lost <= 3.0).sum()} of {len(rows)}",
            "all",
            bool((lost <= 3.0).all()),
        ),
        (
            f"proposals whose true gain lies in the predicted 90 % interval (of {covered.size})",
            f"{covered.mean():.1%} ± {by_bench.std(ddof=1) / np.sqrt(len(rows)):.1%}",
            "85 to 95 %",
            bool(0.85 <= covered.mean() <= 0.95),
        ),
    ]
    passed = f"; passed over, as no brief could be kept: {', '.join(map(str, over))}" if over else ""
    lines = [
        f"`{command}`: {len(rows)} benches{passed}.",
        "",
        "| | measured | wanted | |",
        "|---|---|---|---|",
    ]
    lines += [
        f"| {what} | {got} | {want} | {'holds' if ok else '**falls short**'} |"
        for what, got, want, ok in goals
    ]
    seconds = np.array([row["seconds"] for row in rows])
    lines += [
        "",
        f"Points lost: median {np.median(lost):.1f}, largest {lost.max():.1f}; a negative number means that "
        f"the search beat the grid, as it did on {(lost < 0).sum()} benches. Width of the intervals: median "
        f"{np.median(widths):.0f} points. True gains of the chosen designs: "
        f"{100 * np.expm1(min(row['true'][0] for row in rows)):.0f} to "
        f"{100 * np.expm1(max(row['true'][0] for row in rows)):.0f} %. Articles a grid: median "
        f"{np.median([row['cells'] for row in rows]):.0f} that keep size, mass and money. "
        f"Fitting and searching took {np.median(seconds[:, 0]):.0f} s, the grid "
        f"{np.median(seconds[:, 1]):.0f} s (medians).",
    ]
    return "\n".join(lines), all(ok for *_rest, ok in goals)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--into", type=Path, required=True, help="folder of the results, outside the project")
    parser.add_argument("--benches", type=int, default=30)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--write", action="store_true", help="put the table into docs/validity.md")
    given = parser.parse_args()
    rows = work(given.benches, given.seed, given.into, given.workers)
    text, reached = tell(rows, "python -m tests.design_study --into FOLDER")
    print(text)
    if given.write:
        put_between(PAGE, MARKS, text)
    return 0 if reached else 1


if __name__ == "__main__":
    sys.exit(main())
