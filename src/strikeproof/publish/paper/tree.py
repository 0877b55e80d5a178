"""A document of ours as a tree of elements: HTML parsed, its drawings and formulas left as they are."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Final

__all__ = ["Element", "parse_document"]

_WHOLE: Final = re.compile(r"<(svg|math)\b.*?</\1>", re.DOTALL)
_EMPTY: Final = frozenset(("meta", "br", "input", "kept", "link", "img", "hr"))


@dataclass(slots=True)
class Element:
    """An element with its attributes and what is in it; `kept` elements hold a drawing or formula as text."""

    tag: str
    attributes: dict[str, str] = field(default_factory=dict)
    inside: list[Element | str] = field(default_factory=list)
    kept: str = ""

    @property
    def classes(self) -> frozenset[str]:
        """Of the element."""
        return frozenset(self.attributes.get("class", "").split())

    @property
    def elements(self) -> Iterator[Element]:
        """Those directly inside."""
        return (each for each in self.inside if isinstance(each, Element))

    @property
    def text(self) -> str:
        """All words inside, blanks as a browser shows them."""
        words = (each if isinstance(each, str) else each.text for each in self.inside)
        return " ".join("".join(words).split())

    def find(self, *tags: str) -> Iterator[Element]:
        """Elements of these kinds inside, at any depth, in order."""
        for each in self.elements:
            if each.tag in tags:
                yield each
            yield from each.find(*tags)


class _Builder(HTMLParser):
    def __init__(self, kept: list[str]) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Element("document")
        self._open = [self.root]
        self._kept = kept

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = Element(tag, {name: value or "" for name, value in attrs})
        if tag == "kept":
            found.kept = self._kept[int(found.attributes["number"])]
        self._open[-1].inside.append(found)
        if tag not in _EMPTY:
            self._open.append(found)

    def handle_endtag(self, tag: str) -> None:
        places = [place for place, each in enumerate(self._open) if each.tag == tag and place]
        if places:
            del self._open[places[-1] :]

    def handle_data(self, data: str) -> None:
        self._open[-1].inside.append(data)


def parse_document(html: str) -> Element:
    """The tree of an HTML document; each drawing and formula is one element `kept`."""
    kept: list[str] = []

    def keep(found: re.Match[str]) -> str:
        kept.append(found[0])
        return f'<kept number="{len(kept) - 1}">'

    builder = _Builder(kept)
    builder.feed(_WHOLE.sub(keep, html))
    builder.close()
    return builder.root
