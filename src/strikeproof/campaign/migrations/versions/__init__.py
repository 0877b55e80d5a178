"""The steps of the schema's history."""
