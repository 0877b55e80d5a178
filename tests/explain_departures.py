"""Left-out and new articles inside their 90 % intervals, on benches that no explanation can describe.

Run `python -m tests.explain_departures --into FOLDER` (about 15 s of processor time a bench, which is run in
five ways), one line of FOLDER/departures.jsonl each: a run that was stopped goes on where it was. The table
is printed; with `--write` it replaces the part of docs/validity.md between this study's two marks.

The kind of chain is given, as in the study of the search, so that one fit with physics is enough.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import numpy as np
from joblib import Parallel, delayed
from tests.explain_campaigns import Departure, draw_campaign
from tests.study_page import put_between

from strikeproof.errors import DidNotConverge
from strikeproof.explain.crew import Arrays, Crew, Work
from strikeproof.explain.explaining import weigh_rivals
from strikeproof.explain.fits import QUICK, Fits, make_table
from strikeproof.explain.kinds import EXPLANATIONS
from strikeproof.explain.outlook import Item, look_ahead
from strikeproof.explain.particles import posterior_weights
from strikeproof.explain.physical import fit_physical
from strikeproof.explain.records import Evidence, RivalName
from strikeproof.explain.variants import Properties
from strikeproof.team import Team

SEED = 20261130
MARKS = ("<!-- departures: measured -->", "<!-- departures: end of measured -->")
PAGE = Path(__file__).parent.parent / "docs" / "validity.md"
TRUE = ("chain", "inertia", "chain-bonds")
WORDS: dict[Departure, str] = {
    "none": "is one of the family",
    "own scatter": "gives each article, the reference too, 5 % of its own",
    "inertia off": "has inertias 15 % off their records",
    "one misread": "has one article whose scores were misread by 12 %",
    "hexagons differ": "has hexagons whose stiffness differs by a factor of 1.6",
}
DEPARTURES: tuple[Departure, ...] = get_args(Departure)

Row = dict[str, Any]


class _Memory:
    """Keeps the runs over the prior, which a bench has in common however it departs."""

    def __init__(self) -> None:
        self.kept: dict[str, Arrays] = {}

    def __call__(self, name: str, work: Work) -> Arrays:
        if "/first" not in name:
            return work()
        if name not in self.kept:
            self.kept[name] = work()
        return self.kept[name]


def run_bench(number: int, seed: int, departures: tuple[Departure, ...] = DEPARTURES) -> list[Row]:
    """One bench in every way, with quick fits; its last article is not run but foretold."""
    memory = _Memory()
    return [_run(number, seed, each, memory) for each in departures]


def _run(number: int, seed: int, depart: Departure, memory: _Memory) -> Row:
    rng = np.random.default_rng([seed, number])
    rival = TRUE[number % len(TRUE)]
    true = draw_campaign(rival, rng, depart=depart)
    row: Row = {"number": number, "true": rival, "depart": depart}
    evidence, last = true.evidence, len(true.evidence.gains) - 1
    new = evidence.article(evidence.gains[last].article)
    some = replace(evidence, gains=evidence.gains[:last], covariance=evidence.covariance[:last, :last])
    fits = _fit(some, rival, np.random.default_rng([seed, number, 1]), Crew(Team(), memory))
    try:
        weighed = weigh_rivals(fits, rng)
    except DidNotConverge:
        return row | {"refused": True}
    judged = weighed.judged
    low, high = np.quantile(judged.together, [0.05, 0.95], axis=0)
    item = Item(new, fits.evidence.settings[0])
    names = [name for name, weight in zip(judged.names, judged.weight, strict=True) if weight > 0.01]
    share = np.array([judged.weight[judged.names.index(name)] for name in names])
    found = look_ahead(fits, [item], names, 64, rng)
    draws = np.concatenate(
        [
            gains[:, 0][chosen] + own[chosen] * rng.standard_normal(count)
            for (gains, own), count in zip(
                (found[name] for name in names), rng.multinomial(4000, share / share.sum()), strict=True
            )
            for chosen in [rng.integers(len(gains), size=count)]
        ]
    )
    least, most = np.quantile(draws, [0.05, 0.95])
    return row | {
        "refused": False,
        "covered": ((low <= fits.gains) & (fits.gains <= high)).tolist(),
        "width": (high - low).tolist(),
        "new": bool(least <= true.log_gains[last] <= most),
        "new_width": float(most - least),
        "size": _size(fits, judged.best),
        "fit_p": weighed.fit_p,
    }


def _fit(evidence: Evidence, rival: RivalName, rng: np.random.Generator, crew: Crew) -> Fits:
    """The chain that is true but for the departure, and all explanations without physics."""
    table = make_table(evidence)
    plain = [each.believes for each in EXPLANATIONS.values() if not isinstance(each.believes, Properties)]
    fit = fit_physical(evidence, table, rival, replace(QUICK, workers=1), rng, crew.at(rival))
    return Fits(evidence, table, (fit,), (*(each(table) for each in plain), fit.particles))


def _size(fits: Fits, best: int) -> list[float]:
    """5, 50 and 95 % of what is learned of the articles' own parts, log score."""
    rival = fits.rivals[best].seeing()
    logs, _evidence = posterior_weights(rival, fits.gains, fits.evidence.covariance, range(len(fits.gains)))
    order = np.argsort(rival.own)
    total = np.cumsum(np.exp(logs)[order])
    return [float(rival.own[order][np.searchsorted(total, at)]) for at in (0.05, 0.5, 0.95)]


