"""What an air hose leaves of the pressure at the tool, from what a person knows of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from strikeproof.errors import BadInput
from strikeproof.parts.hose import FREE_PRESSURE, FRICTION_UNCERTAINTY, RUBBER, Hose, pressure_left
from strikeproof.quantity import parse_quantity, write_number, write_uncertain

__all__ = ["HoseFacts", "describe_hose"]

_BAR = 1e5
_NOTES = (
    "couplings, valves and bends are not in it: add their equivalent length, or measure at the tool",
    "the flow is the mean one; a tool that strikes draws air in pulses, so the lowest pressure is lower",
    "keep the pressure at the tool at its rating; a hose that comes off whips: relieve it before you part it",
)


@dataclass(frozen=True, slots=True)
class HoseFacts:
    """Pressures above the atmosphere. [bar], [m/s]"""

    supply_bar: float
    left_bar: float
    left_uncertainty_bar: float
    drop_bar: float
    speed_m_s: float
    reynolds: float
    friction_factor: float
    notes: tuple[str, ...] = _NOTES

    def lines(self) -> Iterator[tuple[str, str, str]]:
        """Name, number and unit, for a terminal."""
        yield "pressure at the tool", write_uncertain(self.left_bar, self.left_uncertainty_bar), "bar"
        yield "lost in the hose", write_uncertain(self.drop_bar, self.left_uncertainty_bar), "bar"
        yield "of the supply", write_number(100.0 * self.left_bar / self.supply_bar, 3), "%"
        yield "speed of the air at its end", write_number(self.speed_m_s, 2), "m/s"
        yield "friction factor", write_number(self.friction_factor, 2), ""


def describe_hose(supply: str, flow: str, length: str, bore: str, roughness: str | None = None) -> HoseFacts:
    """The pressure left at the tool, with the uncertainty that the friction factor gives it.

    Parameters
    ----------
    supply
        At the beginning of the hose, above the atmosphere, such as "6.3 bar".
    flow
        Free air that the tool takes, such as "500 l/min" or "18 cfm".
    length, bore, roughness
        Such as "10 m", "10 mm", "0.01 mm".

    Raises
    ------
    BadInput
        If one cannot be read, or the hose cannot pass so much air.
    """
    gauge = parse_quantity(supply, "pressure")
    free = parse_quantity(flow, "flow")
    for name, value in (("supply", gauge), ("flow", free)):
        if value <= 0.0:
            raise BadInput(f"{value:g}", where=name, allowed="above 0")
    hose = Hose(
        parse_quantity(length, "length"),
        parse_quantity(bore, "length"),
        RUBBER if roughness is None else parse_quantity(roughness, "length"),
    )
    end, high, low = (
        pressure_left(hose, gauge + FREE_PRESSURE, free, friction_share=1.0 + share)
        for share in (0.0, -FRICTION_UNCERTAINTY / 2.0, FRICTION_UNCERTAINTY / 2.0)
    )
    left = end.pressure - FREE_PRESSURE
    if left <= 0.0:
        raise BadInput(
            "no pressure would be left at the tool", where="hose", allowed="a wider or shorter hose"
        )
    return HoseFacts(
        gauge / _BAR,
        left / _BAR,
        (high.pressure - low.pressure) / 2.0 / _BAR,
        (gauge - left) / _BAR,
        end.speed,
        end.reynolds,
        end.friction,
    )
