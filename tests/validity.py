"""The study behind docs/validity.md: thousands of simulated campaigns whose truth is known.

`python -m tests.validity` prints the tables, `--write` puts them into docs/validity.md. Exit code 1 when a
measured rate lies outside what is wanted by more than the Monte Carlo error explains.
"""

from __future__ import annotations

import argparse
import datetime
import platform
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import scipy
from joblib import Parallel, delayed
from scipy.stats import t as student

from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.control import RULES, find_patterns
from strikeproof.judge.records import Comparison, ScoredRun

SEED = 20_261_125
CAMPAIGNS = 2_000
WHOLE = 3
"""So many scenes, the first ones, get all campaigns; the others get half as many."""
DRAWS = 999
MARGIN = 3.0
PAGE = Path(__file__).parent.parent / "docs" / "validity.md"


@dataclass(frozen=True, slots=True)
class Truth:
    """What a simulated campaign is drawn from; gains in percent, one for each article."""

    gains: tuple[float, ...] = (0.0,) * 7
    tools: tuple[str, ...] = ("air",)
    blocks: tuple[int, int] = (4, 7)
    scatter_percent: float = 2.5
    largest_drift_percent: float = 0.15
    block_percent: float = 1.5
    outliers: float = 0.0
    missing: float = 0.15
    bolt_wear_percent: float = 0.0
    unsteady: float = 1.0


def simulate_campaign(truth: Truth, rng: np.random.Generator) -> list[ScoredRun]:
    """Draw one campaign: blocks in random order, reference at both ends, drift, block levels, odd runs.

    Some runs are missing at random, so blocks are unequal. An odd run has five times the scatter. The first
    article's scatter is `unsteady` times that of the others. A bolt lasts 20 runs and wears in.
    """
    drift = rng.uniform(-truth.largest_drift_percent, truth.largest_drift_percent) / 100.0
    gains = np.log1p(np.asarray(truth.gains) / 100.0)
    runs: list[ScoredRun] = []
    order = 0
    for block in range(rng.integers(truth.blocks[0], truth.blocks[1] + 1)):
        for tool in truth.tools:
            level = np.log(250.0) + truth.block_percent / 100.0 * rng.standard_normal()
            for article in (-1, *rng.permutation(len(gains)), -1):
                order += 1
                if article >= 0 and rng.random() < truth.missing:
                    continue
                wide = (5.0 if rng.random() < truth.outliers else 1.0) * (
                    truth.unsteady if article == 0 else 1.0
                )
                use = order % 20
                log_score = level + drift * order + truth.bolt_wear_percent / 100.0 * use
                log_score += gains[article] if article >= 0 else 0.0
                log_score += wide * truth.scatter_percent / 100.0 * rng.standard_normal()
                name = "plain" if article < 0 else f"article-{article}"
                runs.append(
                    ScoredRun(
                        f"r{order}",
                        name,
                        tool,
                        str(block),
                        order,
                        float(np.exp(log_score)),
                        bolt_use=float(use) if truth.bolt_wear_percent else None,
                    )
                )
    return runs


@dataclass(frozen=True, slots=True)
class Counts:
    """What happened in one campaign, as 0 or 1; `alone` is a share of the comparisons."""

    t_error: float
    randomisation_error: float
    covered: float
    alone: float
    wrong_same: float
    in_control: float


def judge_campaign(truth: Truth, seed: np.random.SeedSequence) -> Counts:
    """Simulate, compare and count one campaign."""
    rng = np.random.default_rng(seed)
    result = compare_runs(
        simulate_campaign(truth, rng), reference="plain", margin_percent=MARGIN, rng=rng, draws=DRAWS
    )
    return count(result, truth)


