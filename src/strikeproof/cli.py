"""Front 1: the command line. With --json, standard output holds one JSON document and nothing else."""

from __future__ import annotations

import json
import os
import signal
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Any

import typer

import strikeproof
from strikeproof.errors import BadFile, StrikeproofError

__all__ = ["app", "main"]

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="From timed impact-wrench runs to a comparison that holds and a page anyone can recompute.",
)

Workspace = Annotated[Path, typer.Option("-w", "--workspace", help="Folder of the workspace.")]
CampaignName = Annotated[str | None, typer.Option("--campaign", help="Which one, when there are several.")]
CampaignPath = Annotated[Path, typer.Argument(help="campaign.toml, or the folder it is in.")]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON document on standard output.")]
SetupPath = Annotated[Path, typer.Argument(help="File with [tool], [article], [bolt], [rig], [protocol].")]
Changes = Annotated[
    list[str] | None,
    typer.Option("--set", help="Change a value: article.polar_inertia=3e-4. May be repeated."),
]
RunName = Annotated[str, typer.Argument(help="The run's name on its sheet.")]


class _Stopped(Exception):
    """The person pressed Ctrl-C; the parser would swallow a KeyboardInterrupt without a word."""


def _stop(_signal: int, _frame: object) -> None:
    raise _Stopped


def main() -> None:
    """Run one command; an error a person can mend becomes one clear line and exit code 2."""
    signal.signal(signal.SIGINT, _stop)
    try:
        app()
    except BadFile as error:
        for problem in error.problems:
            _say(f"strikeproof: {problem}")
        raise SystemExit(2) from None
    except StrikeproofError as error:
        _say(f"strikeproof: {error}")
        raise SystemExit(2) from None
    except _Stopped:
        _say("strikeproof: stopped; what was kept is kept, run it again to go on")
        raise SystemExit(130) from None
    except BrokenPipeError:
        # The reader of a pipe has left, as `head` does; there is nobody to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise SystemExit(141) from None


def _say(text: str) -> None:
    print(text, file=sys.stderr)


def _print_json(document: Any) -> None:
    print(json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False))


def _print_rows(rows: Iterable[tuple[str, ...]]) -> None:
    rows = list(rows)
    widths = [max(len(row[column]) for row in rows if column < len(row)) for column in range(len(rows[0]))]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=False)).rstrip())


def _version(wanted: bool) -> None:
    if wanted:
        print(strikeproof.__version__)
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and end.")
    ] = False,
) -> None:
    pass


@app.command()
def new(folder: Annotated[Path, typer.Argument(help="Folder to make.")]) -> None:
    """Start a campaign folder from the commented template."""
    from strikeproof.desk.new import start_folder

    for path in start_folder(folder):
        print(path)


@app.command()
def plan(
    campaign: CampaignPath,
    out: Annotated[Path | None, typer.Option("-o", "--out", help="Run sheet to write.")] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Replace a run sheet that is there.")] = False,
) -> None:
    """Make a run sheet: blocks in random order, the reference at their ends, bolts within their budget."""
    from strikeproof.desk.plan import plan_campaign, write_sheet

    found = plan_campaign(campaign)
    for note in found.notes:
        _say(note)
    _say(f"seed {found.seed}")
    if out is None:
        print(found.sheet(), end="")
    else:
        write_sheet(found, out, replace=replace)
        print(out)


@app.command()
def bolt(
    text: Annotated[str, typer.Argument(help='Thread and class, such as "M24x2 10.9".')],
    friction: Annotated[float | None, typer.Option(help="Coefficient, thread and head alike.")] = None,
    thread_friction: Annotated[float | None, typer.Option(help="Coefficient in the thread.")] = None,
    head_friction: Annotated[float | None, typer.Option(help="Coefficient under the head.")] = None,
    share: Annotated[float, typer.Option(help="Clamp load allowed, of the proof load.")] = 0.75,
    as_json: AsJson = False,
) -> None:
    """What a test bolt carries and which torque gets it there."""
    from strikeproof.desk.bolt import describe_bolt

    facts = describe_bolt(
        text, friction=friction, thread_friction=thread_friction, head_friction=head_friction, share=share
    )
    if as_json:
        _print_json(facts.as_json())
        return
    _print_rows(facts.lines())
    for caution in facts.cautions:
        print(f"! {caution}")


