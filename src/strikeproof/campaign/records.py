"""What a campaign is made of: frozen, plain SI, complete when made."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, replace
from typing import Any, Literal

from strikeproof.campaign.conditions import CONDITIONS
from strikeproof.joint.limits import allowed_clamp_load
from strikeproof.joint.own_bolt import BoltParts, read_bolt_parts
from strikeproof.joint.tightening import Friction
from strikeproof.joint.turning import Hand, Rotation, Turning, settle_turning
from strikeproof.language import say, write_figures

__all__ = [
    "Article",
    "Bolt",
    "CalibrationSource",
    "Campaign",
    "Direction",
    "OtherRig",
    "Protocol",
    "Rig",
    "RunRow",
    "ScoreKind",
    "ScoreRule",
    "Tool",
]

Direction = Literal["tighten", "loosen"]
ScoreKind = Literal["end", "peak", "at", "time to"]


@dataclass(frozen=True, slots=True)
class ScoreRule:
    """The one number a run is judged by.

    `end` is the level at the end of the timed window, `peak` the highest level, `at` the level `at_s`
    seconds after the start, `time to` the seconds until `level` (in `level_unit`) is reached.
    """

    kind: ScoreKind = "end"
    at_s: float | None = None
    level: float | None = None
    level_unit: str | None = None

    def __str__(self) -> str:
        if self.kind == "at":
            return say("at {moment} s", moment=write_figures(f"{self.at_s:g}"))
        if self.kind == "time to":
            return say(
                "time to {level} {unit}", level=write_figures(f"{self.level:g}"), unit=self.level_unit or ""
            )
        return say("peak") if self.kind == "peak" else say("end")


@dataclass(frozen=True, slots=True)
class Protocol:
    """How every run of a campaign is made."""

    duration_s: float = 10.0
    direction: Direction = "tighten"
    rotation: Rotation | None = None
    score: ScoreRule = field(default_factory=ScoreRule)
    supply: str | None = None
    cool_down_s: float | None = None
    repeats: int | None = None
    looks: int | None = None
    seed: int | None = None
    smallest_difference_percent: float | None = None


@dataclass(frozen=True, slots=True)
class Rig:
    """The bench: what is logged, in which unit, and how stiff it is."""

    name: str
    channel: str | None = None
    unit: str = "reading"
    sample_rate_hz: float | None = None
    clamp_stiffness_n_per_m: float | None = None
    resolution: float | None = None
    full_scale: float | None = None
    zero: float | None = None
    repeatability_percent: float | None = None
    own_unit: bool = False


@dataclass(frozen=True, slots=True)
class Bolt:
    """The test bolt as the campaign file names it; `joint` turns the words into loads."""

    thread: str | None = None
    property_class: str | None = None
    hand: Hand | None = None
    friction: float | None = None
    thread_friction: float | None = None
    head_friction: float | None = None
    friction_uncertainty_percent: float | None = None
    runs_per_bolt: int | None = None
    largest_proof_share: float = 0.75
    name: str | None = None
    proof_stress_mpa: float | None = None
    tensile_strength_mpa: float | None = None
    yield_strength_mpa: float | None = None
    shank_diameter_mm: float | None = None
    head_across_flats_mm: float | None = None
    bearing_face_mm: float | None = None
    grip_length_mm: float | None = None

    @property
    def words(self) -> dict[str, Any]:
        """What is given of it, by the keys of the campaign file."""
        given = {"class" if key == "property_class" else key: value for key, value in asdict(self).items()}
        return {key: value for key, value in given.items() if value is not None}

    @property
    def frictions(self) -> Friction | None:
        """In the thread and under the head; None where it is not given."""
        if self.friction is not None:
            return Friction.total(self.friction)
        if self.thread_friction is not None and self.head_friction is not None:
            return Friction(self.thread_friction, self.head_friction)
        return None

    def allowed_load(self) -> float | None:
        """Clamp load that is allowed to it; None where thread or strength is not given. [N]"""
        parts = self.parts()
        if parts is None or parts.property_class is None:
            return None
        return allowed_clamp_load(
            parts.thread, parts.property_class, self.largest_proof_share, self.frictions
        )

    def parts(self) -> BoltParts | None:
        """Thread, strength and bearing; None where thread or strength is not given."""
        found = read_bolt_parts(self.words)
        return found if found is not None and found.property_class is not None else None


@dataclass(frozen=True, slots=True)
class CalibrationSource:
    """Where the calibration readings are and what is known of the reference instrument."""

    sheet: str
    applied_unit: str
    reference_uncertainty_percent: float = 0.0
    degree: int | None = None
    rig: str | None = None
    bolt: str | None = None


@dataclass(frozen=True, slots=True)
class OtherRig:
    """A further rig of a campaign, with its own unit, channel and calibration."""

    rig: Rig
    calibration: CalibrationSource | None = None


@dataclass(frozen=True, slots=True)
class Tool:
    """An impact wrench; all but the name and mechanism are optional knowledge."""

    name: str
    mechanism: str | None = None
    drive_mm: float | None = None
    supply: str | None = None
    rated_supply: str | None = None
    hammer_inertia_kg_m2: float | None = None
    blow_speed_rad_s: float | None = None
    blow_energy_j: float | None = None
    blow_rate_hz: float | None = None
    anvil_stiffness_n_m_per_rad: float | None = None
    anvil_inertia_kg_m2: float | None = None
    restitution: float | None = None
    rebound_share: float | None = None


@dataclass(frozen=True, slots=True)
class Article:
    """What sits between anvil and bolt.

    `geometry` holds its dimensions and measurements word for word, as JSON of the tables' keys; the
    parts room reads them.
    """

    name: str
    price: float | None = None
    mass_kg: float | None = None
    polar_inertia_kg_m2: float | None = None
    stiffness_n_m_per_rad: float | None = None
    hexagon_gap_deg: float | None = None
    square_gap_deg: float | None = None
    note: str | None = None
    geometry: str | None = None


@dataclass(frozen=True, slots=True)
class RunRow:
    """One line of a run sheet."""

    run: str
    article: str
    tool: str
    block: str
    log: str | None = None
    bolt: str | None = None
    started: str | None = None
    set_aside: str | None = None
    note: str | None = None
    score: float | None = None
    line: int | None = None
    channel: str | None = None
    rotation: Rotation | None = None
    supply: str | None = None
    battery: str | None = None
    tool_temperature: str | None = None
    hose_length: str | None = None
    hose_bore: str | None = None
    operator: str | None = None
    specimen: str | None = None
    lubricant: str | None = None
    rig: str | None = None

    @property
    def conditions(self) -> dict[str, str]:
        """What is said of the conditions of the run, by the names of `campaign.conditions`."""
        given = {each.name: getattr(self, each.name) for each in CONDITIONS}
        return {name: text for name, text in given.items() if text}

    def judged_channel(self, rig: Rig) -> str | None:
        """The column of its log that is judged: its own, else the rig's; None where logs have but one."""
        return self.channel or rig.channel


