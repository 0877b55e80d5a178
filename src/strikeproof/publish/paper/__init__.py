"""Documents on paper: the HTML of page, sheets and certificate set into pages of a tagged PDF."""
