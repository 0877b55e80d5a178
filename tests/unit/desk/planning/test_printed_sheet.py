"""The printed sheet holds every run in order, what must be heeded, and nothing that could run."""

import re
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

from strikeproof.desk.planning.plan import plan_campaign
from strikeproof.desk.planning.printed_sheet import print_sheet
from strikeproof.desk.planning.sheet import keep_sheet
from strikeproof.desk.setting_up.editor import start_set_up


def demo() -> dict[str, Any]:
    text = (files("strikeproof.desk") / "templates" / "demo-campaign.toml").read_text("utf-8")
    tables = tomllib.loads(text.replace("SEED", "1"))
    del tables["calibration"]
    return tables


def test_every_run_stands_on_the_sheet_with_its_cautions(tmp_path: Path) -> None:
    tables = demo()
    tables["rig"]["unit"] = "kN"
    made = start_set_up(tmp_path, "Liners", tables)
    plan = keep_sheet(tmp_path, "Liners")
    (made.folder / "logs" / plan.cells[0]["log"]).write_text("x")
    page = print_sheet(tmp_path, "Liners", force="lbf", torque="lbf ft")
    rows = re.findall(r'<th scope="row">(r\d+)</th><td class="article">([^<]*)</td>', page)
    assert rows == [(row["run"], row["article"]) for row in plan.cells]
    assert page.count("new bolt</b>") == plan.bolts
    assert page.count("✓") == 1
    first = page.split("<li>")[1]
    assert "Stop a run that comes to 53" in first and "lbf·ft" in first
    assert "without a native reader" not in page
    assert "brittle zone" in page and "Let the tool cool for 75 s." in page
    assert "SIMULATED" in page


def test_a_rig_that_shows_no_load_is_not_told_to_stop_at_one(tmp_path: Path) -> None:
    tables = demo()
    tables["rig"]["unit"] = "mV"
    made = start_set_up(tmp_path, "Liners", tables)
    page = print_sheet(tmp_path, "Liners")
    assert "Stop below" not in page and "Stop a run" not in page
    assert "Bolt may carry" in page and "which is no load" in page
    assert any("which is no load" in note for note in plan_campaign(made.folder).notes)


def test_the_torque_to_stop_at_is_what_the_cell_was_calibrated_to(tmp_path: Path) -> None:
    """By the declared friction 0.14 it is 1060 N·m for this bolt; a cell that shows more load says so."""
    tables = demo()
    tables["rig"]["unit"] = "kN"
    tables["calibration"] = {"sheet": "calibration.csv", "applied_unit": "N m"}
    made = start_set_up(tmp_path, "Liners", tables)
    rows = "".join(f"{torque},{torque / 3:.1f},up,{n}\n" for n in (1, 2) for torque in range(0, 901, 150))
    (made.folder / "calibration.csv").write_text(f"applied,reading,direction,repeat\n{rows}")
    found = re.search(
        r"Stop a run that comes to ([0-9.]+) kN, about ([0-9]+) N·m", print_sheet(tmp_path, "Liners")
    )
    assert found is not None
    assert abs(float(found[2]) - 3.0 * float(found[1])) < 5.0


def test_names_from_outside_stay_words(tmp_path: Path) -> None:
    tables = demo()
    tables["campaign"] |= {"note": "<script>alert(1)</script>"}
    tables["article"][1]["name"] = "<b>long</b>"
    start_set_up(tmp_path, "Liners", tables)
    page = print_sheet(tmp_path, "Liners")
    assert "<script" not in page and "&lt;b&gt;long&lt;/b&gt;" in page


def test_a_sheet_in_german_has_its_words_and_its_decimal_comma(tmp_path: Path) -> None:
    tables = demo()
    tables["rig"]["unit"] = "kN"
    tables["protocol"]["duration"] = "7.5 s"
    start_set_up(tmp_path, "Liners", tables)
    page = print_sheet(tmp_path, "Liners", language="de")
    assert '<html lang="de">' in page and "Vor dem ersten Lauf" in page and "7,5 s hämmern" in page
    assert "ohne muttersprachliche Prüfung" in page
    for english in ("Before the first run", "Take the article", "Wear", "Stop below", "hammer for"):
        assert english not in page
