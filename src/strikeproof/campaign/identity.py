"""What separates a campaign from another of the same name: `id` in its campaign.toml."""

from __future__ import annotations

import secrets

__all__ = ["new_identity"]


def new_identity() -> str:
    """An identity that no other campaign has."""
    return secrets.token_hex(8)
