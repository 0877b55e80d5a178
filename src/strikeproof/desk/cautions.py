"""What every plan, sheet and page of results says before anything else."""

from __future__ import annotations

from typing import Final

__all__ = ["CAUTIONS", "OwnCaution", "Stop"]


class Stop(str):
    """A caution that says not to go on. Its kind says so, for nothing may depend on how a text begins."""

    __slots__ = ()


class OwnCaution(str):
    """A caution that only some articles need, for what they are made of or how they are held."""

    __slots__ = ()


CAUTIONS: Final = (
    "Impact tests break bolts and sockets: wear eye, ear and hand protection and keep others away.",
    "Use impact-rated sockets, adapters and extensions only; look for cracks before each block.",
    "Guard the rig against flying pieces and stand clear of the bolt's axis.",
    "Keep the air pressure or the battery at the tool's rating.",
    "Keep the bolt's clamp load below its proof load; take a new bolt when it has been near yield.",
    "Bench results are no assembly instruction: what carries people is tightened last with a calibrated "
    "torque wrench, to the maker's value.",
    "Local codes, the makers' instructions and licensed practice come before anything on this page.",
)
