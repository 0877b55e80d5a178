"""Set up a campaign without touching a file: an ordinary campaign folder, edited as a document.

Every change is stored at once. What is complete becomes campaign.toml; what is not is beside it as a draft
with everything that is wrong, so nothing typed is lost. Each state before a change can be undone.
"""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.database_server import holds_store
from strikeproof.campaign.faults import Fault, check_tables
from strikeproof.campaign.folder import keep_calibration, read_calibrations, read_campaign, read_own_materials
from strikeproof.campaign.identity import new_identity
from strikeproof.campaign.keys import CampaignTable
from strikeproof.campaign.records import RunRow
from strikeproof.campaign.store import open_store
from strikeproof.campaign.toml_document import merge_document, write_document
from strikeproof.campaign.toml_reader import parse_toml, read_toml
from strikeproof.campaign.whole_file import make_folder
from strikeproof.desk.setting_up.edits import Edit, Place, Tables, clean
from strikeproof.desk.setting_up.effects import Effect, find_effects, find_made_runs, under_new_names
from strikeproof.desk.setting_up.renames import follow_renames, rename_made, since_complete
from strikeproof.desk.setting_up.said_change import say_change
from strikeproof.desk.setting_up.versions import (
    State,
    keep_step,
    read_state,
    read_step,
    step_back,
    steps,
    write_state,
)
from strikeproof.desk.workspace.places import DRAFT, campaign_place, find_campaign_place
from strikeproof.desk.workspace.recognise import is_free_name, is_same_campaign, require_same_campaign
from strikeproof.errors import BadInput, StoreError
from strikeproof.plain_text import TextKind, accept_text

__all__ = [
    "Change",
    "Fault",
    "SetUp",
    "change_set_up",
    "keep_record",
    "open_saved_set_up",
    "open_set_up",
    "redo",
    "start_set_up",
    "undo",
]

_LOCK: Final = ".editing.lock"


@dataclass(frozen=True, slots=True)
class SetUp:
    """A campaign as it is, whole or not.

    Attributes
    ----------
    tables
        As the file has them; what was typed and cannot be used is in them too.
    faults
        Everything missing or wrong, each at its key; none when the campaign is complete.
    mark
        Separates this state from any other; a change made from an older one is refused.
    can_undo, can_redo
        How many steps.
    made
        The runs that were made already.
    """

    folder: Path
    tables: Tables
    faults: tuple[Fault, ...]
    mark: str
    can_undo: int
    can_redo: int
    made: tuple[RunRow, ...]

    @property
    def name(self) -> str:
        """As a person calls it."""
        return str(self.tables.get("campaign", {}).get("name", self.folder.name))

    @property
    def currency(self) -> str:
        """Of all prices."""
        return str(
            self.tables.get("campaign", {}).get("currency", CampaignTable.model_fields["currency"].default)
        )

    @property
    def whole(self) -> bool:
        """Whether it can be planned, recorded and loaded."""
        return not self.faults

    def fault_at(self, place: Place) -> Fault | None:
        """The fault of one field."""
        return next((each for each in self.faults if each.place == place), None)

    def faults_in(self, *place: str | int) -> tuple[Fault, ...]:
        """The faults of a table and of all in it."""
        return tuple(each for each in self.faults if each.place[: len(place)] == place)


@dataclass(frozen=True, slots=True)
class Change:
    """What came of a change: where it is not `done`, `effects` say what it waits for or why it never is.

    Where it is, `notes` say what a person must do now. Of a step back or on `says` is what it changed.
    """

    set_up: SetUp
    done: bool
    effects: tuple[Effect, ...] = ()
    notes: tuple[str, ...] = ()
    says: str = ""


