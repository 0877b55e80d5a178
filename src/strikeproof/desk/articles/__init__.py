"""One article: worked out from its dimensions, drawn up in a form, known by given or measured values."""
