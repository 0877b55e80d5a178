"""The commands of the simulated bench: keys, overrides, pictures, errors."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tests.commands import strikeproof
from tests.json_keys import printed

SETUP = """
[protocol]
duration = "3 s"
[rig]
clamp_stiffness_n_per_m = 8e8
[bolt]
thread = "M24x2"
class = "10.9"
friction = 0.14
[tool]
name = "air"
mechanism = "air"
drive_mm = 12.7
blow_speed_rad_s = 250
[article]
name = "ringed"
[[article.part]]
name = "socket"
shape = "bar"
outer_diameter_mm = 38
length_mm = 50
material = "4140 at 45 HRC"
cut = [
  { kind = "square drive", size_mm = 12.5, depth_mm = 18 },
  { kind = "hexagon", size_mm = 27, depth_mm = 25 },
  { kind = "bore", size_mm = 11 },
]
[[article.part]]
name = "ring"
shape = "disc"
outer_diameter_mm = 72
length_mm = 16
material = "S355J2"
carrier = "socket"
bond = { kind = "weld", throat_mm = 4, runs = 2 }
"""
VALUES = (
    SETUP[: SETUP.index("[[article.part]]")] + "polar_inertia_kg_m2 = 6e-5\nstiffness_n_m_per_rad = 3e5\n"
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bench")
    (folder / "ringed.toml").write_text(SETUP)
    (folder / "plain.toml").write_text(VALUES)
    return folder


def simulated(*words: str | Path) -> dict[str, Any]:
    found: dict[str, Any] = printed("simulate", *words)
    return found


def test_article_has_every_key_and_draws(folder: Path, tmp_path: Path) -> None:
    drawings = [tmp_path / f"a.{ending}" for ending in ("svg", "dxf", "pdf")]
    for path in drawings:
        found = printed("article", folder / "ringed.toml", "--peak-torque", "800 N m", "--drawing", path)
    assert {"mass_kg", "polar_inertia_kg_m2", "stiffness_n_m_per_rad", "gap_deg", "price"} <= set(found)
    assert {"outer_diameter_m", "length_m", "riders", "margins", "weakest"} <= set(found)
    assert found["polar_inertia_kg_m2"] == pytest.approx(3.7e-4, rel=0.05)
    assert all(path.stat().st_size > 1000 for path in drawings)


def test_simulate_has_every_key(folder: Path) -> None:
    found = simulated(folder / "ringed.toml", "--blow", "5")
    assert {"score_n", "torque_equivalent_nm", "blows", "peak_torques_nm", "energy_j", "margins"} <= set(
        found
    )
    assert set(found["blows"][0]) == {"n", "t", "clamp_load_n", "peak_torque_nm"}
    loads = [blow["clamp_load_n"] for blow in found["blows"]]
    assert loads == sorted(loads)
    assert found["score_n"] == pytest.approx(loads[-1])
    energy = found["energy_j"]
    assert abs(energy["unaccounted_j"]) < 1e-3 * energy["hammer_in_j"]
    assert found["blow"]["t"]


def test_an_override_is_the_same_as_the_value_in_the_file(folder: Path, tmp_path: Path) -> None:
    changed = simulated(folder / "plain.toml", "--with", "article.polar_inertia 3e-4")
    (tmp_path / "other.toml").write_text(VALUES.replace("6e-5", "3e-4"))
    assert changed["score_n"] == simulated(tmp_path / "other.toml")["score_n"]
    assert changed["score_n"] > simulated(folder / "plain.toml")["score_n"]


def test_a_whole_run_by_the_map_agrees_with_every_blow_simulated(folder: Path) -> None:
    by_map = simulated(folder / "ringed.toml")["score_n"]
    assert by_map == pytest.approx(simulated(folder / "ringed.toml", "--every-blow")["score_n"], rel=1e-3)


def test_sweep_has_every_key_and_finds_the_optimum(folder: Path, tmp_path: Path) -> None:
    span = ("--from", "2e-5", "--to", "2e-3", "--points", "15")
    chart = tmp_path / "sweep.svg"
    over = ("--over", "article.polar_inertia")
    found = printed("sweep", folder / "plain.toml", *over, *span, "--chart", chart)
    assert {"over", "points", "optimum"} <= set(found)
    assert len(found["points"]) == 15
    assert {"value", "score_n", "torque_equivalent_nm"} <= set(found["points"][0])
    best = max(found["points"], key=lambda point: point["score_n"])
    assert found["optimum"]["score_n"] >= best["score_n"]
    assert 1e-4 < found["optimum"]["value"] < 1.5e-3
    assert "<svg" in chart.read_text(encoding="utf-8")


def test_pictures_of_a_run_and_a_film_that_needs_no_library(folder: Path, tmp_path: Path) -> None:
    strikeproof(
        "simulate", folder / "ringed.toml", "--charts", tmp_path / "c", "--film", tmp_path / "blow.html"
    )
    assert {"growth.svg", "blow.svg", "energy.svg"} <= {path.name for path in (tmp_path / "c").iterdir()}
    assert "<html" in (tmp_path / "blow.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("article.polar_inertia=0", "polar_inertia"),
        ("article.polar_inertia=-1e-5", "polar_inertia"),
        ("article.polar_inertai=1e-5", "polar_inertia"),
        ("tool.blow_speed=0", "blow_speed"),
        ("bolt.friction=2", "friction"),
        ("bolt.thread=M21", "M2"),
        ("rig.clamp_stiffness=0", "clamp_stiffness"),
        ("tool.mechanism=magic", "magic"),
        ("nonsense", "table.key and a value"),
    ],
)
def test_bad_values_are_one_line_that_names_the_field(folder: Path, change: str, told: str) -> None:
    out, err = strikeproof(
        "simulate", folder / "plain.toml", "--with", change.replace("=", " "), "--json", code=2
    )
    assert told in err
    assert len(err.strip().splitlines()) == 1
    assert out == ""
