"""A smaller margin against failure is asked about first, with the figures."""

from __future__ import annotations

from collections.abc import Sequence

from strikeproof.desk.designing.brief_draft import LoweredMargin
from strikeproof.desk.designing.brief_form import BRIEF_FIELDS
from strikeproof.desk.safety.cautions import LESS_MARGIN
from strikeproof.web.planning.asking import ask

__all__ = ["agree_to_lower"]


async def agree_to_lower(lowered: Sequence[LoweredMargin]) -> bool:
    """Whether the person said yes; nobody is asked where no margin gets smaller."""
    if not lowered:
        return True
    says = [
        f"{BRIEF_FIELDS[each.key].label}: from {each.before:g} to {each.after:g} times the believed peak "
        "torque."
        for each in lowered
    ]
    says.append(LESS_MARGIN)
    return await ask("Lower the margin against failure?", says, "Lower it", "Leave the brief as it is")
