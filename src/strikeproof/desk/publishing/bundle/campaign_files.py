"""A campaign as the workspace holds it, written as a campaign folder that loads as the same campaign.

What a person decided since the folder was loaded (runs that are excluded, logs that were replaced) is in it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path, PurePosixPath

from strikeproof.campaign.campaign_text import write_campaign_text
from strikeproof.campaign.files import read_original
from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import CalibrationSource, Campaign, RunRow
from strikeproof.campaign.run_sheet import COLUMNS, FURTHER_COLUMNS
from strikeproof.campaign.sheet_text import write_run_sheet_text
from strikeproof.campaign.store import Store
from strikeproof.campaign.whole_file import write_whole
from strikeproof.desk.articles.materials import campaign_material_tables, carry_materials
from strikeproof.errors import StoreError

__all__ = ["CampaignFiles", "gather_campaign", "write_campaign"]

_SHEET, _LOGS = "runs.csv", "logs"
_TWO_WAYS = re.compile(r"\d{1,3}\.\d{3}", re.ASCII)
_LONGEST_NAME = 120
_DEEPEST = 8


@dataclass(frozen=True, slots=True)
class CampaignFiles:
    """What a campaign folder will hold: its record, the rows of its sheet, and originals by their place.

    `originals` has a place in the folder, the hash of the file and the name that a person gave it.
    """

    campaign: Campaign
    rows: tuple[RunRow, ...]
    originals: tuple[tuple[str, str, str], ...]


def gather_campaign(store: Store, key: int, campaign: Campaign) -> CampaignFiles:
    """The campaign and its runs as they are now.

    Raises
    ------
    StoreError
        If a calibration is named and none is stored.
    """
    runs = store.runs(key)
    places = dict(_log_places(runs))
    rows = tuple(
        replace(
            run.row,
            log=places.get(run.row.run),
            set_aside=run.set_aside,
            score=None if run.trace else run.row.score,
        )
        for run in runs
    )
    originals = [
        (f"{_LOGS}/{places[run.row.run]}", run.trace.original_sha256, run.trace.original_name)
        for run in runs
        if run.trace is not None
    ]
    calibration, *others = [
        _with_calibration(store, key, campaign, place, originals) for place in range(len(campaign.rig_names))
    ]
    other_rigs = tuple(
        replace(each, calibration=own) for each, own in zip(campaign.other_rigs, others, strict=True)
    )
    own = replace(
        campaign, runs_sheet=_SHEET, logs_folder=_LOGS, calibration=calibration, other_rigs=other_rigs
    )
    return CampaignFiles(own, rows, tuple(originals))


def _with_calibration(
    store: Store, key: int, campaign: Campaign, place: int, originals: list[tuple[str, str, str]]
) -> CalibrationSource | None:
    """The calibration of a rig, its sheet put among the originals; the first is the campaign's own."""
    name = campaign.rig_names[place]
    calibration = campaign.on_rig(name).calibration
    if calibration is None:
        return None
    kept = store.calibration_rows(key, name if place else None)
    if kept is None:
        raise StoreError(
            "the calibration sheet that the campaign names was never loaded", "load the campaign again"
        )
    number = f"-{place + 1}" if place else ""
    sheet = f"calibration{number}{PurePosixPath(calibration.sheet).suffix or '.csv'}"
    originals.append((sheet, kept.original_sha256, calibration.sheet))
    return replace(calibration, sheet=sheet)


def _log_places(runs: Sequence[StoredRun]) -> Iterator[tuple[str, str]]:
    """Where the log of each run goes: its own name where any disk can hold that, and no other has it."""
    taken: set[str] = set()
    for number, run in enumerate(runs, start=1):
        if run.trace is None:
            continue
        name = (run.row.log or run.trace.original_name).replace("\\", "/")
        plain = unicodedata.normalize("NFC", name).casefold()
        if (
            (joined := re.search(r"[*?|]", name) is not None)
            or _is_odd(name)
            or plain in taken
            or any(str(up) in taken for up in PurePosixPath(plain).parents)
        ):
            ending = ".zip" if joined else re.sub(r"[^A-Za-z0-9.]", "", PurePosixPath(name).suffix)[:8]
            name = f"log-{number:05d}{ending}"
            plain = name.casefold()
        taken.add(plain)
        yield run.row.run, name


def _is_odd(name: str) -> bool:
    path = PurePosixPath(name)
    return (
        path.is_absolute()
        or not 0 < len(path.parts) <= _DEEPEST
        or any(part in (".", "..") or len(part.encode()) > _LONGEST_NAME for part in name.split("/"))
        or any(sign in ":" or unicodedata.category(sign).startswith("C") for sign in name)
        or name != str(path)
    )


def write_campaign(store: Store, files: CampaignFiles, folder: Path) -> None:
    """Write the folder, every original verified by its hash.

    Raises
    ------
    StoreError
        If an original is missing or damaged, or the folder cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    write_whole(folder / "campaign.toml", write_campaign_text(files.campaign))
    write_whole(folder / _SHEET, write_run_sheet_text(map(_cells, files.rows)))
    for place, digest, name in files.originals:
        target = folder / place
        target.parent.mkdir(parents=True, exist_ok=True)
        write_whole(target, read_original(store.originals, digest, name))
    if used := campaign_material_tables(store.folder, files.campaign.name):
        carry_materials(folder, used)


def _cells(row: RunRow) -> dict[str, object]:
    cells = {name: value for name, value in asdict(row).items() if name in (*COLUMNS, *FURTHER_COLUMNS)}
    if row.score is not None:
        # A number with just three decimals may be read as one of thousands.
        text = repr(row.score)
        cells["score"] = f"{text}0" if _TWO_WAYS.fullmatch(text) else text
    return cells
