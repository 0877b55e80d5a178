"""What in a bundle says something of a person: found, shown, and taken out where that is asked for.

Remarks may name somebody, a log's head may name its operator, a photo may say where it was taken and with
which camera, and a sound recording may hold voices. What a binary log says of itself is not looked into.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Literal

from strikeproof.campaign.run_sheet import NEW_BOLT
from strikeproof.campaign.whole_file import write_whole
from strikeproof.desk.publishing.bundle.campaign_files import CampaignFiles
from strikeproof.desk.publishing.bundle.heads import blank_head, find_lines
from strikeproof.plain_text import clean_text

__all__ = [
    "PersonalItem",
    "blank_heads",
    "find_in_heads",
    "find_remarks",
    "is_binary",
    "strip_remarks",
]

Kind = Literal["remark", "log", "photo", "sound"]

_HEAD_BYTES: Final = 1 << 14
_EXCLUDED: Final = "excluded (reason removed)"


@dataclass(frozen=True, slots=True)
class PersonalItem:
    """One thing that may be personal: of which kind, where, and what it says."""

    kind: Kind
    where: str
    says: str

    def __str__(self) -> str:
        return f"{self.where}: {self.says}"


def find_remarks(files: CampaignFiles) -> Iterator[PersonalItem]:
    """Every free text: notes of the campaign, its articles and its runs, and reasons of exclusions."""
    campaign = files.campaign
    if campaign.note:
        yield _remark("note of the campaign", campaign.note)
    for article in campaign.articles:
        if article.note:
            yield _remark(f"note of article {article.name}", article.note)
    for row in files.rows:
        if row.note and row.note != NEW_BOLT:
            yield _remark(f"note of run {row.run}", row.note)
        if row.operator:
            yield _remark(f"operator of run {row.run}", row.operator)
        if row.set_aside:
            yield _remark(f"why run {row.run} is excluded", row.set_aside)


def _remark(where: str, text: str) -> PersonalItem:
    return PersonalItem("remark", where, clean_text(text)[:200])


def strip_remarks(files: CampaignFiles) -> CampaignFiles:
    """The same without free texts; that a run is excluded stays."""
    campaign = replace(
        files.campaign,
        note=None,
        articles=tuple(replace(each, note=None) for each in files.campaign.articles),
    )
    rows = tuple(
        replace(
            row,
            note=row.note if row.note == NEW_BOLT else None,
            set_aside=_EXCLUDED if row.set_aside else None,
            operator=None,
        )
        for row in files.rows
    )
    return replace(files, campaign=campaign, rows=rows)


def is_binary(path: Path) -> bool:
    """Whether a log is no text in one-byte signs, so that its head is not looked into."""
    with path.open("rb") as stream:
        head = stream.read(_HEAD_BYTES)
    return b"\0" in head or head.startswith((b"\x1f\x8b", b"PK"))


def find_in_heads(folder: Path, places: Iterator[str]) -> Iterator[PersonalItem]:
    """Lines at the heads of text files that name a person, a serial number, a place or an address."""
    for place in places:
        path = folder / place
        if is_binary(path):
            continue
        with path.open("rb") as stream:
            head = stream.read(_HEAD_BYTES)
        for line in find_lines(head):
            yield PersonalItem("log", place, clean_text(line.decode("utf-8", "replace")).strip()[:200])


def blank_heads(folder: Path, places: Iterator[str]) -> tuple[str, ...]:
    """Put a word in place of what such lines say; returns the files that were changed."""
    changed = []
    for place in places:
        path = folder / place
        if is_binary(path):
            continue
        content = path.read_bytes()
        head = blank_head(content[:_HEAD_BYTES])
        if head != content[:_HEAD_BYTES]:
            write_whole(path, head + content[_HEAD_BYTES:])
            changed.append(place)
    return tuple(changed)