def start_set_up(workspace: Path, name: str, tables: Mapping[str, Any] | None = None) -> SetUp:
    """Start a campaign folder with what most benches begin from, or with `tables`.

    Raises
    ------
    BadInput
        If the name has no letter, is too long or holds what no text may hold, or is that of another campaign.
    StoreError
        If the folder cannot be made.
    """
    name = accept_text(name, TextKind.NAME, "campaign.name")
    folder = campaign_place(workspace, name)
    if folder.exists() or _is_taken(workspace, name):
        raise BadInput(
            f"{name!r} is there already",
            where="campaign.name",
            allowed="a name of its own",
            fix="choose another name, or open the one that is there",
        )
    try:
        make_folder(folder / "logs")
    except OSError as cause:
        raise StoreError(f"{folder}: cannot be made: {cause.strerror}", "check the workspace") from cause
    start = _first_tables() if tables is None else dict(tables)
    own = {"name": name, "id": new_identity()}
    start["campaign"] = {"name": name, **start.get("campaign", {})} | own
    _write(folder, State(write_document(clean(start))))
    return open_set_up(workspace, folder.name)


def _is_taken(workspace: Path, name: str) -> bool:
    return holds_store(workspace) and not is_free_name(open_store(workspace), name)


def _first_tables() -> Tables:
    return {
        "campaign": {"margin_percent": 3, "currency": "EUR"},
        "protocol": {"duration": "10 s", "direction": "tighten", "score": "end", "cool_down": "60 s"},
        "rig": {"name": "rig", "unit": "kN"},
    }


def open_set_up(workspace: Path, name: str) -> SetUp:
    """The campaign called `name`, as it is.

    Raises
    ------
    NotFound, BadFile
        If it is not there, or a person has left its campaign.toml in a state that is no TOML.
    """
    folder = find_campaign_place(workspace, name)
    state = read_state(folder)
    tables = _tables(folder, state)
    faults = _faults(folder, tables)
    made = find_made_runs(folder, tables, workspace)
    if faults and made:  # sheet and stored runs have the names of the last complete campaign
        made = under_new_names(made, follow_renames(since_complete(folder, tables)))
    return SetUp(
        folder,
        tables,
        faults,
        state.mark,
        len(steps(folder, "earlier")),
        len(steps(folder, "later")),
        made,
    )


def _tables(folder: Path, state: State) -> Tables:
    return parse_toml(state.campaign, folder / "campaign.toml")


def _faults(folder: Path, tables: Tables) -> tuple[Fault, ...]:
    _file, faults = check_tables(tables, read_own_materials(folder))
    return faults


def _write(folder: Path, state: State) -> None:
    write_state(folder, state, whole=not _faults(folder, _tables(folder, state)))


def change_set_up(
    workspace: Path,
    name: str,
    edit: Edit,
    *,
    mark: str | None = None,
    agreed: bool = False,
    calibration: str | None = None,
) -> Change:
    """Change a campaign, unless that would do something to runs which nobody has agreed to.

    Parameters
    ----------
    edit
        From the tables as they stand to the tables wanted; `edits` has the usual ones.
    mark
        Of the state that the person saw. [SetUp.mark]
    agreed
        Whether the person has read the effects and said yes.
    calibration
        New text of the calibration sheet.

    Raises
    ------
    StoreError
        If it was changed elsewhere meanwhile, or cannot be written.
    """
    with _alone(find_campaign_place(workspace, name)):
        return _changed(workspace, name, edit, mark, agreed, calibration)


