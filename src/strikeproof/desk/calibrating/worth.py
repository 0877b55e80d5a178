"""What a net reading of a campaign's rig is worth: clamp load, torque, or only a ratio."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from strikeproof.campaign.records import Campaign, ScoreRule
from strikeproof.campaign.store import Store
from strikeproof.desk.calibrating.calibration import CalibrationOutcome, calibrate_rows, torque_per_force
from strikeproof.errors import BadInput, StrikeproofError
from strikeproof.quantity import FloatArray, LoadKind, from_si, kind_of_unit, to_si, unit_label, unit_ratio

__all__ = [
    "Loads",
    "Worth",
    "find_worth",
    "leave_plain",
    "level_in_readings",
    "level_of_load",
    "own_zero",
    "plain_worth",
    "reading_of_level",
]


@dataclass(frozen=True, slots=True)
class Loads:
    """One level in every form that is known, with standard uncertainties where they are."""

    value: float
    standard_uncertainty: float | None
    clamp_load_n: float | None
    torque_n_m: float | None


@dataclass(frozen=True, slots=True)
class Worth:
    """How to turn net readings into levels.

    All net readings here, those of a trace's facts and scores on the sheet, rise under load: those of a cell
    whose reading falls are turned round by `nets`.

    Parameters
    ----------
    unit, kind
        Of a level: the calibration's applied unit where it holds, else the rig's own.
    calibration
        None when readings stay as they are.
    torque_per_force
        c of T = c F for the test bolt, None when thread or friction is not known. [m]
    ratio_reason
        Why no level is more than a ratio, or None.
    notes
        What a person should know, such as a calibration that could not be used.
    sign
        −1 of a cell that is calibrated as one whose reading falls under load, also where its calibration is
        not used; else 1.
    rigs
        Of a campaign with several rigs the worth on each, by its name; empty of one rig.
    factor
        What to multiply levels by to have them in the unit of all rigs together.
    """

    unit: str
    kind: LoadKind | None
    calibration: CalibrationOutcome | None
    torque_per_force: float | None
    ratio_reason: str | None
    notes: tuple[str, ...] = ()
    sign: float = 1.0
    rigs: Mapping[str, Worth] = field(default_factory=dict)
    factor: float = 1.0

    def on(self, rig: str) -> Worth:
        """The worth of readings of one rig, in its own unit."""
        return self.rigs.get(rig, self)

    @property
    def is_mixed(self) -> bool:
        """Whether it is of rigs that share no unit, so that each is compared by itself."""
        return bool(self.rigs) and self.kind is None

    def nets(self, reading: npt.ArrayLike, zero: float = 0.0) -> FloatArray:
        """Readings less a zero, turned so that they rise under load."""
        return np.asarray(self.sign * (np.asarray(reading, np.float64) - zero))

    def levels(self, net: FloatArray) -> FloatArray:
        """Net readings as levels in `unit`."""
        if self.calibration is None:
            return net
        return self.calibration.levels(net)

    def within(self, net: float) -> bool:
        """Whether a net reading lies inside the calibrated range."""
        return self.calibration is None or bool(self.calibration.read_out(net).within_range)

    def loads(self, net: float, uncertainty: float | None) -> Loads:
        """One net reading in every form that is known."""
        value, spread = net, uncertainty
        if self.calibration is not None:
            read = self.calibration.read_out(net, uncertainty or 0.0)
            value = float(read.value)
            spread = float(read.standard_uncertainty) if uncertainty is not None else None
        force, torque = self._both(value)
        own = None if self.calibration is None else self.calibration.own_load(net)
        return Loads(value, spread, force if own is None else own, torque)

    def _both(self, value: float) -> tuple[float | None, float | None]:
        if self.kind is None:
            return None, None
        known, c = to_si(value, self.unit, self.kind), self.torque_per_force
        if self.kind == "force":
            return known, None if c is None else known * c
        return None if c is None else known / c, known


def find_worth(store: Store, key: int, campaign: Campaign, *, plain: str | None = None) -> Worth:
    """What readings are worth; `plain` gives a reason to leave the calibrations aside.

    Of several rigs that runs were made on, the levels of all are in the unit of the first where each has
    levels of one kind, by its calibration or by its unit. Where they have not, nothing makes readings of one
    rig readings of another.
    """
    if not campaign.other_rigs:
        return _find_worth(store, key, campaign, None, plain)
    used = campaign.rigs_of(run.row for run in store.runs(key))
    rigs = {
        name: _find_worth(store, key, campaign.on_rig(name), name if place else None, plain)
        for place, name in enumerate(campaign.rig_names)
    }
    return _together({name: rigs[name] for name in used}, rigs)


def _together(used: Mapping[str, Worth], rigs: Mapping[str, Worth]) -> Worth:
    """The worth of readings of several rigs, `used` those that runs were made on."""
    first = next(iter(used.values()))
    notes = tuple(f"rig {name}: {note}" for name, each in used.items() for note in each.notes)
    reasons = {name: each.ratio_reason for name, each in used.items() if each.ratio_reason}
    reason = "; ".join(dict.fromkeys(reasons.values())) or None
    one_kind = first.kind is not None and all(each.kind == first.kind for each in used.values())
    if one_kind or len(used) == 1:
        same = {
            name: replace(each, factor=unit_ratio(each.unit, first.unit)) if each.kind == first.kind else each
            for name, each in rigs.items()
        }
        return replace(first, ratio_reason=reason, notes=notes, rigs=same)
    units = ", ".join(f"{name} in {unit_label(each.unit)}" for name, each in used.items())
    reason = f"the rigs share no unit ({units}), so each is compared by itself"
    return replace(first, unit="reading", kind=None, ratio_reason=reason, notes=notes, rigs=rigs)


def _find_worth(store: Store, key: int, campaign: Campaign, rig: str | None, plain: str | None) -> Worth:
    """Of readings of the campaign's only rig; `rig` is its name where it is one of the others."""
    per_force = torque_per_force(campaign.bolt)
    calibration, notes = _calibration(store, key, campaign, rig)
    if calibration is not None and plain is None:
        unit = calibration.applied_unit
        reason = _elsewhere(campaign)
        if reason is None:
            return Worth(unit, kind_of_unit(unit), calibration, per_force, None, notes, calibration.sign)
        plain = reason
    if plain is None and kind_of_unit(campaign.rig.unit) is None:
        plain = "the rig has no calibration"
    return replace(plain_worth(campaign, calibration), ratio_reason=plain, notes=notes)


