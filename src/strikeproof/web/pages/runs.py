"""Every run of a campaign: filtered, sorted, a hundred at a time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from strikeproof.desk.runs.flag_words import flag_words
from strikeproof.desk.runs.run_list import SORTS, Choice, RunLine, RunList, find_run_list, make_run_list
from strikeproof.errors import StoreError, StrikeproofError
from strikeproof.quantity import write_number
from strikeproof.web.answering import refusal
from strikeproof.web.fragments import render
from strikeproof.web.frame import View
from strikeproof.web.plain import plain_page, stream_work, view_of_runs
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.work import WORK

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
_NUMBERS = ("order", "score", "blow_rate_hz")
_ONLY = (("", "All runs"), ("flagged", "Flagged"), ("aside", "Excluded"))


def register(site: Site) -> None:
    """Make the page, and what fills it while no list is stored."""
    nothing = ("No runs yet", "Load a campaign folder, or record runs at the rig.")

    def listed(view: View) -> dict[str, Any]:
        found = find_run_list(site.workspace, view.campaign)
        return {"list": None if found is None else _Asked.of(view).shown(view, found)}

    plain_page(site, "/runs", "Runs", nothing, facts=listed)

    @app.get("/data/filled/runs")
    async def scored(request: Request, campaign: str = "") -> Response:
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)
        return stream_work(
            request,
            "Scoring the runs",
            lambda: WORK.start(make_run_list, site.workspace, view.campaign),
            lambda found: render("run_list", view=view, list=_Asked.of(view).shown(view, found)),
        )


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a person has chosen of a list, as the address says it."""

    choice: Choice
    first: int

    @classmethod
    def of(cls, view: View) -> _Asked:
        asked = view.request.query_params
        sort, only, first = asked.get("sort", ""), asked.get("only", ""), asked.get("first", "")
        choice = Choice(
            words=asked.get("words", ""),
            article=asked.get("article", ""),
            tool=asked.get("tool", ""),
            only_set_aside=only == "aside",
            only_flagged=only == "flagged",
            sort=sort if sort in SORTS else "order",
            down=bool(asked.get("down", "")),
        )
        return cls(choice, int(first) if first.isdecimal() and len(first) < 9 else 0)

    @property
    def only(self) -> str:
        return "aside" if self.choice.only_set_aside else "flagged" if self.choice.only_flagged else ""

    def address(self, view: View) -> str:
        """Where just this is listed."""
        choice = self.choice
        return view.to(
            "/runs",
            words=choice.words,
            article=choice.article,
            tool=choice.tool,
            only=self.only,
            sort="" if choice.sort == "order" else choice.sort,
            down="1" if choice.down else "",
            first=self.first or "",
        )

    def shown(self, view: View, found: RunList) -> dict[str, Any]:
        """All that the template says of a list.

        Raises
        ------
        StoreError
            If the campaign has no runs.
        """
        if not found.lines:
            raise StoreError(
                "the campaign has no runs yet", "record some, or add them to its sheet and load it"
            )
        lines = found.pick(self.choice)
        first = min(self.first, max(len(lines) - 1, 0)) // _AT_ONCE * _AT_ONCE
        here = replace(self, first=first)
        factor, label = view.units.scale(found.unit)
        shown = lines[first : first + _AT_ONCE]
        turns = (("Previous 100", first - _AT_ONCE), ("Next 100", first + _AT_ONCE))
        return {
            "found": found,
            "choice": self.choice,
            "picks": [("article", "Article", _all(found.articles)), ("tool", "Tool", _all(found.tools))],
            "only": self.only,
            "onlys": _ONLY,
            "count": _count(len(lines), len(found.lines), first, len(shown)),
            "heads": [here.head(view, key, text, label) for key, text in _HEADS],
            "rows": [_row(view, found, line, factor) for line in shown],
            "address": here.address(view),
            "turns": [
                (text, replace(here, first=to).address(view) if 0 <= to < len(lines) else "")
                for text, to in turns
                if len(lines) > _AT_ONCE
            ],
        }

    def head(self, view: View, key: str, text: str, unit: str) -> dict[str, Any]:
        """A column's heading, which sorts by it: upwards, and once it does so downwards."""
        sorted_by = self.choice.sort == key
        down = sorted_by and not self.choice.down
        there = replace(self, choice=replace(self.choice, sort=key, down=down), first=0)
        return {
            "key": key,
            "text": f"{text} [{unit}]" if key == "score" else text,
            "number": key in _NUMBERS,
            "sorted": ("descending" if self.choice.down else "ascending") if sorted_by else "",
            "address": there.address(view),
        }


def _all(names: tuple[str, ...]) -> list[tuple[str, str]]:
    return [("", "All"), *((each, each) for each in names)]


def _count(fits: int, total: int, first: int, shown: int) -> str:
    of_all = f"{fits} of {total} runs" if fits < total else ""
    part = f"{first + 1} to {first + shown} of {fits}" if fits > _AT_ONCE else ""
    return ", ".join(each for each in (of_all, part) if each) or f"{fits} runs"


def _row(view: View, found: RunList, line: RunLine, factor: float) -> dict[str, Any]:
    row = line.row
    reason = row.set_aside or ""
    said = [f"excluded: {reason}"] if row.set_aside is not None else []
    said += [word for word in map(flag_words, line.flags) if word not in reason]
    said += [row.note] if row.note else []
    # A score among calibrated ones that is none of them: of an excluded run beyond their range.
    is_ratio = line.only_ratio is not None and found.plain is None and line.score is not None
    return {
        "aside": row.set_aside is not None,
        "run": row.run,
        "address": view.to("/run", run=row.run),
        "cells": (
            str(line.order),
            row.article,
            row.tool,
            row.block,
            _score(line, factor) + (" (only a ratio)" if is_ratio else ""),
            write_number(line.blow_rate_hz, 3),
            "; ".join(said),
        ),
    }


def _score(line: RunLine, factor: float) -> str:
    if line.score is not None:
        return write_number(line.score * factor)
    return "not reached" if "not-reached" in line.flags else "no score"
