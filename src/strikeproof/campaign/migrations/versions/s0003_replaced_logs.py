"""A run's history knows which trace counted before its log was replaced."""

from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add `event.trace_sha256`."""
    # Alembic adds no reference to a column of SQLite; both databases do in their own words.
    op.execute("ALTER TABLE event ADD COLUMN trace_sha256 VARCHAR(64) REFERENCES trace (sha256)")
