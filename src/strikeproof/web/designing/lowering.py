"""A smaller margin against failure is asked about first, with the figures."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from strikeproof.desk.designing.brief_draft import LoweredMargin
from strikeproof.desk.designing.brief_form import BRIEF_FIELDS
from strikeproof.desk.safety.cautions import LESS_MARGIN

__all__ = ["lowering_asked"]


def lowering_asked(lowered: Sequence[LoweredMargin]) -> dict[str, Any] | None:
    """The question for `assets/asking.js`; None where no margin gets smaller."""
    if not lowered:
        return None
    says = [
        f"{BRIEF_FIELDS[each.key].label}: from {each.before:g} to {each.after:g} times the predicted peak "
        "torque."
        for each in lowered
    ]
    return {
        "title": "Lower the margin against failure?",
        "says": [*says, LESS_MARGIN],
        "yes": "Lower it",
        "no": "Leave the brief as it is",
    }
