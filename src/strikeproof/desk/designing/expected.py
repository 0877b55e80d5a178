"""What a proposal is expected to do with one tool."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from strikeproof.design.records import Found
from strikeproof.desk.explaining.predict import ToolPrediction
from strikeproof.explain import Setting
from strikeproof.parts import Margin
from strikeproof.quantity import write_percent

__all__ = ["Expected", "expect_found", "expect_predicted", "write_gain"]


@dataclass(frozen=True, slots=True)
class Expected:
    """Gain over the reference with its 90 % interval [%], and peak torque at the bolt's head [N·m].

    Parameters
    ----------
    low_run, high_run
        Of a single run; None where no run tells how runs scatter.
    margins
        At the peak of each place's own joint, smallest first; empty where only the search tells them.
    peak_torque, peak_high
        In the middle, and what is exceeded in one draw of twenty; None without a fitted chain.
    """

    setting: Setting
    gain_percent: float
    low: float
    high: float
    low_run: float | None
    high_run: float | None
    peak_torque: float | None
    peak_high: float | None
    margins: tuple[Margin, ...] = ()

    @property
    def words(self) -> str:
        """Such as `+28 % (18 to 36 %)`."""
        return write_gain(self.gain_percent, self.low, self.high)

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it, under the keys of a prediction."""
        return {
            "tool": self.setting.tool,
            "duration_s": self.setting.duration,
            "gain_percent": self.gain_percent,
            "low": self.low,
            "high": self.high,
            "low_run": self.low_run,
            "high_run": self.high_run,
            "peak_torque_n_m": self.peak_torque,
            "peak_torque_high_n_m": self.peak_high,
        }


def write_gain(gain: float, low: float, high: float) -> str:
    """A gain with its interval as people say it."""
    middle, least, most = (write_percent(each, decimals=0, sign=False) for each in (gain, low, high))
    sign = "+" if round(gain) > 0 else ""
    return f"{sign}{middle} ({least.removesuffix(' %')} to {most})"


def expect_predicted(told: ToolPrediction) -> Expected:
    """By the same prediction that `predict` prints."""
    each = told.prediction
    return Expected(
        each.setting,
        each.gain_percent,
        each.low,
        each.high,
        each.low_run,
        each.high_run,
        told.peak_torque,
        told.peak_high,
        told.margins,
    )


def expect_found(found: Found, settings: Sequence[Setting]) -> tuple[Expected, ...]:
    """By the draws of the search itself, where there is no campaign to predict from."""
    rows = []
    for tool, setting in enumerate(settings):
        low, gain, most = (100.0 * np.expm1(np.quantile(found.gains[:, tool], [0.05, 0.5, 0.95]))).tolist()
        middle, high = np.quantile(found.peaks[:, tool], [0.5, 0.95]).tolist()
        rows.append(Expected(setting, gain, low, most, None, None, middle, high))
    return tuple(rows)
