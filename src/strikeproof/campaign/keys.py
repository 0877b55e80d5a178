"""The keys of campaign.toml: their names, kinds and ranges. Unknown keys are refused."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, Final, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    ValidationInfo,
    field_validator,
)

from strikeproof.campaign.records import ScoreRule
from strikeproof.campaign.values import (
    ChannelNames,
    Currency,
    Duration,
    FileName,
    Friction,
    Gap,
    Identity,
    Name,
    Note,
    Pause,
    Percent,
    Positive,
    Score,
    Supply,
    Thread,
    Unit,
    refuse,
    written,
)
from strikeproof.errors import BadInput
from strikeproof.quantity import (
    KINDS,
    ending_of,
    is_arbitrary,
    kind_of_unit,
    parse_in_unit,
    parse_quantity,
    same_unit,
    split_number,
)

__all__ = ["GEOMETRY_KEYS", "TABLES", "CampaignFile", "meanings_of"]


GEOMETRY_KEYS = (
    "bolt_across_flats_mm",
    "drive_across_flats_mm",
    "dimension_uncertainty_mm",
    "measured",
    "part",
)
"""Keys of an article that the parts room reads."""


def _said(label: str, meaning: str, default: Any = None) -> Any:
    """A key in a person's words: what a form calls it, and what a file says beside it."""
    return Field(default, title=label, description=meaning)


class _Table(BaseModel):
    # Strict: TOML has types of its own, so a number in quotes or a `true` for a 1 is a typing mistake.
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)

    @field_validator("*", mode="before")
    @classmethod
    def _with_unit(cls, value: Any, info: ValidationInfo) -> Any:
        """A text with its unit as the number of a key that ends in one: `mass_kg = "1.1 lb"`."""
        ending = ending_of(info.field_name or "")
        if not isinstance(value, str) or ending is None:
            return value
        try:
            number = parse_quantity(value, ending.kind) / ending.factor
        except BadInput as wrong:
            example = KINDS[ending.kind].example
            raise refuse(wrong.what, f"write a plain number of {ending.shown}, or {example!r}") from wrong
        return float(f"{number:.12g}")


class CampaignTable(_Table):
    """What is compared, with what, and how small a difference still matters."""

    name: Name = _said("Name", "what the page calls it", ...)
    reference: Name = _said("Reference article", "all others are compared with it", ...)
    margin_percent: Percent = _said("Margin of same", "differences inside it count as the same", 3.0)
    currency: Currency = _said("Currency", "of all prices", "EUR")
    simulated: bool = _said("Simulated", "the runs are invented; the page says so", False)
    note: Note | None = _said("Note", "what this is about, shown on the page")
    id: Identity | None = _said(
        "Identity", "separates it from another of the same name; leave it, also when the folder moves"
    )


class ProtocolTable(_Table):
    """How every run is made."""

    duration: Duration = _said("Length of a run", "of hammering, from the first blow", 10.0)
    direction: Literal["tighten", "loosen"] | None = _said(
        "Direction", '"tighten" or "loosen": what happens to the bolt'
    )
    rotation: Literal["forward", "reverse"] | None = _said(
        "Rotation of the tool", '"forward" or "reverse"; the direction follows from it'
    )
    score: Score = _said("Score", '"end", "peak", "at 5 s", "time to 400 N m"', ScoreRule())
    supply: Supply | None = _said("Supply", "what all tools run on")
    cool_down: Pause | None = _said("Cool-down", "pause between runs")
    repeats: Annotated[int, Field(ge=1, le=1000)] | None = _said(
        "Repeats", "runs of each article with each tool"
    )
    looks: Annotated[int, Field(ge=0, le=20)] | None = _said(
        "Looks",
        "how often results are looked at, evenly over the runs, without a larger risk of a false difference; "
        "0 for after any block",
    )
    seed: Annotated[int, Field(ge=0)] | None = _said(
        "Seed of the order", "the same seed gives the same order"
    )
    smallest_difference_percent: Percent | None = _said(
        "Smallest difference to show", "the plan finds the repeats from it"
    )


