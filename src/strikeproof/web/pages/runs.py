"""Every run of a campaign: filtered, sorted, a hundred at a time."""

from __future__ import annotations

import asyncio
import json
from dataclasses import dataclass, replace
from html import escape
from urllib.parse import urlencode

from nicegui import ui
from nicegui.element import Element

from strikeproof.desk.runs.flag_words import flag_words
from strikeproof.desk.runs.run_list import SORTS, Choice, RunLine, RunList, find_run_list, make_run_list
from strikeproof.errors import StoreError
from strikeproof.quantity import write_number
from strikeproof.web.elements import (
    Cell,
    Drawn,
    button,
    field,
    html,
    notes,
    on_value,
    select,
    table_markup,
    tag,
)
from strikeproof.web.frame import View, nothing_yet, page
from strikeproof.web.site import Site
from strikeproof.web.working import fill

__all__ = ["register"]

_AT_ONCE = 100
_HEADS = (
    ("run", "Run"),
    ("order", "Order"),
    ("article", "Article"),
    ("tool", "Tool"),
    ("block", "Block"),
    ("score", "Score"),
    ("blow_rate_hz", "Blows a second"),
    ("flags", "Flags, reasons, notes"),
)


def register(site: Site) -> None:
    """Make the page's route."""

    @page(site, "/runs", "Runs")
    async def runs(
        view: View,
        words: str = "",
        article: str = "",
        tool: str = "",
        only: str = "",
        sort: str = "order",
        down: str = "",
        first: int = 0,
    ) -> None:
        if view.campaign is None:
            nothing_yet(view, "No runs yet", "Load a campaign folder, or record runs at the rig.")
            return
        choice = Choice(
            words=words,
            article=article,
            tool=tool,
            only_set_aside=only == "aside",
            only_flagged=only == "flagged",
            sort=sort if sort in SORTS else "order",
            down=bool(down),
        )

        def show(found: RunList) -> None:
            _Listing(view, found, choice, max(first, 0)).show()

        kept = await asyncio.to_thread(find_run_list, site.workspace, view.campaign)
        if kept is not None:
            show(kept)
            return
        await fill("Scoring the runs", show, make_run_list, site.workspace, view.campaign)


