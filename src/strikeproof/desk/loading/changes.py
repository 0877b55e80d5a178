"""What a sheet made of the runs that were kept already: which of them mean something else now."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Final, Literal

from strikeproof.campaign.kept import StoredRun

__all__ = ["RunChange", "find_changes"]

_LABELS: Final = ("article", "tool", "block")


@dataclass(frozen=True, slots=True)
class RunChange:
    """One kept run that loading changed.

    `before` and `after` are its article, tool or block; of `set_aside` the reason, None while it counts.
    """

    run: str
    what: Literal["article", "tool", "block", "set_aside"]
    before: str | None
    after: str | None

    def __str__(self) -> str:
        if self.what != "set_aside":
            return f"run {self.run!r}: {self.what} is {self.after!r} now, was {self.before!r}"
        if self.after is None:
            return f"run {self.run!r}: included again, was excluded: {self.before}"
        if self.before is None:
            return f"run {self.run!r}: excluded now: {self.after}"
        return f"run {self.run!r}: still excluded, the reason is now: {self.after}; it was: {self.before}"

    def as_json(self) -> dict[str, str | None]:
        """As the command line prints it."""
        return asdict(self)


def find_changes(
    before: Mapping[str, StoredRun], after: Mapping[str, StoredRun], amended: Collection[str]
) -> Iterator[RunChange]:
    """The changes of the `amended` runs, by name before and after, that a result depends on."""
    for name in (each for each in amended if each in before):  # another process may have loaded it first
        old, new = before[name], after[name]
        for what in _LABELS:
            was, now = getattr(old.row, what), getattr(new.row, what)
            if was != now:
                yield RunChange(name, what, was, now)
        if old.set_aside != new.set_aside:
            yield RunChange(name, "set_aside", old.set_aside, new.set_aside)
