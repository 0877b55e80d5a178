"""Pictures of a simulated run, of a sweep, and the film of a blow, as files."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np

from strikeproof.campaign.whole_file import write_whole
from strikeproof.desk.simulating.bench import Setup, override
from strikeproof.desk.simulating.simulate import Simulation, Sweep
from strikeproof.drivetrain import Blow, account_blow, blow_of_run
from strikeproof.errors import BadInput
from strikeproof.publish.blow import (
    Grown,
    SweptScore,
    energy_chart,
    film_mp4,
    film_page,
    film_svg,
    growth_chart,
    picture_png,
    picture_svg,
    set_scene,
    slow_motion_chart,
    swept_chart,
    tell_blow,
)
from strikeproof.publish.blow.scene import SECONDS
from strikeproof.publish.drawing import Chart
from strikeproof.quantity import ending_of, parse_quantity

__all__ = ["draw_simulation", "draw_sweep", "film_blow", "shown_blow", "value_before"]

CHARTS: Final = (".svg", ".png")
FILMS: Final = (".mp4", ".svg", ".html")


def draw_simulation(simulation: Simulation, folder: Path) -> tuple[Path, ...]:
    """Write `growth`, `blow`, `energy` and `energy-run` into a folder, each as SVG and as PNG.

    The blow is the one that the simulation shows, else the one that brings the clamp load half way.

    Raises
    ------
    BadInput
        If the run has no blow or the folder cannot be written to.
    """
    number, blow = shown_blow(simulation)
    story = tell_blow(simulation.chain, blow)
    whose = _whose(simulation.setup)
    one = f"{whose}; blow {number} of {simulation.run.time.size}"
    growth = growth_chart(
        [Grown(simulation.setup.article.name, simulation.chain, simulation.run)], marked=number
    )
    ledger = account_blow(simulation.chain, blow)
    total = simulation.ledger.total
    charts = (
        ("growth", growth, whose),
        ("blow", slow_motion_chart(story), one),
        ("energy", energy_chart(ledger, story.contacts, goes_on=blow.rebound < 0.0), one),
        ("energy-run", energy_chart(total, story.contacts, what="The whole run"), whose),
    )
    return tuple(
        _write(folder / f"{name}{ending}", _rendered(chart, said, ending))
        for name, chart, said in charts
        for ending in CHARTS
    )


def draw_sweep(
    sweep: Sweep, path: Path, *, start: float | None = None, whose: str = "one run a point"
) -> Path:
    """Write the score against the swept parameter, as SVG or PNG by the file's ending.

    Parameters
    ----------
    start
        Value before the sweep, from `value_before`; it is marked.
    whose
        What was simulated, for the line above the picture.

    Raises
    ------
    BadInput
        If the ending is another one, or the file cannot be written.
    """
    ending = _ending(path, CHARTS, "chart")
    name, unit = _parameter(sweep.over)
    swept = SweptScore(
        name, unit, sweep.values, sweep.scores, sweep.torques, sweep.beyond, sweep.optimum, start
    )
    return _write(path, _rendered(swept_chart(swept), whose, ending))


def film_blow(
    simulation: Simulation,
    path: Path,
    *,
    seconds: tuple[float, float, float] = SECONDS,
    progress: Callable[[int, int], None] | None = None,
) -> Path:
    """Write the film of a blow: `.mp4` with the extra `film`, `.svg` or `.html` without anything.

    Parameters
    ----------
    seconds
        Of film before the blow, during it and after it.
    progress
        Called with how many frames of how many are done.

    Raises
    ------
    BadInput
        If the ending is another one, the run has no blow, the MP4 writer is missing, or the file cannot be
        written.
    """
    ending = _ending(path, FILMS, "film")
    number, blow = shown_blow(simulation)
    whose = f"{_whose(simulation.setup)}, blow {number} of {simulation.run.time.size}"
    story = tell_blow(simulation.chain, blow)
    scene = set_scene(story, whose, seconds=seconds)
    if ending == ".mp4":
        return _write(path, film_mp4(scene, progress=progress))
    page = (
        film_svg(scene)
        if ending == ".svg"
        else film_page(scene, set_scene(story, whose, narrow=True, seconds=seconds))
    )
    return _write(path, page.encode())


def shown_blow(simulation: Simulation) -> tuple[int, Blow]:
    """Number and motion of the blow that the simulation shows, else of the one half way up the growth curve.

    Raises
    ------
    BadInput
        If there was no blow in the time of the run.
    """
    run = simulation.run
    if not run.time.size:
        raise BadInput(
            "no blow falls into it",
            where="protocol.duration",
            allowed="longer than the tool takes for its first blow",
            fix="lengthen the run",
        )
    if simulation.blow is not None and simulation.blow.motion.time.size:
        before = np.concatenate(([run.start_load], run.clamp_load[:-1]))
        off = np.abs(before - simulation.blow.load_before) + np.abs(run.speed - simulation.blow.speed)
        return int(np.argmin(off)) + 1, simulation.blow
    half = 0.5 * (run.end_load - run.start_load)
    number = int(np.argmax(np.abs(run.clamp_load - run.start_load) >= abs(half))) + 1
    return number, blow_of_run(simulation.chain, simulation.setup.tool, run, number, keep_motion=True)


def value_before(
    tables: Mapping[str, Mapping[str, Any]], over: str, changes: Sequence[tuple[str, str]] = ()
) -> float | None:
    """What a setup has for a key before it is swept, in the key's unit; None where the file does not say.

    Raises
    ------
    BadInput
        If it is a text that is no such quantity.
    NotFound
        If the key is unknown.
    """
    bare, unit = _bare_and_unit(over)
    table = override(tables, changes).get(over.partition(".")[0].strip(), {})
    value = table.get(f"{bare}_{unit}" if unit else bare, table.get(bare))
    ending = ending_of(unit)
    if isinstance(value, str) and ending is not None:
        return parse_quantity(value, ending.kind) / ending.factor
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _bare_and_unit(over: str) -> tuple[str, str]:
    """Key without table and unit, and its unit as keys write it.

    Raises
    ------
    NotFound
        If the key is unknown.
    """
    table = over.partition(".")[0].strip()
    (full,) = override({}, [(over, "0")])[table]
    ending = ending_of(full)
    if ending is not None:
        bare = full.removesuffix(f"_{ending.end}")
        if next(iter(override({}, [(f"{table}.{bare}", "0")])[table]), "") == full:
            return bare, ending.end
    return full, ""


def _parameter(over: str) -> tuple[str, str]:
    """Name and unit of a key, for people."""
    bare, unit = _bare_and_unit(over)
    table = over.partition(".")[0].strip()
    ending = ending_of(unit)
    return f"{table} {bare.replace('_', ' ')}", ending.shown if ending else ""


def _whose(setup: Setup) -> str:
    tool, article = setup.tool.name, setup.article.name
    inertia = f"{setup.article.polar_inertia:.3g} kg·m²"
    return f"{tool}, {article} ({inertia}), {setup.direction}ing for {setup.duration:g} s"


def _ending(path: Path, allowed: Sequence[str], what: str) -> str:
    ending = path.suffix.lower()
    if ending not in allowed:
        raise BadInput(
            f"{path.name!r} ends in {ending!r}",
            where=what,
            allowed=", ".join(allowed),
            fix="choose one of them",
        )
    return ending


def _rendered(chart: Chart, whose: str, ending: str) -> bytes:
    return picture_svg(chart, whose).encode() if ending == ".svg" else picture_png(chart, whose)


def _write(path: Path, content: bytes) -> Path:
    """Put a file in place whole or not at all; folders are made as needed."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, content)
    except OSError as cause:
        raise BadInput(
            f"it cannot be written ({cause.strerror})",
            where=str(path),
            allowed="a file in a folder that can be written to",
            fix="name another place",
        ) from cause
    return path
