"""Templates of the front: markup filled in, with all words from outside escaped."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from strikeproof.language import retold
from strikeproof.quantity import unit_label
from strikeproof.web.glossary import linked
from strikeproof.web.look import asset

__all__ = ["begun", "render", "tied"]

_WORD = re.compile(r"[a-z]+[ ,;.]|[a-z]+$")
_PERCENT = re.compile(r"(?<=\d) %")


def tied(text: str) -> str:
    """Text whose percent signs stay on the line of their number."""
    return _PERCENT.sub("\u00a0%", text)


def begun(text: str) -> str:
    """Text with a large letter first where it begins with a word; a name, such as before a colon, stays as
    it is written."""
    return text[:1].upper() + text[1:] if _WORD.match(text) else text


def _spoken(value: Any) -> Any:
    text = retold(value)
    return tied(text) if isinstance(text, str) and not hasattr(text, "__html__") else text


def render(name: str, **facts: Any) -> str:
    """A template of `web/templates`, filled; a word that is missing is a bug and shows itself."""
    return _environment().get_template(f"{name}.html").render(**facts)


@cache
def _environment() -> Environment:
    made = Environment(
        loader=PackageLoader("strikeproof.web"),
        autoescape=True,
        finalize=_spoken,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["unit_label"] = unit_label
    made.filters["linked"] = lambda label: Markup(linked(tied(label))) if isinstance(label, str) else label
    made.filters["sentence"] = lambda text: begun(str(text))
    made.globals["asset"] = asset
    return made
