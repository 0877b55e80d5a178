"""What the load cell of a simulated bench reads without end: idle noise and drift, and runs when asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np

from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.toml_reader import read_toml
from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.simulating.bench import Setup, read_setup
from strikeproof.desk.simulating.stated import stated_words
from strikeproof.drivetrain import Chain, build_chain, draw_scatter, plain_article, simulate_run
from strikeproof.errors import NotFound, StrikeproofError
from strikeproof.explain.article_model import article_model
from strikeproof.quantity import FloatArray, from_si, kind_of_unit
from strikeproof.trace import TracePlan, record_blows

__all__ = ["SPOILS", "BenchSignal", "SimulatedBench", "Spoil"]

Spoil = Literal["clipped", "late", "short", "loose"]
SPOILS: dict[Spoil, str] = {
    "clipped": "the recorder saturates below the level that is reached",
    "late": "the person waits eight seconds longer before starting",
    "short": "the person releases the trigger half-way",
    "loose": "the article is not fully on the head: 0.7 of the load",
}

_DIVISIONS_PER_KN = 7.0  # of an uncalibrated load cell, where the rig's unit is none of force or torque
_UNKNOWN_INERTIA = 1.2e-4  # kg·m², of an article of which nothing is known
_RUN_SCATTER = 0.014
_LET_GO_S = 0.3
_HELD_S = 5.0  # before the bolt is loosened again
_LATE_S = 8.0
_NOISE, _HUM, _WANDER = 1.5e-3, 0.7e-3, 2.0e-4  # of a full reading; the last a second


class SimulatedBench:
    """The drivetrain of every tool and article of a campaign, built when first asked for."""

    def __init__(self, campaign: Path) -> None:
        path = campaign / "campaign.toml" if campaign.is_dir() else campaign
        self.campaign: Campaign = read_campaign(path)
        self._tables: dict[str, Any] = read_toml(path)[0]
        self._chains: dict[tuple[str, str], tuple[Chain, Setup]] = {}
        self.remarks: dict[str, str] = {}
        """That a tool, by its name, is simulated at another rate or speed than is stated for it."""

    def hammer(
        self, rng: np.random.Generator, tool: str, article: str, hammer_s: float
    ) -> tuple[FloatArray, FloatArray]:
        """When each blow struck [s] and the net reading after it, with the luck of one run.

        Raises
        ------
        NotFound
            If the campaign has no such tool or article.
        """
        chain, setup = self._chain(tool, article)
        scatter = draw_scatter(setup.tool, hammer_s, rng)
        run = simulate_run(chain, setup.tool, duration=hammer_s, scatter=scatter)
        self.remarks[tool] = stated_words(tool, setup.stated, run)
        share = float(np.exp(rng.normal(0.0, _RUN_SCATTER)))
        return run.time, self._reading(run.clamp_load, chain) * share

    def _reading(self, load: FloatArray, chain: Chain) -> FloatArray:
        unit = self.campaign.rig.unit
        kind = kind_of_unit(unit)
        if kind == "force":
            return load * from_si(1.0, unit, "force")
        if kind == "torque":
            return load * chain.torque_per_load * from_si(1.0, unit, "torque")
        return load / 1000.0 * _DIVISIONS_PER_KN

    def _chain(self, tool: str, article: str) -> tuple[Chain, Setup]:
        if (tool, article) not in self._chains:
            self._chains[tool, article] = self._build(
                _named(self._tables["tool"], "tool", tool),
                _named(self._tables["article"], "article", article),
            )
        return self._chains[tool, article]

    def _build(self, tool: Mapping[str, Any], article: Mapping[str, Any]) -> tuple[Chain, Setup]:
        try:
            model = article_model(describe_article({"article": dict(article)}).properties)
        except StrikeproofError:  # it has no geometry, or too little of it
            inertia = article.get("polar_inertia_kg_m2", _UNKNOWN_INERTIA)
            model = plain_article(str(article["name"]), float(inertia))
        rig = {key: value for key, value in self._tables.get("rig", {}).items() if key.startswith("clamp")}
        known = ("thread", "class", "friction", "thread_friction", "head_friction", "grip_length_mm")
        bolt = {key: value for key, value in self._tables.get("bolt", {}).items() if key in known}
        setup = read_setup({"rig": rig, "bolt": bolt, "tool": dict(tool)}, article=model, rigid_shank=True)
        return build_chain(setup.tool, model, setup.bolt, setup.rig), setup


def _named(tables: list[dict[str, Any]], kind: str, name: str) -> dict[str, Any]:
    found = [table for table in tables if str(table["name"]).strip() == name]
    if not found:
        raise NotFound(kind, name, [str(table["name"]) for table in tables])
    return found[0]


@dataclass(slots=True)
class _Run:
    """Net readings still to come, and where the recorder saturates meanwhile."""

    net: FloatArray
    stop: float
    at: int = 0


class BenchSignal:
    """Readings one after another.

    Parameters
    ----------
    full
        Net reading of a whole run; noise, hum and wander are shares of it.
    """

    def __init__(self, bench: SimulatedBench, rng: np.random.Generator, rate_hz: float) -> None:
        self.bench = bench
        self.rate_hz = rate_hz
        self._rng = rng
        self._count = 0
        self._drift = 0.0
        self._run: _Run | None = None
        first = bench.campaign.tools[0].name, bench.campaign.reference
        self.full = float(bench.hammer(rng, *first, bench.campaign.protocol.duration_s)[1][-1])

    def start(self, tool: str, article: str, *, wait_s: float = 1.0, spoil: Spoil | None = None) -> None:
        """Begin a run after a wait; one that goes on already is cut off.

        Raises
        ------
        NotFound
            If the campaign has no such tool or article.
        """
        protocol = self.bench.campaign.protocol
        hammer_s = protocol.duration_s * 0.5 if spoil == "short" else protocol.duration_s + _LET_GO_S
        times, levels = self.bench.hammer(self._rng, tool, article, hammer_s)
        levels = levels * (0.7 if spoil == "loose" else 1.0)
        wait_s += _LATE_S if spoil == "late" else 0.0
        plan = TracePlan(
            sample_rate_hz=self.rate_hz,
            length_s=wait_s + hammer_s + _HELD_S + 0.5,
            start_s=wait_s,
            final_level=float(levels[-1]),
            release_after_s=_HELD_S,
            zero=0.0,
            noise=0.0,
        )
        net = record_blows(self._rng, times, levels, plan=plan).reading
        stop = 0.93 * float(levels[-1]) if spoil == "clipped" else np.inf
        self._run = _Run(net if protocol.direction == "tighten" else -net, stop)

    def read(self, count: int) -> FloatArray:
        """The next (count,) readings."""
        time = (self._count + np.arange(count)) / self.rate_hz
        self._count += count
        wander = self._rng.normal(0.0, _WANDER * self.full * np.sqrt(max(count, 1) / self.rate_hz))
        drift = self._drift + wander * np.arange(1, count + 1) / max(count, 1)
        self._drift += wander - 0.02 * self._drift * count / self.rate_hz
        reading = 0.01 * self.full + drift + _NOISE * self.full * self._rng.standard_normal(count)
        reading += _HUM * self.full * np.sin(2 * np.pi * 50.0 * time)
        return self._with_run(reading, count)

    def _with_run(self, reading: FloatArray, count: int) -> FloatArray:
        run = self._run
        if run is None:
            return reading
        part = run.net[run.at : run.at + count]
        reading[: len(part)] += part
        run.at += count
        if run.at >= len(run.net):
            self._run = None
        return np.clip(reading, -run.stop, run.stop)
