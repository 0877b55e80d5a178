"""Commands that make films and title pictures over a person's own footage."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.course import progress
from strikeproof.cli.speaking import AsJson, CampaignName, Workspace, print_json, say, show

__all__ = ["film", "still"]

Format = Annotated[str, typer.Option("--format", help="16:9, 9:16 or 1:1.")]
LookName = Annotated[str, typer.Option("--look", help="dark or light.")]
Replace = Annotated[bool, typer.Option("--replace", help="Replace the file if there is one already.")]


@app.command()
def film(
    runs: Annotated[list[str], typer.Argument(help="One to four runs of a campaign, by their names.")],
    workspace: Workspace,
    out: Annotated[
        Path,
        typer.Option(
            "-o",
            "--out",
            help=".mp4; with --layer .mov (ProRes 4444), .webm (VP9) or a folder for PNG pictures.",
        ),
    ],
    video: Annotated[
        list[Path] | None,
        typer.Option("--video", help="Your own clip. May be repeated: one for each run, in the same order."),
    ] = None,
    layer: Annotated[
        bool, typer.Option("--layer", help="Without footage, on a transparent ground, for a video editor.")
    ] = False,
    shape: Format = "16:9",
    size: Annotated[int, typer.Option(help="Shorter side of the picture in pixels, 360 to 2160.")] = 1080,
    rate: Annotated[
        float | None, typer.Option(help="Pictures a second, up to 60. Default: as the clip; 30 for a layer.")
    ] = None,
    look: LookName = "dark",
    whole: Annotated[
        bool,
        typer.Option(
            "--whole", help="Show the complete footage between black bands, instead of filling the picture."
        ),
    ] = False,
    trim: Annotated[
        bool,
        typer.Option(
            "--trim", help="Only from 2 s before the first blow to the result, not all of the clip."
        ),
    ] = False,
    offset: Annotated[
        list[float] | None,
        typer.Option(help="Moment of the first blow in the clip, in seconds, where its sound does not say."),
    ] = None,
    clap: Annotated[
        list[str] | None,
        typer.Option(
            metavar="CLIP:TRACE", help="A clap that both show: seconds in the clip and in the trace."
        ),
    ] = None,
    campaign: CampaignName = None,
    replace: Replace = False,
    as_json: AsJson = False,
) -> None:
    """Draw runs over your own film: curve, score so far, blow marks, at the end the result with its interval.

    The blows in the clip's sound say where the run is. Where that is not sure it stops and asks for --offset
    or --clap. Captions (.vtt) and a description (.txt) come beside it. Stopped, it goes on where it was.
    """
    from strikeproof.desk.publishing.film.making import FilmWishes, make_film
    from strikeproof.desk.publishing.film.syncing import Mark, parse_clap

    if offset and clap:
        raise typer.BadParameter("give --offset or --clap, not both")
    marks = (*(Mark(each) for each in offset or ()), *(parse_clap(each) for each in clap or ()))
    wishes = FilmWishes(shape, size, rate, look, trim, whole, marks, layer)
    with progress("filming") as step:
        made = make_film(
            workspace,
            runs,
            out,
            wishes,
            clips=tuple(video or ()),
            campaign=campaign,
            replace_it=replace,
            progress=step,
        )
    for note in made.notes:
        say(f"! {note}")
    if as_json:
        print_json(made)
        return
    show(f"{made.place}: {made.length_s:.1f} s, {made.size / 1e6:.1f} MB, {made.kind}")
    show(f"captions {made.captions}, description {made.description}")


@app.command()
def still(
    workspace: Workspace,
    photo: Annotated[Path, typer.Option("--photo", help="Your photo: JPEG, PNG or WebP.")],
    out: Annotated[Path, typer.Option("-o", "--out", help="File to write; it ends in .png.")],
    article: Annotated[
        list[str] | None,
        typer.Option(help="Article to show. May be repeated; without it, all but the reference."),
    ] = None,
    tool: Annotated[
        str | None, typer.Option(help="Tool whose results are shown. Default: the first one.")
    ] = None,
    title: Annotated[str, typer.Option(help="Heading. Default: name of the campaign.")] = "",
    chart: Annotated[
        str,
        typer.Option(help="Chart of the report to show in place of the gains, such as run-order."),
    ] = "",
    shape: Format = "16:9",
    size: Annotated[int, typer.Option(help="Shorter side of the picture in pixels, 360 to 2160.")] = 1080,
    look: LookName = "dark",
    campaign: CampaignName = None,
    replace: Replace = False,
    as_json: AsJson = False,
) -> None:
    """Make a title picture: your photo, and over it each gain with its verdict and interval, or a chart.

    A description of it (.txt) comes beside it. Where runs are simulated, it says so.
    """
    from strikeproof.desk.publishing.film.picturing import StillWishes, make_still

    wishes = StillWishes(shape, size, look, tuple(article or ()), tool, title, chart)
    made = make_still(workspace, photo, out, wishes, campaign=campaign, replace_it=replace)
    if as_json:
        print_json(made)
        return
    show(f"{made.place}: {made.size / 1e6:.1f} MB; description {made.description}")
