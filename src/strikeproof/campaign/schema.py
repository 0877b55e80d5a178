"""The tables of the store, in SQL that SQLite and PostgreSQL both understand.

Times are ISO 8601 text in UTC: SQLite has no time zone of its own and text sorts rightly.
"""

from __future__ import annotations

from sqlalchemy import (
    JSON,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    UniqueConstraint,
)

__all__ = [
    "calibration",
    "campaign",
    "event",
    "fact",
    "metadata",
    "original",
    "rig_calibration",
    "run",
    "trace",
]

metadata = MetaData()

campaign = Table(
    "campaign",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", String, nullable=False, unique=True),
    Column("record", JSON, nullable=False),
    Column("folder", String, nullable=False),
    Column("loaded_at", String, nullable=False),
    Column("identity", String),
)

original = Table(
    "original",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("name", String, nullable=False),
    Column("bytes", Integer, nullable=False),
)

trace = Table(
    "trace",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("original_sha256", ForeignKey("original.sha256"), nullable=False),
    Column("samples", Integer, nullable=False),
    Column("sample_rate_hz", Float, nullable=False),
    Column("started", String),
    Column("channels", JSON, nullable=False),
    Column("findings", JSON, nullable=False),
)

# `row` is what holds of a run, but not whether it is excluded: that is what its history says last.
# `sheets` is what each sheet, by its path, said of it when it was last read or written.
run = Table(
    "run",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("campaign_id", ForeignKey("campaign.id"), nullable=False),
    Column("name", String, nullable=False),
    Column("ordinal", Integer, nullable=False),
    Column("row", JSON, nullable=False),
    Column("trace_sha256", ForeignKey("trace.sha256")),
    Column("sheets", JSON),
    UniqueConstraint("campaign_id", "name", name="one_run_a_name"),
)

# A run's history; whether it is excluded is what its latest word says. Rows are only ever added.
# `allowed_n` is the clamp load that was allowed where the word is that of an overload.
event = Table(
    "event",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("run_id", ForeignKey("run.id"), nullable=False),
    Column("at", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("because", String),
    Column("by", String, nullable=False),
    Column("trace_sha256", ForeignKey("trace.sha256")),
    Column("allowed_n", Float),
)
Index("event_by_run", event.c.run_id)

calibration = Table(
    "calibration",
    metadata,
    Column("campaign_id", ForeignKey("campaign.id"), primary_key=True),
    Column("original_sha256", ForeignKey("original.sha256"), nullable=False),
    Column("rows", JSON, nullable=False),
)

# The calibrations of a campaign's other rigs, each by the rig's name.
rig_calibration = Table(
    "rig_calibration",
    metadata,
    Column("campaign_id", ForeignKey("campaign.id"), primary_key=True),
    Column("rig", String, primary_key=True),
    Column("original_sha256", ForeignKey("original.sha256"), nullable=False),
    Column("rows", JSON, nullable=False),
)

# Results stored so as not to be worked out twice; any of it may be deleted at any time.
fact = Table(
    "fact",
    metadata,
    Column("key", String(64), primary_key=True),
    Column("value", JSON, nullable=False),
)
