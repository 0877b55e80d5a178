"""Runs recorded from a live rig: armed, written, judged and saved, with all that a person decides."""
