"""Fit a campaign's calibration sheet and budget what it is worth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from strikeproof.campaign.calibration_sheet import read_calibration_sheet
from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.inside import path_inside
from strikeproof.campaign.records import Bolt, CalibrationSource, Campaign
from strikeproof.errors import BadFile, BadInput
from strikeproof.joint import (
    FRICTION_SPREAD,
    Friction,
    TorqueTension,
    parse_thread,
    torque_tension,
)
from strikeproof.judge.budget import Budget, calibration_budget
from strikeproof.judge.calibration import CalibrationFit, fit_calibration
from strikeproof.judge.degree import LackOfFit
from strikeproof.judge.readout import ReadOut, applied_values, expected_reading, read_out
from strikeproof.quantity import (
    FloatArray,
    IntArray,
    from_si,
    kind_of_unit,
    to_si,
    unit_label,
    write_number,
    write_uncertain,
)

__all__ = ["CalibrationOutcome", "calibrate_folder", "calibrate_rows", "torque_per_force"]

_NO_REFERENCE: Final = (
    "the uncertainty of the reference instrument is not given and counts as 0, so every ± is too small: give "
    "what its certificate says"
)
_LARGEST_THREAD: Final = "M64"  # of the coarse threads of ISO 262


@dataclass(frozen=True, slots=True)
class CalibrationOutcome:
    """A calibration curve and the budget of one read-out at the upper end of its range.

    `suspect_lines` are the lines of the sheet whose point is too far off the curve to be chance. `cautions`
    say that the bolt was loaded too far for it; `doubt` is the one that its friction is another than the
    campaign says, or none that its thread can have, empty where there is none. `reference_given` is whether
    the reference's own uncertainty is. `may_be_clamp_load` is False where the cell shows a force that cannot
    be the bolt's clamp load, such as that on a lever.
    """

    fit: CalibrationFit
    budget: Budget
    applied_unit: str
    reading_unit: str
    suspect_lines: tuple[int, ...]
    cautions: tuple[str, ...] = ()
    doubt: str = ""
    reference_given: bool = True
    may_be_clamp_load: bool = True

    @property
    def sign(self) -> float:
        """−1 of a cell whose reading falls as what is applied rises, else 1.

        Times a reading it is one that rises under load: so are the net readings of all that follows.
        """
        rises = float(self.fit.curve.slope(np.asarray(self.fit.curve.centre))) > 0.0
        return 1.0 if rises else -1.0

    def levels(self, net: npt.ArrayLike) -> FloatArray:
        """Net readings, turned so that they rise under load, as levels. [applied]"""
        return applied_values(self.fit, self.sign * np.asarray(net, np.float64))

    def read_out(self, net: float, uncertainty: float = 0.0) -> ReadOut:
        """A net reading, turned so that it rises under load, as a level with all that is known of it."""
        return read_out(self.fit, self.sign * net, reading_uncertainty=uncertainty, net=True)

    def reading_of(self, level: float) -> float:
        """The net reading at a level, turned so that it rises under load."""
        return self.sign * float(expected_reading(self.fit, np.float64(level)).reading)

    @property
    def reads_force(self) -> bool:
        """Whether the cell shows a load itself and was calibrated in something else: it answers twice."""
        kinds = kind_of_unit(self.reading_unit), kind_of_unit(self.applied_unit)
        return self.may_be_clamp_load and kinds[0] == "force" and kinds[1] != "force"

    def own_load(self, net: float) -> float | None:
        """The load that the cell itself shows by a net reading; None where it shows none. [N]"""
        return to_si(net, self.reading_unit, "force") if self.reads_force else None

    def level_of_own(self, load: float) -> float | None:
        """The level at which the cell itself shows a load [N]; None where it shows none. [applied]"""
        if not self.reads_force:
            return None
        return float(self.levels(from_si(load, self.reading_unit, "force")))

    def own_load_at(self, level: float) -> float | None:
        """The load that the cell itself shows at a level; None where it shows none. [N]"""
        return self.own_load(self.reading_of(level))

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        units = {"applied_unit": self.applied_unit, "reading_unit": self.reading_unit}
        found = {"budget": self.budget, "lines_to_check": self.suspect_lines, "cautions": self.cautions}
        return units | self.fit.as_json() | {"notes": self.notes} | found

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences to read beside the result."""
        return self.fit.notes if self.reference_given else (*self.fit.notes, _NO_REFERENCE)

    def lines(self) -> list[tuple[str, str]]:
        """Label and value, for a terminal."""
        notes = [("note", note) for note in self.notes]
        cautions = [("caution", each) for each in self.cautions]
        return [*cautions, *self.rows(), *(("look at", each) for each in self.doubts()), *notes]

    def doubts(self) -> list[str]:
        """Lines of the sheet that do not go with the others."""
        return [
            f"line {line} of the sheet: {self._stray(index)}, too far to be chance; check it, it stays in use"
            for line, index in zip(self.suspect_lines, self.fit.suspects, strict=True)
        ]

    def _stray(self, index: int) -> str:
        fit = self.fit
        if fit.branch == "rising" and fit.rising is not None and not fit.rising[index]:
            return "off the other falling readings"
        off = float(fit.residuals[index])
        far = f"{write_number(abs(off), 3)} {unit_label(self.reading_unit)}".strip()
        return f"{far} {'above' if off > 0 else 'below'} the curve"

    def rows(self) -> list[tuple[str, str]]:
        """The fit's figures, label and value."""
        fit, applied, reading = self.fit, unit_label(self.applied_unit), unit_label(self.reading_unit)
        names = ["constant", "per 1", "per 1²", "per 1³"]
        rows = [("degree", f"{fit.degree}, chosen by {fit.degree_chosen_by}")]
        rows += [
            (
                f"coefficient {names[power].replace('1', applied)}",
                write_uncertain(float(value), float(spread), reading),
            )
            for power, (value, spread) in enumerate(
                zip(fit.coefficients, fit.standard_uncertainties, strict=True)
            )
        ]
        rows.append(("lack of fit", _tell_lack_of_fit(fit.lack_of_fit)))
        if fit.branch == "rising":
            rows.append(("fitted to", "the rising readings; tightening never meets the falling ones"))
        if fit.hysteresis is not None:
            rows.append(("hysteresis", f"{write_number(fit.hysteresis.percent_of_span, 2)} % of the span"))
        low, high = fit.applied_range
        rows.append(("range", f"{write_number(low)} to {write_number(high)} {applied}"))
        expanded = self.budget.expanded_uncertainty
        rows.append(
            (
                f"one read-out at {write_number(self.budget.at)} {applied}",
                f"± {write_number(expanded, 2)} {applied} expanded, 95 %",
            )
        )
        return rows


