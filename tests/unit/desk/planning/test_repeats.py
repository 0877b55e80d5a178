"""The power curve is the plan's own arithmetic, and says what it assumes."""

import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from strikeproof.desk.planning.repeats import draw_power, power_curve
from strikeproof.desk.setting_up.editor import start_set_up
from strikeproof.errors import BadInput
from strikeproof.judge.repeats import repeats_for


def demo() -> dict[str, Any]:
    text = (files("strikeproof.desk") / "templates" / "demo-campaign.toml").read_text("utf-8")
    tables = tomllib.loads(text.replace("SEED", "1"))
    del tables["calibration"]
    return tables


def test_the_curve_falls_and_costs_what_the_plan_costs() -> None:
    curve = power_curve(demo())
    shown = [each.difference_percent for each in curve.points]
    assert shown == sorted(shown, reverse=True)
    at = curve.points[5]
    assert (at.repeats, at.runs, at.time_s) == (6, 108, 108 * 85)  # as the demo's own run sheet
    assert curve.assumed and "measure your own" in curve.says and curve.chosen == 6


def test_a_wanted_difference_gives_the_repeats() -> None:
    tables = demo()
    tables["protocol"] |= {"smallest_difference_percent": 3}
    tables["rig"] |= {"repeatability_percent": 1.5}
    del tables["protocol"]["repeats"]
    curve = power_curve(tables)
    assert curve.needed == curve.chosen == repeats_for(3, 1.5, 14, tools=2)
    assert curve.points[curve.needed - 1].difference_percent <= 3
    assert "1.5 %" in curve.says and not curve.assumed


def test_what_is_half_typed_stops_nothing() -> None:
    tables = demo()
    tables["protocol"] |= {"duration": "ten", "repeats": "many", "smallest_difference_percent": "x"}
    assert power_curve(tables).chosen is None
    with pytest.raises(BadInput, match="two articles"):
        power_curve({"tool": [{}], "article": [{}]})


def test_the_picture_takes_the_pages_colours(tmp_path: Path) -> None:
    start_set_up(tmp_path, "Liners", demo())
    drawn = draw_power(tmp_path, "Liners")
    for markup in (drawn.wide, drawn.narrow):
        assert markup.startswith("<svg") and "var(--accent)" in markup and "6 repeats" in markup
    assert "Liners" in drawn.file and "What more repeats buy" in drawn.file
