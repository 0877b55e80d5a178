"""How often the true explanation is named, on simulated campaigns of known truth.

Run `python -m tests.explain_study --into FOLDER` to work through 200 campaigns (about 20 minutes on two calm
cores), one line of FOLDER/campaigns.jsonl each: a run that was stopped goes on where it was. The tables are
printed; with `--write` they replace the part of docs/validity.md between this study's two marks. Exit code 1
when a goal is not reached.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter, defaultdict
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from joblib import Parallel, delayed
from scipy.stats import kstest
from tests.explain_campaigns import TrueCampaign, draw_campaign
from tests.study_page import put_between

from strikeproof.errors import DidNotConverge
from strikeproof.explain.deciding import decide
from strikeproof.explain.explaining import list_rivals, weigh_rivals
from strikeproof.explain.fits import QUICK, Fits, fit_rivals
from strikeproof.explain.kinds import RIVALS
from strikeproof.explain.records import RivalName

SEED = 20261125
MARKS = ("<!-- explain: measured -->", "<!-- explain: end of measured -->")
PAGE = Path(__file__).parent.parent / "docs" / "validity.md"
GROWTH_EVERY = 3  # campaigns of which one has growth curves
RANKED = 99  # posterior draws that a true value is ranked among, so that there are 100 ranks

Row = dict[str, Any]


def run_campaign(number: int, seed: int) -> Row:
    """One campaign with quick fits: what was true, what was said."""
    rng = np.random.default_rng([seed, number])
    rival = RIVALS[number % len(RIVALS)]
    growth = number % GROWTH_EVERY == 0
    true = draw_campaign(rival, rng, growth=growth)
    start = time.perf_counter()
    fits = fit_rivals(true.evidence, replace(QUICK, workers=1), rng)
    row: Row = {
        "number": number,
        "true": rival,
        "growth": growth,
        "mechanism": true.evidence.tools[0].mechanism,
        "articles": len(true.evidence.articles),
        "largest_gain": float(np.abs(true.log_gains).max()),
        "ranks": _rank(true, fits, rival, rng),
        "r_hat": {each.name: each.chains.r_hat for each in fits.physical},
    }
    return row | _judge(fits, rng) | {"seconds": time.perf_counter() - start}


def _judge(fits: Fits, rng: np.random.Generator) -> Row:
    try:
        weighed = weigh_rivals(fits, rng)
    except DidNotConverge as refusal:
        return {"verdict": "refused", "why": str(refusal), "covered": []}
    judged, gains = weighed.judged, fits.gains
    low, high = np.quantile(judged.together, [0.05, 0.95], axis=0)
    return {
        "verdict": decide(list_rivals(judged), weighed.fit_p, blocked=False).verdict,
        "covered": ((low <= gains) & (gains <= high)).tolist(),
        "width": (high - low).tolist(),
        "names": judged.names,
        "probability": judged.probability.tolist(),
        "weight": judged.weight.tolist(),
        "log_density": judged.log_density.tolist(),
        "errors": judged.errors.mean(axis=0).tolist(),
        "fit_p": weighed.fit_p,
    }


def _rank(true: TrueCampaign, fits: Fits, rival: RivalName, rng: np.random.Generator) -> dict[str, int]:
    """Rank of every true unknown among draws of the true explanation's posterior."""
    if not true.unknowns.size:
        return {}
    fit = fits.chain(rival)
    draws = fit.chains.flat[rng.choice(len(fit.chains.flat), RANKED, replace=False)]
    below = np.sum(draws < true.unknowns, axis=0)
    return {each.name: int(rank) for each, rank in zip(fit.parameters, below, strict=True)}


def work(numbers: range, seed: int, into: Path, workers: int) -> list[Row]:
    """Do what is not done yet; all rows by number."""
    into.mkdir(parents=True, exist_ok=True)
    path = into / "campaigns.jsonl"
    done = _read(path)
    jobs = (delayed(run_campaign)(i, seed) for i in numbers if i not in done)
    with path.open("a", encoding="utf-8") as stream:
        for row in Parallel(n_jobs=workers, return_as="generator_unordered")(jobs):
            stream.write(json.dumps(row) + "\n")
            stream.flush()
            print(f"{row['number']}: {row['true']} -> {row['verdict']}", file=sys.stderr)
    found = _read(path)
    return [found[i] for i in numbers]


def _read(path: Path) -> dict[int, Row]:
    lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
    return {row["number"]: row for row in map(json.loads, lines)}