def _tell_lack_of_fit(test: LackOfFit) -> str:
    if test.f is None or test.p is None or test.degrees_of_freedom is None:
        return f"not tested: {test.reason}"
    upper, lower = test.degrees_of_freedom
    return f"F({upper}, {lower}) = {write_number(test.f, 3)}, p = {test.p:.3f}"


def calibrate_folder(path: Path) -> CalibrationOutcome:
    """The calibration of the campaign.toml at `path`.

    Raises
    ------
    BadFile, BadInput
        If the file names no calibration, or its sheet cannot be used.
    """
    path = path / "campaign.toml" if path.is_dir() else path
    campaign = read_campaign(path)
    if campaign.calibration is None:
        raise BadInput(
            "there is no [calibration]",
            where=str(path),
            allowed="a [calibration] table with a sheet",
            fix="add one; without it scores stay plain readings",
        )
    rows, problems = read_calibration_sheet(
        path_inside(path.parent, campaign.calibration.sheet, key="calibration.sheet"),
        (campaign.calibration.applied_unit, campaign.rig.unit),
    )
    if problems and not rows:
        raise BadFile(problems)
    return calibrate_rows(campaign, campaign.calibration, [asdict(row) for row in rows])


def calibrate_rows(
    campaign: Campaign, source: CalibrationSource, rows: Sequence[Mapping[str, Any]]
) -> CalibrationOutcome:
    """Fit the rows of a calibration sheet.

    Raises
    ------
    BadInput
        If they are too few, all alike, or no curve rises or falls through them.
    """
    directions = [row["direction"] for row in rows]
    fit = fit_calibration(
        np.array([row["applied"] for row in rows], float),
        np.array([row["reading"] for row in rows], float),
        rising=np.array([word != "down" for word in directions]) if "down" in directions else None,
        repeat=_repeat_numbers(rows),
        applied_uncertainty=_applied_uncertainty(rows),
        degree=source.degree,
        resolution=campaign.rig.resolution,
        climbing=campaign.protocol.direction == "tighten",
    )
    budget = calibration_budget(
        fit,
        at=max(fit.applied_range, key=abs),
        reference_uncertainty_percent=source.reference_uncertainty_percent,
        resolution=campaign.rig.resolution,
    )
    suspects = tuple(int(rows[index]["line"]) for index in fit.suspects)
    found = CalibrationOutcome(fit, budget, source.applied_unit, campaign.rig.unit, suspects)
    other_force = _other_force(campaign.bolt, found)
    found = replace(found, may_be_clamp_load=not other_force)
    doubt = other_force or _other_friction(campaign, found)
    saturated = _beyond_full_scale(campaign, rows)
    cautions = tuple(filter(None, (*_beyond_bolt(campaign, found), saturated, doubt)))
    given = source.reference_uncertainty_percent > 0.0
    return replace(found, cautions=cautions, doubt=doubt, reference_given=given)


def torque_per_force(bolt: Bolt) -> float | None:
    """c of T = c F for a test bolt; None when thread or friction is not known. [m]"""
    tension = _tension(bolt)
    return None if tension is None else tension.torque_per_force


def _tension(bolt: Bolt) -> TorqueTension | None:
    friction = bolt.frictions
    if bolt.thread is None or friction is None:
        return None
    return torque_tension(parse_thread(bolt.thread), friction)


