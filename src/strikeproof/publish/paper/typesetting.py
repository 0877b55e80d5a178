"""A document's tree in the language of the typesetter; how it looks is in `templates/paper.typ`.

Every word goes out as a quoted string, so that nothing in a campaign's texts is obeyed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Final

from strikeproof.publish.colours import COLOURS
from strikeproof.publish.documents import read_piece
from strikeproof.publish.paper.drawings import stand_alone
from strikeproof.publish.paper.formulas import set_formula
from strikeproof.publish.paper.quoting import quoted
from strikeproof.publish.paper.tables import set_table
from strikeproof.publish.paper.tree import Element, parse_document

__all__ = ["typeset"]

_LEFT_OUT: Final = frozenset(("script", "style", "nav", "input", "label", "output", "head"))
_SCREEN: Final = frozenset(("skip", "narrow", "screen"))
_BOXED: Final = {"banner": "banner", "notice": "notice", "stop": "stop", "sign": "signing"}
_WRAPPED: Final = {"strong": "strong", "b": "strong", "i": "emph", "small": "fine", "em": "emph"}
_HEADS: Final = {"h1": 1, "h2": 2, "h3": 3}


def typeset(html: str) -> str:
    """The whole source for the typesetter.

    Parameters
    ----------
    html
        A document that this program wrote.
    """
    root = parse_document(html)
    title = next((each.text for each in root.find("title")), "")
    language = next((each.attributes.get("lang", "en") for each in root.find("html")), "en")
    roles = "".join(f"{each.role}: rgb({quoted(each.light)}), " for each in COLOURS.values())
    shown = f"paper.with({quoted(title)}, language: {quoted(language)})"
    head = f"#let colours = ({roles})\n{read_piece('paper.typ')}\n#show: {shown}\n"
    body = next(root.find("body"), root)
    return head + _set_all(body) + "\n"


def _set_all(element: Element) -> str:
    return "".join(map(_set, element.inside))


def _set(each: Element | str) -> str:
    if isinstance(each, str):
        words = re.sub(r"[ \t\r\n]+", " ", each)
        return f"#{quoted(words)}" if words.strip() or words == " " else ""
    if each.tag in _LEFT_OUT or each.classes & _SCREEN or "hidden" in each.attributes:
        return ""
    if each.tag in _HEADS:
        return f"\n#heading(level: {_HEADS[each.tag]})[{_set_all(each)}]\n"
    if "new" in each.classes:
        return f"#mark[{_set_all(each)}]"
    if each.tag in _WRAPPED:
        return f"#{_WRAPPED[each.tag]}[{_set_all(each)}]"
    return _SETTERS.get(each.tag, _set_all)(each)


def _blocks(elements: Iterable[Element | str]) -> str:
    """What is in a place for blocks, where blanks between them mean nothing."""
    return "".join(_set(each) for each in elements if not (isinstance(each, str) and not each.strip()))


def _set_box(element: Element) -> str:
    inside = _blocks(element.inside)
    if "page" in element.classes:
        inside = f"\n#pagebreak(weak: true)\n{inside}"
    name = next((_BOXED[each] for each in element.classes if each in _BOXED), None)
    return f"\n#{name}[{inside}]\n" if name else inside


def _set_paragraph(element: Element) -> str:
    name = next((each for each in ("kind", "quiet") if each in element.classes), "plain")
    return f"\n#{name}[{_set_all(element)}]\n"


def _set_list(element: Element) -> str:
    items = "".join(f"[{_set_all(each)}], " for each in element.elements if each.tag == "li")
    if not items:
        return ""
    is_marked = "says" in element.classes or any("box" in each.classes for each in element.find("span"))
    kind = "enum(" if element.tag == "ol" else "list(marker: [], " if is_marked else "list("
    return f"\n#{kind}{items})\n"


def _pairs(element: Element) -> Iterator[tuple[Element, Element]]:
    found = list(element.find("dt", "dd"))
    return zip(found[::2], found[1::2], strict=False)


def _set_pairs(element: Element) -> str:
    name = "plate" if "plate" in element.classes else "pairs"
    items = "".join(f"([{_set_all(label)}], [{_set_all(value)}]), " for label, value in _pairs(element))
    return f"\n#{name}({items})\n" if items else ""


def _set_figure(element: Element) -> str:
    """A drawing with its title, never parted from it; a sheet of the workshop is one drawing."""
    title = next((each.text for each in element.find("figcaption")), "")
    holder = next((each for each in element.find("div") if "wideonly" in each.classes), element)
    drawn = next(holder.find("kept"), None)
    if drawn is None:
        return ""
    says = holder.attributes.get("aria-label", title)
    return f"\n#drawing({quoted(title)}, {quoted(says)}, {quoted(stand_alone(drawn.kept))})\n"


def _set_kept(element: Element) -> str:
    if element.kept.startswith("<math"):
        return set_formula(element.kept)
    role = re.search(r"v-([a-z]+)", element.kept.partition(">")[0])
    return f"#sign({quoted(stand_alone(element.kept, role[1] if role else None))})"


def _set_span(element: Element) -> str:
    role = next((each[2:] for each in element.classes if each.startswith("v-")), None)
    if "box" in element.classes:
        return f"#tick({quoted(element.text)})"
    return f"#text(fill: colours.{role})[{_set_all(element)}]" if role in COLOURS else _set_all(element)


def _set_code(element: Element) -> str:
    text = "".join(each for each in element.inside if isinstance(each, str))
    return f"#raw({quoted(text)})"


def _set_lines(element: Element) -> str:
    code = next(element.find("code"), element)
    text = "".join(each for each in code.inside if isinstance(each, str))
    return f"\n#raw({quoted(text)}, block: true)\n"


_SETTERS: Final[Mapping[str, Callable[[Element], str]]] = {
    **dict.fromkeys(("div", "section", "header", "main", "footer", "body", "details", "document"), _set_box),
    "p": _set_paragraph,
    "summary": lambda element: f"\n#caption[{_set_all(element)}]\n",
    **dict.fromkeys(("ul", "ol"), _set_list),
    "dl": _set_pairs,
    "figure": _set_figure,
    "kept": _set_kept,
    "span": _set_span,
    "code": _set_code,
    "pre": _set_lines,
    "br": lambda _: "#linebreak()",
    "table": lambda element: set_table(element, _set_all),
}
