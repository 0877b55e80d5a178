"""What a search takes in and gives out: frozen, complete when made, plain SI."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

from strikeproof.parts import ArticleProperties, Margin, PriceTable
from strikeproof.quantity import FloatArray

if TYPE_CHECKING:  # whoever only checks a fit need not wait for the engine and the explanations
    from strikeproof.drivetrain import ArticleModel, BoltModel, RigModel, ToolModel
    from strikeproof.explain import Setting

__all__ = [
    "OBJECTIVES",
    "PROCESSES",
    "Base",
    "Brief",
    "Cancelled",
    "Envelope",
    "Found",
    "Need",
    "Objective",
    "Offer",
    "Process",
    "Progress",
    "Search",
    "Step",
    "Table",
    "World",
    "Worlds",
]

Process: TypeAlias = Literal["turning", "welding", "press fit"]
Objective: TypeAlias = Literal["highest score", "best per money", "lightest", "best over tools"]
PROCESSES: tuple[Process, ...] = ("turning", "welding", "press fit")
OBJECTIVES: tuple[Objective, ...] = ("highest score", "best per money", "lightest", "best over tools")

Progress: TypeAlias = Callable[[int, int, str], None]
"""Called now and then with (done, total, what is being done)."""
Cancelled: TypeAlias = Callable[[], bool]
"""Asked now and then; True ends the search, and what was found is stored."""
Table: TypeAlias = Mapping[str, Any]
"""An article as a person writes it: what is under `[article]` in a file."""


@dataclass(frozen=True, slots=True)
class Step:
    """A stretch of the pocket: as far down as `depth` from its mouth it is `diameter` wide. [m]"""

    depth: float
    diameter: float


@dataclass(frozen=True, slots=True)
class Envelope:
    """The room that there is around the axis of the bolt.

    Parameters
    ----------
    pocket
        From its mouth down to the seat of the bolt's head, which is the depth of the last one; empty when
        the head has free space.
    free_length
        From the seat to the face of the anvil: the longest article; None when nothing limits it. [m]
    wall
        From the axis to the nearest wall above the mouth; None when there is none. [m]
    clearance
        Left free all round. [m]
    """

    pocket: tuple[Step, ...] = ()
    free_length: float | None = None
    wall: float | None = None
    clearance: float = 1.0e-3

    @property
    def depth(self) -> float:
        """Of the pocket. [m]"""
        return self.pocket[-1].depth if self.pocket else 0.0


@dataclass(frozen=True, slots=True)
class Offer:
    """Stock that can be had: an item by its name in `parts`, its material, and how much of it there is.

    Parameters
    ----------
    item
        As `parts.find_stock` knows it, such as `bar 40 mm` or `pipe NPS 2 sch 80`.
    material
        None for the item's usual one.
    length
        In one piece; None when any. [m]
    """

    item: str
    material: str | None = None
    length: float | None = None


@dataclass(frozen=True, slots=True)
class Base:
    """A finished socket that a ring can be put on: its table, and what it costs.

    The outside over which a ring goes, and its length, follow from its parts.
    """

    name: str
    table: Table
    price: float | None = None


@dataclass(frozen=True, slots=True)
class Brief:
    """What is wanted, and within which limits.

    Parameters
    ----------
    name
        In words.
    hexagon
        Across flats of the bolt's head. [m]
    drive
        Nominal width of the square. [m]
    envelope
        Access to the bolt.
    offers
        Stock at hand or in the shop; only bar, pipe and tube, washers and nuts of it are cut.
    bases
        Sockets to start from.
    prices
        What things cost; None where nothing is priced, and then no budget can be met.
    materials
        The person's own, beside those that `parts` knows.
    processes
        What the workshop can do.
    largest_mass, largest_inertia, budget
        None when there is no limit. [kg, kg·m², currency]
    least_static, least_fatigue
        Margins at the peak torque of the strongest tool, against yield and endurance; None: not asked.
    objective
        What the best is judged by.
    least_gain
        Of `lightest`: as a share, 0.1 for 10 %.
    built
        Articles that exist, by name, each with its table.
    proposals
        How many are wanted.
    head_height
        How deep the hexagon must reach; None for 0.625 of its width. [m]
    """

    name: str
    hexagon: float
    drive: float
    envelope: Envelope = field(default_factory=Envelope)
    offers: tuple[Offer, ...] = ()
    bases: tuple[Base, ...] = ()
    prices: PriceTable | None = None
    materials: Mapping[str, Any] = field(default_factory=dict)
    processes: frozenset[Process] = frozenset(PROCESSES)
    largest_mass: float | None = None
    largest_inertia: float | None = None
    budget: float | None = None
    least_static: float = 1.5
    least_fatigue: float | None = None
    objective: Objective = "highest score"
    least_gain: float = 0.0
    built: Mapping[str, Table] = field(default_factory=dict)
    proposals: int = 5
    head_height: float | None = None


@dataclass(frozen=True, slots=True)
class World:
    """One draw of what is believed of the bench: every tool at its setting, bolt and rig, the reference.

    Parameters
    ----------
    tools
        In the order of `settings`.
    settings
        With which each is run.
    reference
        What the article of reference is in this draw.
    change
        What an article's record becomes in this draw: its stiffness, gaps and bonds as believed, and only
        those of its properties that the explanation in question takes to matter.
    whole
        The same with all of its properties, for what it must stand.
    direction
        Of the runs.
    misfit
        Of the physics in this draw, in standard deviations of what it may leave out of a gain.
    own
        What a new article has of its own in this draw beside the reference, log score, in the order of
        `settings`; empty for nothing.
    """

    tools: tuple[ToolModel, ...]
    settings: tuple[Setting, ...]
    bolt: BoltModel
    rig: RigModel
    reference: ArticleModel
    change: Callable[[ArticleModel], ArticleModel]
    whole: Callable[[ArticleModel], ArticleModel]
    direction: Literal["tighten", "loosen"] = "tighten"
    misfit: float = 0.0
    own: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Worlds:
    """What is believed: its middle, where the search begins, and draws, by which the finalists are judged."""

    middle: World
    draws: tuple[World, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """One article that keeps the brief.

    Parameters
    ----------
    name, words
        Short, and what it is made of in one sentence.
    stock
        Names of the items that it is cut from.
    table
        The article as a file holds it.
    properties
        What follows from its parts.
    gains
        Log gains over the reference, (worlds, tools).
    peaks
        Largest torque at the bolt's head, (worlds, tools). [N·m]
    margins
        Each at the peak of its own joint that the strongest tool reaches or exceeds in one world of twenty,
        smallest first.
    peak
        The same at the bolt's head: what the strongest tool reaches or exceeds in one world of twenty. [N·m]
    """

    name: str
    words: str
    stock: tuple[str, ...]
    table: Table
    properties: ArticleProperties
    gains: FloatArray
    peaks: FloatArray
    margins: tuple[Margin, ...]
    peak: float


@dataclass(frozen=True, slots=True)
class Need:
    """A limit that no article can keep together with the others, and what would be enough.

    Parameters
    ----------
    limits
        The keys of the brief that conflict.
    problem
        In words.
    fix
        The nearest brief that can be met.
    """

    limits: tuple[str, ...]
    problem: str
    fix: str


@dataclass(frozen=True, slots=True, eq=False)
class Search:
    """What was found.

    Parameters
    ----------
    proposals
        Distinct, the best by the brief's objective first.
    pareto
        Those that no other beats in gain, mass, price and diameter at once, by falling gain.
    searched
        How many articles were looked at.
    refused
        How many of them broke which limit.
    complete
        False when it was stopped before its end.
    """

    proposals: tuple[Found, ...]
    pareto: tuple[Found, ...]
    searched: int
    refused: Mapping[str, int]
    complete: bool = True
