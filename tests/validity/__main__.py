"""The study behind docs/validity.md: thousands of simulated campaigns whose truth is known.

`python -m tests.validity` prints the tables, `--only WORDS` those of the scenes whose titles hold the
words, `--write` puts all into docs/validity.md. Exit code 1 when a
measured rate lies outside what is wanted by more than the Monte Carlo error explains.
"""

from __future__ import annotations

import argparse
import datetime
import platform
import sys
import time
import zlib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final

import numpy as np
import scipy
from tests.validity.asking import (
    ageing_scene,
    ask_scene,
    changes_scene,
    enough_scene,
    specimens_scene,
    tools_scene,
)
from tests.validity.campaigns import Truth
from tests.validity.charts import alarm_rows
from tests.validity.counting import DRAWS, run_scene
from tests.validity.elsewhere import ELSEWHERE, ELSEWHERE_LIMITS, elsewhere_scene
from tests.validity.looking import LOOKERS, look_often
from tests.validity.rates import Row, observed, rate, table
from tests.validity.scenes import (
    ASKED,
    ASKED_AGEING,
    ASKED_CHANGES,
    ASKED_ENOUGH,
    ASKED_LIMITS,
    ASKED_SPECIMENS,
    ASKED_TOOLS,
    LIMITS,
    MARGIN_SCENES,
    SCENES,
    WHOLE,
)

from strikeproof.judge.control import RULES

SEED = 20_261_125
CAMPAIGNS = 2_000
PAGE = Path(__file__).parents[2] / "docs" / "validity.md"
ASKED_HEADING = "## Questions: any two, groups, the best\n"
ELSEWHERE_HEADING = "## Several benches in one network\n"
LIMITS_HEADING = "## Where it stops holding\n\nNothing is promised here; the rows show what goes first.\n"

QUESTIONS: Final[tuple[tuple[str, Mapping[str, Any], Callable[..., list[Row]], bool], ...]] = (
    (ASKED_HEADING, ASKED, ask_scene, True),
    (ASKED_HEADING, ASKED_TOOLS, tools_scene, True),
    (ASKED_HEADING, ASKED_SPECIMENS, specimens_scene, True),
    (ASKED_HEADING, ASKED_AGEING, ageing_scene, True),
    (ASKED_HEADING, ASKED_CHANGES, changes_scene, True),
    (ASKED_HEADING, ASKED_ENOUGH, enough_scene, False),
    (ELSEWHERE_HEADING, ELSEWHERE, elsewhere_scene, True),
    (LIMITS_HEADING, ASKED_LIMITS, ask_scene, False),
    (LIMITS_HEADING, ELSEWHERE_LIMITS, elsewhere_scene, False),
)
"""Heading, scenes, what runs one, and whether its rows are promised."""


def seed_of(title: str) -> np.random.SeedSequence:
    """The same for a scene whether it is run alone or with all the others."""
    return np.random.SeedSequence([SEED, zlib.crc32(title.encode())])


def scene_rows(title: str, truth: Truth, campaigns: int) -> list[Row]:
    """Error rates and coverage of one scene."""
    found = run_scene(truth, seed_of(title), campaigns)
    rows = [rate("any false difference, t intervals", found["t_error"], (0.0, 5.0))]
    if truth.order == "dealt":
        rows.append(rate("any false difference, randomisation", found["randomisation_error"], (0.0, 5.0)))
    if truth.order != "ends":
        rows.append(rate("any article falsely called higher or lower", found["said_error"], (0.0, 5.0)))
    if any(truth.gains):
        rows += [
            observed(
                "articles that differ and are called so, by the interval alone", found["decided_by_interval"]
            ),
            observed("the same, where the second opinion must confirm it", found["decided"]),
        ]
    return [
        *rows,
        rate("all intervals cover together", found["covered"], (94.0, 96.0)),
        rate("one interval at the plain 95 % covers", found["alone"], (94.0, 96.0)),
    ]


