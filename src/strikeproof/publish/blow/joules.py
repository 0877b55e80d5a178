"""What becomes of the hammer's energy: streams in the order in which they leave the drivetrain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from strikeproof.drivetrain import Ledger
from strikeproof.language import say
from strikeproof.publish.blow.story import Contact

__all__ = ["SHOWN", "Stream", "split_energy"]

Way = Literal["back", "in", "out", "end", "open"]
SHOWN: Final = 5e-4
"""Share of the hammer's energy below which a stream is described in words only."""


@dataclass(frozen=True, slots=True)
class Stream:
    """Energy that leaves the trunk.

    Attributes
    ----------
    name
        Where it goes, in words.
    energy
        Below 0 where a station gives energy back. [J]
    share
        Of what the hammer brought in.
    way
        Back to the hammer, into the trunk, out of it, left at its end, or left open by the calculation.
    """

    name: str
    energy: float
    share: float
    way: Way

    @property
    def shown(self) -> bool:
        """Whether a band of its width can be seen."""
        return abs(self.share) >= SHOWN


def split_energy(ledger: Ledger, contacts: Sequence[Contact], *, goes_on: bool = False) -> tuple[Stream, ...]:
    """The streams of a ledger, from the hammer on; together they are exactly what the hammer brought in.

    Parameters
    ----------
    contacts
        Those of the ledger's joints, in its order.
    goes_on
        The hammer still turned forward at the end, so that nothing rebounded.
    """
    total = float(ledger.hammer_in)
    rows: list[tuple[str, float, Way]] = [
        (say("left in hammer") if goes_on else say("rebound"), ledger.rebound, "back")
    ]
    pairs = zip(contacts, ledger.joints, strict=True)
    rows += [
        (say("lost at {contact}", contact=contact.name), lost, "out") for contact, (_joint, lost) in pairs
    ]
    if ledger.clamp_work < 0.0:
        rows.append((say("from clamped joint"), ledger.clamp_work, "in"))
    if ledger.windup < 0.0:
        rows.append((say("from twist of shank"), ledger.windup, "in"))
    rows += [
        (say("vibration left"), ledger.vibration, "out"),
        (say("friction under head"), ledger.head_friction, "out"),
        (say("friction in thread"), ledger.thread_friction, "out"),
    ]
    if ledger.windup >= 0.0:
        rows.append((say("twist left in shank"), ledger.windup, "out"))
    rows.append((say("left open"), ledger.unaccounted, "open"))
    if ledger.clamp_work >= 0.0:
        rows.append((say("clamp work gained"), ledger.clamp_work, "end"))
    return tuple(Stream(name, float(energy), float(energy) / total, way) for name, energy, way in rows)
