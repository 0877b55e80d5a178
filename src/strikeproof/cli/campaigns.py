"""Commands of the journey from a plan to a page."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.course import progress
from strikeproof.cli.speaking import (
    AsJson,
    CampaignName,
    CampaignPath,
    Language,
    RunName,
    Workspace,
    command,
    print_json,
    print_rows,
    read_language,
    say,
    show,
)
from strikeproof.language import speaking

__all__ = [
    "calibration",
    "check",
    "compare",
    "history",
    "load",
    "new",
    "plan",
    "put_back",
    "report",
    "runs",
    "set_aside",
]


@app.command()
def new(folder: Annotated[Path, typer.Argument(help="Folder to make.")]) -> None:
    """Start a campaign folder from the commented template."""
    from strikeproof.desk.setting_up.new import start_folder

    for path in start_folder(folder):
        show(path)


@app.command()
def plan(
    campaign: CampaignPath,
    out: Annotated[Path | None, typer.Option("-o", "--out", help="Run sheet to write.")] = None,
    replace: Annotated[
        bool,
        typer.Option(
            "--replace", help="Replace a run sheet that is there; it is saved beside under its date."
        ),
    ] = False,
    late: Annotated[
        bool,
        typer.Option(
            "--late",
            help="Add one block with the reference to the run sheet for articles that came late, such as one "
            "from a design; nothing on the sheet changes.",
        ),
    ] = False,
    changed: Annotated[
        list[str] | None,
        typer.Option(
            "--after-change",
            metavar="ARTICLE",
            help="Article that is a piece after a cut, a weld, wear or a repair: its blocks come last, "
            "with the reference. May be repeated.",
        ),
    ] = None,
) -> None:
    """Make a run sheet: blocks in random order, the reference twice in each at random places, bolts within
    their budget."""
    from strikeproof.desk.planning.plan import plan_campaign, write_sheet
    from strikeproof.desk.planning.sheet import find_expected_in

    if late:
        if out is not None or replace or changed:
            raise typer.BadParameter(
                "it adds to the run sheet of the campaign, without -o, --replace and --after-change"
            )
        _plan_late(campaign)
        return
    found = plan_campaign(campaign, changed or ())
    if stop := find_expected_in(campaign):
        say(f"! {stop}")
    for note in found.notes:
        say(note)
    say(f"seed {found.seed}")
    if out is None:
        show(found.sheet(), end="")
    else:
        before = write_sheet(found, out, replace=replace)
        show(out)
        if before is not None:
            say(f"the sheet before is saved as {before}")


def _plan_late(campaign: Path) -> None:
    from strikeproof.desk.planning.extra_block import add_block

    block = add_block(campaign)
    if block.stop:
        say(f"! {block.stop}")
    runs = [row["run"] for row in block.cells]
    tools = {row["tool"] for row in block.cells}
    show(
        f"{len(runs)} runs added, {runs[0]} to {runs[-1]}: {', '.join(block.articles)} with {block.reference}"
        f", {'1 block' if len(tools) < 2 else '1 block with each tool'}"
    )
    again = shlex.join(["strikeproof", "plan", str(campaign), "--late"])
    show(
        f"{'1 more block is' if block.more == 1 else f'{block.more} more blocks are'} needed for the "
        f"repeats that are planned: {again}"
        if block.more
        else "with it every article has the repeats that are planned"
    )


@app.command()
def load(
    campaign: CampaignPath,
    workspace: Workspace,
    replace_log: Annotated[
        list[str] | None,
        typer.Option(
            "--replace-log",
            metavar="RUN",
            help="Read the log of this run again, in place of the saved one, which stays in its history.",
        ),
    ] = None,
    because: Annotated[
        str, typer.Option(help="Reason for replacing the log, for everyone who reads the result.")
    ] = "",
    relabel: Annotated[
        bool,
        typer.Option(
            "--relabel",
            help="Accept another unit or rotation in the file, as a correction of what was written wrongly.",
        ),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Load a campaign folder into a workspace; doing it twice changes nothing."""
    from strikeproof.desk.loading.load import load_campaign

    with progress("loading") as step:
        outcome = load_campaign(
            campaign,
            workspace,
            step,
            replace_logs=dict.fromkeys(replace_log or (), because),
            relabel=relabel,
        )
    for each in (*outcome.problems, *outcome.warnings):
        say(f"! {each}")
    if as_json:
        print_json(outcome)
    else:
        problems = "1 problem" if len(outcome.problems) == 1 else f"{len(outcome.problems)} problems"
        loaded = "1 run" if outcome.runs_loaded == 1 else f"{outcome.runs_loaded} runs"
        show(
            f"{outcome.campaign}: {loaded} loaded, "
            f"{outcome.runs_amended} amended, {outcome.runs_unchanged} unchanged, "
            f"{problems}; from {outcome.folder}"
            if outcome.campaign
            else f"nothing is loaded: {problems}; from {outcome.folder}"
        )
        if outcome.not_made:
            show(f"  {outcome.left_to_make}")
        for change in outcome.changes:
            show(f"  {change}")
    raise typer.Exit(outcome.exit_code)


