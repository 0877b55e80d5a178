"""A bundle with only what can be computed from: scores without logs, so that it is made at once."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from strikeproof.desk.publishing.bundle.form import About, versions, write_about

CAMPAIGN = """[campaign]
name = "rings on a stand"
reference = "plain"
id = "theirs"
note = "asked for by nobody"

[protocol]
duration = "4 s"
seed = 11

[rig]
name = "their stand"
channel = "load cell 3"
unit = "kN"

[bolt]
thread = "M20x2.5"
class = "10.9"

[[tool]]
name = "air"
mechanism = "air"

[[article]]
name = "plain"

[[article]]
name = "ring"
mass_kg = 0.9

[[article]]
name = "sleeve"

[runs]
sheet = "runs.csv"
"""


def rows(gains: Mapping[str, float], seed: int, blocks: int = 6) -> str:
    """A run sheet with scores: the reference and each article once in every block."""
    rng = np.random.default_rng(seed)
    lines = ["run,tool,article,block,score"]
    for block in range(1, blocks + 1):
        for name in rng.permutation(["plain", *gains]):
            score = 90.0 * np.exp(gains.get(name, 0.0) + rng.normal(0.0, 0.01))
            lines.append(f"r{len(lines):02d},air,{name},{block},{score:.4f}")
    return "\n".join(lines) + "\n"


def plain_bundle(out: Path, gains: Mapping[str, float], seed: int = 1) -> Path:
    """Write it to `out`."""
    about = About(
        "rings on a stand",
        "2026-05-04",
        False,
        18,
        11,
        "CC0-1.0",
        (),
        "strikeproof recompute",
        versions(),
        {},
    )
    members = {
        "bundle.json": write_about(about),
        "campaign/campaign.toml": CAMPAIGN,
        "campaign/runs.csv": rows(gains, seed),
    }
    return _pack(out, members)


def shelf_bundle(
    out: Path, campaign: str, bench: str, gains: Mapping[str, float], *, simulated: bool = False
) -> Path:
    """A bundle with what a shelf reads of it: stated gains [%] with their intervals, one to each side."""
    names = ("article", "tool", "verdict", "runs", "gain", "gain_low", "gain_high")
    stated = [["plain", "air", "reference", 12, 0.0, 0.0, 0.0]]
    stated += [[name, "air", "higher", 6, gain, gain - 1.0, gain + 1.0] for name, gain in gains.items()]
    table = {"table": "articles", "columns": [{"name": name} for name in names], "rows": stated}
    about = About(
        campaign,
        "2026-05-04",
        simulated,
        18,
        11,
        "CC0-1.0",
        ("A. Tester",),
        "x",
        {"strikeproof": "0.1.0"},
        {},
    )
    toml = CAMPAIGN.replace('"their stand"', json.dumps(bench)).replace(
        '"rings on a stand"', json.dumps(campaign)
    )
    return _pack(
        out,
        {
            "bundle.json": write_about(about),
            "results/articles.json": json.dumps(table),
            "campaign/campaign.toml": toml,
        },
    )


def _pack(out: Path, members: dict[str, str]) -> Path:
    sums = (f"{hashlib.sha256(text.encode()).hexdigest()}  {name}\n" for name, text in members.items())
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in {**members, "SHA256SUMS": "".join(sums)}.items():
            packed.writestr(zipfile.ZipInfo(name), text)
    return out


def changed_member(bundle: Path, out: Path, name: str, text: str) -> Path:
    """The bundle with one member changed and its list as it was."""
    with zipfile.ZipFile(bundle) as there, zipfile.ZipFile(out, "w") as packed:
        for each in there.namelist():
            packed.writestr(each, text if each == name else there.read(each))
    return out
