"""Articles put together at random: each is either worked out in finite numbers or refused in one line."""

from __future__ import annotations

import json
import math
import random
from typing import Any

import pytest

from strikeproof.desk.articles.article import describe_article
from strikeproof.errors import StrikeproofError
from strikeproof.parts import material_names, stock_names, write_svg
from strikeproof.plain_json import to_json

SHAPES = ("tube", "sleeve", "bar", "cone", "hexagonal prism", "square prism", "disc", "ring", "fill")


def _size(rng: random.Random) -> Any:
    odd = (math.nan, math.inf, -1, 0, "x", True, None, [], {})
    usual = (5, 10, 12.5, 20, 24, 30, 34, rng.uniform(1, 60), rng.uniform(10, 45))
    return rng.choice(odd if rng.random() < 0.02 else usual)


def _cut(rng: random.Random) -> dict[str, Any]:
    kind = rng.choice(("square drive", "hexagon", "twelve-point", "bore", "cross hole", "chamfer"))
    cut = {"kind": kind, "size_mm": rng.choice((6.3, 10, 12.5, 20, 24, rng.uniform(1, 30)))}
    if kind == "cross hole":
        return cut | {"at_mm": _size(rng)}
    cut["end"] = rng.choice(("drive", "bolt"))
    if kind != "chamfer" and rng.random() < 0.5:
        cut["depth_mm"] = _size(rng)
    return cut


def _bond(rng: random.Random) -> dict[str, Any]:
    kind = rng.choice(("rigid", "weld", "press fit", "loose"))
    own = {
        "weld": {"throat_mm": rng.uniform(1, 8)},
        "press fit": {"interference_mm": rng.uniform(0.001, 0.06)},
        "loose": {"slip_torque_n_m": rng.choice((0, 50, 200))},
    }
    return {"kind": kind} | own.get(kind, {})


def _part(rng: random.Random, names: list[str]) -> dict[str, Any]:
    part = {"name": f"part {len(names)}", "material": rng.choice(material_names())}
    if rng.random() < 0.35:
        part["stock"] = rng.choice(stock_names())
    else:
        shape = part["shape"] = rng.choice(SHAPES)
        part["across_flats_mm" if "prism" in shape else "outer_diameter_mm"] = rng.uniform(15, 90)
        own = {"cone": "outer_diameter_end_mm", "ring": "ring_stock_mm", "tube": "wall_mm"}
        if shape in own:
            part[own[shape]] = rng.uniform(2, 15)
    if part.get("shape") != "ring":
        part["length_mm"] = _size(rng)
        if rng.random() < 0.5:
            part["cut"] = [_cut(rng) for _ in range(rng.randint(1, 3))]
    if names and rng.random() < 0.5:
        part["carrier"] = rng.choice(names)
    elif names and rng.random() < 0.4:
        part["overlap_mm"] = _size(rng)
    if names and rng.random() < 0.6:
        part["bond"] = _bond(rng)
    return part


def _article(rng: random.Random) -> dict[str, Any]:
    parts: list[dict[str, Any]] = []
    for _ in range(rng.randint(1, 4)):
        parts.append(_part(rng, [part["name"] for part in parts]))
    return {"name": "random", "part": parts}


@pytest.mark.parametrize("seed", range(4))
def test_random_articles_are_finite_or_refused(seed):
    rng = random.Random(seed)
    worked, refusals = 0, []
    for _ in range(250):
        table = _article(rng)
        try:
            facts = describe_article(table, 300.0)
        except StrikeproofError as refusal:
            refusals.append(str(refusal))
            continue
        worked += 1
        told = to_json(facts)
        json.dumps(told, allow_nan=False)
        assert min(told["mass_kg"], told["polar_inertia_kg_m2"], told["stiffness_n_m_per_rad"]) > 0, table
        whole = sum(lump.inertia for lump in facts.properties.lumps)
        whole += sum(rider.inertia for rider in facts.properties.riders)
        assert whole == pytest.approx(told["polar_inertia_kg_m2"]), table
        assert write_svg(facts.drawing()).endswith("</svg>\n")
    assert worked > 20
    assert not any("\n" in refusal for refusal in refusals)