class RigTable(_Table):
    """The bench and its sensor."""

    name: Name = _said("Name of the rig", "of the bench", "rig")
    channel: ChannelNames | None = _said(
        "Judged channel",
        "the log's column that is judged; of several names with | the first that the log has",
    )
    unit: Unit = _said("Unit of the channel", '"reading" when it is arbitrary', "reading")
    own_unit: bool = _said(
        "Unit is a name of your own", "such as the divisions of a gauge; nothing is converted", False
    )
    sample_rate_hz: Annotated[float, Field(gt=0, le=1e7)] | None = _said(
        "Sample rate", "only of logs without times"
    )
    clamp_stiffness_n_per_m: Positive | None = _said(
        "Stiffness of the clamped parts", "bolt and joint in series"
    )
    resolution: Positive | None = _said("Step of the readings", "in the channel's unit")
    full_scale: Positive | None = _said("Full scale", "reading at which the recorder saturates")
    zero: Annotated[float, Field(ge=-1e9, le=1e9)] | None = _said(
        "Own zero of the cell", "reading with the bolt loose; else that of the calibration, or 0"
    )
    repeatability_percent: Percent | None = _said(
        "Repeatability", "standard deviation of repeated runs, of the score"
    )

    @field_validator("zero", mode="before")
    @classmethod
    def _in_its_unit(cls, value: Any, info: ValidationInfo) -> Any:
        """A text as the number that it is in the rig's unit: `zero = "9000 N"` of a rig in kN."""
        if not isinstance(value, str):
            return value
        unit = info.data.get("unit", "reading")
        written = split_number(value)[1]
        if written and kind_of_unit(unit) is None and not same_unit(written, unit):
            raise refuse(f"{value!r} is not in {unit!r}, the unit of the rig", "write it as the rig shows it")
        try:
            return parse_in_unit(value, unit)
        except BadInput as wrong:
            raise refuse(wrong.what, wrong.fix) from wrong


class BoltTable(_Table):
    """The test bolt."""

    thread: Thread | None = _said("Thread", 'such as "M20x2.5"; the coarse pitch when left out')
    property_class: Annotated[Name | None, Field(alias="class")] = _said(
        "Property class", '"8.8", "10.9", "12.9", "grade 5", "grade 8"'
    )
    proof_stress_mpa: Positive | None = _said("Proof stress", "of a bolt of your own, in place of a class")
    tensile_strength_mpa: Positive | None = _said(
        "Tensile strength", "of a bolt of your own, with the proof stress"
    )
    yield_strength_mpa: Positive | None = _said(
        "Yield strength", "of a bolt of your own; the proof stress when left out"
    )
    shank_diameter_mm: Positive | None = _said(
        "Thinnest part of the shank", "where it is turned down below the thread"
    )
    head_across_flats_mm: Positive | None = _said(
        "Head across flats", "where the head is not the usual one of the thread"
    )
    bearing_face_mm: Positive | None = _said(
        "Face under the head", "outer diameter of head, flange or washer"
    )
    grip_length_mm: Positive | None = _said(
        "Grip length", "clamped between head and nut: the shank twists over it"
    )
    hand: Literal["right", "left"] | None = _said(
        "Hand of the thread", '"right" or "left"; LH in the thread says it too'
    )
    friction: Friction | None = _said("Friction, total", "one coefficient for thread and head")
    thread_friction: Friction | None = _said(
        "Friction in the thread", "in place of friction, with head_friction"
    )
    head_friction: Friction | None = _said(
        "Friction under the head", "in place of friction, with thread_friction"
    )
    friction_uncertainty_percent: Percent | None = _said("Uncertainty of friction", "how well it is known")
    runs_per_bolt: Annotated[int, Field(ge=1)] | None = _said(
        "Runs on one bolt", "after so many a new bolt is taken"
    )
    largest_proof_share: Annotated[float, Field(gt=0, le=1)] = _said(
        "Largest share of proof load", "clamp load allowed to the bolt", 0.75
    )
    name: Name | None = _said("Name of the bolt", "when one bolt serves all runs")


def _known_unit(unit: str, otherwise: str) -> str:
    if kind_of_unit(unit) is None and not is_arbitrary(unit):
        raise refuse(f"unit {unit!r} is not known", f"write a unit of force or torque, or {otherwise}")
    return unit


class CalibrationTable(_Table):
    """The sheet of readings against the torque wrench."""

    sheet: FileName = _said("Sheet", "columns: applied, reading, direction (up or down), repeat", ...)
    applied_unit: Annotated[
        Unit,
        AfterValidator(lambda unit: _known_unit(unit, "the unit of its display")),
        written(example="N m"),
    ] = _said("Unit of the applied values", "of the reference instrument", ...)
    reference_uncertainty_percent: Annotated[float, Field(ge=0, lt=100)] = _said(
        "Uncertainty of the reference instrument", "expanded, k = 2", 0.0
    )
    degree: Annotated[int, Field(ge=1, le=3)] | None = _said(
        "Degree of the curve", "1, 2 or 3; chosen by a test when left out"
    )
    rig: Name | None = _said("Made on the rig", "if it must be this one")
    bolt: Name | None = _said("Made on the bolt", "if it must be this one")


