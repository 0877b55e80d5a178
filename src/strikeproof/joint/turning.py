"""Which way a thread winds, which way the tool turns, and what that does to the bolt.

Forward is clockwise as seen from behind the tool; it tightens a right-hand thread and loosens a left-hand
one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from strikeproof.errors import BadInput
from strikeproof.language import say

__all__ = ["Hand", "Rotation", "Turning", "TurningDirection", "settle_turning"]

Hand = Literal["right", "left"]
Rotation = Literal["forward", "reverse"]
TurningDirection = Literal["tighten", "loosen"]


@dataclass(frozen=True, slots=True)
class Turning:
    """What happens to the bolt, which way the tool turns, and which way the thread winds; the three agree."""

    direction: TurningDirection
    rotation: Rotation
    hand: Hand

    def __str__(self) -> str:
        if self.hand == "right":
            if self.direction == "tighten":
                return say("tightening")
            return say("loosening a right-hand bolt, tool in reverse")
        if self.direction == "tighten":
            return say("tightening a left-hand bolt, tool in reverse")
        return say("loosening a left-hand bolt, tool in forward")

    @property
    def words(self) -> dict[str, str]:
        """The three for a sentence with `{rotation}`, `{direction}` and `{hand}`."""
        return {
            "rotation": say("forward") if self.rotation == "forward" else say("reverse"),
            "direction": say("tighten") if self.direction == "tighten" else say("loosen"),
            "hand": say("right") if self.hand == "right" else say("left"),
        }


def settle_turning(
    direction: TurningDirection | None, rotation: Rotation | None, hand: Hand | None
) -> Turning:
    """All three from those that are given: the hand is right and the direction tighten where nothing says.

    Parameters
    ----------
    direction
        What happens to the bolt.
    rotation
        Which way the tool turns, seen from behind it.
    hand
        Which way the thread winds.

    Raises
    ------
    BadInput
        If direction and rotation contradict each other on a bolt of this hand.
    """
    hand = hand or "right"
    if rotation is None:
        direction = direction or "tighten"
        return Turning(
            direction, "forward" if (direction == "tighten") == (hand == "right") else "reverse", hand
        )
    follows: TurningDirection = "tighten" if (rotation == "forward") == (hand == "right") else "loosen"
    if direction not in (None, follows):
        raise BadInput(
            f"a tool in {rotation} cannot {direction} a {hand}-hand bolt",
            where="protocol.direction",
            allowed=follows,
            fix=f"set direction to {follows}, delete it, or correct rotation or the bolt's hand",
        )
    return Turning(follows, rotation, hand)
