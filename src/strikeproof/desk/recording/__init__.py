"""Runs recorded from a live rig: armed, written, judged and kept, with all that a person decides."""
