"""Formulas of a document in the language of the typesetter."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final
from xml.etree import ElementTree as Xml

from strikeproof.publish.paper.quoting import quoted

__all__ = ["set_formula"]

_OVER: Final = "¯"
_SIGNS: Final[Mapping[str, str]] = {
    ",": "comma",
    "(": "paren.l",
    ")": "paren.r",
    "|": "bar.v",
    "/": "slash",
    "−": "minus",
}


def set_formula(math: str) -> str:
    """A formula in MathML, as `$...$` of the typesetter with its words as alternative text."""
    root = Xml.fromstring(math)
    is_block = root.get("display") == "block"
    words = " ".join("".join(root.itertext()).split())
    block = "true" if is_block else "false"
    return f"#math.equation(block: {block}, alt: {quoted(words)}, ${_row(root)}$)"


def _row(element: Xml.Element) -> str:
    return " ".join(map(_set, element))


def _set(element: Xml.Element) -> str:
    text = (element.text or "").strip()
    children = [_set(each) for each in element]
    if element.tag in _TWO:
        return _TWO[element.tag](*children)
    if element.tag == "mi" and len(text) == 1:
        return text
    if element.tag == "mo":
        return _SIGNS.get(text, text)
    if element.tag == "mspace":
        return "quad" if float(element.get("width", "0").removesuffix("em")) > 0.5 else "thin"
    if element.tag in ("mi", "mn", "mtext"):
        return f"#{quoted(text)}"
    return " ".join(children)


def _over(base: str, above: str) -> str:
    return f"overline({base})" if above == _OVER else f"attach({base}, t: {above})"


_TWO: Final[Mapping[str, Callable[..., str]]] = {
    "msub": lambda base, low: f"attach({base}, b: {low})",
    "msup": lambda base, high: f"attach({base}, t: {high})",
    "msubsup": lambda base, low, high: f"attach({base}, b: {low}, t: {high})",
    "munder": lambda base, low: f"attach(limits({base}), b: {low})",
    "mover": _over,
    "munderover": lambda base, low, high: f"attach(limits({base}), b: {low}, t: {high})",
    "mfrac": lambda above, below: f"frac({above}, {below})",
}
