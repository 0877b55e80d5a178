"""Results as rows of text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from strikeproof.desk.articles.life_words import tell_static
from strikeproof.desk.runs.flag_words import list_flags
from strikeproof.judge.control import say_unjudged
from strikeproof.publish.results import result_table
from strikeproof.quantity import unit_label, write_number, write_uncertain

if TYPE_CHECKING:  # each table is written for one command, which need not wait for the others' rooms
    from strikeproof.desk.comparing.compare import ComparisonOutcome
    from strikeproof.desk.runs.judged import JudgedCampaign, JudgedRun
    from strikeproof.desk.simulating.simulate import Simulation, Sweep

__all__ = ["rig_sentence", "run_table", "simulation_table", "sweep_table", "verdict_tables"]


def run_table(judged: JudgedCampaign) -> list[tuple[str, ...]]:
    """A header and one row a run."""
    head = (
        "run",
        "tool",
        "article",
        "block",
        f"score [{unit_label(judged.unit)}]",
        "blows/s",
        "flags",
        "excluded",
    )
    rows = [
        (
            run.stored.row.run,
            run.series,
            run.stored.row.article,
            run.stored.row.block,
            _score(run) + _ratio_mark(judged, run),
            write_number(run.blow_rate_hz, 3),
            list_flags(flag.kind for flag in run.flags),
            run.stored.set_aside or "",
        )
        for run in judged.runs
    ]
    return [head, *rows]


def _ratio_mark(judged: JudgedCampaign, run: JudgedRun) -> str:
    """That a score among calibrated ones is none of them: of an excluded run beyond the calibrated range."""
    is_alone = run.only_ratio is not None and judged.worth.ratio_reason is None and run.score is not None
    return " (only a ratio)" if is_alone else ""


def _score(run: JudgedRun) -> str:
    if run.not_reached_s is not None:
        return f"not reached in {run.not_reached_s:.3g}"
    return "–" if run.score is None else write_uncertain(run.score, run.standard_uncertainty)


def rig_sentence(outcome: ComparisonOutcome) -> str:
    """Whether the rig was in control, or that nobody can say; it comes before any result."""
    rig = outcome.comparison.rig
    drift = ""
    if rig.drift_percent_per_run is not None:
        spread = rig.drift_uncertainty
        drift = f"; drift {write_uncertain(rig.drift_percent_per_run, spread)} % a run"
    if rig.state == "in control":
        return f"The rig was in control{drift}."
    if rig.state == "cannot be judged":
        return f"It cannot be judged whether the rig was in control: {say_unjudged(rig)}{drift}."
    return f"THE RIG WAS NOT IN CONTROL: {'; '.join(signal.text for signal in rig.signals)}{drift}."


def verdict_tables(outcome: ComparisonOutcome) -> Iterator[list[tuple[str, ...]]]:
    """For each tool a header and one row an article, with the columns of the page."""
    judged, comparison = outcome.judged, outcome.comparison
    unit, currency = unit_label(judged.unit), judged.campaign.currency
    doubted = [
        run.stored.row
        for run in judged.runs
        if judged.worth.ratio_reason or (run.only_ratio and run.stored.set_aside is None)
    ]
    ratios = {(row.article, row.tool) for row in doubted}
    for tool in dict.fromkeys(each.tool for each in comparison.results):
        table = result_table(comparison, tool, unit, currency, ratios)
        head = (f"with {tool}", *(each[:1].lower() + each[1:] for each in table.heads[1:]))
        yield [head, *(tuple(map(_on_one_line, cells)) for _sign, cells in table.rows)]


def _on_one_line(cell: tuple[str, ...]) -> str:
    return f"{cell[0]} ({'; '.join(cell[1:])})" if cell[1:] else cell[0]


_BEYOND = {True: "beyond a limit", False: ""}


def simulation_table(simulation: Simulation) -> list[tuple[str, ...]]:
    """What one simulated run gave; of a model's estimate only the tool's scatter gives a range."""
    run, ledger = simulation.run, simulation.ledger.total.as_json()
    torque = simulation.chain.torque_per_load * simulation.score
    rows: list[tuple[str, ...]] = [
        ("score", write_number(simulation.score / 1000), "kN clamp load"),
        ("score, with the tool's scatter", _scattered(simulation), "kN: median and range"),
        ("torque equivalent", write_number(torque), "N·m"),
        ("blows", str(run.clamp_load.size), ""),
        ("blow rate", write_number(run.blow_rate, 3), "1/s"),
    ]
    if simulation.time_to is not None:
        rows.append(("time to the level", write_number(simulation.time_to, 3), "s"))
    rows += [
        (f"peak torque, {joint}", write_number(float(peak)), "N·m")
        for joint, peak in zip(run.joints, run.peaks, strict=True)
    ]
    rows += [
        (name.removesuffix("_j").replace("_", " "), write_number(value, 3), "J")
        for name, value in ledger.items()
        if isinstance(value, float)
    ]
    if simulation.margins:
        runs = "run" if simulation.margin_runs == 1 else "runs"
        words = f"the largest of {simulation.margin_runs} {runs} with the tool's scatter"
        rows.append(("margins by", words, ""))
    rows += [
        (f"margin, {margin.what}", tell_static(margin.factor, margin.uncertainty), "")
        for margin in simulation.margins
    ]
    return rows + [
        (f"assumed {name}", write_number(value, 3), unit) for name, value, unit in simulation.priors
    ]


def _scattered(simulation: Simulation) -> str:
    low, middle, high = np.quantile(simulation.scattered / 1000, (0.0, 0.5, 1.0)).tolist()
    return f"{write_number(middle)} ({write_number(low)} to {write_number(high)})"


def sweep_table(sweep: Sweep) -> list[tuple[str, ...]]:
    """A header, one row a point, and where the score is best."""
    best = sweep.optimum
    rows = [
        (
            write_number(value),
            write_number(score / 1000),
            write_number(torque),
            "beyond a limit" if over else "",
        )
        for value, score, torque, over in zip(
            sweep.values, sweep.scores, sweep.torques, sweep.beyond, strict=True
        )
    ]
    where = "at an end of the sweep: look further" if best.at_end else "best"
    last = (write_number(best.value, 3), write_number(best.score / 1000), "", where)
    return [(sweep.over, "score [kN]", "torque [N·m]", ""), *rows, last]
