"""A campaign set up without touching a file: its tables edited, undone, renamed, listed, copied."""