def tell(rows: list[Row], command: str) -> tuple[str, bool]:
    """The tables, and whether all goals are reached."""
    outright = np.mean([row["verdict"] == row["true"] for row in rows])
    safe = np.mean([row["verdict"] in (row["true"], "cannot tell", "refused") for row in rows])
    covered = np.concatenate([row["covered"] for row in rows]).mean()
    flat = _flatness(rows)
    least = min(p for _n, p in flat.values()) if flat else 1.0
    goals = [
        ("the true explanation, or “cannot tell”", f"{safe:.1%}", "≥ 95 %", safe >= 0.95),
        ("the true explanation outright", f"{outright:.1%}", "≥ 80 %", outright >= 0.80),
        (
            "left-out articles inside their 90 % interval",
            f"{covered:.1%}",
            "85 to 95 %",
            0.85 <= covered <= 0.95,
        ),
        (
            f"flat ranks: smallest p of {len(flat)} Kolmogorov-Smirnov tests, times {len(flat)}",
            f"{min(1.0, least * max(len(flat), 1)):.2f}",
            "≥ 0.05",
            least * max(len(flat), 1) >= 0.05,
        ),
    ]
    lines = [f"`{command}`: {len(rows)} campaigns.", "", "| | measured | wanted | |", "|---|---|---|---|"]
    lines += [
        f"| {what} | {got} | {want} | {'holds' if holds else '**falls short**'} |"
        for what, got, want, holds in goals
    ]
    lines += ["", *_by_truth(rows), "", *_by_growth(rows), "", *_by_parameter(flat, rows)]
    return "\n".join(lines), all(holds for *_rest, holds in goals)


def _by_truth(rows: list[Row]) -> list[str]:
    lines = ["| true | campaigns | named | cannot tell | refused | wrong |", "|---|---|---|---|---|---|"]
    for rival in RIVALS:
        said = Counter(row["verdict"] for row in rows if row["true"] == rival)
        total = sum(said.values())
        wrong = {k: n for k, n in said.items() if k not in (rival, "cannot tell", "refused")}
        words = ", ".join(f"{n} {name}" for name, n in wrong.items()) or "0"
        lines.append(
            f"| {rival} | {total} | {said[rival]} | {said['cannot tell']} | {said['refused']} | {words} |"
        )
    return lines


def _by_growth(rows: list[Row]) -> list[str]:
    lines = [
        "| evidence | campaigns | true or cannot tell | outright | left-out in 90 % | error of the true |",
        "|---|---|---|---|---|---|",
    ]
    for growth, words in ((False, "scores"), (True, "scores and growth curves")):
        some = [row for row in rows if row["growth"] == growth]
        if not some:
            continue
        safe = np.mean([row["verdict"] in (row["true"], "cannot tell", "refused") for row in some])
        outright = np.mean([row["verdict"] == row["true"] for row in some])
        covered = np.concatenate([row["covered"] for row in some]).mean()
        errors = [row["errors"][row["names"].index(row["true"])] for row in some if "errors" in row]
        lines.append(
            f"| {words} | {len(some)} | {safe:.1%} | {outright:.1%} | {covered:.1%} "
            f"| {100.0 * np.mean(errors):.1f} % |"
        )
    return lines


def _flatness(rows: list[Row]) -> dict[str, tuple[int, float]]:
    """Number of ranks and the p of a Kolmogorov-Smirnov test of their flatness, by unknown."""
    ranks: dict[str, list[int]] = defaultdict(list)
    for row in rows:
        for name, rank in row["ranks"].items():
            ranks[name].append(rank)
    rng = np.random.default_rng(SEED)  # spreads each whole rank over its step
    return {
        name: (
            len(found),
            float(kstest((np.array(found) + rng.random(len(found))) / (RANKED + 1), "uniform").pvalue),
        )
        for name, found in ranks.items()
    }


def _by_parameter(flat: dict[str, tuple[int, float]], rows: list[Row]) -> list[str]:
    lines = ["| unknown | ranks in fifths | p of flatness |", "|---|---|---|"]
    for name, (_count, p) in flat.items():
        found = [row["ranks"][name] for row in rows if name in row["ranks"]]
        fifths = np.histogram(found, 5, (0, RANKED + 1))[0]
        lines.append(f"| {name} | {' '.join(map(str, fifths))} | {p:.2f} |")
    return lines


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--into", type=Path, required=True, help="folder of the results, outside the project")
    parser.add_argument("--campaigns", type=int, default=200)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--write", action="store_true", help="put the tables into docs/validity.md")
    given = parser.parse_args()
    rows = work(range(given.campaigns), given.seed, given.into, given.workers)
    text, reached = tell(rows, "python -m tests.explain_study --into FOLDER")
    print(text)
    if given.write:
        put_between(PAGE, MARKS, text)
    return 0 if reached else 1


if __name__ == "__main__":
    sys.exit(main())
