"""Results as rows of text for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strikeproof.desk.flag_words import list_flags
from strikeproof.judge.control import say_unjudged
from strikeproof.quantity import unit_label, write_number, write_percent, write_uncertain

if TYPE_CHECKING:  # each table is written for one command, which need not wait for the others' rooms
    from strikeproof.desk.compare import ComparisonOutcome
    from strikeproof.desk.runs import JudgedCampaign, JudgedRun
    from strikeproof.desk.simulate import Simulation, Sweep
    from strikeproof.judge.records import ArticleResult

__all__ = ["rig_sentence", "run_table", "simulation_table", "sweep_table", "verdict_table"]


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
        "set aside",
    )
    rows = [
        (
            run.stored.row.run,
            run.stored.row.tool,
            run.stored.row.article,
            run.stored.row.block,
            _score(run),
            write_number(run.blow_rate_hz, 3),
            list_flags(flag.kind for flag in run.flags),
            run.stored.set_aside or "",
        )
        for run in judged.runs
    ]
    return [head, *rows]


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


def verdict_table(outcome: ComparisonOutcome) -> list[tuple[str, ...]]:
    """A header and one row for each article with each tool."""
    unit, currency = unit_label(outcome.judged.unit), outcome.judged.campaign.currency
    head = (
        "tool",
        "article",
        "runs",
        f"median [{unit}]",
        "gain",
        "95 % interval",
        "p",
        "verdict",
        f"price [{currency}]",
    )
    return [head, *(_verdict_row(result) for result in outcome.comparison.results)]


def _verdict_row(result: ArticleResult) -> tuple[str, ...]:
    reference = result.verdict == "reference"
    late = f", {result.not_reached} not reached in {result.watched_s:.3g} s" if result.watched_s else ""
    more = f" (about {result.more_runs} more runs would tell)" if result.more_runs else ""
    aside = f" + {result.set_aside} set aside" if result.set_aside else ""
    return (
        result.tool,
        result.article,
        f"{result.runs}{late}{aside}",
        _median(result),
        "" if reference else write_percent(result.gain_percent),
        "" if reference else _interval(result),
        "" if result.p is None else _write_p(result.p),
        result.verdict + more,
        "" if result.price is None else f"{result.price:.2f}",
    )


def _median(result: ArticleResult) -> str:
    if result.median is None and result.watched_s is not None:
        return f"over {result.watched_s:.3g}"
    return write_number(result.median)


def _interval(result: ArticleResult) -> str:
    """Both ends, or the one there is where some runs never reached the level."""
    low, high = result.low_percent, result.high_percent
    if low is None and high is None:
        return ""
    if low is None:
        return f"at most {write_percent(high)}"
    if high is None:
        return f"at least {write_percent(low)}"
    return f"{write_percent(low)} to {write_percent(high)}"


def _write_p(p: float) -> str:
    return "< 0.001" if p < 0.001 else f"{p:.3f}"


_BEYOND = {True: "beyond a limit", False: ""}


def simulation_table(simulation: Simulation) -> list[tuple[str, ...]]:
    """What one simulated run gave; it is a model's estimate, without an uncertainty of its own."""
    run, ledger = simulation.run, simulation.ledger.total.as_json()
    torque = simulation.chain.torque_per_load * simulation.score
    rows: list[tuple[str, ...]] = [
        ("score", write_number(simulation.score / 1000), "kN clamp load"),
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
        (f"margin, {margin.what}", f"{write_number(margin.factor, 3)} times", "")
        for margin in simulation.margins
    ]
    return rows + [
        (f"assumed {name}", write_number(value, 3), unit) for name, value, unit in simulation.priors
    ]


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
