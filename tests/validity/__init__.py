"""The study behind docs/validity.md: thousands of simulated campaigns whose truth is known."""

from tests.validity.campaigns import Truth, simulate_campaign

__all__ = ["Truth", "simulate_campaign"]
