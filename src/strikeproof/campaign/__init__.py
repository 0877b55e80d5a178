"""The records of a campaign, the folder they are written in and the store that keeps them.

`records` holds plain frozen data that every later room may know; `folder` reads a
campaign on disk; `store` keeps it. They are imported by name so that a pure room
that needs a record does not pull in a database.
"""

__all__ = ["folder", "records", "store"]
