"""What goes into a bundle as it is: the campaign's folder, drawings, photos and sounds."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, count
from pathlib import Path
from typing import Literal

from strikeproof.campaign.files import read_original
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store
from strikeproof.campaign.whole_file import write_whole
from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.articles.known import article_table
from strikeproof.desk.publishing.bundle.calibration_remarks import find_sheet_remarks, strip_sheet_remarks
from strikeproof.desk.publishing.bundle.campaign_files import (
    CampaignFiles,
    gather_campaign,
    write_campaign,
)
from strikeproof.desk.publishing.bundle.form import ABOUT, CAMPAIGN
from strikeproof.desk.publishing.bundle.personal import (
    PersonalItem,
    blank_heads,
    find_in_heads,
    find_remarks,
    is_binary,
    strip_remarks,
)
from strikeproof.desk.publishing.bundle.photo import read_photo
from strikeproof.errors import StrikeproofError

__all__ = ["BundleWishes", "Gathered", "PersonalData", "free_name", "gather"]


@dataclass(frozen=True, slots=True)
class BundleWishes:
    """What a person chose for a bundle.

    Parameters
    ----------
    licence
        Its SPDX identifier; there is no default.
    authors
        As they are to be cited; none is anonymous.
    personal
        What becomes of personal data: nobody asked yet, take it out, publish it.
    photos
        Pictures to go along.
    made
        The day that the bundle says of itself, as ISO 8601; today when None. The same day, files and
        versions give the same bytes.
    """

    licence: str
    authors: tuple[str, ...] = ()
    personal: Literal["ask", "strip", "keep"] = "ask"
    photos: tuple[Path, ...] = ()
    made: str | None = None


class PersonalData(StrikeproofError):
    """A person must say first what becomes of what was found; `items` has all of it."""

    def __init__(self, items: Sequence[PersonalItem]) -> None:
        super().__init__(
            f"what would be published may contain personal data, in {len(items)} places",
            "take it out with --strip, or publish it as it is with --keep",
        )
        self.items = tuple(items)


@dataclass(frozen=True, slots=True)
class Gathered:
    """A campaign with what was found and changed on its way into a bundle."""

    files: CampaignFiles
    items: tuple[PersonalItem, ...]
    changed: tuple[str, ...]
    notes: tuple[str, ...]


def gather(store: Store, key: int, campaign: Campaign, wishes: BundleWishes, folder: Path) -> Gathered:
    """All that is not computed: the campaign's folder, drawings, photos and sounds.

    Raises
    ------
    PersonalData
        If something personal is in it and nobody said what becomes of that.
    BadInput, BadFile
        If a photo is none.
    StoreError
        If an original is missing or damaged.
    """
    strip = wishes.personal == "strip"
    files = gather_campaign(store, key, campaign)
    items = list(find_remarks(files))
    files = strip_remarks(files) if strip else files
    home = folder / CAMPAIGN
    write_campaign(store, files, home)
    places = [place for place, _digest, _name in files.originals]
    items += find_in_heads(home, iter(places))
    sheets = [place for place in places if "/" not in place]  # logs have a folder of their own
    remarks = {place: list(find_sheet_remarks(home / place)) for place in sheets}
    items += chain.from_iterable(remarks.values())
    written = [place for place in sheets if remarks[place]] if strip else []
    for place in written:
        strip_sheet_remarks(home / place)
    changed = blank_heads(home, iter(places)) if strip else ()
    changed = tuple(dict.fromkeys((*changed, *written)))
    items += _photos(folder / "photos", wishes.photos, strip=strip)
    items += _sounds(store, key, folder / "sounds", strip=strip)
    if items and wishes.personal == "ask":
        raise PersonalData(items)
    binary = sum(is_binary(home / place) for place in places)
    notes = list(_draw_articles(files.campaign, folder / "articles"))
    if binary:
        notes.append(
            f"{binary} of {len(places)} logs are no plain text and were not searched for personal data"
        )
    if changed:
        notes.append(f"personal data was taken out of {len(changed)} logs or sheets, see {ABOUT}")
    changed = tuple(f"{CAMPAIGN}/{each}" for each in changed)
    return Gathered(files, tuple(items), changed, tuple(notes))


def _photos(folder: Path, photos: Sequence[Path], *, strip: bool) -> Iterator[PersonalItem]:
    taken: set[str] = set()
    for path in photos:
        content, says = read_photo(path, strip=strip)
        name = free_name(safe_name(path.name), taken)
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(folder / name, content)
        for each in says:
            yield PersonalItem("photo", f"photo {path.name}", each)


def _sounds(store: Store, key: int, folder: Path, *, strip: bool) -> Iterator[PersonalItem]:
    taken: set[str] = set()
    for run, (digest, name) in store.sounds(key).items():
        yield PersonalItem("sound", f"sound of run {run}", "a recording may hold voices")
        if not strip:
            folder.mkdir(parents=True, exist_ok=True)
            called = free_name(f"{safe_name(run)}{Path(name).suffix.lower()}", taken)
            write_whole(folder / called, read_original(store.originals, digest, name))


def safe_name(name: str) -> str:
    """The name as a file has it everywhere; two names may become one."""
    return re.sub(r"[^A-Za-z0-9._-]+", "-", name).strip(".-")[:80] or "file"


def free_name(name: str, taken: set[str]) -> str:
    """The name, or with a number where it is taken, large or small letters alike; it is taken from now on."""
    whole = Path(name)
    names = chain([name], (f"{whole.stem}-{number}{whole.suffix}" for number in count(2)))
    free = next(each for each in names if each.lower() not in taken)
    taken.add(free.lower())
    return free


def _draw_articles(campaign: Campaign, folder: Path) -> Iterator[str]:
    """Draw each article that has a geometry; what cannot be drawn is said."""
    from strikeproof.publish.article_drawing import write_drawing

    home = folder.parent / CAMPAIGN
    for number, article in enumerate(campaign.articles, start=1):
        if article.geometry is None or '"part"' not in article.geometry:
            continue
        try:
            sheet = describe_article(article_table(article), workspace=home).drawing()
            folder.mkdir(parents=True, exist_ok=True)
            write_drawing(sheet, folder / f"{number:02d}-{safe_name(article.name)}.svg")
        except StrikeproofError as wrong:
            yield f"article {article.name} has no drawing: {wrong.problem}"
