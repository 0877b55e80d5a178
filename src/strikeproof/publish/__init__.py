"""Charts and the page."""
