"""A campaign may have several rigs, each with a calibration of its own."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Add `rig_calibration`."""
    op.create_table(
        "rig_calibration",
        sa.Column("campaign_id", sa.Integer, sa.ForeignKey("campaign.id"), primary_key=True),
        sa.Column("rig", sa.String, primary_key=True),
        sa.Column("original_sha256", sa.String(64), sa.ForeignKey("original.sha256"), nullable=False),
        sa.Column("rows", sa.JSON, nullable=False),
    )
