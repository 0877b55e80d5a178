"""All campaigns that were set up in a workspace: listed, copied, and put away while no run was made."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from strikeproof.desk.setting_up.editor import SetUp, open_set_up, start_set_up
from strikeproof.desk.setting_up.run_rows import read_run_cells, sheet_path
from strikeproof.desk.workspace.contents import is_simulated
from strikeproof.desk.workspace.places import campaign_places
from strikeproof.errors import BadInput, StoreError, StrikeproofError

__all__ = ["SetUpGlance", "copy_set_up", "glance_at_set_up", "list_set_ups", "put_away_set_up"]


@dataclass(frozen=True, slots=True)
class SetUpGlance:
    """One campaign as a list shows it; `word` is its folder, `trouble` why it cannot be opened.

    `simulated` tells whether its runs are, `calibrated` whether it has a calibration.
    """

    name: str
    word: str
    tools: int
    articles: int
    faults: int
    planned: int
    made: int
    trouble: str = ""
    simulated: bool = False
    reference: str = ""
    calibrated: bool = False


def list_set_ups(workspace: Path) -> tuple[SetUpGlance, ...]:
    """Every campaign that was set up here; one that cannot be opened is listed with the reason."""
    return tuple(glance_at_set_up(workspace, place.name) for place in campaign_places(workspace))


def glance_at_set_up(workspace: Path, word: str) -> SetUpGlance:
    """The campaign in the folder `word`."""
    try:
        found = open_set_up(workspace, word)
    except StrikeproofError as wrong:
        return SetUpGlance(word, word, 0, 0, 0, 0, 0, str(wrong))
    tables = found.tables
    tools, articles = (len(tables.get(kind, [])) for kind in ("tool", "article"))
    return SetUpGlance(
        found.name,
        word,
        tools,
        articles,
        len(found.faults),
        _planned(found),
        len(found.made),
        simulated=is_simulated(workspace, found.name),
        reference=str(tables.get("campaign", {}).get("reference", "")),
        calibrated="calibration" in tables,
    )


def _planned(found: SetUp) -> int:
    try:
        return len(read_run_cells(sheet_path(found.folder, found.tables)))
    except StrikeproofError:
        return 0


def copy_set_up(workspace: Path, name: str, new_name: str) -> SetUp:
    """Start a campaign from what another one says, without its runs and its readings.

    Raises
    ------
    BadInput, NotFound, StoreError
        If there is no such campaign, or the new one cannot be started.
    """
    tables = open_set_up(workspace, name).tables
    kept = {key: each for key, each in tables.items() if key not in ("calibration", "runs")}
    protocol = {key: each for key, each in kept.get("protocol", {}).items() if key != "seed"}
    return start_set_up(workspace, new_name, {**kept, "protocol": protocol})


def put_away_set_up(workspace: Path, name: str) -> Path:
    """Take a campaign off the list; its folder lies in `campaigns/.put-away` from then on.

    Raises
    ------
    BadInput
        If runs were made: no run is ever deleted.
    StoreError
        If it cannot be moved.
    """
    found = open_set_up(workspace, name)
    if found.made:
        raise BadInput(
            f"{len(found.made)} runs were made",
            where=found.name,
            allowed="a campaign without runs",
            mend="leave it; no run is ever deleted",
        )
    shelf, number = found.folder.parent / ".put-away", 1
    while (target := shelf / f"{found.folder.name}.{number}").exists():
        number += 1
    try:
        shelf.mkdir(exist_ok=True)
        found.folder.rename(target)
    except OSError as cause:
        raise StoreError(
            f"{found.folder}: cannot be moved: {cause.strerror}", "check its permissions"
        ) from cause
    return target
