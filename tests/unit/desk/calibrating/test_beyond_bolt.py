"""Calibrating loads the bolt too: beyond what it may carry that is said."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.unit.desk.live_bench import CAMPAIGN  # an M20 of class 10.9

from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.records import CalibrationSource
from strikeproof.desk.calibrating.calibration import calibrate_folder, calibrate_rows, torque_per_force
from strikeproof.desk.calibrating.worth import Worth, leave_plain, level_of_load
from strikeproof.desk.safety.bolt_limit import blind_words, find_limit
from strikeproof.plain_json import to_json


@pytest.mark.parametrize(
    ("unit", "highest", "is_beyond"),
    [
        ("kN", 150.0, False),
        ("kN", 160.0, True),
        ("N m", 400.0, False),
        ("N m", 600.0, True),
        ("div", 900.0, False),
    ],
)
def test_a_calibration_beyond_the_bolts_limit_is_cautioned_of(
    tmp_path: Path, unit: str, highest: float, is_beyond: bool
) -> None:
    """0.75 of a proof load of 203 kN (ISO 898-1:2013, Table 5) is 152 kN; at friction 0.12 some 480 N·m."""
    path = tmp_path / "campaign.toml"
    path.write_text(CAMPAIGN)
    rows = [
        {"line": n, "applied": share * highest, "reading": 10.0 * share, "direction": None, "repeat": None}
        for n, share in enumerate((0.0, 0.25, 0.5, 0.75, 1.0), start=2)
    ]
    outcome = calibrate_rows(read_campaign(path), CalibrationSource("c.csv", unit), rows)
    said = [value for label, value in outcome.lines() if label == "caution"]
    assert any(each.startswith("calibrated up to") for each in said) == is_beyond


@pytest.mark.parametrize(
    ("per_torque", "highest", "says"),
    [
        (0.4, 400.0, ("calibrated up to 160 kN", "2.50 N·m per kN", "3.18 ± 0.56 N·m per kN")),
        (1 / 3.16, 440.0, ()),
    ],
)
def test_a_cell_that_reads_load_is_heard_beside_the_declared_friction(
    tmp_path: Path, per_torque: float, highest: float, says: tuple[str, ...]
) -> None:
    """The figures by T = F (0.159 P + 0.577 d2 μ + Db μ / 2), ISO 16047:2005, eq. (1), for M20 and 0.12."""
    path = tmp_path / "campaign.toml"
    path.write_text(CAMPAIGN)
    rows = [
        {
            "line": n,
            "applied": share * highest,
            "reading": 1.0 + per_torque * share * highest,
            "direction": None,
            "repeat": None,
        }
        for n, share in enumerate((0.0, 0.25, 0.5, 0.75, 1.0), start=2)
    ]
    outcome = calibrate_rows(read_campaign(path), CalibrationSource("c.csv", "N m"), rows)
    said = " ".join(outcome.cautions)
    assert bool(said) == bool(says)
    assert all(each in said for each in says), said


@pytest.mark.parametrize("friction", [None, 0.12])
@pytest.mark.parametrize(
    ("per_torque", "is_load"),
    [
        (2.0, False),  # the force on an arm of 0.5 m
        (1 / 0.0237, False),  # friction just above 1
        (1 / 0.0234, True),  # and just below
        (1 / 2.5e-3, True),
        (1 / 0.41e-3, True),  # hardly any friction
        (1 / 0.39e-3, False),  # more load than without friction
    ],
)
def test_a_force_that_no_friction_gives_the_thread_is_no_clamp_load(
    tmp_path: Path, per_torque: float, is_load: bool, friction: float | None
) -> None:
    """Newtons per newton metre, on M20x2.5: P / 2π is 0.398 mm; at a friction of 1, T / F is 23.55 mm.

    ISO 16047:2005, eq. (1).
    """
    path, sheet = tmp_path / "campaign.toml", tmp_path / "c.csv"
    text = re.sub(r"(?m)^friction = .*\n", "" if friction is None else f"friction = {friction}\n", CAMPAIGN)
    text = text.replace('unit = "kN"', 'unit = "N"')
    path.write_text(f'{text}\n[calibration]\nsheet = "c.csv"\napplied_unit = "N m"\n')
    rows = "".join(f"{torque},{per_torque * torque:.6g},up,1\n" for torque in range(0, 301, 50))
    sheet.write_text(f"applied,reading,direction,repeat\n{rows}")
    campaign, found = read_campaign(path), calibrate_folder(tmp_path)
    per_force = torque_per_force(campaign.bolt)
    worth = Worth("N m", "torque", found, per_force, None)
    limit = find_limit(campaign, worth)
    assert found.reads_force == is_load
    assert ("not clamp load" in " ".join(found.cautions)) != is_load
    assert ("not clamp load" in limit.doubt) != is_load
    if is_load:
        assert limit.unwatched is None and blind_words(campaign, tmp_path) == ""
        return
    known = worth.loads(100.0 * per_torque, None).clamp_load_n
    assert level_of_load(leave_plain(worth, campaign, "elsewhere"), 1e5) is None
    if per_force is None:
        assert (limit.level, limit.unwatched, known) == (None, "no friction", None)
        assert "bolt.friction" in blind_words(campaign, tmp_path)
    else:
        assert limit.load is not None and limit.level == pytest.approx(limit.load * per_force)
        assert (limit.unwatched, known) == (None, pytest.approx(100.0 / per_force, rel=1e-3))
        assert blind_words(campaign, tmp_path) == ""


@pytest.mark.parametrize(("percent", "is_asked"), [(0.0, True), (1.0, False)])
def test_a_reference_whose_uncertainty_nobody_gave_is_asked_for(
    tmp_path: Path, percent: float, is_asked: bool
) -> None:
    path = tmp_path / "campaign.toml"
    path.write_text(CAMPAIGN)
    rows = [
        {"line": n, "applied": 50.0 * n, "reading": 10.0 * n, "direction": None, "repeat": None}
        for n in range(5)
    ]
    source = CalibrationSource("c.csv", "N m", reference_uncertainty_percent=percent)
    outcome = calibrate_rows(read_campaign(path), source, rows)
    asked = [label for label, value in outcome.lines() if "its certificate" in value]
    assert asked == (["note"] if is_asked else [])
    assert any("its certificate" in note for note in to_json(outcome)["notes"]) == is_asked


def test_a_stray_reading_is_named_by_its_line_with_its_unit_on_both_branches(tmp_path: Path) -> None:
    """Both ways twice, with a loop of 1 kN; one rising reading is 9 kN too low, one falling 9 kN too high."""
    path = tmp_path / "campaign.toml"
    path.write_text(CAMPAIGN)
    way = [*((each, "up") for each in range(0, 500, 100)), *((each, "down") for each in range(300, -1, -100))]
    rows = [
        {
            "line": number,
            "applied": float(applied),
            "reading": 0.25 * applied + (direction == "down") + 0.1 * (number % 3),
            "direction": direction,
            "repeat": None,
        }
        for number, (applied, direction) in enumerate(2 * way, start=2)
    ]
    straight = calibrate_rows(read_campaign(path), CalibrationSource("c.csv", "N m"), rows)
    assert straight.doubts() == []
    rows[2]["reading"] -= 9.0
    rows[7]["reading"] += 9.0
    first, second = calibrate_rows(read_campaign(path), CalibrationSource("c.csv", "N m"), rows).doubts()
    assert first.startswith("line 4 of the sheet: 8.") and " kN below the curve" in first
    assert second.startswith("line 9 of the sheet: off the other falling readings")


def test_readings_above_the_full_scale_are_named(tmp_path: Path) -> None:
    path = tmp_path / "campaign.toml"
    path.write_text(CAMPAIGN.replace('unit = "kN"', 'unit = "kN"\nfull_scale = 100.0'))
    rows = [
        {"line": n, "applied": load, "reading": load, "direction": None, "repeat": None}
        for n, load in enumerate((0.0, 40.0, 80.0, 110.0, 140.0), start=2)
    ]
    said = calibrate_rows(read_campaign(path), CalibrationSource("c.csv", "kN"), rows).cautions
    assert any("2 readings, up to 140 kN" in each and "100 kN" in each for each in said), said
