"""Texts of people that hold odd characters are cleaned once, so that every later reader can trust them."""

from typing import Any

import sqlalchemy as sa
from alembic import op

from strikeproof.plain_text import clean_text

revision = "0005"
down_revision = "0004"

_AS_THEY_ARE = ("log", "logs_folder", "runs_sheet", "sheet", "geometry")  # names of files; JSON inside JSON
_CAMPAIGN = sa.table("campaign", sa.column("id"), sa.column("name"), sa.column("record", sa.JSON))
_RUN = sa.table(
    "run",
    *(sa.column(name) for name in ("id", "campaign_id", "name")),
    *(sa.column(name, sa.JSON) for name in ("row", "sheets")),
)
_EVENT = sa.table("event", *(sa.column(name) for name in ("id", "run_id", "at", "kind", "because", "by")))


def upgrade() -> None:
    """Clean names, notes and reasons; a run that is called otherwise then says so in its history."""
    db = op.get_bind()
    names = {each.name for each in db.execute(sa.select(_CAMPAIGN.c.name))}
    for each in db.execute(sa.select(_CAMPAIGN)).all():
        name = _free(each.name, names)
        _change(db, _CAMPAIGN, each, name=name, record=_plain(each.record, "name", name))
    runs = db.execute(sa.select(_RUN)).all()
    taken: dict[int, set[str]] = {}
    for each in runs:
        taken.setdefault(each.campaign_id, set()).add(each.name)
    for each in runs:
        name = _free(each.name, taken[each.campaign_id])
        sheets = {path: _plain(said, "run", name) for path, said in (each.sheets or {}).items()}
        _change(db, _RUN, each, name=name, row=_plain(each.row, "run", name), sheets=sheets or each.sheets)
        if name != each.name:
            at = sa.select(sa.func.max(_EVENT.c.at)).where(_EVENT.c.run_id == each.id).scalar_subquery()
            said = {"kind": "amended", "because": "run", "by": "program"}
            db.execute(sa.insert(_EVENT).values(run_id=each.id, at=sa.func.coalesce(at, ""), **said))
    for each in db.execute(sa.select(_EVENT).where(_EVENT.c.because.is_not(None))).all():
        _change(db, _EVENT, each, because=clean_text(each.because))


def _free(name: str, taken: set[str]) -> str:
    """The name cleaned, and a number behind it where that is taken."""
    plain = free = clean_text(name)
    number = 1
    while free != name and free in taken:
        number += 1
        free = f"{plain} {number}"
    taken.add(free)
    return free


def _change(db: sa.Connection, table: sa.TableClause, found: Any, **values: object) -> None:
    if any(getattr(found, name) != value for name, value in values.items()):
        db.execute(sa.update(table).where(table.c.id == found.id).values(**values))


def _plain(value: Any, key: str = "", name: str = "") -> Any:
    """The same with clean texts; its own `key` becomes `name`."""
    if isinstance(value, str):
        return clean_text(value)
    if isinstance(value, list):
        return [_plain(each) for each in value]
    if isinstance(value, dict):
        clean = {at: each if at in _AS_THEY_ARE else _plain(each) for at, each in value.items()}
        return clean | ({key: name} if key in clean else {})
    return value
