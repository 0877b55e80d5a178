"""What a shelf says of each bundle, and its JSON, which another shelf can include."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any, Final

from strikeproof.errors import BadInput
from strikeproof.plain_text import clean_text

__all__ = ["FORM", "ShelfEntry", "ShelfResult", "ShelfTool", "read_entry", "short_text"]

FORM: Final = 1
_LONGEST: Final = 200
_MOST: Final = 5_000


@dataclass(frozen=True, slots=True)
class ShelfTool:
    """A tool, and its class in words: mechanism and drive."""

    name: str
    kind: str


@dataclass(frozen=True, slots=True)
class ShelfResult:
    """One article with one tool, as its author states it; gains in percent of the reference's score."""

    article: str
    tool: str
    verdict: str
    runs: int
    gain_percent: float | None
    low_percent: float | None
    high_percent: float | None


@dataclass(frozen=True, slots=True)
class ShelfEntry:
    """One bundle.

    Parameters
    ----------
    sha256, file, size
        Of the bundle; its place in the folder of its shelf, and its bytes.
    score
        What the runs are judged by.
    shelf
        Title of the shelf that it was included from; empty where it is in the folder itself.
    signed
        Whether a signature lies beside the bundle.
    signed_by
        Whose it is, as far as this shelf verified it; never taken from another shelf.
    """

    sha256: str
    file: str
    size: int
    campaign: str
    made: str
    simulated: bool
    runs: int
    licence: str
    authors: tuple[str, ...]
    bench: str
    reference: str
    score: str
    version: str
    tools: tuple[ShelfTool, ...]
    results: tuple[ShelfResult, ...]
    shelf: str = ""
    signed: bool = False
    signed_by: str = ""

    @property
    def key(self) -> str:
        """In addresses."""
        return self.sha256[:16]

    @property
    def articles(self) -> tuple[str, ...]:
        """By name, the reference first."""
        return tuple(dict.fromkeys((self.reference, *(each.article for each in self.results))))

    def as_json(self) -> dict[str, Any]:
        """As an index holds it."""
        return {name: value for name, value in asdict(self).items() if name != "shelf" or value}


def short_text(value: Any) -> str:
    """A text from elsewhere on one line and of a length that a page can show.

    Raises
    ------
    TypeError
        If it is none.
    """
    if not isinstance(value, str):
        raise TypeError(value)
    return clean_text(value).strip()[:_LONGEST]


def read_entry(found: Mapping[str, Any], shelf: str = "") -> ShelfEntry:
    """An entry out of somebody's index; every value is taken for what it must be, or refused.

    Parameters
    ----------
    found
        The JSON object.
    shelf
        Title of the shelf that it comes from.

    Raises
    ------
    BadInput
        If it is no entry.
    """
    try:
        digest = short_text(found["sha256"])
        if len(digest) != 64 or digest.strip("0123456789abcdef"):
            raise ValueError(digest)
        entry = ShelfEntry(
            sha256=digest,
            file=short_text(found["file"]),
            size=int(found["size"]),
            campaign=short_text(found["campaign"]),
            made=short_text(found["made"])[:10],
            simulated=bool(found["simulated"]),
            runs=int(found["runs"]),
            licence=short_text(found["licence"]),
            authors=tuple(map(short_text, found["authors"][:_MOST])),
            bench=short_text(found["bench"]),
            reference=short_text(found["reference"]),
            score=short_text(found["score"]),
            version=short_text(found["version"]),
            tools=tuple(
                ShelfTool(short_text(each["name"]), short_text(each["kind"]))
                for each in found["tools"][:_MOST]
            ),
            results=tuple(map(read_result, found["results"][:_MOST])),
            signed=found.get("signed") is True,
        )
        return replace(entry, shelf=short_text(found.get("shelf", "")) or shelf)
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError) as cause:
        raise BadInput(
            "an entry in it cannot be used",
            where="the index",
            allowed="index.json of a shelf",
            fix="get it again from where it was published",
        ) from cause


def read_result(found: Mapping[str, Any]) -> ShelfResult:
    """A result out of an index or of a bundle's table.

    Raises
    ------
    KeyError, TypeError, ValueError
        If it is none.
    """
    return ShelfResult(
        short_text(found["article"]),
        short_text(found["tool"]),
        short_text(found["verdict"]),
        int(found["runs"]),
        *(_number(found[name]) for name in ("gain_percent", "low_percent", "high_percent")),
    )


def _number(value: Any) -> float | None:
    if value is None:
        return None
    number = float(value)
    return number if math.isfinite(number) else None
