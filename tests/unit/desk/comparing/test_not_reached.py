"""Under `time to`, a run that never reaches the level counts as later than its window, everywhere."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from strikeproof.desk.comparing.compare import ComparisonOutcome, compare_campaign
from strikeproof.desk.comparing.tables import run_table, verdict_tables
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.publishing.report import write_report
from strikeproof.plain_json import to_json

RATE, BLOWS_HZ, DURATION = 400.0, 20.0, 2.0
TOPS = {"plain": 100.0, "weak": 52.0}
CAMPAIGN = """\
[campaign]
name = "timed"
reference = "plain"
simulated = true
[protocol]
duration = "2 s"
score = "time to 60 kN"
[rig]
name = "bench"
channel = "load"
unit = "kN"
[[tool]]
name = "wrench"
blow_rate_hz = 20
[[article]]
name = "plain"
[[article]]
name = "weak"
"""


def record(article: str, rng: np.random.Generator, *, stop: float = np.inf) -> str:
    """A load that grows blow by blow towards its top; the recorder reads no more than `stop`. [kN]"""
    time = np.arange(0.0, DURATION + 1.2, 1.0 / RATE)
    count = np.clip(np.floor((time - 0.5) * BLOWS_HZ + 1e-9), -1.0, DURATION * BLOWS_HZ + 1)
    top = TOPS[article] * np.exp(rng.normal(0.0, 0.02))
    level = np.where(time >= 0.5, top * -np.expm1(-(count + 1.0) / 12.0), 0.0)
    level = np.minimum(level + rng.normal(0.0, 0.02, time.size), stop)
    return "time [s],load [kN]\n" + "".join(f"{t:.5f},{a:.3f}\n" for t, a in zip(time, level, strict=True))


@pytest.fixture(scope="module")
def workspace(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("timed")
    (folder / "logs").mkdir()
    (folder / "campaign.toml").write_text(CAMPAIGN)
    rng = np.random.default_rng(1)
    sheet = ["run,log,tool,article,block"]
    for block in range(3):
        for article in ("plain", "weak", "plain"):
            number = len(sheet)
            (folder / "logs" / f"{number}.csv").write_text(record(article, rng))
            sheet.append(f"r{number},{number}.csv,wrench,{article},{block}")
    (folder / "logs" / "10.csv").write_text(record("plain", rng, stop=50.0))
    (folder / "runs.csv").write_text("\n".join([*sheet, "r10,10.csv,wrench,plain,2"]) + "\n")
    assert load_campaign(folder, folder / "workspace").problems == ()
    return folder / "workspace"


@pytest.fixture(scope="module")
def outcome(workspace: Path) -> ComparisonOutcome:
    return compare_campaign(workspace)


def test_the_worst_article_is_later_and_does_not_vanish(outcome: ComparisonOutcome) -> None:
    row = next(each for each in outcome.comparison.results if each.article == "weak")
    assert (row.verdict, row.runs, row.not_reached) == ("later", 3, 3)
    assert row.high_percent is not None and row.high_percent < -50.0
    cells = next(cells for rows in verdict_tables(outcome) for cells in rows if cells[0] == "weak")
    assert cells[1] == "later" and cells[2].startswith("– (at most −")
    assert cells[3] == "over 2 s (3 of 3 not reached in 2 s)" and cells[4] == "3"


def test_each_such_run_says_so(outcome: ComparisonOutcome) -> None:
    weak = [each for each in outcome.judged.runs if each.stored.row.article == "weak"]
    assert [each.not_reached_s for each in weak] == [2.0, 2.0, 2.0]
    assert all("not-reached" in to_json(each)["flags"] for each in weak)
    assert sum(cells[4] == "not reached in 2" for cells in run_table(outcome.judged)) == 3


def test_a_clipped_run_below_the_level_says_nothing_and_is_named(outcome: ComparisonOutcome) -> None:
    clipped = next(each for each in outcome.judged.runs if each.stored.row.run == "r10")
    assert clipped.score is None and clipped.not_reached_s is None
    assert any(text.startswith("run r10 has no score and is left out") for text in outcome.warnings)


def test_the_page_says_so(workspace: Path, tmp_path: Path) -> None:
    write_report(workspace, tmp_path / "page.html")
    text = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert "weak gets there later than plain by at least" in text
    assert "3 of 3 runs did not reach the level in 2 s." in text
    assert "not reached in 2 s" in text and "Tobin 1958" in text
