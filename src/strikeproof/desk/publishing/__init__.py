"""Results as a report: the page, its charts, its parts for a front, in the units of a person."""