def same_rows(scenes: dict[str, Truth], campaigns: int) -> list[Row]:
    """How often an article at the margin is called the same."""
    return [
        rate(title, run_scene(truth, seed_of(title), campaigns)["wrong_same"], (0.0, 5.0))
        for title, truth in scenes.items()
    ]


def study(campaigns: int, only: str, say: Callable[[str], None]) -> tuple[list[Row], str]:
    """Every scene whose title holds `only`; the rows that are promised, and all tables as text."""
    promised: list[Row] = []
    parts: list[str] = []

    def chosen(scenes: Mapping[str, Any]) -> dict[str, Any]:
        return {title: truth for title, truth in scenes.items() if only in title}

    def put(heading: str, title: str, rows: list[Row]) -> None:
        parts.extend([*([] if heading in parts or not heading else [heading]), table(title, rows)])
        say(parts[-1])

    for title, truth in chosen(SCENES).items():
        rows = scene_rows(title, truth, campaigns if title in WHOLE else campaigns // 2)
        promised += rows
        put("## Comparison: error rates and coverage\n", title, rows)
    if scenes := chosen(MARGIN_SCENES):
        rows = same_rows(scenes, campaigns // 2)
        promised += rows
        heading = '## The verdict "same" on an article at the margin\n'
        put(heading, '"same" said of any of them, margin 3 %', rows)
    if only in "control chart":
        rows = alarm_rows(np.random.default_rng(seed_of("control chart")))
        promised += rows
        heading = "## Control chart of the reference runs\n"
        put(heading, f"False alarms, rules: {' and '.join(RULES)}", rows)
    if only in "looking again":
        rows = [
            rate(looker, look_often(looker, campaigns // 4, seed_of(looker)), (0.0, 5.0))
            for looker in LOOKERS
        ]
        promised += [row for row in rows if "planned" in row.what]
        heading = "## Looking before all runs are made\n"
        put(heading, "any false difference; only looks that were planned are promised", rows)
    for heading, scenes, run, holds in QUESTIONS:
        for title, truth in chosen(scenes).items():
            rows = run(truth, seed_of(title), campaigns // 2)
            promised += rows if holds else []
            put(heading, title, rows)
    for title, truth in chosen(LIMITS).items():
        put(LIMITS_HEADING, title, scene_rows(title, truth, campaigns // 2))
    return promised, "\n".join(parts)


def describe_machine() -> str:
    """How many processes, Python and the libraries that do the arithmetic."""
    versions = f"Python {platform.python_version()}, NumPy {np.__version__}, SciPy {scipy.__version__}"
    return f"2 processes; {versions}"


def main() -> int:
    """Run the study and print it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--campaigns", type=int, default=CAMPAIGNS)
    parser.add_argument("--only", default="", help="scenes whose title holds this")
    parser.add_argument("--write", action="store_true", help="put the tables into docs/validity.md")
    given = parser.parse_args()
    start = time.perf_counter()
    rows, text = study(given.campaigns, given.only, lambda title: print(f"... {title}", file=sys.stderr))
    stamp = (
        f"Measured {datetime.date.today():%Y-%m-%d} by `python -m tests.validity --campaigns "
        f"{given.campaigns} --write`, seed {SEED}, {given.campaigns} campaigns in each of the first "
        f"{len(WHOLE)} tables and {given.campaigns // 2} in the others, {DRAWS} shuffles a "
        f"randomisation test, "
        f"{time.perf_counter() - start:.0f} s on {describe_machine()}.\n"
    )
    print(f"{stamp}\n{text}")
    if given.write and not given.only:
        before, _, rest = PAGE.read_text().partition("<!-- measured -->\n")
        _, _, after = rest.partition("<!-- end of measured -->\n")
        PAGE.write_text(f"{before}<!-- measured -->\n{stamp}\n{text}<!-- end of measured -->\n{after}")
    return 0 if all(row.holds for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
