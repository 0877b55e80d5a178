"""Drawings of a document, in light colours and in letters that go into the PDF."""

from __future__ import annotations

import re
from typing import Final

from strikeproof.publish.colours import COLOURS, light

__all__ = ["LETTERS", "stand_alone"]

LETTERS: Final = "DejaVu Sans"
"""The face that the charts are laid out with."""
_VARIABLE: Final = re.compile(r"var\(--([a-z]+)\)")
_SPACES: Final = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def stand_alone(svg: str, role: str | None = None) -> str:
    """A drawing of a document as a file of its own; `role` is the colour of what has that of the text."""
    body = _VARIABLE.sub(lambda found: light(found[1]) if found[1] in COLOURS else "#000000", svg)
    body = body.replace("font-family: inherit", f"font-family: '{LETTERS}'")
    body = re.sub(r"font: ([^;\"]*?) inherit", rf"font: \1 '{LETTERS}'", body)
    body = body.replace("currentColor", light(role if role in COLOURS else "ink"))
    opening, _, rest = body.partition(">")
    opening = re.sub(r'\sxmlns(:xlink)?="[^"]*"', "", opening)
    return f"{opening.replace('<svg', f'<svg {_SPACES}', 1)}>{rest}"
