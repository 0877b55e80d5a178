"""Every article compared with the reference, and results as rows of text."""
