"""Setting up a campaign on the page: fields, steps, and the article that is drawn while it is typed."""
