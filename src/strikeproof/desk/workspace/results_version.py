"""Which way of working results out the saved ones come from; part of the key of everything that is saved.

A saved result is used again only under the same number. Tests on frozen inputs (`tests/frozen_results.py`)
fail when a result changes: then the number goes up by one, and no workspace shows an older program's results.
"""

from __future__ import annotations

from typing import Final

__all__ = ["EXPLANATIONS", "SCORES"]

SCORES: Final = 10
"""From samples, sheets and calibrations to scores, flags, lists of runs, and what a recording says."""
EXPLANATIONS: Final = 13
"""From scores to what explains them, with the margins of what is proposed, and the pieces of that work."""
