"""The unknowns of a bench and its tools: what was believed of them before, and what a draw of them builds.

Every unknown is log-normal: log value = log centre + spread z with z standard normal before the data.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtri

from strikeproof.drivetrain import BoltModel, RigModel, ToolModel, at_supply, complete_tool
from strikeproof.explain.records import Evidence, Setting, ToolFacts
from strikeproof.explain.variants import Spread
from strikeproof.quantity import FloatArray

__all__ = [
    "OWN",
    "Parameter",
    "build_bench",
    "build_tool",
    "draw_design",
    "list_parameters",
    "read_spread",
]


@dataclass(frozen=True, slots=True)
class Parameter:
    """One unknown: its tool (empty when all share it), its name, the centre and log spread of its prior."""

    tool: str
    name: str
    unit: str
    centre: float
    spread: float

    @property
    def label(self) -> str:
        """Name with the tool it belongs to."""
        return f"{self.name} of {self.tool}" if self.tool else self.name

    def value(self, z: FloatArray) -> FloatArray:
        """The parameter where it is `z` prior standard deviations from its centre. [unit]"""
        return np.asarray(self.centre * np.exp(self.spread * z))


# Half of the logarithmic width of the class's range over 1.64, so that 90 % of the prior lies in the range
# (engineering estimates): hammer 2-6e-4, 1-2.5e-3; speed 350-500, 300-450; anvil shank 6-12e3, 20-40e3;
# anvil inertia 1-5e-5; restitution of the jaw 0.5-0.8.
_TOOL_SPREADS = {
    "hammer_inertia": ("kg·m²", 0.32),
    "blow_speed": ("rad/s", 0.12),
    "anvil_stiffness": ("N·m/rad", 0.22),
    "anvil_inertia": ("kg·m²", 0.45),
    "jaw_damping": ("", 0.3),
}
_DECLARED_SPREAD = 0.04
"""Log spread of a value that the person declared."""

# an air motor's ports and a cam's slopes are often cut for forward (common practice, no source)
_REVERSE_SPREADS = {"blow_speed": 0.15}
"""Log spread added in reverse to what is known of the tool in forward."""

# hexagon with head or rig 15-100e3; play 1-4 degrees; restitution of a fit 0.5-0.8 (engineering estimates)
_SHARED_SPREADS = {"hexagon_stiffness": 0.4, "gap": 0.3, "fit_damping": 0.4}
_BOND_SPREADS = {"bond_stiffness": 0.6, "bond_slip": 0.5}

OWN = ("inertia", "stiffness", "gap")
"""What each article may have differently from its record."""


def list_parameters(evidence: Evidence, *, bonds: bool) -> tuple[Parameter, ...]:
    """All unknowns of a campaign: tool by tool, then those of bolt, rig and fits, then those of the bonds.

    Parameters
    ----------
    evidence
        Tools, bolt, rig and reference.
    bonds
        Whether how rings and fills hold is unknown too.

    Raises
    ------
    NotFound, BadInput
        If what was declared of a tool cannot be used.
    """
    used = {each.setting.tool for each in evidence.gains}
    found = [each for tool in evidence.tools if tool.name in used for each in _of_tool(tool)]
    reference = evidence.article(evidence.reference).model
    hexagon = reference.hexagon_stiffness if reference else 1.0
    bolt, rig = evidence.bolt, evidence.rig
    friction = np.hypot(evidence.friction_percent, 1e-3) / 100.0
    found += [
        Parameter("", "hexagon_stiffness", "N·m/rad", hexagon, _SHARED_SPREADS["hexagon_stiffness"]),
        Parameter("", "gap", "times declared", 1.0, _SHARED_SPREADS["gap"]),
        Parameter("", "fit_damping", "times declared", 1.0, _SHARED_SPREADS["fit_damping"]),
        Parameter("", "friction", "", 0.5 * (bolt.thread_friction + bolt.head_friction), float(friction)),
        Parameter("", "clamp_stiffness", "N/m", rig.clamp_stiffness, evidence.clamp_percent / 100.0),
    ]
    if bonds:
        found += [Parameter("", name, "times declared", 1.0, wide) for name, wide in _BOND_SPREADS.items()]
    return tuple(found)


def _of_tool(facts: ToolFacts) -> list[Parameter]:
    done = complete_tool(facts.name, facts.mechanism, facts.drive, facts.known)
    centres = {name: value for name, value, _unit in done.priors} | dict(facts.known)
    centres["hammer_inertia"] = done.tool.hammer_inertia
    centres["jaw_damping"] = done.tool.jaw_damping
    if "blow_speed" not in centres:
        centres["blow_speed"] = float(np.sqrt(2.0 * centres["blow_energy"] / done.tool.hammer_inertia))
    declared = set(facts.known) | ({"jaw_damping"} if "restitution" in facts.known else set())
    if "blow_energy" in declared:
        declared |= {"blow_speed"} if "blow_speed" not in declared else {"hammer_inertia"}
    spreads = {
        name: _DECLARED_SPREAD if name in declared else wide for name, (_, wide) in _TOOL_SPREADS.items()
    }
    if facts.in_reverse:
        spreads |= {name: float(np.hypot(spreads[name], wide)) for name, wide in _REVERSE_SPREADS.items()}
    return [
        Parameter(facts.name, name, unit, float(centres[name]), spreads[name])
        for name, (unit, _) in _TOOL_SPREADS.items()
    ]


Values = dict[tuple[str, str], float]


def read_values(parameters: Sequence[Parameter], z: FloatArray) -> Values:
    """Values of all unknowns at one point z (d,)."""
    return {
        (each.tool, each.name): float(each.centre * np.exp(each.spread * float(at)))
        for each, at in zip(parameters, z, strict=True)
    }


def build_tool(facts: ToolFacts, setting: Setting, values: Values) -> ToolModel:
    """The tool with these values, at the setting's supply.

    Parameters
    ----------
    facts
        As it was declared.
    setting
        Its supply, a share of the rated one.
    values
        Of the unknowns. SI

    Raises
    ------
    BadInput
        If a value or the supply is out of range.
    """
    known = {key: value for key, value in facts.known.items() if key in ("blow_rate", "rebound_share")}
    for name in ("hammer_inertia", "blow_speed", "anvil_stiffness", "anvil_inertia"):
        known[name] = values[facts.name, name]
    tool = complete_tool(facts.name, facts.mechanism, facts.drive, known).tool
    tool = replace(tool, jaw_damping=min(values[facts.name, "jaw_damping"], 0.9))
    return tool if setting.supply == 1.0 else at_supply(tool, setting.supply)


def build_bench(evidence: Evidence, values: Values) -> tuple[BoltModel, RigModel]:
    """Bolt and rig with these values.

    Parameters
    ----------
    evidence
        Bolt and rig as declared.
    values
        Of the unknowns; both coefficients of friction change by one factor and end at 1. SI
    """
    bolt = evidence.bolt
    change = values["", "friction"] / (0.5 * (bolt.thread_friction + bolt.head_friction))
    bolt = replace(
        bolt,
        thread_friction=min(bolt.thread_friction * change, 1.0),
        head_friction=min(bolt.head_friction * change, 1.0),
    )
    return bolt, replace(evidence.rig, clamp_stiffness=values["", "clamp_stiffness"])


def read_spread(evidence: Evidence, values: Values, own: FloatArray) -> Spread:
    """Factors on an article's record: what all articles share, and its own (log inertia, stiffness, gap).

    Parameters
    ----------
    evidence
        Its reference says what the hexagon's stiffness was.
    values
        Of the unknowns. SI
    own : (3,)
        Log changes of inertia, stiffness and gap of this article.
    """
    reference = evidence.article(evidence.reference).model
    hexagon = reference.hexagon_stiffness if reference else 1.0
    inertia, stiffness, gap = np.exp(own)
    return Spread(
        float(inertia),
        float(stiffness),
        float(gap) * values["", "gap"],
        values["", "hexagon_stiffness"] / hexagon,
        values["", "fit_damping"],
        values.get(("", "bond_stiffness"), 1.0),
        values.get(("", "bond_slip"), 1.0),
    )


def draw_design(size: int, dimensions: int, rng: np.random.Generator) -> FloatArray:
    """Space-filling points of a standard normal prior, (size, dimensions); a scrambled Sobol sequence.

    Cut at 2.6 standard deviations, so that no single run spends the emulator on the far tails.

    Parameters
    ----------
    size
        Points, > 0.
    dimensions
        Unknowns.
    rng
        Scrambles the sequence.

    References
    ----------
    Scrambled as in Matoušek, J. Complexity 14 (1998) 527 (from memory).
    """
    from scipy.stats import qmc  # half a second that only a fit should pay

    sobol = qmc.Sobol(dimensions, rng=rng)
    points = sobol.random_base2(int(np.ceil(np.log2(size))))[:size]
    return np.asarray(np.clip(ndtri(np.clip(points, 1e-9, 1.0 - 1e-9)), -2.6, 2.6))
