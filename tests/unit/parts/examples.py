"""Invented articles that several tests share."""

from __future__ import annotations

from typing import Any

from strikeproof.parts import Article, read_article

HARD = "4140 at 45 HRC"


def socket(**changes: Any) -> dict[str, Any]:
    """A plain deep 24 mm socket for a half-inch square."""
    return {
        "name": "socket",
        "shape": "bar",
        "outer_diameter_mm": 34,
        "length_mm": 80,
        "material": HARD,
        "cut": [
            {"kind": "square drive", "size_mm": 12.5, "depth_mm": 18},
            {"kind": "hexagon", "size_mm": 24, "depth_mm": 45},
            {"kind": "bore", "size_mm": 12},
        ],
    } | changes


def ring(**changes: Any) -> dict[str, Any]:
    """An inertia ring around the socket."""
    return {
        "name": "ring",
        "shape": "disc",
        "outer_diameter_mm": 80,
        "length_mm": 20,
        "material": "S355J2",
        "carrier": "socket",
        "bond": {"kind": "weld", "throat_mm": 4, "runs": 2},
    } | changes


def extension(length: float, diameter: float = 15.5) -> dict[str, Any]:
    """The shank of an extension."""
    return {
        "name": "shank",
        "shape": "bar",
        "outer_diameter_mm": diameter,
        "length_mm": length,
        "material": HARD,
    }


def article(*parts: dict[str, Any], **keys: Any) -> Article:
    """An article of these parts."""
    return read_article({"name": "example", "part": list(parts)} | keys)
