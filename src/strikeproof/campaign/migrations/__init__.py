"""The schema's history, one file a step, applied in order by Alembic."""
