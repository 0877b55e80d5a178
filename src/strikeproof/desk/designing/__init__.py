"""A brief, the search for the next article, proposals with all that belongs to them, and their fit."""
