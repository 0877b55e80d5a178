"""What a person chooses from for a bundle, for those who show it."""

from __future__ import annotations

from strikeproof.publish.data.licences import LICENCES

__all__ = ["licence_choices"]


def licence_choices() -> tuple[tuple[str, str], ...]:
    """Each licence by its SPDX identifier, with what it lets others do."""
    return tuple((each.spdx, each.says) for each in LICENCES)
