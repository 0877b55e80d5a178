"""A run's history knows the load that was allowed when it was beyond it."""

from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Add `event.allowed_n`."""
    op.execute("ALTER TABLE event ADD COLUMN allowed_n FLOAT")
