"""Commands that ask a campaign a question: which is best, any two, a difference as it is written."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperCommand

from strikeproof.cli.application import app
from strikeproof.cli.course import progress
from strikeproof.cli.speaking import (
    AsJson,
    CampaignName,
    Workspace,
    print_json,
    print_rows,
    say,
    show,
)

if TYPE_CHECKING:
    from strikeproof.desk.comparing.answers import Asking

__all__ = [
    "ageing",
    "best",
    "change",
    "difference",
    "elsewhere",
    "enough",
    "pairs",
    "product",
    "tool",
    "tools",
]

asking = typer.Typer(no_args_is_help=True, help="Ask a campaign: which is best, is one better than another.")
app.add_typer(asking, name="ask")


@asking.command()
def best(workspace: Workspace, campaign: CampaignName = None, as_json: AsJson = False) -> None:
    """Say which article is the best with each tool, and how sure that is."""
    from strikeproof.desk.comparing.answers import ask_best

    with progress("examining") as step:
        found = ask_best(workspace, campaign, step)
    _answer(found, as_json=as_json)


@asking.command()
def pairs(
    workspace: Workspace,
    articles: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[ARTICLE]...", help="Articles to compare, two or more; all of them if none is named."
        ),
    ] = None,
    campaign: CampaignName = None,
    as_json: AsJson = False,
) -> None:
    """Compare every pair of articles."""
    from strikeproof.desk.comparing.answers import ask_pairs

    if articles and len(set(articles)) < 2:
        raise typer.BadParameter("name two or more articles, or none for all of them")
    with progress("examining") as step:
        found = ask_pairs(workspace, articles or (), campaign, step)
    _answer(found, as_json=as_json)


class _Written(TyperCommand):
    """A command whose texts may begin with a minus: what no option looks like is none."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Put a blank, which says nothing in a text, before a minus that begins one."""
        return super().parse_args(ctx, [f" {each}" if _WRITTEN.match(each) else each for each in args])


_WRITTEN = re.compile(r"-[^-].*[\s(+*/]", re.DOTALL)


@asking.command(cls=_Written)
def difference(
    texts: Annotated[
        list[str],
        typer.Argument(
            metavar="TEXT...",
            help="Articles with + and -, mean(...) and weights, such as 'mean(ring-27, ring-33) - plain'; "
            "names with spaces, and names that are numbers, go in quotes. Several are judged together.",
        ),
    ],
    workspace: Workspace,
    campaign: CampaignName = None,
    as_json: AsJson = False,
) -> None:
    """Judge a difference between articles as you write it."""
    from strikeproof.desk.comparing.answers import ask_difference

    with progress("examining") as step:
        found = ask_difference(workspace, texts, campaign, step)
    _answer(found, as_json=as_json)


@asking.command()
def tools(
    workspace: Workspace,
    article: Annotated[
        str | None,
        typer.Option("--with", metavar="ARTICLE", help="Article to compare with, in place of the reference."),
    ] = None,
    campaign: CampaignName = None,
    as_json: AsJson = False,
) -> None:
    """Say which tool does most with the same article, and whether gains are the same with each tool."""
    from strikeproof.desk.comparing.answers import ask_tools

    with progress("examining") as step:
        found = ask_tools(workspace, article, campaign, step)
    _answer(found, as_json=as_json)


@asking.command()
def tool(
    name: Annotated[str, typer.Argument(metavar="TOOL", help="Name of the tool.")],
    workspace: Workspace,
    campaign: CampaignName = None,
    as_json: AsJson = False,
) -> None:
    """Show what one tool does: over articles, supplies and time, and among the other tools."""
    from strikeproof.desk.comparing.one_tool import ask_tool

    with progress("examining") as step:
        found = ask_tool(workspace, name, campaign, step)
    _answer(found, as_json=as_json)


@asking.command()
def product(
    specimens: Annotated[
        list[str],
        typer.Argument(metavar="ARTICLE...", help="Names of the specimens, two or more made alike."),
    ],
    workspace: Workspace,
    campaign: CampaignName = None,
    as_json: AsJson = False,
) -> None:
    """Judge a product by several specimens of it."""
    from strikeproof.desk.comparing.answers import ask_product

    with progress("examining") as step:
        found = ask_product(workspace, specimens, campaign, step)
    _answer(found, as_json=as_json)


