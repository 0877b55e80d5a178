from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from strikeproof.desk.simulating.pictures import (
    draw_simulation,
    draw_sweep,
    film_blow,
    shown_blow,
    value_before,
)
from strikeproof.desk.simulating.simulate import Simulation, Sweep, simulate_tables, sweep_tables
from strikeproof.errors import BadInput, NotFound
from strikeproof.publish.blow.scene import SECONDS

TABLES = {
    "tool": {"name": "air wrench", "mechanism": "air"},
    "article": {"name": "ring socket", "polar_inertia": "3e-4 kg m2"},
    "bolt": {"thread": "M20x2.5", "class": "10.9"},
    "protocol": {"duration": 2.0},
}


@cache
def simulation(blow: int | None = 8) -> Simulation:
    return simulate_tables(TABLES, blow=blow)


@cache
def swept() -> Sweep:
    return sweep_tables(TABLES, "article.polar_inertia", list(np.geomspace(1e-4, 1e-3, 7)))


def test_a_simulation_is_drawn_as_svg_and_png(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "charts"
    written = draw_simulation(simulation(), folder)
    kinds = ("growth", "blow", "energy", "energy-run")
    names = {f"{name}{ending}" for name in kinds for ending in (".svg", ".png")}
    assert {path.name for path in written} == names == {path.name for path in folder.iterdir()}
    blow = (folder / "blow.svg").read_text(encoding="utf-8")
    assert "blow 8 of" in blow and "SIMULATED: air wrench, ring socket" in blow
    total = f"{simulation().ledger.total.hammer_in:,.0f} J".replace(",", " ")
    assert total in (folder / "energy-run.svg").read_text(encoding="utf-8")


def test_the_blow_asked_for_is_shown_and_else_the_one_half_way() -> None:
    assert shown_blow(simulation())[0] == 8
    number, blow = shown_blow(simulation(None))
    run = simulation(None).run
    half = (run.start_load + run.end_load) / 2
    before = run.start_load if number == 1 else run.clamp_load[number - 2]
    assert before < half <= run.clamp_load[number - 1]
    assert blow.motion.time.size > 1


def test_a_run_without_a_blow_is_told() -> None:
    run = simulation().run
    empty = replace(run, **{name: getattr(run, name)[:0] for name in ("time", "clamp_load", "speed")})
    with pytest.raises(BadInput, match="no blow"):
        shown_blow(replace(simulation(), run=empty))


@pytest.mark.parametrize("ending", [".svg", ".PNG"])
def test_a_sweep_is_drawn_by_its_ending(tmp_path: Path, ending: str) -> None:
    path = draw_sweep(swept(), tmp_path / f"s{ending}", start=3e-4)
    content = path.read_bytes()
    assert content.startswith(b"\x89PNG" if ending == ".PNG" else b"<?xml")
    if ending == ".svg":
        text = content.decode()
        assert "article polar inertia (kg·m²)" in text and "start" in text and "best" in text


def test_other_endings_are_refused_and_nothing_is_written(tmp_path: Path) -> None:
    path = tmp_path / "kept.txt"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(BadInput, match=r"\.svg, \.png"):
        draw_sweep(swept(), path)
    with pytest.raises(BadInput, match=r"\.mp4, \.svg, \.html"):
        film_blow(simulation(), path)
    assert path.read_text(encoding="utf-8") == "mine" and list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("ending", [".svg", ".html"])
def test_a_film_without_a_library_replaces_an_older_one(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"film{ending}"
    path.write_text("older", encoding="utf-8")
    assert film_blow(simulation(), path) == path
    text = path.read_text(encoding="utf-8")
    assert "blow 8 of" in text and "<svg" in text
    assert [each.name for each in tmp_path.iterdir()] == [path.name]


def test_a_film_is_a_small_mp4(tmp_path: Path) -> None:
    av = pytest.importorskip("av")
    path = film_blow(simulation(), tmp_path / "film.mp4", seconds=(0.08, 0.6, 0.12))
    assert path.stat().st_size * sum(SECONDS) / 0.8 < 3_000_000
    with av.open(str(path)) as container:
        assert sum(1 for _frame in container.decode(container.streams.video[0])) == 20


def test_a_place_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(BadInput, match="cannot be written"):
        draw_sweep(swept(), tmp_path / "file" / "s.svg")


def test_the_value_before_a_sweep_is_read_in_every_spelling() -> None:
    assert value_before(TABLES, "article.polar_inertia") == pytest.approx(3e-4)
    assert value_before(TABLES, "article.polar_inertia_kg_m2", [("article.polar_inertia", "5e-4")]) == 5e-4
    assert value_before({"tool": {"drive_mm": 12.7}}, "tool.drive") == 12.7
    assert value_before({"tool": {"drive": "1/2"}}, "tool.restitution") is None
    assert value_before({"article": {"hexagon_gap": "2 deg"}}, "article.hexagon_gap") == pytest.approx(2.0)
    assert value_before({"bolt": {"friction": 0.14}}, "bolt.friction") == 0.14
    with pytest.raises(NotFound):
        value_before(TABLES, "article.colour")