@app.command()
def load(campaign: CampaignPath, workspace: Workspace, as_json: AsJson = False) -> None:
    """Load a campaign folder into a workspace; doing it twice changes nothing."""
    from strikeproof.desk.load import load_campaign

    with _progress("loading") as step:
        outcome = load_campaign(campaign, workspace, step)
    for problem in outcome.problems:
        _say(f"! {problem}")
    if as_json:
        _print_json(outcome.as_json())
    else:
        print(
            f"{outcome.campaign or 'nothing'}: {outcome.runs_loaded} runs loaded, "
            f"{outcome.runs_amended} amended, {outcome.runs_unchanged} unchanged, "
            f"{len(outcome.problems)} problems"
        )
    raise typer.Exit(outcome.exit_code)


@app.command()
def runs(workspace: Workspace, campaign: CampaignName = None, as_json: AsJson = False) -> None:
    """List every run with its score and flags."""
    from strikeproof.desk.runs import judge_runs
    from strikeproof.desk.tables import run_table
    from strikeproof.desk.workspace import open_campaign

    with _progress("examining") as step:
        judged = judge_runs(*open_campaign(workspace, campaign), step)
    if as_json:
        _print_json([run.as_json() for run in judged.runs])
    else:
        _print_rows(run_table(judged))
        for warning in judged.warnings:
            _say(f"! {warning}")


@app.command("set-aside")
def set_aside(
    run: RunName,
    because: Annotated[str, typer.Option(help="Why, for everyone who reads the result.")],
    workspace: Workspace,
    campaign: CampaignName = None,
) -> None:
    """Leave a run out of the result, with the reason; it stays on every chart."""
    from strikeproof.desk.standing import set_run_aside

    print(set_run_aside(workspace, campaign, run, because))


@app.command("put-back")
def put_back(run: RunName, workspace: Workspace, campaign: CampaignName = None) -> None:
    """Let a run that was set aside count again."""
    from strikeproof.desk.standing import put_run_back

    print(put_run_back(workspace, campaign, run))


@app.command()
def history(run: RunName, workspace: Workspace, campaign: CampaignName = None) -> None:
    """Tell all that was ever said of a run."""
    from strikeproof.desk.standing import tell_history

    _print_rows(tell_history(workspace, campaign, run))


@app.command()
def calibration(campaign: CampaignPath, as_json: AsJson = False) -> None:
    """Fit the calibration sheet and budget its uncertainty."""
    from strikeproof.desk.calibration import calibrate_folder

    outcome = calibrate_folder(campaign)
    if as_json:
        _print_json(outcome.as_json())
    else:
        _print_rows(outcome.lines())


@app.command()
def compare(workspace: Workspace, campaign: CampaignName = None, as_json: AsJson = False) -> None:
    """Compare every article with the reference."""
    from strikeproof.desk.compare import compare_campaign
    from strikeproof.desk.tables import rig_sentence, verdict_table

    with _progress("examining") as step:
        outcome = compare_campaign(workspace, campaign, step)
    if as_json:
        _print_json(outcome.as_json())
        return
    print(rig_sentence(outcome))
    _print_rows(verdict_table(outcome))
    for warning in outcome.warnings:
        _say(f"! {warning}")


@app.command()
def report(
    workspace: Workspace,
    out: Annotated[Path, typer.Option("-o", "--out", help="Page to write.")],
    campaign: CampaignName = None,
    charts: Annotated[Path | None, typer.Option(help="Folder for the charts as SVG and PNG.")] = None,
) -> None:
    """Write the page that others can check."""
    from strikeproof.desk.report import write_report

    with _progress("examining") as step:
        write_report(workspace, out, name=campaign, charts=charts, progress=step)
    print(out)


@app.command()
def check(workspace: Workspace, as_json: AsJson = False) -> None:
    """Verify every hash and reference of a workspace; changes nothing."""
    from strikeproof.desk.check import check_workspace

    outcome = check_workspace(workspace)
    for problem in outcome.problems:
        _say(f"! {problem}")
    if as_json:
        _print_json(outcome.as_json())
    else:
        print(
            f"{outcome.runs} runs, {outcome.traces} traces, {outcome.originals} originals: "
            f"{len(outcome.problems)} problems, {len(outcome.leftovers)} leftover files"
        )
    raise typer.Exit(1 if outcome.problems else 0)


