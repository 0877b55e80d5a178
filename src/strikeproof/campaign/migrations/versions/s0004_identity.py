"""A campaign is more than its name: what separates it from another of the same name."""

import secrets

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Add `campaign.identity`; a campaign without one gets it here, and its folder may use it."""
    op.add_column("campaign", sa.Column("identity", sa.String))
    db = op.get_bind()
    campaign = sa.table("campaign", sa.column("id"), sa.column("identity"))
    for (key,) in db.execute(sa.select(campaign.c.id)).all():
        change = sa.update(campaign).where(campaign.c.id == key)
        db.execute(change.values(identity=secrets.token_hex(8)))
