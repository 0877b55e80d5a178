"""What the HTML documents are filled into: templates that escape all words from outside."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from strikeproof.publish.texts import tie

__all__ = ["find_template", "read_piece"]


def read_piece(name: str) -> str:
    """A style sheet or script that goes into a document as it is."""
    return files("strikeproof.publish").joinpath("templates", name).read_text(encoding="utf-8")


@cache
def find_template(name: str) -> Template:
    """The template of that name; a word missing when it is filled is a bug and shows itself."""
    place = Environment(
        loader=PackageLoader("strikeproof.publish"),
        autoescape=True,
        finalize=tie,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return place.get_template(name)