@app.command()
def article(
    file: Annotated[Path, typer.Argument(help="TOML file with an [article] table.")],
    peak_torque: Annotated[str | None, typer.Option(help='For the margins, such as "800 N m".')] = None,
    drawing: Annotated[Path | None, typer.Option(help="Half-section to write: .svg, .dxf or .pdf.")] = None,
    name: Annotated[str | None, typer.Option(help="Which article, when the file has several.")] = None,
    as_json: AsJson = False,
) -> None:
    """Tell an article's mass, inertia, stiffness, gaps, price and margins from its dimensions."""
    from strikeproof.desk.article import describe_article, draw_article_file
    from strikeproof.quantity import parse_quantity

    torque = None if peak_torque is None else parse_quantity(peak_torque, "torque")
    facts = describe_article(file, torque, name=name)
    if drawing is not None:
        _say(f"wrote {draw_article_file(facts, drawing)}")
    if as_json:
        _print_json(facts.as_json())
        return
    _print_rows(facts.lines())
    for caution in facts.cautions:
        print(f"! {caution}")


@app.command()
def simulate(
    setup: SetupPath,
    changes: Changes = None,
    blow: Annotated[int | None, typer.Option(help="Blow to show in full, from 1.")] = None,
    every: Annotated[bool, typer.Option("--every-blow", help="Simulate each blow; slower.")] = False,
    charts: Annotated[Path | None, typer.Option(help="Folder for the pictures of the run.")] = None,
    film: Annotated[Path | None, typer.Option(help="Slow motion to write: .mp4, .svg or .html.")] = None,
    as_json: AsJson = False,
) -> None:
    """Hammer with one article on a simulated bench."""
    from strikeproof.desk.simulate import simulate_file
    from strikeproof.desk.tables import simulation_table

    done = simulate_file(setup, changes or (), blow=blow, every=every)
    if charts is not None or film is not None:
        from strikeproof.desk.pictures import draw_simulation, film_blow

        for path in draw_simulation(done, charts) if charts is not None else ():
            _say(f"wrote {path}")
        if film is not None:
            with _progress("filming") as step:
                _say(f"wrote {film_blow(done, film, progress=step)}")
    if as_json:
        _print_json(done.as_json())
        return
    _print_rows(simulation_table(done))
    for caution in done.cautions:
        print(f"! {caution}")


@app.command()
def sweep(
    setup: SetupPath,
    over: Annotated[str, typer.Option(help="Key to vary, such as article.polar_inertia.")],
    low: Annotated[float, typer.Option("--from", help="First value, in the unit of the key.")],
    high: Annotated[float, typer.Option("--to", help="Last value.")],
    points: Annotated[int, typer.Option(min=2, max=10_000, help="How many values.")] = 40,
    changes: Changes = None,
    chart: Annotated[Path | None, typer.Option(help="Chart to write: .svg or .png.")] = None,
    as_json: AsJson = False,
) -> None:
    """Vary one value of a setup and find where the score is best."""
    from strikeproof.desk.simulate import sweep_file
    from strikeproof.desk.tables import sweep_table

    with _progress("hammering") as step:
        done = sweep_file(setup, over, (low, high, points), changes or (), progress=step)
    if chart is not None:
        from strikeproof.desk.pictures import draw_sweep, value_before
        from strikeproof.desk.setup_file import read_tables

        start = value_before(read_tables(setup), over, changes or ())
        _say(f"wrote {draw_sweep(done, chart, start=start)}")
    if as_json:
        _print_json(done.as_json())
    else:
        _print_rows(sweep_table(done))


@app.command()
def demo(
    into: Annotated[Path, typer.Option(help="Folder to make.")] = Path("strikeproof-demo"),
    seed: Annotated[int, typer.Option(help="Of the simulation.")] = 2026,
) -> None:
    """Do the whole job on simulated runs: make a folder of logs, load, compare, write the page."""
    from strikeproof.desk.demo import make_demo
    from strikeproof.desk.load import load_campaign
    from strikeproof.desk.report import write_report
    from strikeproof.desk.tables import rig_sentence, verdict_table

    folder, workspace, page = into / "campaign", into / "workspace", into / "page.html"
    with _progress("simulating") as step:
        make_demo(folder, seed, step)
    with _progress("loading") as step:
        load_campaign(folder, workspace, step)
    with _progress("examining") as step:
        outcome = write_report(workspace, page, charts=into / "charts", progress=step)
    print("SIMULATED runs of invented articles\n")
    print(rig_sentence(outcome))
    _print_rows(verdict_table(outcome))
    for warning in outcome.warnings:
        print(f"! {warning}")
    print(
        f"\nrun sheet and logs  {folder}\nworkspace           {workspace}\n"
        f"page                {page.resolve()}"
    )


def _progress(title: str) -> Any:
    from strikeproof.desk.progress import show_progress

    return show_progress(title)
