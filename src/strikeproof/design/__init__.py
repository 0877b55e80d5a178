"""Search for the next prototype inside an envelope, a budget and a strength limit."""