def _beyond_bolt(campaign: Campaign, found: CalibrationOutcome) -> tuple[str, ...]:
    """That calibrating took the bolt beyond what the campaign allows it, as far as that can be said.

    By the declared friction or by the load that the cell itself shows, whichever is more.
    """
    allowed, kind, highest = campaign.bolt.allowed_load(), kind_of_unit(found.applied_unit), found.budget.at
    per_force = 1.0 if kind == "force" else torque_per_force(campaign.bolt)
    by_friction = None
    if kind is not None and per_force is not None:
        by_friction = to_si(highest, found.applied_unit, kind) / per_force
    load = max((each for each in (by_friction, found.own_load_at(highest)) if each is not None), default=None)
    if allowed is None or load is None or load <= allowed:
        return ()
    return (
        f"calibrated up to {write_number(load / 1e3, 3)} kN of clamp load, where "
        f"{write_number(allowed / 1e3, 3)} kN is allowed: take that bolt out of use, and calibrate on one "
        "that may carry it, or less far",
    )


def _beyond_full_scale(campaign: Campaign, rows: Sequence[Mapping[str, Any]]) -> str:
    """That there are readings that the rig cannot give, by its full scale; empty where there are none."""
    most, label = campaign.rig.full_scale, unit_label(campaign.rig.unit)
    beyond = [abs(row["reading"]) for row in rows if most is not None and abs(row["reading"]) > most]
    if most is None or not beyond:
        return ""
    some = "1 reading," if len(beyond) == 1 else f"{len(beyond)} readings, up to"
    return (
        f"{some} {write_number(max(beyond), 3)} {label}, above the rig's full scale of "
        f"{write_number(most, 3)} {label}: correct rig.full_scale or the readings"
    )


def _other_force(bolt: Bolt, found: CalibrationOutcome) -> str:
    """That no friction makes a clamp load of what the cell shows; empty where one may.

    At the upper end of the calibration: torque over load, against c of T = c F from no friction to a
    coefficient of 1 in both places; where no thread is given, of the largest.
    """
    load = found.own_load_at(found.budget.at)
    if not load or kind_of_unit(found.applied_unit) != "torque":
        return ""
    shown = abs(to_si(found.budget.at, found.applied_unit, "torque") / load)
    dry = torque_tension(parse_thread(bolt.thread or _LARGEST_THREAD), Friction.total(1.0))
    least = 0.0 if bolt.thread is None else dry.pitch_lever
    if least <= shown <= dry.torque_per_force:
        return ""
    label = "a bolt" if bolt.thread is None else f"a bolt {bolt.thread}"
    possible = f"{write_number(least * 1e3, 3)} to {write_number(dry.torque_per_force * 1e3, 3)} N·m per kN"
    return (
        f"by its calibration the cell shows {write_number(shown * 1e3, 3)} N·m per kN, and {label} takes "
        f"{possible}, whatever its friction: what the cell shows is not clamp load, but perhaps the force on "
        "a lever, and it is not used as clamp load. Check the unit of the cell and the sheet"
    )


def _other_friction(campaign: Campaign, found: CalibrationOutcome) -> str:
    """That the cell's own load and the declared friction disagree by more than both may be off; else empty.

    At the upper end of the calibration: torque over load, against c of T = c F.
    """
    tension, bolt, highest = _tension(campaign.bolt), campaign.bolt, found.budget.at
    load = found.own_load_at(highest)
    if tension is None or not load or kind_of_unit(found.applied_unit) != "torque":
        return ""
    shown = to_si(highest, found.applied_unit, "torque") / load
    spread = abs(shown * found.budget.expanded_uncertainty / highest)
    declared = tension.torque_per_force
    percent = bolt.friction_uncertainty_percent
    share = FRICTION_SPREAD if percent is None else percent / 100.0
    may_be_off = tension.with_friction_changed(1.0 + share).torque_per_force - declared
    if abs(shown - declared) <= spread + may_be_off:
        return ""
    friction = bolt.friction or f"{bolt.thread_friction} in the thread, {bolt.head_friction} under the head"
    return (
        f"by its calibration the cell shows {write_number(shown * 1e3, 3)} N·m per kN, but the declared "
        f"friction {friction} means {write_uncertain(declared * 1e3, may_be_off * 1e3)} N·m per kN: check "
        "friction and unit of the cell. The limit of the bolt is checked against whichever shows more load"
    )


def _applied_uncertainty(rows: Sequence[Mapping[str, Any]]) -> FloatArray | None:
    values = [row.get("applied_uncertainty") or 0.0 for row in rows]
    return np.array(values, float) if any(values) else None


def _repeat_numbers(rows: Sequence[Mapping[str, Any]]) -> IntArray | None:
    words = [row["repeat"] for row in rows]
    if any(word is None for word in words):
        return None
    order = {word: number for number, word in enumerate(dict.fromkeys(words))}
    return np.array([order[word] for word in words], np.int64)