@asking.command()
def change(
    before: Annotated[str, typer.Argument(metavar="BEFORE", help="The piece as it was.")],
    after: Annotated[str, typer.Argument(metavar="AFTER", help="The same piece after it was changed.")],
    workspace: Workspace,
    campaign: CampaignName = None,
    as_json: AsJson = False,
) -> None:
    """Say what a cut, a weld, wear or a repair did to one piece, and what else may have changed it."""
    from strikeproof.desk.comparing.answers import ask_change

    with progress("examining") as step:
        found = ask_change(workspace, before, after, campaign, step)
    _answer(found, as_json=as_json)


@asking.command()
def ageing(
    workspace: Workspace,
    article: Annotated[
        str | None,
        typer.Option("--with", metavar="ARTICLE", help="Article to follow instead of the reference."),
    ] = None,
    campaign: CampaignName = None,
    as_json: AsJson = False,
) -> None:
    """Say whether the score of the reference changes from run to run, with each tool."""
    from strikeproof.desk.comparing.answers import ask_ageing

    with progress("examining") as step:
        found = ask_ageing(workspace, article, campaign, step)
    _answer(found, as_json=as_json)


@asking.command()
def enough(
    workspace: Workspace,
    difference: Annotated[
        float | None,
        typer.Option(
            help="Difference not to be missed, in percent; without it the protocol's smallest difference, "
            "else the margin."
        ),
    ] = None,
    power: Annotated[float, typer.Option(help="How many of 100 campaigns are to show it.")] = 80.0,
    hour: Annotated[
        float | None, typer.Option(help="Price of an hour at the bench, in the campaign's currency.")
    ] = None,
    bolt: Annotated[float | None, typer.Option(help="Price of a test bolt.")] = None,
    campaign: CampaignName = None,
    as_json: AsJson = False,
) -> None:
    """Say how many blocks show a difference, with the scatter of your own runs, and what they cost."""
    from strikeproof.desk.comparing.answers import EnoughWishes, ask_enough

    with progress("examining") as step:
        found = ask_enough(workspace, EnoughWishes(difference, power / 100.0, hour, bolt), campaign, step)
    _answer(found, as_json=as_json)


@asking.command()
def elsewhere(
    workspace: Workspace,
    campaign: Annotated[
        list[str] | None, typer.Option(help="Name of a campaign to include; all without it. May be repeated.")
    ] = None,
    published: Annotated[
        list[Path] | None,
        typer.Option(
            help="File with a published summary, beside those in the workspace's folder published-summaries. "
            "May be repeated."
        ),
    ] = None,
    tool: Annotated[str | None, typer.Option(help="Include only what this tool did.")] = None,
    reference: Annotated[
        str | None, typer.Option(help="Article to compare with, in place of the first campaign's reference.")
    ] = None,
    calibrated: Annotated[
        bool, typer.Option("--calibrated", help="Leave out whatever is not calibrated.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Say whether results hold on other benches, and what one more bench would find."""
    from strikeproof.desk.comparing.elsewhere import ElsewhereWishes, ask_elsewhere

    wishes = ElsewhereWishes(
        tuple(campaign or ()), tuple(published or ()), tool, calibrated_only=calibrated, reference=reference
    )
    with progress("examining") as step:
        found = ask_elsewhere(workspace, wishes, step)
    if as_json:
        print_json(found)
        return
    _show(found.said, found.panel, found.lines())


def _show(said: Iterable[str], panel: Any, lines: Iterable[list[tuple[str, ...]]]) -> None:
    for text in said:
        show(text)
    for table, rows in zip(panel.tables, lines, strict=True):
        show(f"{table.caption}:")
        print_rows(rows)
    for text in panel.notes:
        show(text)


def _answer(found: Asking, *, as_json: bool) -> None:
    from strikeproof.desk.comparing.tables import rig_sentence

    if as_json:
        print_json(found)
        return
    for doubt in found.outcome.judged.doubts:
        show(f"IN DOUBT: {doubt}.")
    show(rig_sentence(found.outcome))
    if found.outcome.comparison.look:
        show(found.outcome.comparison.look)
    _show(found.said, found.panel, found.lines())
    for warning in found.outcome.warnings:
        say(f"! {warning}")
