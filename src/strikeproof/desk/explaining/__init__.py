"""Which property makes the difference, worked out once and stored, and what it predicts."""
