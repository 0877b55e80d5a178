"""The pages of a shelf: a page per campaign, article, bench and class of tools, lists, search, and an index.

No page sets results of several benches in an order: they are listed by name, each under its own bench, with
what it was compared with there.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, get_args
from urllib.parse import quote

from strikeproof.judge.records import Verdict
from strikeproof.plain_text import escape_json
from strikeproof.publish.colours import theme_css
from strikeproof.publish.documents import find_template, read_piece
from strikeproof.publish.shelf.records import FORM, ShelfEntry, ShelfResult
from strikeproof.publish.texts import count, file_word
from strikeproof.publish.verdicts import SIGNS
from strikeproof.quantity import write_percent

__all__ = ["INDEX", "write_site"]

INDEX: Final = "index.json"
_ON_A_PAGE: Final = 500
_NEWEST: Final = 25
_SIGNS: Final = {str(verdict): SIGNS[verdict] for verdict in get_args(Verdict)}


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of a list: address from the root of the site, what it is called, and what else is said."""

    address: str
    name: str
    says: str
    simulated: bool = False


@dataclass(frozen=True, slots=True)
class _Frame:
    """What every page of one shelf shares: its title, and the names of its style, script and search list."""

    title: str
    style: str
    script: str
    search: str
    parts: tuple[tuple[str, str], ...]

    def page(self, template: str, address: str, **given: Any) -> tuple[str, str]:
        root = "../" * address.count("/")
        return address, find_template(template).render(frame=self, root=root, count=count, **given)


def write_site(title: str, entries: Sequence[ShelfEntry], bundles: str = "") -> Iterator[tuple[str, str]]:
    """Address and content of every file; the same entries give the same files.

    Parameters
    ----------
    title
        Of the shelf.
    entries
        Each bundle once.
    bundles
        Where their folder is, seen from the site, such as "../"; without it nothing links to them.
    """
    entries = sorted(entries, key=lambda each: (each.campaign.casefold(), each.made, each.sha256))
    articles = _grouped(entries, lambda each: each.articles)
    benches = _grouped(entries, lambda each: (each.bench,))
    kinds = _grouped(entries, lambda each: {tool.kind for tool in each.tools})
    search = _search(entries)
    style, script = theme_css() + read_piece("shelf.css"), read_piece("shelf.js")
    names = _hashed("style", "css", style), _hashed("shelf", "js", script), _hashed("search", "js", search)
    lists: list[tuple[str, str, list[_Line]]] = [
        ("campaigns", "Campaigns", [_line(each) for each in entries]),
        ("articles", "Articles", [_group_line("article", name, of) for name, of in articles.items()]),
        ("benches", "Benches", [_group_line("bench", name, of) for name, of in benches.items()]),
        ("tools", "Tools by class", [_group_line("tool", name, of) for name, of in kinds.items()]),
    ]
    parts = tuple((f"{key}.html", f"{heading} ({len(lines)})") for key, heading, lines in lists)
    frame = _Frame(title, *names, parts)
    yield from zip(names, (style, script, search), strict=True)
    newest = sorted(entries, key=lambda each: each.made, reverse=True)[:_NEWEST]
    yield frame.page("shelf-front.html", "index.html", newest=list(map(_line, newest)), entries=len(entries))
    for key, heading, lines in lists:
        yield from _list_pages(frame, key, heading, lines)
    for entry in entries:
        yield frame.page("shelf-campaign.html", f"campaign/{entry.key}.html", **_campaign(entry, bundles))
    for kind, groups in (("article", articles), ("bench", benches), ("tool", kinds)):
        for name, of in groups.items():
            yield frame.page("shelf-group.html", _address(kind, name), **_group(kind, name, of))
    yield INDEX, _index(title, entries)


def _grouped(entries: Iterable[ShelfEntry], of: Any) -> dict[str, list[ShelfEntry]]:
    """By name, as alphabets order it."""
    groups: dict[str, list[ShelfEntry]] = defaultdict(list)
    for each in entries:
        for name in of(each):
            groups[name].append(each)
    return dict(sorted(groups.items(), key=lambda each: (each[0].casefold(), each[0])))


def _hashed(name: str, ending: str, content: str) -> str:
    return f"{name}-{hashlib.sha256(content.encode()).hexdigest()[:12]}.{ending}"