def open_saved_set_up(workspace: Path, name: str) -> SetUp:
    """The same as `open_set_up`, after a change that is being saved, such as the last on the page before.

    Raises
    ------
    NotFound, BadFile
        As `open_set_up`.
    """
    folder = find_campaign_place(workspace, name)
    if os.access(folder / _LOCK, os.W_OK):  # else nothing was ever changed, or nothing can be
        with _alone(folder):
            return open_set_up(workspace, name)
    return open_set_up(workspace, name)


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """One change at a time: another window that changes the campaign waits for the moment it takes."""
    with (folder / _LOCK).open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def _changed(
    workspace: Path, name: str, edit: Edit, mark: str | None, agreed: bool, calibration: str | None
) -> Change:
    before = open_set_up(workspace, name)
    state = read_state(before.folder)
    if mark not in (None, state.mark):
        raise StoreError(f"{before.name} was changed in another window", "look at it again, then change it")
    wanted = clean(edit(before.tables))
    new = State(
        state.campaign if wanted == before.tables else merge_document(state.campaign, wanted),
        state.calibration if calibration is None else calibration,
    )
    if new == state:
        return Change(before, done=True)
    effects = find_effects(before.tables, wanted, before.made)
    if any(each.kind == "never" for each in effects) or (effects and not agreed):
        return Change(before, done=False, effects=effects)
    with _putting(workspace, before, new, wanted) as notes:
        keep_step(before.folder, "earlier", state)
        while step_back(before.folder, "later"):
            pass
    return Change(open_set_up(workspace, before.folder.name), done=True, notes=tuple(notes))


def keep_record(workspace: Path, folder: Path, *, make: bool = False) -> None:
    """Let the workspace know the campaign as it is now, so that it can be recorded and looked at.

    Parameters
    ----------
    make
        Whether to make it known when it is not yet; else only what is known is renewed.

    Raises
    ------
    StoreError
        If the workspace cannot be written.
    """
    if (folder / DRAFT).is_file() or not (make or holds_store(workspace)):
        return
    campaign = read_campaign(folder / "campaign.toml")
    store = open_store(workspace, make=True)
    if not make and (
        store.known_campaign(campaign.name) is None or not is_same_campaign(store, folder, campaign)
    ):
        return
    require_same_campaign(store, folder)
    key = store.keep_campaign(campaign, folder.resolve())
    found, problems = read_calibrations(folder, campaign)  # the form says what is wrong
    wrong = {each.file for each in problems}
    for each in found:
        if each.rows and str(each.sheet) not in wrong:
            keep_calibration(store, key, campaign, each)


@contextmanager
def _putting(workspace: Path, before: SetUp, new: State, wanted: Tables) -> Iterator[list[str]]:
    """Write a state after what is done inside; new names then go through run sheet and stored runs.

    Nothing is done when they cannot, because runs are being recorded.
    """
    folder, whole = before.folder, not _faults(before.folder, wanted)
    renames = follow_renames([*since_complete(folder, before.tables), wanted]) if whole else {}
    with rename_made(workspace, folder, wanted, renames) as notes:
        yield notes
        _write(folder, new)
        keep_record(workspace, folder)


def undo(workspace: Path, name: str, *, agreed: bool = False) -> Change:
    """Go one step back; the step can be done again with `redo`."""
    return _step(workspace, name, "earlier", agreed=agreed)


def redo(workspace: Path, name: str, *, agreed: bool = False) -> Change:
    """Do again what was undone."""
    return _step(workspace, name, "later", agreed=agreed)


def _step(workspace: Path, name: str, stack: Any, *, agreed: bool) -> Change:
    with _alone(find_campaign_place(workspace, name)):
        return _stepped(workspace, name, stack, agreed=agreed)


def _stepped(workspace: Path, name: str, stack: Any, *, agreed: bool) -> Change:
    before = open_set_up(workspace, name)
    kept = steps(before.folder, stack)
    if not kept:
        return Change(before, done=True)
    wanted = read_toml(kept[-1] / "campaign.toml")[0]
    effects = find_effects(before.tables, wanted, before.made)
    if any(each.kind == "never" for each in effects) or (effects and not agreed):
        return Change(before, done=False, effects=effects)
    now, state = read_state(before.folder), read_step(kept[-1])
    with _putting(workspace, before, state, wanted) as notes:
        step_back(before.folder, stack)
        keep_step(before.folder, "later" if stack == "earlier" else "earlier", now)
    said = say_change(before.tables, wanted)
    return Change(open_set_up(workspace, before.folder.name), done=True, notes=tuple(notes), says=said)
