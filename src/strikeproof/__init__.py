"""Bench tests of impact wrenches and of what sits between them and the bolt.

The package is a house of rooms, one a stage of the journey from a plan to a published page;
`docs/decisions/001-house.md` says which room may know which.
"""

__version__ = "0.1.0"
