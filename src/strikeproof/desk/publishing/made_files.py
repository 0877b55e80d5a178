"""Where the browser leaves what was made to be given away; wakes nothing that makes it."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from strikeproof.desk.workspace.places import folder_word
from strikeproof.errors import NotFound

__all__ = ["PAPERS", "SHELF", "bundle_file", "paper_file"]

SHELF: Final = "published-shelf.zip"
"""In the workspace: the site over all bundles, and the bundles, as one file."""
PAPERS: Final = ("certificate", "page", "run-sheet")
_PUBLISHED: Final = "published"


def bundle_file(workspace: Path, campaign: str) -> Path:
    """Where a campaign's bundle lies, whether it is there or not."""
    return workspace / _PUBLISHED / f"{folder_word(campaign)}.zip"


def paper_file(workspace: Path, campaign: str, what: str) -> Path:
    """Where a document of a campaign lies as PDF, whether it is there or not.

    Raises
    ------
    NotFound
        If there is no such document.
    """
    if what not in PAPERS:
        raise NotFound("document", what, PAPERS)
    return workspace / _PUBLISHED / f"{folder_word(campaign)}-{what}.pdf"
