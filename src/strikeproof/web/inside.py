"""Paths that stay inside a folder, whatever name came from outside."""

from __future__ import annotations

from pathlib import Path

from strikeproof.errors import BadInput

__all__ = ["inside"]


def inside(folder: Path, name: str) -> Path:
    """The path of `name` in `folder`, links followed.

    Raises
    ------
    BadInput
        If it is empty or leads out of the folder.
    """
    try:
        path = (folder / name).resolve()
        fits = bool(name.strip()) and path.is_relative_to(folder.resolve()) and path != folder.resolve()
    except (OSError, ValueError):  # a name with a null letter, or a ring of links
        fits = False
    if not fits:
        raise BadInput(
            f"{name!r} is not inside",
            where=str(folder),
            allowed="the name of something in this folder",
            fix="choose one of those that are listed",
        )
    return path
