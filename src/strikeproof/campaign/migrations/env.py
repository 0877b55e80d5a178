"""Alembic's entry: run the steps on the connection that the store hands over."""

from alembic import context

from strikeproof.campaign.schema import metadata

# The store owns the transaction, so that a half-applied step is rolled back as a whole.
context.configure(connection=context.config.attributes["connection"], target_metadata=metadata)
context.run_migrations()