@app.command()
def runs(workspace: Workspace, campaign: CampaignName = None, as_json: AsJson = False) -> None:
    """List every run with its score and flags."""
    from strikeproof.desk.comparing.tables import run_table
    from strikeproof.desk.runs.judged import judge_runs
    from strikeproof.desk.runs.sounds import runs_with_sounds
    from strikeproof.desk.workspace.opening import open_campaign

    store, key, found = open_campaign(workspace, campaign)
    with progress("examining") as step:
        judged = judge_runs(store, key, found, step)
    if as_json:
        print_json(runs_with_sounds(store, judged))
    else:
        for doubt in judged.doubts:
            show(f"IN DOUBT: {doubt}.")
        print_rows(run_table(judged))
        for warning in filter(None, (*judged.warnings, judged.unwatched)):
            say(f"! {warning}")


@app.command("set-aside")
def set_aside(
    run: RunName,
    because: Annotated[str, typer.Option(help="Reason, for everyone who reads the result.")],
    workspace: Workspace,
    campaign: CampaignName = None,
) -> None:
    """Leave a run out of the result, with the reason; it stays on every chart."""
    from strikeproof.desk.runs.standing import set_run_aside

    show(set_run_aside(workspace, campaign, run, because))
    show(f"to include it again: {command('put-back', run, workspace=workspace, campaign=campaign)}")


@app.command("put-back")
def put_back(run: RunName, workspace: Workspace, campaign: CampaignName = None) -> None:
    """Include a run that was excluded."""
    from strikeproof.desk.runs.standing import put_run_back

    show(put_run_back(workspace, campaign, run))


@app.command()
def history(run: RunName, workspace: Workspace, campaign: CampaignName = None) -> None:
    """Show the history of a run."""
    from strikeproof.desk.runs.standing import tell_history

    print_rows(tell_history(workspace, campaign, run))


@app.command()
def calibration(campaign: CampaignPath, as_json: AsJson = False) -> None:
    """Fit the calibration sheet and budget its uncertainty."""
    from strikeproof.desk.calibrating.calibration import calibrate_folder

    outcome = calibrate_folder(campaign)
    if as_json:
        print_json(outcome)
    else:
        print_rows(outcome.lines())


@app.command()
def compare(
    workspace: Workspace,
    campaign: CampaignName = None,
    adjust: Annotated[
        list[str] | None,
        typer.Option(
            help="Condition of the runs to fit too, by its column of the run sheet, such as supply; may be "
            "given several times."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Compare every article with the reference."""
    from strikeproof.desk.comparing.compare import compare_campaign
    from strikeproof.desk.comparing.tables import rig_sentence, verdict_tables

    with progress("examining") as step:
        outcome = compare_campaign(workspace, campaign, step, adjust=adjust or ())
    if as_json:
        print_json(outcome)
        return
    for doubt in (*outcome.judged.doubts, *outcome.judged.unread):
        show(f"IN DOUBT: {doubt}.")
    show(rig_sentence(outcome))
    for rows in verdict_tables(outcome):
        print_rows(rows)
    if outcome.comparison.look:
        show(outcome.comparison.look)
    for warning in outcome.warnings:
        say(f"! {warning}")
    for run in outcome.spoiled:
        words = (run, "--because", "WHY")
        say(f"to exclude {run}: {command('set-aside', *words, workspace=workspace, campaign=campaign)}")


@app.command()
def report(
    workspace: Workspace,
    out: Annotated[Path, typer.Option("-o", "--out", help="File of the page to write, such as page.html.")],
    campaign: CampaignName = None,
    charts: Annotated[Path | None, typer.Option(help="Folder for the charts as SVG and PNG.")] = None,
    elsewhere: Annotated[
        bool,
        typer.Option(
            "--elsewhere",
            help="Show whether it holds on other benches, by all campaigns and published summaries here.",
        ),
    ] = False,
    language: Language = "en",
    decimal_comma: Annotated[
        bool,
        typer.Option(
            "--decimal-comma",
            help="Write the CSV files in the page with a decimal comma, semicolons between the cells.",
        ),
    ] = False,
) -> None:
    """Write the page that others can check."""
    from strikeproof.desk.publishing.report import write_report

    spoken = read_language(language)
    with speaking(spoken, decimal_comma=decimal_comma), progress("examining") as step:
        write_report(workspace, out, name=campaign, charts=charts, progress=step, elsewhere=elsewhere)
    show(out)


@app.command()
def check(
    workspace: Workspace,
    tidy: Annotated[
        bool, typer.Option("--tidy", help="Delete damaged results, and files cut off a day ago.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Verify every hash and reference of a workspace; nothing is changed without --tidy."""
    from strikeproof.desk.workspace.check import check_workspace, tidy_workspace

    for name in tidy_workspace(workspace) if tidy else ():
        say(f"deleted {name}")
    outcome = check_workspace(workspace)
    for problem in outcome.problems:
        say(f"! {problem}")
    for name in outcome.abandoned:
        say(f"! {name}: it was left half-written more than a day ago; check --tidy deletes it")
    if as_json:
        print_json(outcome)
    else:
        show(
            f"{outcome.runs} runs, {outcome.traces} traces, {outcome.originals} originals: "
            f"{len(outcome.problems)} problems, {len(outcome.leftovers)} leftover files"
        )
        show(outcome.backup or "no backup yet: strikeproof backup -w WORKSPACE --to PLACE")
    raise typer.Exit(1 if outcome.problems else 0)
