"""What somebody else published of articles: means or medians, runs and spread, from a small file."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    model_validator,
)

from strikeproof.campaign.records import ScoreRule
from strikeproof.campaign.toml_lines import find_line
from strikeproof.campaign.toml_reader import read_toml
from strikeproof.campaign.values import Duration, Name, Note, Positive, Score, Unit, refuse, written
from strikeproof.errors import BadFile, Problem
from strikeproof.quantity import kind_of_unit

__all__ = ["SPREADS", "PublishedArticle", "Summary", "read_summaries", "read_summary", "summary_schema"]

SPREADS = (
    ("standard_deviation",),
    ("standard_error",),
    ("lowest", "highest"),
    ("lower_quartile", "upper_quartile"),
)
"""How a spread may be given: one of these, all keys of it."""


def _date(value: Any) -> datetime.date:
    try:
        return value if type(value) is datetime.date else datetime.date.fromisoformat(str(value))
    except ValueError as wrong:
        raise refuse(f"{value!r} is no date"[:80], "write it like 2026-05-04") from wrong


Day = Annotated[datetime.date, BeforeValidator(_date), written("a day", "2026-05-04")]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


_Middle = Annotated[float, Field(ge=1e-6, le=1e9)]


def _past(value: datetime.date) -> datetime.date:
    if value > datetime.datetime.now(datetime.UTC).date() + datetime.timedelta(days=1):
        raise refuse(f"{value} is in the future", "check the date")
    return value


def _said(label: str, meaning: str, default: Any = None) -> Any:
    return Field(default, title=label, description=meaning)


class PublishedTable(_Table):
    """Where it was published, and how it was measured."""

    name: Name = _said("Name", "what an answer calls it", ...)
    source: Note = _said("Source", "where others find it: title, page, address", ...)
    date: Annotated[Day, AfterValidator(_past)] = _said("Date", "when it was published or measured", ...)
    bench: Name = _said("Bench", "where it was measured; the same name as a rig of yours means that rig", ...)
    calibration: Name | None = _said("Calibration", "which one of that bench, where that is known")
    tool: Name | None = _said("Tool", "as your campaigns call it, where it is one of theirs")
    unit: Unit = _said("Unit", "of the scores", ...)
    scale_from_zero: bool | None = _said(
        "Scale from zero", "whether twice the score is twice the load; must be said of a unit of their own"
    )
    direction: Literal["tighten", "loosen"] = _said("Direction", '"tighten" or "loosen"', "tighten")
    score: Score = _said("Score", '"end", "peak", "at 5 s", "time to 400 N m"', ScoreRule())
    duration: Duration = _said("Length of a run", "of hammering, from the first blow", 10.0)
    simulated: bool = _said("Simulated", "the figures are invented; answers say so", False)

    @model_validator(mode="after")
    def _known_scale(self) -> Self:
        if self.scale_from_zero is None and kind_of_unit(self.unit) is None and self.score.kind != "time to":
            raise refuse(
                f"{self.unit!r} is no unit of force or torque, and nothing says where its scale starts",
                "write scale_from_zero = true where twice the score is twice the load, else false",
            )
        return self


LEAST_SPREAD = 1e-6
"""Of a middle; less is no measured scatter."""


class PublishedArticle(_Table):
    """One article: its mean or median, its runs, and one kind of spread."""

    name: Name = _said("Name", "as your campaigns call the same article", ...)
    mean: _Middle | None = _said("Mean", "of its scores")
    median: _Middle | None = _said("Median", "in place of the mean")
    runs: Annotated[int, Field(ge=2, le=100_000)] = _said("Runs", "behind it", ...)
    standard_deviation: Positive | None = _said("Standard deviation", "of its scores")
    standard_error: Positive | None = _said("Standard error", "of the mean, in place of it")
    lowest: Positive | None = _said("Lowest score", "with the highest, in place of it")
    highest: Positive | None = _said("Highest score", "")
    lower_quartile: Positive | None = _said("Lower quartile", "with the upper one, in place of it")
    upper_quartile: Positive | None = _said("Upper quartile", "")

    @model_validator(mode="after")
    def _one_of_each(self) -> Self:
        if (self.mean is None) == (self.median is None):
            raise refuse("a mean or a median is needed, not both", "give one of them")
        used = [keys for keys in SPREADS if any(getattr(self, key) is not None for key in keys)]
        if len(used) != 1 or any(getattr(self, key) is None for key in used[0]):
            raise refuse(
                "one kind of spread is needed",
                "give standard_deviation, standard_error, lowest and highest, or lower_quartile and "
                "upper_quartile",
            )
        for low, high in SPREADS[2:]:
            ends = getattr(self, low), getattr(self, high)
            if None not in ends and not ends[0] < ends[1]:
                raise refuse(f"{low} is not below {high}", "check which is which")
        self._agree()
        return self

    def _agree(self) -> None:
        """Refuse a middle outside its own spread, and a spread that no bench can have."""
        within = [self.lowest, self.highest]
        name, middle = ("mean", self.mean) if self.median is None else ("median", self.median)
        if name == "median" and self.lower_quartile is not None:
            within = [self.lower_quartile, self.upper_quartile]
        low, high = within
        assert middle is not None
        if low is not None and high is not None and not low <= middle <= high:
            raise refuse(f"the {name} {middle:g} is not within {low:g} to {high:g}", "check the figures")
        size = self.standard_deviation or self.standard_error
        if size is None:
            ends = (self.lowest, self.highest) if self.lowest else (self.lower_quartile, self.upper_quartile)
            size = float(ends[1] or 0.0) - float(ends[0] or 0.0)
        if not LEAST_SPREAD <= size / middle <= 1.0:
            raise refuse(
                f"the spread {size:g} is not between {LEAST_SPREAD:g} and 1 of the {name} {middle:g}",
                "check the figures and their unit",
            )


class Summary(_Table):
    """The whole file."""

    published: PublishedTable
    article: Annotated[list[PublishedArticle], Field(min_length=2, max_length=200)]

    @model_validator(mode="after")
    def _each_once(self) -> Self:
        names = [each.name for each in self.article]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise refuse(f"article {twice!r} is there twice", "give each article once")
        return self


def read_summary(path: Path) -> Summary:
    """Read a published summary.

    Raises
    ------
    BadFile
        With everything that is wrong, each with its line.
    """
    tables, text = read_toml(path)
    try:
        return Summary.model_validate(tables)
    except ValidationError as wrong:
        line = partial(find_line, text)
        raise BadFile([_problem(path, line, each) for each in wrong.errors()[:50]]) from wrong


def read_summaries(paths: Sequence[Path], known: Mapping[Path, Summary] | None = None) -> dict[Path, Summary]:
    """Read several after some that are known, each only once.

    Raises
    ------
    BadFile
        As `read_summary`, or if two say the same figures, or have one name and source.
    """
    found = dict(known or {})
    for path in paths:
        new = read_summary(path)
        for other, earlier in found.items():
            same = (new.published.name, new.published.source) == (
                earlier.published.name,
                earlier.published.source,
            )
            if same or new.article == earlier.article:
                raise BadFile(
                    [Problem(str(path), None, f"the same was given in {other.name}", "give it only once")]
                )
        found[path] = new
    return found


def _problem(path: Path, line: Any, error: Any) -> Problem:
    place = tuple(error["loc"])
    key = ".".join(str(part + 1) if isinstance(part, int) else part for part in place) or "the file"
    at = line(place)
    match error["type"]:
        case "refused":
            return Problem(str(path), at, f"{key}: {error['ctx']['problem']}", error["ctx"]["fix"])
        case "missing":
            return Problem(str(path), at, f"{key!r} is missing", f"add {place[-1]!r}")
        case "extra_forbidden":
            table = PublishedArticle if place[0] == "article" else PublishedTable
            known = Summary if len(place) == 1 else table
            return Problem(
                str(path), at, f"unknown key {key!r}", f"known keys: {', '.join(sorted(known.model_fields))}"
            )
    value = str(error["input"])[:60]
    return Problem(str(path), at, f"{key} = {value}", error["msg"][0].lower() + error["msg"][1:])


def summary_schema() -> dict[str, Any]:
    """The file as a JSON Schema (draft 2020-12)."""
    from strikeproof.campaign.file_schema import AsWritten, as_key

    schema = Summary.model_json_schema(schema_generator=AsWritten)
    for table in (schema, *schema["$defs"].values()):
        table["properties"] = {key: as_key(key, each) for key, each in table["properties"].items()}
    return {"$schema": AsWritten.schema_dialect, **schema, "title": "published summary"}