@dataclass
class _Listing:
    """The list on one page and what its person has chosen."""

    view: View
    found: RunList
    choice: Choice
    first: int

    def show(self) -> None:
        if not self.found.lines:
            raise StoreError(
                "the campaign has no runs yet", "record some, or add them to its sheet and load it"
            )
        notes(self.found.warnings, "What limits these scores")
        with tag("div", classes="bar", role="search", aria_label="Find runs"):
            find = field("Find", self.choice.words, kind="search", placeholder="article, flag, note")
            on_value(find, lambda text: self.change(words=text), "input", 0.2)
            self._pick("Article", "article", self.found.articles)
            self._pick("Tool", "tool", self.found.tools)
            shown = "aside" if self.choice.only_set_aside else "flagged" if self.choice.only_flagged else ""
            options = [("", "All runs"), ("flagged", "Flagged"), ("aside", "Excluded")]
            on_value(
                select("Show", options, shown),
                lambda text: self.change(only_set_aside=text == "aside", only_flagged=text == "flagged"),
            )
        self.count = tag("p", "", "quiet", role="status")
        self.place = html("", classes="scroll")
        self.place.props["role"], self.place.props["tabindex"] = "region", 0
        self.place.props["aria-label"] = "Runs"
        self.place.on(
            "click",
            lambda event: self.sort_by(str(event.args)),
            js_handler="(e) => { const b = e.target.closest('[data-sort]'); if (b) emit(b.dataset.sort); }",
        )
        with tag("div", classes="bar"):
            self.earlier = button("Previous 100", lambda: self.turn(-_AT_ONCE))
            self.later = button("Next 100", lambda: self.turn(_AT_ONCE))
        self.draw()

    def _pick(self, label: str, name: str, known: tuple[str, ...]) -> None:
        options = [("", "All"), *((each, each) for each in known)]
        element = select(label, options, getattr(self.choice, name))
        on_value(element, lambda text: self.change(**{name: text}))

    def change(self, **how: object) -> None:
        self.choice, self.first = replace(self.choice, **how), 0  # type: ignore[arg-type]  # fields of the record
        self.draw(tell=True)

    def sort_by(self, name: str) -> None:
        if name in SORTS:
            self.change(sort=name, down=self.choice.sort == name and not self.choice.down)

    def turn(self, by: int) -> None:
        self.first = max(self.first + by, 0)
        self.draw(tell=True)

    def draw(self, *, tell: bool = False) -> None:
        lines = self.found.pick(self.choice)
        self.first = min(self.first, max(len(lines) - 1, 0) // _AT_ONCE * _AT_ONCE)
        shown = lines[self.first : self.first + _AT_ONCE]
        self.place.set_content(self._table(shown) if shown else "<p>No run fits. Remove a filter.</p>")
        total = f"{len(lines)} of {len(self.found.lines)} runs" if len(lines) < len(self.found.lines) else ""
        part = (
            f"{self.first + 1} to {self.first + len(shown)} of {len(lines)}" if len(lines) > _AT_ONCE else ""
        )
        text = ", ".join(each for each in (total, part) if each) or f"{len(lines)} runs"
        self.count._text = text
        self.count.update()
        for element, off in (
            (self.earlier, self.first == 0),
            (self.later, self.first + _AT_ONCE >= len(lines)),
        ):
            _disable(element, off)
            element.set_visibility(len(lines) > _AT_ONCE)
        if tell:
            ui.run_javascript(f"history.replaceState(null, '', {json.dumps(self._address())})")

    def _table(self, lines: tuple[RunLine, ...]) -> str:
        factor, label = self.view.units.scale(self.found.unit)
        heads = [
            Drawn(f'<button type="button" data-sort="{key}">{_headed(key, text, label)}</button>')
            for key, text in _HEADS
        ]
        rows = [self._row(line, factor) for line in lines]
        place = [key for key, _text in _HEADS].index(self.choice.sort)
        return table_markup(
            heads,
            rows,
            caption=f"Runs of {self.found.campaign}",
            numbers=(1, 5, 6),
            row_classes=["aside" if line.row.set_aside is not None else "" for line in lines],
            sorted_by=(place, self.choice.down),
            labels=[f"{text} [{label}]" if key == "score" else text for key, text in _HEADS],
        )

    def _row(self, line: RunLine, factor: float) -> tuple[Cell, ...]:
        reason = line.row.set_aside or ""
        said = [f"excluded: {reason}"] if line.row.set_aside is not None else []
        said += [word for word in map(flag_words, line.flags) if word not in reason]
        said += [line.row.note] if line.row.note else []
        mark = "○\u00a0" if line.row.set_aside is not None else ""
        return (
            (mark + line.row.run, self.view.to("/run", run=line.row.run)),
            str(line.order),
            line.row.article,
            line.row.tool,
            line.row.block,
            _score(line, factor) + (" (only a ratio)" if self._is_ratio(line) else ""),
            write_number(line.blow_rate_hz, 3),
            "; ".join(said),
        )

    def _is_ratio(self, line: RunLine) -> bool:
        """Whether a score among calibrated ones is none of them: of an excluded run beyond their range."""
        return line.only_ratio is not None and self.found.plain is None and line.score is not None

    def _address(self) -> str:
        choice = self.choice
        query = {
            "campaign": self.view.campaign,
            "words": choice.words,
            "article": choice.article,
            "tool": choice.tool,
            "only": "aside" if choice.only_set_aside else "flagged" if choice.only_flagged else "",
            "sort": "" if choice.sort == "order" else choice.sort,
            "down": "1" if choice.down else "",
            "first": self.first or "",
        }
        return "/runs?" + urlencode({key: value for key, value in query.items() if value})


def _score(line: RunLine, factor: float) -> str:
    if line.score is not None:
        return write_number(line.score * factor)
    return "not reached" if "not-reached" in line.flags else "no score"


def _headed(key: str, text: str, unit: str) -> str:
    return f"{text} [{escape(unit)}]" if key == "score" else text


def _disable(element: Element, off: bool) -> None:
    if off:
        element.props["disabled"] = True
    else:
        element.props.pop("disabled", None)
    element.update()
