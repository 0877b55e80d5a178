"""The keys of campaign.toml: their names, kinds and ranges. Unknown keys are refused."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    field_validator,
)
from pydantic_core import PydanticCustomError

from strikeproof.campaign.records import ScoreRule
from strikeproof.errors import BadInput
from strikeproof.plain_text import TextKind, TextProblem, judge_text
from strikeproof.quantity import (
    KINDS,
    ending_of,
    is_arbitrary,
    kind_of_unit,
    parse_in_unit,
    parse_number,
    parse_quantity,
    same_unit,
    split_number,
)

__all__ = ["GEOMETRY_KEYS", "CampaignFile", "parse_score_rule"]


def _refuse(problem: str, mend: str) -> PydanticCustomError:
    return PydanticCustomError("refused", "{problem}", {"problem": problem, "mend": mend})


def _number(text: str) -> float:
    try:
        return parse_number(text)
    except BadInput as wrong:
        raise _refuse(wrong.what, wrong.mend) from wrong


def _quantity(kind: str) -> Callable[[Any], float]:
    def read(value: Any) -> float:
        example = KINDS[kind].example
        if not isinstance(value, str):
            raise _refuse(f"{value!r} has no unit", f"write it as text with its unit, like {example!r}")
        try:
            return parse_quantity(value, kind)
        except BadInput as wrong:
            raise _refuse(wrong.what, wrong.mend) from wrong

    return read


def _supply(value: Any) -> str:
    if isinstance(value, str) and (number := split_number(value)[0]):
        _number(number)  # says why it is none
    for kind in ("pressure", "voltage"):
        try:
            _quantity(kind)(value)
        except PydanticCustomError:
            continue
        return str(value)
    raise _refuse(f"{value!r} is neither a pressure nor a voltage", "write it like '6.2 bar' or '18 V'")


def _text(kind: TextKind, *, may_be_empty: bool = False) -> Callable[[Any], str]:
    def read(value: Any) -> str:
        is_number = kind is TextKind.NAME and isinstance(value, int) and not isinstance(value, bool)
        if not isinstance(value, str) and not is_number:
            raise _refuse(f"{value!r} is not text"[:200], "write it in quotes")
        told = judge_text(str(value), kind)
        if isinstance(told, TextProblem):
            raise _refuse(told.what, told.fix)
        if not told and not may_be_empty:
            raise _refuse(f"a {kind.word} is empty", f"give it a {kind.word}")
        return told

    return read


_IDENTITY = re.compile(r"[A-Za-z0-9._-]{1,64}")


def _identity(value: Any) -> str:
    text = str(value) if isinstance(value, int) and not isinstance(value, bool) else value
    if not isinstance(text, str) or not _IDENTITY.fullmatch(text):
        what = f"{value!r} is no identity"
        raise _refuse(what[:80], "use 1 to 64 letters, digits, '.', '_' and '-', such as '5f3c9a'")
    return text


def parse_score_rule(text: Any) -> ScoreRule:
    """The rule behind "end", "peak", "at 5 s" or "time to 400 N m"."""
    words = " ".join(str(text).split()).lower()
    if words in ("end", "peak"):
        return ScoreRule(kind=words)  # type: ignore[arg-type]  # narrowed by the line above
    if words.startswith("at ") and (after := _quantity("time")(words[3:])) > 0:
        return ScoreRule(kind="at", at_s=after)
    level, unit = split_number(" ".join(str(text).split())[8:]) if words.startswith("time to ") else ("", "")
    if level and re.match(r"[^\d\s.,]", unit) and (value := _number(level)) > 0:
        return ScoreRule(kind="time to", level=value, level_unit=unit)
    raise _refuse(f"{text!r} is not a score rule", "write 'end', 'peak', 'at 5 s' or 'time to 400 N m'")


def _channels(value: Any) -> str:
    """One name, or names that are tried in their order as one text with bars between them."""
    names = value if isinstance(value, list) else [value]
    if not names:
        raise _refuse("no channel is named", "name one, or delete the key")
    return " | ".join(_text(TextKind.CHANNEL)(name) for name in names)


GEOMETRY_KEYS = (
    "bolt_across_flats_mm",
    "drive_across_flats_mm",
    "dimension_uncertainty_mm",
    "measured",
    "part",
)
"""Keys of an article that the parts room reads."""

Name = Annotated[str, BeforeValidator(_text(TextKind.NAME))]
Identity = Annotated[str, BeforeValidator(_identity)]
Unit = Annotated[str, BeforeValidator(_text(TextKind.UNIT))]
ChannelNames = Annotated[str, BeforeValidator(_channels)]
FileName = Annotated[str, BeforeValidator(_text(TextKind.FILE))]
Currency = Annotated[str, BeforeValidator(_text(TextKind.UNIT, may_be_empty=True))]
Note = Annotated[str, BeforeValidator(_text(TextKind.NOTE, may_be_empty=True))]
Duration = Annotated[float, BeforeValidator(_quantity("time")), Field(gt=0, le=3600)]
Pause = Annotated[float, BeforeValidator(_quantity("time")), Field(ge=0)]
Supply = Annotated[str, BeforeValidator(_supply)]
Positive = Annotated[float, Field(gt=0)]
Gap = Annotated[float, Field(ge=0, lt=60)]
Friction = Annotated[float, Field(gt=0, le=0.6)]
Percent = Annotated[float, Field(gt=0, lt=100)]
Score = Annotated[ScoreRule, BeforeValidator(parse_score_rule)]


class _Table(BaseModel):
    # Strict: TOML has types of its own, so a number in quotes or a `true` for a 1 is a slip of the pen.
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
            raise _refuse(wrong.what, f"write a plain number of {ending.shown}, or {example!r}") from wrong
        return float(f"{number:.12g}")


class CampaignTable(_Table):
    """What is compared, with what, and how small a difference still matters."""

    name: Name
    reference: Name
    margin_percent: Percent = 3.0
    currency: Currency = "EUR"
    simulated: bool = False
    note: Note | None = None
    id: Identity | None = None


class ProtocolTable(_Table):
    """How every run is made."""

    duration: Duration = 10.0
    direction: Literal["tighten", "loosen"] | None = None
    rotation: Literal["forward", "reverse"] | None = None
    score: Score = ScoreRule()
    supply: Supply | None = None
    cool_down: Pause | None = None
    repeats: Annotated[int, Field(ge=1, le=1000)] | None = None
    looks: Annotated[int, Field(ge=1, le=20)] | None = None
    seed: Annotated[int, Field(ge=0)] | None = None
    smallest_difference_percent: Percent | None = None


class RigTable(_Table):
    """The bench and its sensor."""

    name: Name = "rig"
    channel: ChannelNames | None = None
    unit: Unit = "reading"
    own_unit: bool = False
    sample_rate_hz: Annotated[float, Field(gt=0, le=1e7)] | None = None
    clamp_stiffness_n_per_m: Positive | None = None
    resolution: Positive | None = None
    full_scale: Positive | None = None
    zero: Annotated[float, Field(ge=-1e9, le=1e9)] | None = None
    repeatability_percent: Percent | None = None

    @field_validator("zero", mode="before")
    @classmethod
    def _in_its_unit(cls, value: Any, info: ValidationInfo) -> Any:
        """A text as the number that it is in the rig's unit: `zero = "9000 N"` of a rig in kN."""
        if not isinstance(value, str):
            return value
        unit = info.data.get("unit", "reading")
        written = split_number(value)[1]
        if written and kind_of_unit(unit) is None and not same_unit(written, unit):
            raise _refuse(
                f"{value!r} is not in {unit!r}, the unit of the rig", "write it as the rig shows it"
            )
        try:
            return parse_in_unit(value, unit)
        except BadInput as wrong:
            raise _refuse(wrong.what, wrong.mend) from wrong


