"""The command that cuts a log of several runs."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.speaking import AsJson, print_json, print_rows, say, show

__all__ = ["cut"]

_WHY = {
    "first": "",
    "time": "the time begins again",
    "number": "the run's number changes",
    "pause": "after a pause",
}


@app.command()
def cut(
    log: Annotated[Path, typer.Argument(help="Log that holds several runs one after another.")],
    runs: Annotated[
        list[str] | None,
        typer.Argument(help="Names of its runs in their order, as on the run sheet; - leaves one out."),
    ] = None,
    write: Annotated[
        bool,
        typer.Option("--write", help="Write a log for each run; without this option they are only shown."),
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", help="Folder for the new logs; left out, the folder of the log."),
    ] = None,
    rate: Annotated[
        float | None, typer.Option("--rate", help="Samples a second, where the log states none. [Hz]")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Show the runs that a log holds one after another; cut it into a log for each. The log itself stays."""
    from strikeproof.desk.loading.cutting import cut_log

    found = cut_log(log, runs or (), out=out, write=write, sample_rate_hz=rate)
    if as_json:
        print_json(found)
        return
    if len(found.pieces) < 2:
        show(f"{log} holds one run; there is nothing to cut")
        return
    rows = [
        (
            str(i),
            f"{piece.first_line} to {piece.last_line}",
            str(piece.samples),
            f"{piece.duration_s:.4g} s",
            ""
            if piece.largest is None
            else f"{piece.channel} {piece.largest:.4g} {piece.unit or ''}".strip(),
            _WHY[piece.begins],
            "left out" if target is None else target.name,
        )
        for i, (piece, target) in enumerate(zip(found.pieces, found.targets, strict=True), start=1)
    ]
    print_rows([("run", "lines", "samples", "lasts", "largest", "begins where", "file"), *rows])
    if found.written:
        say("the log itself stays; name each file on its run's line of the run sheet, in the column log")
        return
    say(f"nothing is written yet; if these are the runs: {_command(log, runs or (), out, rate)}")


def _command(log: Path, runs: Sequence[str], out: Path | None, rate: float | None) -> str:
    """The command that writes; what begins with a minus would else be read as an option."""
    named = [str(log), *runs]
    options = ["--write", *(["-o", str(out)] if out else []), *(["--rate", f"{rate!r}"] if rate else [])]
    if any(each.startswith("-") and each != "-" for each in named):
        return shlex.join(["strikeproof", "cut", *options, "--", *named])
    return shlex.join(["strikeproof", "cut", *named, *options])