def _address(kind: str, name: str) -> str:
    """Two names never share an address, however alike they are written."""
    digest = hashlib.sha256(name.encode()).hexdigest()[:10]
    return f"{kind}/{file_word(name)[:40]}-{digest}.html"


def _line(entry: ShelfEntry) -> _Line:
    others = len(entry.articles) - 1
    says = f"{entry.bench}, {count(others, 'article')} against {entry.reference}, {entry.made}"
    return _Line(f"campaign/{entry.key}.html", entry.campaign, says, entry.simulated)


def _group_line(kind: str, name: str, entries: Sequence[ShelfEntry]) -> _Line:
    simulated = all(each.simulated for each in entries)
    return _Line(_address(kind, name), name, count(len(entries), "campaign"), simulated)


def _list_pages(frame: _Frame, key: str, heading: str, lines: Sequence[_Line]) -> Iterator[tuple[str, str]]:
    starts = range(0, max(len(lines), 1), _ON_A_PAGE)
    names = [f"{key}.html" if not at else f"{key}-{at // _ON_A_PAGE + 1}.html" for at in starts]
    firsts = [lines[at].name if lines else "" for at in starts]
    pages = list(zip(names, firsts, strict=True))
    for at, name in zip(starts, names, strict=True):
        shown = lines[at : at + _ON_A_PAGE]
        yield frame.page("shelf-list.html", name, heading=heading, lines=shown, pages=pages, here=name)


def _campaign(entry: ShelfEntry, bundles: str) -> dict[str, Any]:
    return {
        "entry": entry,
        "tables": [(tool, list(_rows(entry, tool))) for tool in dict.fromkeys(r.tool for r in entry.results)],
        "bench": _address("bench", entry.bench),
        "kinds": [(tool.name, tool.kind, _address("tool", tool.kind)) for tool in entry.tools],
        "bundle": quote(f"{bundles}{entry.file}") if bundles and not entry.shelf else "",
    }


def _rows(entry: ShelfEntry, tool: str) -> Iterator[dict[str, Any]]:
    for each in entry.results:
        if each.tool == tool:
            yield {"name": each.article, "address": _address("article", each.article), **_said(each)}


def _said(result: ShelfResult) -> dict[str, Any]:
    sign = _SIGNS.get(result.verdict, SIGNS["cannot tell"])
    return {"sign": sign, "gain": _gain(result), "runs": result.runs}


def _gain(result: ShelfResult) -> str:
    if result.verdict == "reference":
        return "–"
    low, high = result.low_percent, result.high_percent
    middle = write_percent(result.gain_percent)
    return (
        middle if low is None or high is None else f"{middle} ({write_percent(low)} to {write_percent(high)})"
    )


def _group(kind: str, name: str, entries: Sequence[ShelfEntry]) -> dict[str, Any]:
    """By bench, then by campaign; of an article its results in each."""
    by_bench = _grouped(entries, lambda each: (each.bench,))
    return {
        "kind": kind,
        "name": name,
        "benches": [
            (bench, _address("bench", bench), [_group_entry(kind, name, each) for each in of])
            for bench, of in by_bench.items()
        ],
    }


def _group_entry(kind: str, name: str, entry: ShelfEntry) -> dict[str, Any]:
    results = [each for each in entry.results if kind == "article" and each.article == name]
    tools = [tool.name for tool in entry.tools if kind == "tool" and tool.kind == name]
    return {
        "line": _line(entry),
        "entry": entry,
        "tools": tools,
        "rows": [{"tool": each.tool, **_said(each)} for each in results],
    }


def _search(entries: Sequence[ShelfEntry]) -> str:
    """Lines that the script looks through: address, name, and the rest of the words."""
    lines = [
        [
            each.key,
            f"{'SIMULATED ' if each.simulated else ''}{each.campaign}",
            " · ".join((each.bench, *each.articles, *(f"{tool.name} ({tool.kind})" for tool in each.tools))),
        ]
        for each in entries
    ]
    body = escape_json(json.dumps(lines, ensure_ascii=False, separators=(",", ":")))
    return f"window.shelfLines={body.replace('<', chr(92) + 'u003c')};\n"


def _index(title: str, entries: Sequence[ShelfEntry]) -> str:
    body: Mapping[str, Any] = {"form": FORM, "shelf": title, "entries": [each.as_json() for each in entries]}
    return escape_json(json.dumps(body, ensure_ascii=False, separators=(",", ":"))) + "\n"
