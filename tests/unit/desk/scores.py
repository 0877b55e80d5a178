"""Campaign folders of simulated scores without logs, whose truth is known: they come from the engine."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from pathlib import Path

import numpy as np

from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.simulating.bench import read_setup
from strikeproof.drivetrain import build_chain, simulate_run
from strikeproof.explain.article_model import article_model

INERTIA = 1.0e-4  # kg·m², of the reference
STIFFNESS = 1.0e5  # N·m/rad, of all that say nothing else


@dataclass(frozen=True)
class Bench:
    """What a campaign is made of; factors on the reference's inertia and stiffnesses [N·m/rad] by name."""

    articles: Mapping[str, float] = field(
        default_factory=lambda: {"plain": 1.0, "ring-a": 2.0, "ring-b": 3.5, "ring-c": 5.0, "ring-d": 0.7}
    )
    blocks: int = 4
    scatter: float = 0.015
    mechanism: str = 'mechanism = "air"'
    protocol: str = ""
    extra: Mapping[str, str] = field(default_factory=dict)
    stiffness: Mapping[str, float] = field(default_factory=dict)
    known: bool = True
    shift: float = 0.0
    tools: tuple[str, ...] = ("wrench",)
    seed: int = 3


def table_of(bench: Bench, name: str) -> str:
    """One article's table of the campaign file."""
    values = [f'name = "{name}"']
    if bench.known:
        inertia = INERTIA * bench.articles[name]
        mass = 0.45 * math.sqrt(bench.articles[name])
        values += [f"polar_inertia_kg_m2 = {inertia:.6g}", f"mass_kg = {mass:.4g}"]
        values += [f"stiffness_n_m_per_rad = {bench.stiffness.get(name, STIFFNESS):g}"]
        values += ["hexagon_gap_deg = 2.0", "square_gap_deg = 2.0"]
    return "\n".join(["[[article]]", *values, bench.extra.get(name, "")])


def write_folder(folder: Path, bench: Bench) -> Path:
    """Write campaign.toml and runs.csv."""
    folder.mkdir(parents=True, exist_ok=True)
    tables = "\n\n".join(table_of(bench, name) for name in bench.articles)
    tools = "\n\n".join(
        f'[[tool]]\nname = "{tool}"\n{bench.mechanism}\ndrive_mm = 12.7' for tool in bench.tools
    )
    (folder / "campaign.toml").write_text(
        f"""[campaign]
name = "simulated rings"
reference = "plain"
simulated = true

[protocol]
duration = "4 s"
seed = 11
{bench.protocol}

[rig]
name = "bench"
unit = "reading"
clamp_stiffness_n_per_m = 4e8

[bolt]
thread = "M20x2.5"
class = "10.9"
friction = 0.12

{tools}

{tables}

[runs]
sheet = "runs.csv"
""",
        encoding="utf-8",
    )
    (folder / "runs.csv").write_text("\n".join(_rows(bench)) + "\n", encoding="utf-8")
    return folder


def load(folder: Path, bench: Bench) -> Path:
    """A workspace with the campaign in it."""
    outcome = load_campaign(write_folder(folder / "campaign", bench), folder / "workspace")
    assert not outcome.problems, outcome.problems
    return folder / "workspace"


def true_score(factor: float, stiffness: float = STIFFNESS, duration: float = 4.0) -> float:
    """Clamp load that the engine gives an article of so many times the reference's inertia. [N]"""
    table = {
        "name": "any",
        "polar_inertia_kg_m2": INERTIA * factor,
        "stiffness_n_m_per_rad": stiffness,
        "hexagon_gap_deg": 2.0,
        "square_gap_deg": 2.0,
    }
    return score_of(table, duration)


def score_of(table: Mapping[str, object], duration: float = 4.0) -> float:
    """Clamp load that the engine gives an article from its table. [N]"""
    article = article_model(describe_article({"article": dict(table)}).properties)
    tables = {
        "tool": {"name": "wrench", "mechanism": "air", "drive_mm": 12.7},
        "bolt": {"thread": "M20x2.5", "class": "10.9", "friction": 0.12},
        "rig": {"clamp_stiffness_n_per_m": 4e8},
    }
    setup = read_setup(tables, article=article)
    rigid = replace(setup.bolt, shank_stiffness=math.inf)  # as explanations take it where no grip is given
    chain = build_chain(setup.tool, article, rigid, setup.rig)
    return simulate_run(chain, setup.tool, duration=duration).end_load


def _rows(bench: Bench) -> Sequence[str]:
    rng = np.random.default_rng(bench.seed)
    true = {
        name: true_score(factor, bench.stiffness.get(name, STIFFNESS)) / 1000.0
        for name, factor in bench.articles.items()
    }
    others = [name for name in bench.articles if name != "plain"]
    lines = ["run,tool,article,block,score"]
    for block, tool in product(range(1, bench.blocks + 1), bench.tools):
        dealt = [others[i] for i in rng.permutation(len(others))]
        order = ["plain", *dealt]
        if bench.blocks > 1:  # the second run of the reference anywhere, as a plan deals it
            order.insert(int(rng.integers(1, len(order) + 1)), "plain")
            order = [order[i] for i in rng.permutation(len(order))]
        for name in order:
            odd = block == 2 and name == "plain" and tool == bench.tools[-1]
            score = true[name] * math.exp(bench.shift * odd + rng.normal(0.0, bench.scatter))
            lines.append(f"r{len(lines):02d},{tool},{name},{block},{score:.4f}")
    return lines


def changed(**values: object) -> Bench:
    """The usual bench with some things different."""
    return replace(Bench(), **values)  # type: ignore[arg-type]  # the caller's values fit the fields
