"""The calibration as the page shows it: curve, test, residuals and what the uncertainty is made of."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from strikeproof.judge.budget import Budget
from strikeproof.judge.calibration import CalibrationFit
from strikeproof.language import say, write_figures
from strikeproof.publish.report import Report
from strikeproof.publish.texts import given
from strikeproof.quantity import write_freedom, write_number, write_uncertain

__all__ = ["calibration_view"]

_POWERS = ("", "", "²", "³")


def calibration_view(report: Report) -> dict[str, object] | None:
    """Rows and tables of the calibration part, or None when there is none."""
    fit = report.calibration
    if fit is None:
        return None
    return {
        "rows": _rows(report, fit),
        "notes": fit.notes,
        "residuals": _residuals(fit),
        "budget": None
        if report.budget is None
        else _budget(report.budget, report.applied_unit, report.reading_unit),
        "applied_unit": report.applied_unit,
        "reading_unit": report.reading_unit,
    }


def _rows(report: Report, fit: CalibrationFit) -> list[tuple[str, str]]:
    applied, reading = report.applied_unit, report.reading_unit
    low, high = fit.applied_range
    rows = [
        (
            say("Curve"),
            say(
                "degree {degree}, chosen by {degree_chosen_by}",
                degree=fit.degree,
                degree_chosen_by=fit.degree_chosen_by,
            ),
        ),
        *_coefficients(fit, applied, reading),
        (say("Range"), say("{low} to {high} {applied}", low=given(low), high=given(high), applied=applied)),
        (say("Lack of fit"), _lack_of_fit(fit)),
        (
            say("Residuals"),
            say(
                "{residual_sd} {reading} (standard deviation)",
                residual_sd=write_number(fit.residual_sd, 3),
                reading=reading,
            ),
        ),
        (say("Zero"), write_uncertain(fit.zero.reading, fit.zero.standard_uncertainty, reading)),
    ]
    if fit.repeatability is not None:
        spread = fit.repeatability
        text = f"{write_number(spread.standard_deviation, 3)} {reading}"
        rows.append((say("Repeatability"), f"{text} ({write_freedom(spread.degrees_of_freedom)})"))
    if fit.hysteresis is not None:
        loop = fit.hysteresis
        text = say(
            "{reading} {reading_unit} at {applied} {applied_unit}",
            reading=write_number(loop.reading, 3),
            reading_unit=reading,
            applied=given(loop.applied),
            applied_unit=applied,
        )
        rows.append(
            (
                say("Hysteresis"),
                say(
                    "{text}, {percent_of_span} % of the span",
                    text=text,
                    percent_of_span=write_number(loop.percent_of_span, 2),
                ),
            )
        )
    if fit.resolution is not None:
        rows.append((say("Resolution"), f"{given(fit.resolution)} {reading}"))
    return rows


def _coefficients(fit: CalibrationFit, applied: str, reading: str) -> list[tuple[str, str]]:
    rows = []
    for power, (value, spread) in enumerate(zip(fit.coefficients, fit.standard_uncertainties, strict=True)):
        per = f"{_per(reading, applied)}{_POWERS[power]}" if power else reading
        rows.append(
            (say("Coefficient c{value}", value="₀₁₂₃"[power]), _scientific(float(value), float(spread), per))
        )
    return rows


def _per(above: str, below: str) -> str:
    """One unit divided by another."""
    return f"{above}/({below})" if any(sign in below for sign in "·/ ") else f"{above}/{below}"


def _scientific(value: float, spread: float, unit: str) -> str:
    """A coefficient with its standard uncertainty; powers of ten where plain digits would be all zeros."""
    if value != 0 and not 1e-3 <= abs(value) < 1e6:
        exponent = int(f"{value:e}".split("e")[1])
        scale = 10.0**exponent
        raised = str(exponent).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
        return f"({write_uncertain(value / scale, spread / scale)}) × 10{raised} {unit}"
    return write_uncertain(value, spread, unit)


def _lack_of_fit(fit: CalibrationFit) -> str:
    test = fit.lack_of_fit
    if test.f is None or test.p is None or test.degrees_of_freedom is None:
        return say("not tested: {reason}", reason=test.reason)
    numerator, denominator = test.degrees_of_freedom
    said = say("the curve misses its points") if test.significant else say("none that repeats do not explain")
    p = write_figures("< 0.001") if test.p < 0.001 else f"= {write_figures(f'{test.p:.3f}')}"
    return say(
        "{said} (F({numerator}, {denominator}) = {f}, p {p})",
        said=said,
        numerator=numerator,
        denominator=denominator,
        f=write_number(test.f, 3),
        p=p,
    )


def _residuals(fit: CalibrationFit) -> list[dict[str, str]]:
    way = (
        ["–"] * fit.applied.size
        if fit.rising is None
        else [say("up") if up else say("down") for up in fit.rising]
    )
    return [
        {
            "number": str(index + 1),
            "applied": f"{fit.applied[index]:.7g}",
            "direction": way[index],
            "reading": f"{fit.reading[index]:.7g}",
            "residual": write_number(float(fit.residuals[index]), 3),
            "check": say("check this point") if index in fit.suspects else "",
        }
        for index in range(fit.applied.size)
    ]


def _budget(budget: Budget, unit: str, reading: str) -> dict[str, object]:
    """Lines and total; a line whose sensitivity is 1 is in the unit of the result, any other in readings."""
    lines = [
        {
            "name": _LINES.get(line.name, line.name),
            "source": line.source,
            "uncertainty": f"{write_number(line.standard_uncertainty, 3)} "
            + (unit if line.sensitivity == 1.0 else reading),
            "distribution": _DISTRIBUTIONS.get(line.distribution, line.distribution),
            "sensitivity": "1"
            if line.sensitivity == 1.0
            else f"{write_number(line.sensitivity, 3)} {_per(unit, reading)}",
            "contribution": f"{write_number(line.contribution, 2)} {unit}",
            "share": "< 1 %" if 0 < share < 0.005 else f"{100 * share:.0f} %",
            "freedom": _freedom(line.degrees_of_freedom),
        }
        for line, share in zip(budget.components, budget.shares, strict=True)
    ]
    spread = f"{write_number(budget.expanded_uncertainty, 2)} {unit}"
    says = say(
        "At {at} {unit} the combined standard uncertainty is {standard_uncertainty} {unit} with "
        "{freedom} effective degrees of freedom. With k = {coverage_factor} the expanded uncertainty "
        "({level} %) is {spread}.",
        at=given(budget.at),
        unit=unit,
        standard_uncertainty=write_number(budget.standard_uncertainty, 2),
        freedom=_freedom(budget.degrees_of_freedom),
        coverage_factor=write_number(budget.coverage_factor, 3),
        level=given(100 * budget.level),
        spread=spread,
    )
    return {"says": says, "lines": lines}


_LINES: Final[Mapping[str, str]] = {
    "zero": say("zero"),
    "repeatability": say("repeatability"),
    "hysteresis": say("hysteresis"),
    "resolution": say("resolution"),
}
_DISTRIBUTIONS: Final[Mapping[str, str]] = {"normal": say("normal"), "rectangular": say("rectangular")}


def _freedom(number: float) -> str:
    if math.isfinite(number) and number > 1000:
        return say("more than 1000")
    return f"{number:.0f}" if math.isfinite(number) else "∞"
