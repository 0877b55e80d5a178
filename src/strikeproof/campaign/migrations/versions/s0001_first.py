"""The first schema. A released step is never edited: later changes are later steps."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the seven tables."""
    op.create_table(
        "campaign",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", sa.String, nullable=False, unique=True),
        sa.Column("record", sa.JSON, nullable=False),
        sa.Column("folder", sa.String, nullable=False),
        sa.Column("loaded_at", sa.String, nullable=False),
    )
    op.create_table(
        "original",
        sa.Column("sha256", sa.String(64), primary_key=True),
        sa.Column("name", sa.String, nullable=False),
        sa.Column("bytes", sa.Integer, nullable=False),
    )
    op.create_table(
        "trace",
        sa.Column("sha256", sa.String(64), primary_key=True),
        sa.Column("original_sha256", sa.String(64), sa.ForeignKey("original.sha256"), nullable=False),
        sa.Column("samples", sa.Integer, nullable=False),
        sa.Column("sample_rate_hz", sa.Float, nullable=False),
        sa.Column("started", sa.String),
        sa.Column("channels", sa.JSON, nullable=False),
        sa.Column("findings", sa.JSON, nullable=False),
    )
    op.create_table(
        "run",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("campaign_id", sa.Integer, sa.ForeignKey("campaign.id"), nullable=False),
        sa.Column("name", sa.String, nullable=False),
        sa.Column("ordinal", sa.Integer, nullable=False),
        sa.Column("row", sa.JSON, nullable=False),
        sa.Column("trace_sha256", sa.String(64), sa.ForeignKey("trace.sha256")),
        sa.UniqueConstraint("campaign_id", "name", name="one_run_a_name"),
    )
    op.create_table(
        "event",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("run_id", sa.Integer, sa.ForeignKey("run.id"), nullable=False),
        sa.Column("at", sa.String, nullable=False),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("because", sa.String),
        sa.Column("by", sa.String, nullable=False),
    )
    op.create_index("event_by_run", "event", ["run_id"])
    op.create_table(
        "calibration",
        sa.Column("campaign_id", sa.Integer, sa.ForeignKey("campaign.id"), primary_key=True),
        sa.Column("original_sha256", sa.String(64), sa.ForeignKey("original.sha256"), nullable=False),
        sa.Column("rows", sa.JSON, nullable=False),
    )
    op.create_table(
        "fact",
        sa.Column("key", sa.String(64), primary_key=True),
        sa.Column("value", sa.JSON, nullable=False),
    )
