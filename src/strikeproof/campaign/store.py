"""The store: what was acknowledged survives a kill at any instant, and no run is ever deleted."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import asdict, fields
from functools import cache
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from strikeproof.campaign import schema as tables
from strikeproof.campaign.database import file_url, is_read_only, open_database, reading, writing
from strikeproof.campaign.database_server import OWN_FILE, address_in, holds_store
from strikeproof.campaign.files import keep_bytes, read_trace, trace_bytes
from strikeproof.campaign.identity import new_identity
from strikeproof.campaign.kept import (
    CalibrationRows,
    Event,
    KeptTrace,
    KnownCampaign,
    PastOverload,
    StoredRun,
)
from strikeproof.campaign.records import Campaign, RunRow
from strikeproof.campaign.run_rows import (
    OVERLOADED,
    PUT_BACK,
    SET_ASIDE,
    SOUND,
    Saved,
    as_stored,
    insert_run,
    keep_original,
    keep_trace,
    key_of,
    know_sheet,
    now,
    patch_run,
    rename_run,
    replace_trace,
    say,
    source_of,
    take_up,
    trace_of,
)
from strikeproof.campaign.sealed import is_damaged, seal, unseal
from strikeproof.campaign.whole_file import make_folder
from strikeproof.errors import BadInput, NotFound, StoreError
from strikeproof.quantity import FloatArray

__all__ = ["Store", "open_store"]


_AT_ONCE = 500  # a database takes only so many values in one question


@cache
def _as_campaign() -> Any:
    from pydantic import TypeAdapter

    return TypeAdapter(Campaign)


def open_store(folder: Path, *, make: bool = False) -> Store:
    """The workspace at `folder`, with the database in its own file or on the server that it names.

    Raises
    ------
    StoreError
        If it is not there (and `make` is false), or cannot be opened.
    """
    if not make and not holds_store(folder):
        raise StoreError(f"{folder}: no workspace there", "load a campaign into it first: strikeproof load")
    try:
        for part in ("traces", "originals"):
            make_folder(folder / part)
    except OSError as cause:
        raise StoreError(f"{folder}: cannot be made: {cause.strerror}", "choose another folder") from cause
    return Store(folder)


class Store:
    """One workspace: campaigns, runs, traces, and the history of each run."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.traces = folder / "traces"
        self.originals = folder / "originals"
        self.engine = open_database(address_in(folder) or file_url(folder), folder)

    @property
    def database(self) -> str:
        """Where the database is, for a person to read."""
        url = self.engine.url
        is_file = self.engine.dialect.name == "sqlite"
        return str(self.folder / OWN_FILE) if is_file else url.set(drivername="postgresql").render_as_string()

    @contextmanager
    def _readable(self) -> Iterator[None]:
        """A record that this program cannot have written is reported, not tripped over."""
        try:
            yield
        except (ValueError, TypeError) as cause:
            what = f"{self.database}: a record cannot be read: {str(cause).splitlines()[0]}"
            raise StoreError(what, "restore the database from a copy") from cause

    # campaigns -----------------------------------------------------------------------------

    def keep_campaign(self, campaign: Campaign, folder: Path) -> int:
        """Keep or renew a campaign's record; returns its key.

        One whose identity is known under another name is renamed: its runs and their history stay.
        Whether it is the one that is known by its name must be clear before: `desk.workspace.recognise`.
        """
        values = {"record": json.loads(json.dumps(asdict(campaign))), "folder": str(folder)}
        if campaign.id is not None:
            values["identity"] = campaign.id
        mine = tables.campaign.c.name == campaign.name
        with writing(self.engine) as db:
            found = db.execute(sa.select(tables.campaign).where(mine)).first()
            if found is None and campaign.id is not None:
                mine = tables.campaign.c.identity == campaign.id
                found = db.execute(sa.select(tables.campaign).where(mine)).first()
                values["name"] = campaign.name
            if found is None:
                fresh = {"identity": new_identity(), **values, "name": campaign.name, "loaded_at": now()}
                made = db.execute(tables.campaign.insert().values(**fresh))
                return key_of(made)
            if any(found._mapping[name] != value for name, value in values.items()):
                db.execute(tables.campaign.update().where(mine).values(loaded_at=now(), **values))
            return int(found.id)

    def known_campaign(self, name: str) -> KnownCampaign | None:
        """The campaign of a name with its identity and folder; None when there is none."""
        return self._known(tables.campaign.c.name == name)

    def identified_campaign(self, identity: str) -> KnownCampaign | None:
        """The campaign of an identity, whatever its name; None when there is none."""
        return self._known(tables.campaign.c.identity == identity)

    def _known(self, which: sa.ColumnElement[bool]) -> KnownCampaign | None:
        with self._readable(), reading(self.engine) as db:
            found = db.execute(sa.select(tables.campaign).where(which)).first()
            if found is None:
                return None
            campaign = _as_campaign().validate_python(found.record)
            return KnownCampaign(int(found.id), str(found.identity), Path(found.folder), campaign)

    def campaigns(self) -> tuple[str, ...]:
        """The names of all campaigns."""
        with reading(self.engine) as db:
            return tuple(db.scalars(sa.select(tables.campaign.c.name).order_by(tables.campaign.c.id)))

    def campaign(self, name: str | None) -> tuple[int, Campaign]:
        """A campaign by name, or the only one when `name` is None.

        Raises
        ------
        NotFound, BadInput
            If there is none of that name, or several and no name.
        """
        known = self.campaigns()
        if name is None and len(known) != 1:
            if not known:
                raise StoreError(f"{self.folder}: holds no campaign yet", "load one: strikeproof load")
            raise BadInput(
                "several campaigns are in this workspace",
                where="--campaign",
                allowed=", ".join(known),
                fix="name one with --campaign",
            )
        wanted = known[0] if name is None else name
        with self._readable(), reading(self.engine) as db:
            found = db.execute(sa.select(tables.campaign).where(tables.campaign.c.name == wanted)).first()
            if found is None:
                raise NotFound("campaign", wanted, known)
            return int(found.id), _as_campaign().validate_python(found.record)

    def campaign_folder(self, campaign_key: int) -> Path:
        """The folder that a campaign was last loaded from."""
        with reading(self.engine) as db:
            folder = sa.select(tables.campaign.c.folder).where(tables.campaign.c.id == campaign_key)
            return Path(str(db.scalar(folder)))

    def keep_calibration(
        self,
        campaign_key: int,
        original: tuple[str, str, int],
        rows: Sequence[Mapping[str, Any]],
        rig: str | None = None,
    ) -> None:
        """Keep the calibration sheet's rows of a campaign's own rig, or of the other that is named.

        Parameters
        ----------
        original
            Hash, name and bytes of the sheet.
        """
        new = CalibrationRows(original[0], tuple(dict(row) for row in rows))
        if self.calibration_rows(campaign_key, rig) == new:
            return
        table, mine = _calibration_of(campaign_key, rig)
        values = {"campaign_id": campaign_key} | ({} if rig is None else {"rig": rig})
        with writing(self.engine) as db:
            keep_original(db, *original)
            db.execute(table.delete().where(mine))
            db.execute(
                table.insert().values(original_sha256=new.original_sha256, rows=list(new.rows), **values)
            )

    def calibration_rows(self, campaign_key: int, rig: str | None = None) -> CalibrationRows | None:
        """The calibration sheet's rows of the campaign's own rig, or of another; None when it has none."""
        table, mine = _calibration_of(campaign_key, rig)
        with reading(self.engine) as db:
            found = db.execute(sa.select(table).where(mine)).first()
        return None if found is None else CalibrationRows(found.original_sha256, tuple(found.rows))

    # files ---------------------------------------------------------------------------------

    def keep_original(self, content: bytes) -> str:
        """Keep a file's untouched bytes; returns their SHA-256."""
        return keep_bytes(self.originals, content, "")

    def keep_trace(self, time: FloatArray, channels: Mapping[str, FloatArray]) -> str:
        """Keep a trace's samples; returns the SHA-256 of its file."""
        return keep_bytes(self.traces, trace_bytes(time, channels), ".parquet")

    def samples(self, trace: KeptTrace, channel: str) -> tuple[FloatArray, FloatArray]:
        """Time [s] and readings of one channel of a stored trace."""
        return read_trace(self.traces, trace.sha256, channel)

    # runs ----------------------------------------------------------------------------------

    def keep_run(
        self, campaign_key: int, ordinal: int, row: RunRow, trace: KeptTrace | None, sheet: str = ""
    ) -> Saved:
        """Keep one run in one transaction; when this returns, it is stored for good.

        A run that is there already is only amended: its log never changes, and what a person said of it
        elsewhere holds until its sheet says something that it did not say before.

        Parameters
        ----------
        sheet
            Path of the sheet that says so.
        """
        with writing(self.engine) as db:
            found = db.execute(
                sa.select(tables.run).where(
                    tables.run.c.campaign_id == campaign_key, tables.run.c.name == row.run
                )
            ).first()
            if found is None:
                if trace is not None:
                    keep_trace(db, trace)
                return insert_run(db, campaign_key, ordinal, row, trace, sheet)
            if source_of(db, found.trace_sha256) != (trace.original_sha256 if trace else None):
                return Saved.OTHER_LOG
            return take_up(db, found, ordinal, row, trace, sheet)

    def runs(self, campaign_key: int, name: str | None = None) -> tuple[StoredRun, ...]:
        """All runs of a campaign in the order of its sheet, the excluded ones too; or only the one named."""
        latest = (
            sa.select(tables.event.c.run_id, sa.func.max(tables.event.c.id).label("last"))
            .where(tables.event.c.kind.in_((SET_ASIDE, PUT_BACK)))
            .group_by(tables.event.c.run_id)
            .subquery()
        )
        query = (
            sa.select(tables.run, tables.trace, tables.original, tables.event.c.kind, tables.event.c.because)
            .select_from(
                tables.run.outerjoin(tables.trace, tables.run.c.trace_sha256 == tables.trace.c.sha256)
                .outerjoin(tables.original, tables.trace.c.original_sha256 == tables.original.c.sha256)
                .outerjoin(latest, latest.c.run_id == tables.run.c.id)
                .outerjoin(tables.event, tables.event.c.id == latest.c.last)
            )
            .where(tables.run.c.campaign_id == campaign_key)
            .order_by(tables.run.c.ordinal, tables.run.c.id)
        )
        if name is not None:
            query = query.where(tables.run.c.name == name)
        with self._readable(), reading(self.engine) as db:
            return tuple(as_stored(found._mapping) for found in db.execute(query))

    def find_run(self, campaign_key: int, name: str) -> StoredRun:
        """One run by name.

        Raises
        ------
        NotFound
            If there is none of that name, with the nearest one that is.
        """
        found = self.runs(campaign_key, name)
        if not found:
            raise NotFound("run", name, [stored.row.run for stored in self.runs(campaign_key)])
        return found[0]

    def amend_run(self, run: StoredRun, changes: Mapping[str, Any], *, by: str = "person") -> None:
        """Change the named fields of a run's row; all else stays as it is, whoever said it.

        Raises
        ------
        ValueError
            If a field is no field of a row, or says whether the run counts: `set_aside`, `put_back`.
        """
        wrong = changes.keys() - {each.name for each in fields(RunRow)} | changes.keys() & {
            "set_aside",
            "run",
        }
        if wrong:
            raise ValueError(f"not amended: {', '.join(sorted(wrong))}")
        with writing(self.engine) as db:
            patch_run(db, run.key, changes, by)

    def rename(self, campaign_key: int, renames: Mapping[str, Mapping[str, str]], sheet: str) -> None:
        """Let all runs of a campaign call their tool or article by a new name, and know that a sheet does.

        Parameters
        ----------
        renames
            Old name to new, by field of a row.
        sheet
            Path of the sheet that was written with the new names.
        """
        with writing(self.engine) as db:
            mine = tables.run.c.campaign_id == campaign_key
            for found in db.execute(sa.select(tables.run).where(mine)).all():
                rename_run(db, found, renames, sheet)

    def know_sheet(self, sheet: str, runs: Iterable[StoredRun]) -> None:
        """Remember that the sheet at this path says of these runs what the store does."""
        with writing(self.engine) as db:
            for run in runs:
                know_sheet(db, sheet, run)

    def replace_log(self, run: StoredRun, trace: KeptTrace, because: str, *, by: str = "person") -> bool:
        """Put another log, or another reading of it, in place of the one that counts; that one stays stored.

        Returns
        -------
        bool
            False where it reads as before: then nothing is said.
        """
        with writing(self.engine) as db:
            return replace_trace(db, run.key, trace, because, by)

    def set_aside(self, run: StoredRun, because: str, *, by: str = "person") -> None:
        """Set a run aside, with the reason."""
        with writing(self.engine) as db:
            say(db, run.key, SET_ASIDE, because, by)

    def keep_sound(self, run: StoredRun, original: tuple[str, str, int], *, by: str = "person") -> None:
        """Keep a recording of a run, its bytes stored already as (hash, name, bytes); the last one counts."""
        if self.sound(run) == original[0]:
            return
        with writing(self.engine) as db:
            keep_original(db, *original)
            say(db, run.key, SOUND, original[0], by)

    def sound(self, run: StoredRun) -> str | None:
        """The hash of the last recording stored for a run."""
        kept = [event.because for event in self.history(run) if event.kind == SOUND]
        return kept[-1] if kept else None

    def sounds(self, campaign_key: int) -> dict[str, tuple[str, str]]:
        """Hash and name of the last recording stored for each run of a campaign that has one, by run."""
        query = (
            sa.select(tables.run.c.name, tables.original.c.sha256, tables.original.c.name)
            .select_from(tables.event.join(tables.run, tables.event.c.run_id == tables.run.c.id))
            .join(tables.original, tables.original.c.sha256 == tables.event.c.because)
            .where(tables.run.c.campaign_id == campaign_key, tables.event.c.kind == SOUND)
            .order_by(tables.event.c.id)
        )
        with self._readable(), reading(self.engine) as db:
            return {run: (digest, name) for run, digest, name in db.execute(query)}

    def put_back(self, run: StoredRun, *, by: str = "person") -> None:
        """Let a run count again."""
        with writing(self.engine) as db:
            say(db, run.key, PUT_BACK, None, by)

    def keep_overloads(self, found: Mapping[int, PastOverload]) -> None:
        """Let the history of runs, by key, say how they went beyond their bolt's limit, unless it does."""
        known = self.overloads(found)
        fresh = {key: each for key, each in found.items() if each.is_news(known.get(key))}
        if fresh:
            with writing(self.engine) as db:
                for key, each in fresh.items():
                    say(db, key, OVERLOADED, each.words, "audit", allowed_n=each.allowed_n)

    def overloads(self, keys: Iterable[int]) -> dict[int, PastOverload]:
        """Those of some runs, by key, that were ever beyond their bolt's limit: how far last, and the lowest
        limit."""
        wanted = list(keys)
        found: dict[int, PastOverload] = {}
        with self._readable(), reading(self.engine) as db:
            for start in range(0, len(wanted), _AT_ONCE):
                query = (
                    sa.select(tables.event.c.run_id, tables.event.c.because, tables.event.c.allowed_n)
                    .where(
                        tables.event.c.run_id.in_(wanted[start : start + _AT_ONCE]),
                        tables.event.c.kind == OVERLOADED,
                    )
                    .order_by(tables.event.c.id)
                )
                for each in db.execute(query):
                    before = found[each.run_id].allowed_n if each.run_id in found else None
                    known = [limit for limit in (before, each.allowed_n) if limit is not None]
                    found[each.run_id] = PastOverload(each.because or "", min(known, default=None))
        return found

    def history(self, run: StoredRun) -> tuple[Event, ...]:
        """All that was ever said of a run, oldest first."""
        query = (
            sa.select(tables.event, tables.trace, tables.original)
            .select_from(
                tables.event.outerjoin(
                    tables.trace, tables.event.c.trace_sha256 == tables.trace.c.sha256
                ).outerjoin(tables.original, tables.trace.c.original_sha256 == tables.original.c.sha256)
            )
            .where(tables.event.c.run_id == run.key)
            .order_by(tables.event.c.id)
        )
        with self._readable(), reading(self.engine) as db:
            return tuple(
                Event(e.at, e.kind, e.because, e.by, trace_of(e._mapping)) for e in db.execute(query)
            )

    # facts: results stored by the hash of all they were worked out from ------------------------

    def facts(self, keys: Iterable[str]) -> dict[str, Any]:
        """The stored results among `keys`; one that is damaged, or cannot be read, is as good as none."""
        wanted = list(keys)
        found: dict[str, Any] = {}
        text = sa.cast(tables.fact.c.value, sa.String)
        with reading(self.engine) as db:
            for start in range(0, len(wanted), _AT_ONCE):
                some = tables.fact.c.key.in_(wanted[start : start + _AT_ONCE])
                for key, value in db.execute(sa.select(tables.fact.c.key, text).where(some)):
                    with suppress(ValueError, TypeError, KeyError):
                        found[key] = unseal(value)
        return found

    def keep_facts(self, facts: Mapping[str, Any]) -> bool:
        """Keep results so that they need not be worked out again; what is there already stays as it is.

        Returns
        -------
        bool
            False where nothing can be written, such as on a full disk: then they are worked out again.
        """
        if is_read_only(self.engine):
            return False
        new = {key: facts[key] for key in facts.keys() - self.facts(facts)}
        if not new:
            return True
        try:
            with writing(self.engine) as db:
                for key, value in new.items():
                    db.execute(tables.fact.delete().where(tables.fact.c.key == key))
                    db.execute(tables.fact.insert().values(key=key, value=seal(value)))
        except StoreError:
            return False
        return True

    def damaged_facts(self) -> tuple[str, ...]:
        """The keys of stored results that are not what was stored."""
        text = sa.cast(tables.fact.c.value, sa.String)
        with reading(self.engine) as db:
            rows = db.execute(sa.select(tables.fact.c.key, text).order_by(tables.fact.c.key))
            return tuple(key for key, value in rows if is_damaged(value))

    def drop_facts(self, keys: Iterable[str]) -> None:
        """Forget results that nobody will ask for again, such as the pieces of a whole that is stored."""
        if is_read_only(self.engine):
            return
        with writing(self.engine) as db:
            for key in keys:
                db.execute(tables.fact.delete().where(tables.fact.c.key == key))


def _calibration_of(campaign_key: int, rig: str | None) -> tuple[sa.Table, sa.ColumnElement[bool]]:
    """The table that has the calibration of a rig, and which of its rows it is."""
    if rig is None:
        return tables.calibration, tables.calibration.c.campaign_id == campaign_key
    table = tables.rig_calibration
    return table, sa.and_(table.c.campaign_id == campaign_key, table.c.rig == rig)
