"""What all tests share."""

from hypothesis import settings

# Two busy cores must not fail a test, and the same commit must give the same result twice.
settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")