@dataclass(frozen=True, slots=True)
class Campaign:
    """A set of runs under one protocol."""

    name: str
    reference: str
    margin_percent: float
    currency: str
    protocol: Protocol
    rig: Rig
    bolt: Bolt
    tools: tuple[Tool, ...]
    articles: tuple[Article, ...]
    calibration: CalibrationSource | None = None
    runs_sheet: str = "runs.csv"
    logs_folder: str = "logs"
    simulated: bool = False
    note: str | None = None
    id: str | None = None
    other_rigs: tuple[OtherRig, ...] = ()

    @property
    def rig_names(self) -> tuple[str, ...]:
        """Its own rig, then the others."""
        return (self.rig.name, *(each.rig.name for each in self.other_rigs))

    def rig_of(self, row: RunRow) -> str:
        """The rig that a run was made on: the campaign's own where its line names none."""
        return row.rig or self.rig.name

    def rigs_of(self, rows: Iterable[RunRow]) -> tuple[str, ...]:
        """The rigs that runs were made on, its own first; that one where there are no runs."""
        made = {self.rig_of(row) for row in rows}
        return tuple(name for name in self.rig_names if name in made) or (self.rig.name,)

    def on_rig(self, name: str | None) -> Campaign:
        """The campaign as if the rig of that name were its only one, with that rig's calibration.

        One that is not there (any more) is taken for the campaign's own, as for a run that names none.
        """
        for other in self.other_rigs:
            if other.rig.name == name:
                return replace(self, rig=other.rig, calibration=other.calibration, other_rigs=())
        return replace(self, other_rigs=()) if self.other_rigs else self

    @property
    def turning(self) -> Turning:
        """What happens to the bolt, which way the tool turns, and which way the thread winds."""
        return settle_turning(self.protocol.direction, self.protocol.rotation, self.bolt.hand)

    def turning_in(self, rotation: Rotation | None) -> Turning:
        """The same for a run in that rotation: the direction stays, so the thread winds as it must."""
        usual = self.turning
        if rotation in (None, usual.rotation):
            return usual
        return replace(usual, rotation=rotation, hand="left" if usual.hand == "right" else "right")

    def series_of(self, row: RunRow) -> str:
        """What a run is compared within: its tool, and its rotation where that is not the campaign's."""
        is_usual = row.rotation in (None, self.turning.rotation)
        return row.tool if is_usual else f"{row.tool} in {row.rotation}"

    def block_of(self, row: RunRow) -> str:
        """Runs of one block that were made on several rigs are a block each.

        What a rig adds to all of its runs, such as the error of its calibration, is then in no difference.
        """
        rig = self.rig_of(row)
        return row.block if rig == self.rig.name else say("{block} on {rig}", block=row.block, rig=rig)