class OtherRigTable(RigTable):
    """A further rig: runs of the sheet that name it in their column `rig` are made on it."""

    name: Name = _said("Name of the rig", "as the run sheet calls it", ...)
    calibration: CalibrationTable | None = _said("Calibration", "of this rig, with the keys of [calibration]")


class ToolTable(_Table):
    """One impact wrench."""

    name: Name = _said("Name", "as the run sheet calls it", ...)
    mechanism: Literal["air", "spring-and-cam", "oil-pulse"] | None = _said(
        "Mechanism", '"air", "spring-and-cam", "oil-pulse"'
    )
    drive_mm: Positive | None = _said("Square drive", "millimetres; 12.7 is half an inch")
    supply: Supply | None = _said("Supply", "what this tool runs on")
    rated_supply: Supply | None = _said("Rated supply", "at which the values below hold")
    hammer_inertia_kg_m2: Positive | None = _said("Inertia of the hammer", "about the axis")
    blow_speed_rad_s: Positive | None = _said("Speed at the blow", "of the hammer just before it")
    blow_energy_j: Positive | None = _said("Energy of a blow", "of one blow")
    blow_rate_hz: Positive | None = _said("Blow rate", "usual blows a second")
    anvil_stiffness_n_m_per_rad: Positive | None = _said("Stiffness of the anvil", "torsion of its shank")
    anvil_inertia_kg_m2: Positive | None = _said("Inertia of the anvil", "about the axis")
    restitution: Annotated[float, Field(ge=0, le=1)] | None = _said(
        "Restitution", "of hammer on anvil, 0 to 1"
    )
    rebound_share: Annotated[float, Field(ge=0, le=1)] | None = _said(
        "Share of the rebound returned", "of its energy, that the next blow gets back, 0 to 1"
    )


class ArticleTable(_Table):
    """One article: what it costs and what is known of it; geometry is stored word for word."""

    name: Name = _said("Name", "as the run sheet calls it", ...)
    price: Annotated[float, Field(ge=0)] | None = _said("Price", "in the campaign's currency")
    mass_kg: Positive | None = _said("Mass", "as weighed")
    polar_inertia_kg_m2: Positive | None = _said("Polar inertia", "about the axis, measured or given")
    stiffness_n_m_per_rad: Positive | None = _said(
        "Stiffness", "torsion from drive to bolt, measured or given"
    )
    hexagon_gap_deg: Gap | None = _said("Play on the bolt's head", "degrees")
    square_gap_deg: Gap | None = _said("Play on the drive", "degrees")
    note: Note | None = _said("Note", "anything else")
    bolt_across_flats_mm: Positive | None = _said("Bolt's head, across flats", "as measured")
    drive_across_flats_mm: Positive | None = _said("Tool's square, across flats", "as measured")
    dimension_uncertainty_mm: Positive | None = _said("Uncertainty of dimensions", "standard")
    measured: dict[str, Any] | None = _said(
        "Measured", "weighed, swung or twisted; used in place of the dimensions"
    )
    part: list[dict[str, Any]] | None = _said("Parts", "from the drive to the bolt, then what rides on them")


class RunsTable(_Table):
    """Where the run sheet and the logs are."""

    sheet: FileName = _said("Run sheet", "or .xlsx", "runs.csv")
    logs: FileName = _said("Folder of logs", "one file a run", "logs")


class CampaignFile(_Table):
    """The whole file."""

    campaign: CampaignTable
    protocol: ProtocolTable = ProtocolTable()
    rig: RigTable = RigTable()
    bolt: BoltTable = BoltTable()
    calibration: CalibrationTable | None = None
    other_rig: list[OtherRigTable] = []
    tool: Annotated[list[ToolTable], Field(min_length=1)]
    article: Annotated[list[ArticleTable], Field(min_length=1)]
    runs: RunsTable = RunsTable()


TABLES: Final[Mapping[str, type[BaseModel]]] = {
    "campaign": CampaignTable,
    "protocol": ProtocolTable,
    "rig": RigTable,
    "bolt": BoltTable,
    "calibration": CalibrationTable,
    "other_rig": OtherRigTable,
    "tool": ToolTable,
    "article": ArticleTable,
    "runs": RunsTable,
}
"""By their names in the file, in its order."""


@cache
def meanings_of(table: str) -> Mapping[str, str]:
    """What a file says beside each key of a table; empty for one that a campaign has not."""
    fields = TABLES[table].model_fields if table in TABLES else {}
    return {each.alias or name: each.description or "" for name, each in fields.items()}
