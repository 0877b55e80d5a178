"""Numbers as people read them: a unit, a sensible count of digits, an uncertainty."""

from __future__ import annotations

import math

from strikeproof.language import say_many, write_figures

__all__ = ["write_freedom", "write_number", "write_percent", "write_uncertain"]

_UNKNOWN = "–"


def _decimals(uncertainty: float) -> int:
    """Decimals that show two significant digits of the uncertainty (GUM 7.2.6)."""
    exponent = math.floor(math.log10(uncertainty))
    rounded = round(uncertainty, 1 - exponent)
    return 1 - math.floor(math.log10(rounded))


def write_uncertain(value: float, uncertainty: float | None, unit: str = "") -> str:
    """`value ± uncertainty unit`, both ended at the uncertainty's second digit (GUM 7.2.6).

    Parameters
    ----------
    value, uncertainty
        In `unit`; a dash for a value that is not finite, no ± for an uncertainty that is not known or 0.
    unit
        Printed behind both.
    """
    tail = f" {unit}" if unit else ""
    if not math.isfinite(value):
        return _UNKNOWN
    if uncertainty is None or not math.isfinite(uncertainty) or uncertainty <= 0:
        return write_number(value) + tail
    decimals = _decimals(uncertainty)
    value, uncertainty = round(value, decimals), round(uncertainty, decimals)
    shown = max(decimals, 0)
    return write_figures(f"{_signed(value, shown)} ± {uncertainty:.{shown}f}") + tail


def write_number(value: float | None, digits: int = 4) -> str:
    """`value` to `digits` significant digits without trailing noise; a dash when there is none."""
    if value is None or not math.isfinite(value):
        return _UNKNOWN
    if value == 0:
        return "0"
    written = f"{value:.{digits - 1}e}"
    exponent = int(written.partition("e")[2])
    if -4 <= exponent < 7:
        return write_figures(_signed(float(written), max(digits - 1 - exponent, 0)))
    return write_figures(written.replace("-", "−"))


def write_percent(value: float | None, *, sign: bool = True, decimals: int = 1) -> str:
    """A percentage with its sign, one decimal by default; a dash when there is none.

    Parameters
    ----------
    value
        [%]
    sign
        Whether a value above 0 has its plus.
    decimals
        Printed behind the point.
    """
    if value is None or not math.isfinite(value):
        return _UNKNOWN
    text = _signed(round(value, decimals) + 0.0, decimals)  # adding 0.0 turns −0.0 into 0.0
    return write_figures(f"{'+' if sign and round(value, decimals) > 0 else ''}{text} %")


def write_freedom(degrees: int) -> str:
    """Degrees of freedom, of which there may be one only."""
    return say_many("{count} degree of freedom", "{count} degrees of freedom", degrees)


def write_duration(seconds: float) -> str:
    """A stretch of time [s] as a person plans with it: seconds, minutes, or hours and minutes.

    Minutes from 90 s on, hours from 90 min on.
    """
    if seconds < 90.0:
        return f"{max(round(seconds), 0)} s"
    minutes = round(seconds / 60.0)
    return f"{minutes} min" if minutes < 90 else f"{minutes // 60} h {minutes % 60:02d} min"


def _signed(value: float, decimals: int) -> str:
    return f"{value:.{decimals}f}".replace("-", "−")
