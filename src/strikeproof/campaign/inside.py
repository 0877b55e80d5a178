"""The files that a campaign names lie in its own folder, wherever the campaign came from."""

from __future__ import annotations

from pathlib import Path, PureWindowsPath

from strikeproof.errors import BadFile, Problem

__all__ = ["path_inside"]


def path_inside(
    folder: Path, *names: str, key: str, file: Path | None = None, line: int | None = None
) -> Path:
    """Where a file of a campaign is; every path that a campaign names is found here, whatever for.

    Parameters
    ----------
    folder
        The campaign's.
    names
        As the campaign gives it, from that folder; the last one of several, each from the one before.
    key, file, line
        Where it is given, for the problem; `file` is the campaign.toml when None.

    Raises
    ------
    BadFile
        If it is absolute, goes up by `..`, or a link on its way leads out of the folder.
    """
    path = folder.joinpath(*names)
    if any(map(_goes_out, names)) or not _ends_inside(folder, path):
        problem = f"{key}: {names[-1]!r} leads out of the campaign's folder"
        fix = "put the file into the campaign folder, and name it from there"
        raise BadFile([Problem(str(file or folder / "campaign.toml"), line, problem, fix)])
    return path


def _goes_out(name: str) -> bool:
    given = PureWindowsPath(name)  # knows both kinds of stroke
    return bool(given.anchor) or ".." in given.parts


def _ends_inside(folder: Path, path: Path) -> bool:
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):  # links in a circle; a name that no file can have
        return False