def plain_worth(campaign: Campaign, calibration: CalibrationOutcome | None = None) -> Worth:
    """What the readings of a rig are worth as it gives them.

    Nothing, where its calibration shows that they are a force, but not clamp load.
    """
    unit = campaign.rig.unit
    other = calibration is not None and not calibration.may_be_clamp_load
    kind = None if other else kind_of_unit(unit)
    sign = 1.0 if calibration is None or _other_rig(campaign) else calibration.sign
    return Worth(unit, kind, None, torque_per_force(campaign.bolt), None, sign=sign)


def leave_plain(worth: Worth, campaign: Campaign, reason: str) -> Worth:
    """The same, its readings left as the rig gives them; `reason` says why."""
    if worth.rigs:
        plain_rigs = {
            name: leave_plain(replace(each, factor=1.0), campaign.on_rig(name), reason)
            for name, each in worth.rigs.items()
        }
        return _together(plain_rigs, plain_rigs)
    plain = plain_worth(campaign, worth.calibration)
    plain = replace(plain, torque_per_force=worth.torque_per_force, sign=worth.sign)
    return replace(plain, ratio_reason=reason, notes=worth.notes)


def _calibration(
    store: Store, key: int, campaign: Campaign, rig: str | None
) -> tuple[CalibrationOutcome | None, tuple[str, ...]]:
    if campaign.calibration is None:
        return None, ()
    kept = store.calibration_rows(key, rig)
    if kept is None:
        return None, (f"the calibration sheet {campaign.calibration.sheet} could not be loaded",)
    try:
        found = calibrate_rows(campaign, campaign.calibration, kept.rows)
        return found, (found.doubt,) if found.doubt else ()
    except StrikeproofError as wrong:
        return None, (f"the calibration cannot be used: {wrong}",)


def _elsewhere(campaign: Campaign) -> str | None:
    """Why a calibration does not hold for this rig and bolt, or None."""
    source = campaign.calibration
    if source is None:
        return None
    if _other_rig(campaign):
        return f"the calibration was made on rig {source.rig!r}, the runs on {campaign.rig.name!r}"
    if source.bolt is not None and source.bolt != campaign.bolt.name:
        return f"the calibration was made on bolt {source.bolt!r}, the runs on {campaign.bolt.name!r}"
    return None


def _other_rig(campaign: Campaign) -> bool:
    source = campaign.calibration
    return source is not None and source.rig is not None and source.rig != campaign.rig.name


def level_in_readings(worth: Worth, rule: ScoreRule) -> float | None:
    """The level of a `time to` rule as a net reading; None for other rules.

    Raises
    ------
    BadInput
        If the level's unit cannot be brought to the rig's.
    """
    if rule.kind != "time to" or rule.level is None or rule.level_unit is None:
        return None
    return reading_of_level(worth, _convert(rule.level, rule.level_unit, worth))


def reading_of_level(worth: Worth, level: float) -> float:
    """The net reading at a level."""
    return level if worth.calibration is None else worth.calibration.reading_of(level)


def own_zero(campaign: Campaign, worth: Worth) -> float:
    """What the cell shows with the bolt loose: as the campaign says, as it was calibrated, or 0. [reading]"""
    if campaign.rig.zero is not None:
        return campaign.rig.zero
    return 0.0 if worth.calibration is None else float(worth.calibration.fit.zero.reading)


def level_of_load(worth: Worth, load: float) -> float | None:
    """The least level that may be a clamp load [N]; None where levels cannot be given in it.

    A cell that shows a load itself, calibrated in torque, answers twice: by the bolt's declared friction and
    by its own reading.
    """
    own = None if worth.calibration is None else worth.calibration.level_of_own(load)
    if worth.kind is None:
        return own
    try:
        by_unit = _convert(load, "N", worth)
    except BadInput:
        return own
    return by_unit if own is None else min(own, by_unit)


def _convert(level: float, unit: str, worth: Worth) -> float:
    if unit == worth.unit:
        return level
    kind, c = kind_of_unit(unit), worth.torque_per_force
    if kind is not None and worth.kind is not None:
        plain = to_si(level, unit, kind)
        factor = {("force", "torque"): c, ("torque", "force"): None if c is None else 1 / c}
        scale = 1.0 if kind == worth.kind else factor[kind, worth.kind]
        if scale is not None and math.isfinite(scale):
            return from_si(plain * scale, worth.unit, worth.kind)
    raise BadInput(
        f"the level {level:g} {unit} cannot be given in {worth.unit}",
        where="protocol.score",
        allowed=f"a level in {worth.unit}",
        fix="calibrate the rig in that unit, or give the bolt's thread and friction",
    )
