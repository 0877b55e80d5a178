"""What each sheet said last of a run: a new word of a person is separated from a sheet that lags behind."""

import json
from pathlib import Path

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add `run.sheets`; whether a run is excluded goes from its row to its history, where it is already."""
    op.add_column("run", sa.Column("sheets", sa.JSON))
    db = op.get_bind()
    run = sa.table("run", sa.column("id"), sa.column("row", sa.JSON), sa.column("sheets", sa.JSON))
    campaign = sa.table("campaign", sa.column("id"), sa.column("record", sa.JSON), sa.column("folder"))
    of = sa.table("run", sa.column("campaign_id"), sa.column("id"))
    folders = {
        each.id: str(Path(each.folder) / str(_record(each.record).get("runs_sheet", "runs.csv")))
        for each in db.execute(sa.select(campaign))
    }
    owner = {each.id: each.campaign_id for each in db.execute(sa.select(of))}
    for each in db.execute(sa.select(run.c.id, run.c.row)).all():
        said = _record(each.row)
        values = {"sheets": {folders[owner[each.id]]: said}, "row": {**said, "set_aside": None}}
        db.execute(sa.update(run).where(run.c.id == each.id).values(**values))


def _record(value: object) -> dict[str, object]:
    found = json.loads(value) if isinstance(value, str) else value
    return dict(found) if isinstance(found, dict) else {}
