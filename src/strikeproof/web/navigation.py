"""The pages in the order of the job; each is a module of `web.pages`, and shows where its module is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import import_module
from importlib.util import find_spec
from typing import Final

from strikeproof.web.site import Site

__all__ = ["ENTRIES", "NEXT", "Entry", "present", "register_pages"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One page: its module, its path, and its name in the navigation or None when others lead to it."""

    module: str
    path: str
    label: str | None


ENTRIES = (
    Entry("start", "/", "Start"),
    Entry("plan", "/plan", "Plan"),
    Entry("articles", "/articles", "Articles"),
    Entry("calibration", "/calibration", "Calibration"),
    Entry("record", "/record", "Record"),
    Entry("runs", "/runs", "Runs"),
    Entry("run", "/run", None),
    Entry("comparison", "/comparison", "Comparison"),
    Entry("explanation", "/explanation", "Explanation"),
    Entry("design", "/design", "Design"),
    Entry("published", "/page", "Page"),
    Entry("glossary", "/glossary", "Glossary"),
)


NEXT: Final[Mapping[str, tuple[str, str]]] = {
    "/articles": ("/plan", "Plan the runs"),
    "/calibration": ("/record", "Record runs"),
    "/runs": ("/comparison", "See which differences are real"),
    "/run": ("/comparison", "See which differences are real"),
    "/comparison": ("/explanation", "Find the property that makes the difference"),
    "/explanation": ("/design", "Design the next article"),
    "/design": ("/page", "Publish what was found"),
    "/page": ("/", "All campaigns"),
}
"""Where each page leads at its end; planning has steps of its own, the screen at the rig says what comes."""


def present() -> tuple[Entry, ...]:
    """The pages whose modules are there."""
    return tuple(each for each in ENTRIES if find_spec(f"strikeproof.web.pages.{each.module}") is not None)


def register_pages(site: Site) -> None:
    """Let each page's module make its routes."""
    for each in present():
        import_module(f"strikeproof.web.pages.{each.module}").register(site)
