"""Commands that publish a campaign with everything it rests on, and compute what others published again."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.course import progress
from strikeproof.cli.speaking import (
    AsJson,
    CampaignName,
    Language,
    Workspace,
    print_json,
    print_rows,
    read_language,
    say,
    show,
)
from strikeproof.language import speaking

__all__ = ["bundle", "paper", "recompute", "replicate", "shelf"]


@app.command()
def bundle(
    workspace: Workspace,
    out: Annotated[Path, typer.Option("-o", "--out", help="File to write; it ends in .zip.")],
    campaign: CampaignName = None,
    licence: Annotated[
        str,
        typer.Option(help="What others may do with it, as an SPDX identifier such as CC-BY-4.0. No default."),
    ] = "",
    author: Annotated[
        list[str] | None,
        typer.Option(help="Name of an author to cite. May be repeated; without it, anonymous."),
    ] = None,
    photo: Annotated[
        list[Path] | None, typer.Option(help="Picture to include: JPEG, PNG or WebP. May be repeated.")
    ] = None,
    strip: Annotated[
        bool,
        typer.Option(
            "--strip", help="Take out what may be personal: remarks, operators, metadata of photos, sounds."
        ),
    ] = False,
    keep: Annotated[
        bool, typer.Option("--keep", help="Publish what may be personal as it is, after you have seen it.")
    ] = False,
    date: Annotated[
        str | None, typer.Option(help="Date to write into the bundle, such as 2026-05-04. Default: today.")
    ] = None,
    sign: Annotated[
        Path | None, typer.Option(help="Your SSH key: a signature is written beside the bundle.")
    ] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace the file if there is one already.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Pack a campaign with logs, results and page into one file that anybody can compute again.

    The results in it are computed from the logs in it before it is written. If it contains
    personal data, it stops and lists them, until --strip or --keep is given.
    """
    from strikeproof.desk.publishing.bundle import signing
    from strikeproof.desk.publishing.bundle.making import BundleWishes, PersonalData, make_bundle

    if strip and keep:
        raise typer.BadParameter("--strip takes out what --keep publishes: give one of them")
    if sign is not None:
        signing.check_signing(out, sign, replace=replace)
    wishes = BundleWishes(
        licence=licence or _ask_licence(),
        authors=tuple(author or ()),
        personal="strip" if strip else "keep" if keep else "ask",
        photos=tuple(photo or ()),
        made=date,
    )
    try:
        with progress("computing") as step:
            outcome = make_bundle(workspace, out, wishes, name=campaign, replace=replace, progress=step)
    except PersonalData as found:
        for item in found.items:
            say(f"? {item}")
        raise
    signature = signing.sign_bundle(outcome.place, sign) if sign is not None else None
    for note in outcome.notes:
        say(f"! {note}")
    if signature is None and signing.signature_of(outcome.place).exists():
        say(f"! {signing.signature_of(outcome.place).name} is of an earlier bundle and does not fit this one")
    if as_json:
        print_json(outcome)
        return
    taken = "taken out" if outcome.stripped else "published"
    show(f"{outcome.place}: {outcome.files} files, {outcome.size / 1e6:.1f} MB")
    show(f"SHA-256 {outcome.sha256}")
    if signature is not None:
        show(f"{signature}: signed, publish it with the bundle and your public key")
    if outcome.personal:
        show(f"{len(outcome.personal)} things that may be personal were {taken}")
    show(f"to compute it again: {outcome.command}")


def _ask_licence() -> str:
    """Ask a person at a terminal; nobody else gets one chosen for them."""
    from strikeproof.desk.publishing.bundle.choices import licence_choices

    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return ""
    for spdx, says in licence_choices():
        say(f"  {spdx:<20} {says}")
    return str(typer.prompt("Licence", err=True))


