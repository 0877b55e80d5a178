"""The torque equivalent beside the clamp load."""

from __future__ import annotations

from matplotlib.axes import Axes

from strikeproof.quantity import FloatArray

__all__ = ["add_torque_axis"]


def add_torque_axis(axes: Axes, torque_per_load: float) -> None:
    """Label the right side with the torque that slow turning takes to the clamp load [kN] at the left.

    `torque_per_load` is in m, so that kN times mm is N·m.
    """
    factor = 1e3 * torque_per_load

    def to_torque(load: FloatArray) -> FloatArray:
        return factor * load

    def to_load(torque: FloatArray) -> FloatArray:
        return torque / factor

    other = axes.secondary_yaxis("right", functions=(to_torque, to_load))  # type: ignore[arg-type]  # arrays only
    other.set_ylabel("torque equivalent (N·m)")
    other.spines["right"].set_visible(False)
    other.grid(visible=False)
