"""What the HTML documents are filled into: templates that escape all words from outside."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from strikeproof.language import language_now, say, say_many
from strikeproof.publish.texts import tie

__all__ = ["find_template", "read_piece", "say_marked"]


def read_piece(name: str) -> str:
    """A style sheet or script that goes into a document as it is."""
    return files("strikeproof.publish").joinpath("templates", name).read_text(encoding="utf-8")


def say_marked(template: str, **facts: object) -> Markup:
    """A sentence some facts of which are markup, such as a symbol in a formula; all else is escaped."""
    return Markup.escape(say(template)).format(**{name: tie(fact) for name, fact in facts.items()})


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
    place.globals |= {"say": say, "say_many": say_many, "say_marked": say_marked, "language": language_now}
    return place.get_template(name)