def work(numbers: range, seed: int, into: Path, workers: int) -> list[Row]:
    """Do what is not done yet; all rows."""
    into.mkdir(parents=True, exist_ok=True)
    path = into / "departures.jsonl"
    done = {row["number"] for row in read(path)}
    jobs = (delayed(run_bench)(i, seed) for i in numbers if i not in done)
    with path.open("a", encoding="utf-8") as stream:
        for rows in Parallel(n_jobs=workers, return_as="generator_unordered")(jobs):
            stream.write("".join(json.dumps(row) + "\n" for row in rows))
            stream.flush()
            print(f"bench {rows[0]['number']}", file=sys.stderr)
    return [row for row in read(path) if row["number"] in numbers]


def read(path: Path) -> list[Row]:
    """All rows of a file, none where there is no file yet."""
    return [json.loads(line) for line in path.read_text("utf-8").splitlines()] if path.exists() else []


def tell(rows: list[Row], command: str) -> str:
    """The table."""
    lines = [
        f"`{command}`: {len({row['number'] for row in rows})} benches, ± the Monte Carlo error.",
        "",
        "| the bench | left-out in 90 % | median width | new articles in 90 % | size learned | refused |",
        "|---|---|---|---|---|---|",
    ]
    for depart in DEPARTURES:
        some = [row for row in rows if row["depart"] == depart]
        told = [row for row in some if not row["refused"]]
        if told:
            lines.append(f"| {WORDS[depart]} | {' | '.join(_cells(told))} | {len(some) - len(told)} |")
    return "\n".join(lines)


def _cells(told: list[Row]) -> list[str]:
    shares = np.array([np.mean(row["covered"]) for row in told])
    every, new = np.concatenate([row["covered"] for row in told]), np.array([row["new"] for row in told])
    return [
        f"{100 * every.mean():.1f} ± {100 * shares.std() / np.sqrt(len(told)):.1f} %",
        f"{100 * np.median(np.concatenate([row['width'] for row in told])):.0f} %",
        f"{100 * new.mean():.0f} ± {100 * new.std() / np.sqrt(len(new)):.0f} %",
        f"{100 * np.mean([row['size'][1] for row in told]):.1f} %",
    ]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--into", type=Path, required=True, help="folder of the results, outside the project")
    parser.add_argument("--benches", type=int, default=60)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--write", action="store_true", help="put the table into docs/validity.md")
    given = parser.parse_args()
    text = tell(
        work(range(given.benches), given.seed, given.into, given.workers),
        f"python -m tests.explain_departures --into FOLDER --benches {given.benches}",
    )
    print(text)
    if given.write:
        put_between(PAGE, MARKS, text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