def count(result: Comparison, truth: Truth) -> Counts:
    """Set a comparison against its truth."""
    rows = [row for row in result.results if row.verdict != "reference" and row.p is not None]
    gains = np.asarray([truth.gains[int(row.article.split("-")[1])] for row in rows])
    true = np.log1p(gains / 100.0)
    low, middle, high = (
        np.asarray([getattr(row, f"{part}_percent") for row in rows]) for part in ("low", "gain", "high")
    )
    middle, high = np.log1p(middle / 100.0), np.log1p(high / 100.0)
    null = gains == 0.0
    half = student.ppf(0.975, result.degrees_of_freedom) * (high - middle) / result.critical_value
    same = np.asarray([row.verdict == "same" for row in rows])
    p = np.asarray([row.p for row in rows])
    second = np.asarray([row.p_randomisation for row in rows], dtype=np.float64)
    return Counts(
        t_error=float(np.any(p[null] < 0.05)),
        randomisation_error=float(np.any(second[null] < 0.05)),
        covered=float(np.all((low <= gains) & (true <= high))),
        alone=float(np.mean(np.abs(middle - true) <= half)),
        wrong_same=float(np.any(same & (np.abs(gains) >= result.margin_percent * (1.0 - 1e-9)))),
        in_control=float(result.rig.state == "in control"),
    )


@dataclass(frozen=True, slots=True)
class Row:
    """A measured rate against what is wanted, in percent; `error` is its Monte Carlo standard error."""

    what: str
    wanted: str
    low: float
    high: float
    measured: float
    error: float

    @property
    def holds(self) -> bool:
        """Within what is wanted, give or take three Monte Carlo errors."""
        return self.low - 3.0 * self.error <= self.measured <= self.high + 3.0 * self.error

    def __str__(self) -> str:
        verdict = "yes" if self.holds else "**no**"
        return f"| {self.what} | {self.wanted} | {self.measured:.2f} ± {self.error:.2f} | {verdict} |"


def rate(what: str, values: np.ndarray, wanted: tuple[float, float]) -> Row:
    """A mean of counts as a row; a lower bound of 0 means at most."""
    low, high = wanted
    words = f"at most {high:g}" if low == 0.0 else f"{low:g} to {high:g}"
    error = 100.0 * float(np.std(values)) / np.sqrt(len(values))
    return Row(what, words, low, high, 100.0 * float(np.mean(values)), error)


ORDINARY = Truth()
SCENES = {
    "7 articles, 4 to 7 unequal blocks, drift": ORDINARY,
    "the same with 2 % outliers": replace(ORDINARY, outliers=0.02),
    "two tools, 4 articles each, 2 % outliers": replace(
        ORDINARY, gains=(0.0,) * 4, tools=("air", "battery"), outliers=0.02
    ),
    "small: 3 articles, 3 blocks": replace(ORDINARY, gains=(0.0,) * 3, blocks=(3, 3)),
    "strong drift, up to 0.6 % a run": replace(ORDINARY, largest_drift_percent=0.6),
    "bolt wears in by 0.3 % a run": replace(ORDINARY, bolt_wear_percent=0.3),
    "five of seven articles differ": replace(ORDINARY, gains=(0.0, 0.0, 2.0, 4.0, 8.0, -5.0, 15.0)),
}
MARGIN_SCENES = {
    "all articles at the margin, either side": Truth(
        gains=(3.0, -3.0, 3.0, -3.0, 3.0, -3.0, 3.0), scatter_percent=1.0
    ),
    "all at the upper margin": Truth(gains=(3.0,) * 7, scatter_percent=1.0),
    "one at the margin, six equal": Truth(gains=(3.0, *(0.0,) * 6), scatter_percent=1.0),
    "all at the margin, 2 % outliers": Truth(
        gains=(3.0, -3.0, 3.0, -3.0, 3.0, -3.0, 3.0), scatter_percent=1.0, outliers=0.02
    ),
}
LIMITS = {
    "one article scatters three times as much": replace(ORDINARY, unsteady=3.0),
    "10 % outliers": replace(ORDINARY, outliers=0.10),
}


def run_scene(truth: Truth, seed: np.random.SeedSequence, campaigns: int) -> dict[str, np.ndarray]:
    """Counts of many campaigns, by name."""
    jobs = (delayed(judge_campaign)(truth, each) for each in seed.spawn(campaigns))
    counts = Parallel(n_jobs=2, batch_size=20)(jobs)
    return {name: np.asarray([getattr(each, name) for each in counts]) for name in Counts.__slots__}


def table(title: str, rows: list[Row]) -> str:
    """Rows as a Markdown table."""
    head = f"### {title}\n\n| rate, % | wanted | measured ± Monte Carlo error | holds |\n|---|---|---|---|"
    return "\n".join([head, *map(str, rows)]) + "\n"


