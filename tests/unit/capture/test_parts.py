"""One run over many files is one log in the order of its times, pauses named, or is refused."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from strikeproof.capture.log import Log
from strikeproof.capture.parts import pack_parts
from strikeproof.capture.reading import read_log_of
from strikeproof.desk.loading.load import load_campaign
from strikeproof.errors import BadFile

TIME = np.arange(90) / 10  # s
LOAD = np.round(5.0 + np.sin(TIME), 4)  # kN
NOON = datetime(2026, 5, 4, 12, 0)
CAMPAIGN = """
[campaign]
name = "files of a minute"
reference = "plain"
[rig]
unit = "kN"
[[tool]]
name = "air"
[[article]]
name = "plain"
"""


def _write(
    path: Path, rows: slice, *, begins: float = 0.0, dated: bool = False, head: str = "load [kN]"
) -> Path:
    stamps = [str(NOON + timedelta(seconds=float(t))) if dated else f"{t - begins:.1f}" for t in TIME[rows]]
    lines = [
        f"{'time' if dated else 'time [s]'},{head}",
        *map(",".join, zip(stamps, map(str, LOAD[rows]), strict=True)),
    ]
    path.write_text("\n".join(lines) + "\n")
    return path


def _joined(*paths: Path) -> Log:
    return read_log_of(Path("run.zip"), pack_parts(paths))


def test_files_whose_time_runs_on_are_the_log_they_were_cut_from(tmp_path: Path) -> None:
    found = _joined(*(_write(tmp_path / f"m{9 + i}.csv", slice(30 * i, 30 * i + 30)) for i in range(3)))
    assert np.allclose(found.time, TIME) and np.array_equal(found.channel().values, LOAD)
    assert found.findings == ()


def test_dates_set_the_order_and_not_the_names(tmp_path: Path) -> None:
    parts = [_write(tmp_path / f"{2 - i}.csv", slice(30 * i, 30 * i + 30), dated=True) for i in range(3)]
    found = _joined(*parts)
    assert np.array_equal(found.channel().values, LOAD) and found.started == NOON.isoformat()


def test_a_pause_between_two_files_is_named_with_both(tmp_path: Path) -> None:
    found = _joined(_write(tmp_path / "a.csv", slice(0, 30)), _write(tmp_path / "b.csv", slice(50, 90)))
    assert found.time[30] == pytest.approx(5.0)
    (gap,) = [each for each in found.findings if each.kind == "gap"]
    assert "2 s between a.csv and b.csv" in gap.detail and gap.count == 20


def test_a_time_that_begins_anew_is_taken_without_a_pause_and_says_so(tmp_path: Path) -> None:
    parts = [
        _write(tmp_path / f"m{i}.csv", slice(30 * i, 30 * i + 30), begins=float(TIME[30 * i]))
        for i in range(3)
    ]
    found = _joined(*parts)
    assert np.allclose(found.time, TIME) and [each.kind for each in found.findings] == ["assumed"]


@pytest.mark.parametrize(
    ("rows", "head", "said"),
    [
        (slice(20, 90), "load [kN]", "before a.csv ends"),
        (slice(30, 90), "load [N]", "are not those of a.csv"),
    ],
)
def test_files_that_do_not_go_together_are_refused(tmp_path: Path, rows: slice, head: str, said: str) -> None:
    parts = (_write(tmp_path / "a.csv", slice(0, 30)), _write(tmp_path / "b.csv", rows, head=head))
    with pytest.raises(BadFile, match=said) as wrong:
        _joined(*parts)
    assert wrong.value.problems[0].file.endswith("b.csv")


def test_the_sheet_names_them_by_pattern_or_one_by_one(tmp_path: Path) -> None:
    (tmp_path / "logs").mkdir()
    for name in "ab":
        for i in range(3):
            _write(tmp_path / "logs" / f"{name}{i}.csv", slice(30 * i, 30 * i + 30))
    (tmp_path / "campaign.toml").write_text(CAMPAIGN)
    rows = ("r1,a*.csv", "r2,b0.csv | b1.csv | b2.csv", "r3,c*.csv", "r4,a1.csv")
    sheet = "run,log,article,block\n" + "".join(f"{row},plain,1\n" for row in rows)
    (tmp_path / "runs.csv").write_text(sheet)
    first, again = (load_campaign(tmp_path, tmp_path / "lab") for _ in range(2))
    assert (first.runs_loaded, again.runs_unchanged) == (2, 2)
    assert [each.line for each in first.problems] == [4, 5]
