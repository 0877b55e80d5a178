"""From a document to a PDF: tagged, its letters embedded, without a browser or a network."""

from __future__ import annotations

import tempfile
from importlib import import_module
from pathlib import Path
from typing import Any, Final

import matplotlib as mpl

from strikeproof.errors import BadInput
from strikeproof.publish.paper.typesetting import typeset

__all__ = ["write_pdf"]

_STANDARD: Final = "ua-1"
"""PDF/UA-1, ISO 14289-1: the typesetter refuses what could not be read aloud."""


def write_pdf(html: str) -> bytes:
    """A document that this program wrote, as a PDF; the same document gives the same bytes.

    Letters that the charts' own face does not have are taken from what the machine has.

    Raises
    ------
    BadInput
        If the typesetter is not installed, or a letter of the text is in no face of this machine.
    """
    try:
        typst: Any = import_module("typst")  # its own types take one kind of path where two are needed
    except ImportError as cause:
        raise BadInput(
            "the typesetter is not installed",
            where="PDF",
            allowed="the package typst",
            fix="install strikeproof[publish], or print the page from a browser",
        ) from cause
    source = typeset(html).encode()
    faces = str(Path(mpl.get_data_path()) / "fonts" / "ttf")
    with tempfile.TemporaryDirectory(prefix="strikeproof-") as nothing:
        for is_own in (True, False):
            try:
                made = typst.compile(
                    source,
                    root=nothing,
                    format="pdf",
                    font_paths=[faces],
                    ignore_system_fonts=is_own,
                    pdf_standards=[_STANDARD],
                )
            except typst.TypstError as wrong:
                problem = wrong
                continue
            return bytes(made)
    raise BadInput(
        f"it cannot be set: {problem.message}",
        where="PDF",
        allowed="letters that a font of this machine has",
        fix="install a font for them, or print the page from a browser",
    ) from problem