def error_rows(found: dict[str, np.ndarray], bound: float = 5.0) -> list[Row]:
    """Error rates and coverage of one scene."""
    return [
        rate("any false difference, t intervals", found["t_error"], (0.0, bound)),
        rate("any false difference, randomisation", found["randomisation_error"], (0.0, bound)),
        rate("all intervals cover together", found["covered"], (94.0, 96.0)),
        rate("one interval at the plain 95 % covers", found["alone"], (94.0, 96.0)),
    ]


def false_alarms(count: int, rng: np.random.Generator, charts: int = 20_000) -> Row:
    """Charts of steady normal runs that raise any signal."""
    values = rng.standard_normal((charts, count))
    alarms = np.asarray([_alarm(each) for each in values])
    return rate(f"a steady rig of {count} reference runs called out of control", alarms, (0.0, 10.0))


def _alarm(values: np.ndarray) -> float:
    sigma = float(np.abs(np.diff(values)).mean()) / 1.128
    marked = find_patterns(values, float(values.mean()), sigma)
    return float(any(marked[rule].any() for rule in RULES))


def study(campaigns: int, say: Callable[[str], None]) -> tuple[list[Row], str]:
    """Every scene; the rows that are promised, and all tables as text."""
    seeds = iter(np.random.SeedSequence(SEED).spawn(len(SCENES) + len(MARGIN_SCENES) + len(LIMITS) + 1))
    promised: list[Row] = []
    parts = ["## Comparison: error rates and coverage\n"]
    for number, (title, truth) in enumerate(SCENES.items()):
        say(title)
        rows = error_rows(run_scene(truth, next(seeds), campaigns if number < WHOLE else campaigns // 2))
        promised += rows
        parts.append(table(title, rows))
        say(parts[-1])
    say("margin")
    margin = [
        rate(title, run_scene(truth, next(seeds), campaigns // 2)["wrong_same"], (0.0, 5.0))
        for title, truth in MARGIN_SCENES.items()
    ]
    parts.append('## The verdict "same" on an article at the margin\n')
    parts.append(table('"same" said of any of them, scatter 1 %, margin 3 %', margin))
    say("control chart")
    rng = np.random.default_rng(next(seeds))
    alarms = [false_alarms(count, rng) for count in (6, 12, 24)]
    parts.append("## Control chart of the reference runs\n")
    parts.append(table(f"False alarms, rules: {' and '.join(RULES)}", alarms))
    parts.append("## Where it stops holding\n\nNothing is promised here; the rows show what goes first.\n")
    for title, truth in LIMITS.items():
        say(title)
        parts.append(table(title, error_rows(run_scene(truth, next(seeds), campaigns // 2))))
    return promised + margin + alarms, "\n".join(parts)


def describe_machine() -> str:
    """Processor, Python and the libraries that do the arithmetic."""
    lines = Path("/proc/cpuinfo").read_text() if Path("/proc/cpuinfo").exists() else ""
    model = next(
        (line.split(":")[1].strip() for line in lines.splitlines() if line.startswith("model name")), ""
    )
    versions = f"Python {platform.python_version()}, NumPy {np.__version__}, SciPy {scipy.__version__}"
    return f"{model or platform.processor()}, 2 processes; {versions}"


def main() -> int:
    """Run the study and print it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--campaigns", type=int, default=CAMPAIGNS)
    parser.add_argument("--write", action="store_true", help="put the tables into docs/validity.md")
    given = parser.parse_args()
    start = time.perf_counter()
    rows, text = study(given.campaigns, lambda title: print(f"... {title}", file=sys.stderr))
    stamp = (
        f"Measured {datetime.date.today():%Y-%m-%d} by `python -m tests.validity --write` (`make validity` "
        f"prints the same), seed {SEED}, {given.campaigns} campaigns in each of the first {WHOLE} tables and "
        f"{given.campaigns // 2} in the others, {DRAWS} dealings a randomisation test, "
        f"{time.perf_counter() - start:.0f} s on {describe_machine()}.\n"
    )
    print(f"{stamp}\n{text}")
    if given.write:
        before, _, rest = PAGE.read_text().partition("<!-- measured -->\n")
        _, _, after = rest.partition("<!-- end of measured -->\n")
        PAGE.write_text(f"{before}<!-- measured -->\n{stamp}\n{text}<!-- end of measured -->\n{after}")
    return 0 if all(row.holds for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