class BoltTable(_Table):
    """The test bolt."""

    thread: Name | None = None
    property_class: Annotated[Name | None, Field(alias="class")] = None
    proof_stress_mpa: Positive | None = None
    tensile_strength_mpa: Positive | None = None
    yield_strength_mpa: Positive | None = None
    shank_diameter_mm: Positive | None = None
    head_across_flats_mm: Positive | None = None
    bearing_face_mm: Positive | None = None
    hand: Literal["right", "left"] | None = None
    friction: Friction | None = None
    thread_friction: Friction | None = None
    head_friction: Friction | None = None
    friction_uncertainty_percent: Percent | None = None
    runs_per_bolt: Annotated[int, Field(ge=1)] | None = None
    largest_proof_share: Annotated[float, Field(gt=0, le=1)] = 0.75
    name: Name | None = None


def _known_unit(unit: str, otherwise: str) -> str:
    if kind_of_unit(unit) is None and not is_arbitrary(unit):
        raise _refuse(f"unit {unit!r} is not known", f"write a unit of force or torque, or {otherwise}")
    return unit


class CalibrationTable(_Table):
    """The sheet of readings against the torque wrench."""

    sheet: FileName
    applied_unit: Annotated[Unit, AfterValidator(lambda unit: _known_unit(unit, "the unit of its display"))]
    reference_uncertainty_percent: Annotated[float, Field(ge=0, lt=100)] = 0.0
    degree: Annotated[int, Field(ge=1, le=3)] | None = None
    rig: Name | None = None
    bolt: Name | None = None


class ToolTable(_Table):
    """One impact wrench."""

    name: Name
    mechanism: Literal["air", "spring-and-cam", "oil-pulse"] | None = None
    drive_mm: Positive | None = None
    supply: Supply | None = None
    rated_supply: Supply | None = None
    hammer_inertia_kg_m2: Positive | None = None
    blow_speed_rad_s: Positive | None = None
    blow_energy_j: Positive | None = None
    blow_rate_hz: Positive | None = None
    anvil_stiffness_n_m_per_rad: Positive | None = None
    anvil_inertia_kg_m2: Positive | None = None
    restitution: Annotated[float, Field(ge=0, le=1)] | None = None


class ArticleTable(_Table):
    """One article: what it costs and what is known of it; geometry is kept word for word."""

    name: Name
    price: Annotated[float, Field(ge=0)] | None = None
    mass_kg: Positive | None = None
    polar_inertia_kg_m2: Positive | None = None
    stiffness_n_m_per_rad: Positive | None = None
    hexagon_gap_deg: Gap | None = None
    square_gap_deg: Gap | None = None
    note: Note | None = None
    bolt_across_flats_mm: Positive | None = None
    drive_across_flats_mm: Positive | None = None
    dimension_uncertainty_mm: Positive | None = None
    measured: dict[str, Any] | None = None
    part: list[dict[str, Any]] | None = None


class RunsTable(_Table):
    """Where the run sheet and the logs are."""

    sheet: FileName = "runs.csv"
    logs: FileName = "logs"


class CampaignFile(_Table):
    """The whole file."""

    campaign: CampaignTable
    protocol: ProtocolTable = ProtocolTable()
    rig: RigTable = RigTable()
    bolt: BoltTable = BoltTable()
    calibration: CalibrationTable | None = None
    tool: Annotated[list[ToolTable], Field(min_length=1)]
    article: Annotated[list[ArticleTable], Field(min_length=1)]
    runs: RunsTable = RunsTable()
