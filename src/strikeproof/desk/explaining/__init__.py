"""Which property makes the difference, worked out once and kept, and what it predicts."""