@app.command()
def recompute(
    file: Annotated[Path, typer.Argument(help="The bundle, as somebody published it.")],
    signed_by: Annotated[
        Path | None,
        typer.Option(
            help="Public SSH key of its author, or a list of signers: the signature must be theirs."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Compute everything in a bundle again from its logs, and say table by table what agrees.

    Nothing in the bundle is run, and no workspace of yours is touched. Exit code 0: all that was
    computed again agrees; the last line says what was not compared. 1: the signature asked for does not fit,
    a file was changed or a result differs. 2: it cannot be computed at all.
    """
    from strikeproof.desk.publishing.bundle import signing
    from strikeproof.desk.publishing.bundle.recomputing import recompute_bundle
    from strikeproof.desk.publishing.bundle.words import agreement_lines

    signer = None
    if signed_by is not None:
        try:
            signer = signing.verify_bundle(file, signed_by)
        except signing.BadSignature as wrong:
            say(f"! {wrong.problem}; {wrong.fix}")
            raise typer.Exit(1) from wrong
    with progress("computing") as step:
        outcome = recompute_bundle(file, step)
    if as_json:
        print_json(outcome if signer is None else outcome.as_json() | {"signed_by": signer})
    else:
        if signer is not None:
            show(f"signed by {signer.name}, key {signer.fingerprint}")
        for line in agreement_lines(outcome):
            show(line)
    raise typer.Exit(outcome.exit_code)


@app.command()
def replicate(
    file: Annotated[Path, typer.Argument(help="The bundle, as somebody published it.")],
    into: Annotated[
        Path | None, typer.Option("--into", help="Folder to make, with the plan of your own campaign.")
    ] = None,
    repeats: Annotated[
        int | None, typer.Option(help="Runs of each article with each tool. Default: as many as theirs.")
    ] = None,
    workspace: Annotated[
        Path | None, typer.Option("-w", "--workspace", help="Workspace with your own runs, to compare them.")
    ] = None,
    campaign: CampaignName = None,
    as_json: AsJson = False,
) -> None:
    """Repeat the campaign of a bundle on your own bench, and see whether both benches agree.

    First, --into FOLDER makes the plan: their articles, tools and protocol in a new random order, and where
    your gains are to be expected. When your runs are loaded, -w compares: the En score of ISO 13528 and the
    expected range, article by article. Nothing in the bundle is run; its results are computed again.
    """
    from strikeproof.desk.publishing import replicating

    if (into is None) == (workspace is None):
        raise typer.BadParameter("give --into FOLDER to plan, or -w WORKSPACE to compare")
    with progress("computing") as step:
        if into is not None:
            planned = replicating.plan_replication(file, into, repeats=repeats, progress=step)
        elif workspace is not None:
            outcome = replicating.compare_with_bundle(file, workspace, name=campaign, progress=step)
    if as_json:
        print_json(planned if into is not None else outcome)
    elif into is not None:
        for note in planned.notes:
            say(note)
        show(f"{planned.folder / 'campaign.toml'}: {len(planned.plan.runs)} runs")
        for line in replicating.expected_lines(planned):
            show(line)
    else:
        print_rows(replicating.replication_lines(outcome))
        for line in replicating.replication_sentences(outcome):
            say(line)


@app.command()
def paper(
    what: Annotated[
        str, typer.Argument(help="page, certificate or run-sheet; or an .html file such as a workshop sheet.")
    ],
    out: Annotated[Path, typer.Option("-o", "--out", help="File to write; it ends in .pdf.")],
    workspace: Annotated[
        Path | None, typer.Option("-w", "--workspace", help="Folder of the workspace.")
    ] = None,
    campaign: CampaignName = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace the file if there is one already.")
    ] = False,
    language: Language = "en",
) -> None:
    """Write a document as PDF for print and for screen readers, without a browser or a network.

    The certificate is one campaign on two pages: what, how, result, uncertainty, and room to sign.
    """
    from strikeproof.desk.publishing.paper import write_paper

    with speaking(read_language(language)), progress("computing") as step:
        made = write_paper(what, out, workspace, name=campaign, replace=replace, progress=step)
    show(f"{made.place}: {made.size / 1e3:.0f} kB")


@app.command()
def shelf(
    source: Annotated[
        str,
        typer.Argument(
            metavar="FOLDER|ADDRESS",
            help="Folder with bundles; folders within it are searched, too. Or an http(s) address: a shelf, "
            "or a listing of bundles.",
        ),
    ],
    out: Annotated[
        Path | None, typer.Option("-o", "--out", help="Folder of the site. Default: 'shelf' in the folder.")
    ] = None,
    title: Annotated[str, typer.Option(help="Title of the site. Default: name of the folder.")] = "",
    include: Annotated[
        list[str] | None,
        typer.Option(help="index.json of another shelf, as a file or an http(s) address. May be repeated."),
    ] = None,
    signed_by: Annotated[
        Path | None,
        typer.Option(help="Public SSH key, or a list of signers, to verify signatures beside the bundles."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Build a site over a folder of bundles: articles, benches, tools by class, results, search; plain files.

    Results are listed as the bundles state them, each under its own bench, and never ranked across benches.
    """
    from strikeproof.desk.publishing.shelf.building import build_shelf

    with progress("reading") as step:
        built = build_shelf(
            source, out, title=title, include=include or (), signed_by=signed_by, progress=step
        )
    for address in built.fetched:
        say(f"asked for {address}")
    for problem in built.problems:
        say(f"! {problem}")
    if as_json:
        print_json(built)
        return
    also = f" and {built.included} of other shelves" if built.included else ""
    site = f"{built.files} files, {built.size / 1e6:.1f} MB"
    show(f"{built.place / 'index.html'}: {built.bundles} bundles{also}, {site}")
