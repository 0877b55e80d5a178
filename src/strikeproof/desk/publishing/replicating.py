"""A bundle of somebody else's campaign, repeated on one's own bench: the plan for it, and what agrees.

Nothing in a bundle is run, and none of its results is believed: they are computed again from its logs.
"""

from __future__ import annotations

import secrets
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from math import ceil, sqrt
from pathlib import Path
from statistics import median
from typing import Any

from strikeproof.campaign.campaign_text import write_campaign_text
from strikeproof.campaign.files import hash_file
from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.identity import new_identity
from strikeproof.campaign.records import Campaign, Rig
from strikeproof.campaign.whole_file import whole_folder, write_whole
from strikeproof.desk.articles.article import material_tables
from strikeproof.desk.articles.materials import carry_materials
from strikeproof.desk.comparing.compare import ComparisonOutcome, compare_campaign, scored_runs
from strikeproof.desk.planning.plan import RunPlan, plan_campaign, write_sheet
from strikeproof.desk.publishing.bundle.computing import compare_folder
from strikeproof.desk.publishing.bundle.form import CAMPAIGN, About
from strikeproof.desk.publishing.bundle.recomputing import read_unpacked, unpack_bundle, verify_files
from strikeproof.errors import BadInput, StoreError
from strikeproof.judge.intervals import Interval
from strikeproof.judge.questions.effects import Effects, fit_effects
from strikeproof.judge.replication import (
    CONFIDENCE,
    Replicated,
    compare_effects,
    estimate_gain,
    expected_range,
)
from strikeproof.judge.results import gains
from strikeproof.publish.texts import count
from strikeproof.quantity import write_percent

__all__ = ["Expected", "ReplicationOutcome", "ReplicationPlan", "compare_with_bundle", "plan_replication"]

Progress = Callable[..., None]
_LEAST_REPEATS = 2
_MOST_REPEATS = 1000  # as the protocol allows
_LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class Expected:
    """Where an article's gain is to be expected, if this bench sees what theirs saw. [%]"""

    article: str
    tool: str
    gain_percent: float
    low_percent: float
    high_percent: float


@dataclass(frozen=True, slots=True)
class ReplicationPlan:
    """A campaign folder that repeats a bundle: what was planned, and what is to be expected of it."""

    folder: Path
    bundle_sha256: str
    about: About
    plan: RunPlan
    expected: tuple[Expected, ...]
    notes: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        return {
            "folder": self.folder,
            "bundle_sha256": self.bundle_sha256,
            "campaign": self.plan.campaign.name,
            "repeats": self.plan.repeats,
            "runs": len(self.plan.runs),
            "seed": self.plan.seed,
            "confidence": CONFIDENCE,
            "expected": self.expected,
            "notes": self.notes,
        }


@dataclass(frozen=True, slots=True)
class ReplicationOutcome:
    """Two benches on the same articles; `missing` are pairs of article and tool that only one side has."""

    about: About
    campaign: str
    reference: str
    found: tuple[Replicated, ...]
    missing: tuple[tuple[str, str], ...]
    simulated: bool
    itself: bool
    """Whether the bundle is of this very campaign, which then agrees with itself."""

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        return {
            "bundle": self.about.campaign,
            "made": self.about.made,
            "campaign": self.campaign,
            "reference": self.reference,
            "simulated": self.simulated,
            "of_itself": self.itself,
            "confidence": CONFIDENCE,
            "articles": [_as_json(each) for each in self.found],
            "not_compared": [{"article": article, "tool": tool} for article, tool in self.missing],
        }


def _as_json(found: Replicated) -> dict[str, Any]:
    names = ("gain_percent", "low_percent", "high_percent")
    return {
        "article": found.article,
        "tool": found.tool,
        "theirs": dict(zip(names, found.theirs, strict=True)),
        "ours": dict(zip(names, found.ours, strict=True)),
        "expected_low_percent": found.expected_low_percent,
        "expected_high_percent": found.expected_high_percent,
        "en": found.en,
        "noticed_percent": found.noticed_percent,
        "verdict": found.verdict,
    }


@dataclass(frozen=True, slots=True)
class _Theirs:
    about: About
    campaign: Campaign
    home: Path
    outcome: ComparisonOutcome

    @property
    def effects(self) -> Effects:
        return _effects(self.outcome)


@contextmanager
def _computed(bundle: Path, progress: Progress | None) -> Iterator[_Theirs]:
    """What a bundle's logs give, in a workspace that is gone afterwards.

    Raises
    ------
    StoreError
        If a file of it is not as its list says.
    """
    with tempfile.TemporaryDirectory(prefix="strikeproof-") as room:
        folder = unpack_bundle(bundle, Path(room) / "bundle")
        about = read_unpacked(folder)
        problems, _files = verify_files(folder)
        if problems:
            first = problems[0]
            raise StoreError(f"{first.file} of the bundle {first.problem}", first.fix)
        home = folder / CAMPAIGN
        outcome = compare_folder(home, Path(room) / "lab", progress)
        yield _Theirs(about, read_campaign(home / "campaign.toml"), home, outcome)


def _effects(outcome: ComparisonOutcome) -> Effects:
    return fit_effects(scored_runs(outcome.judged), outcome.judged.campaign.reference)


def plan_replication(
    bundle: Path, folder: Path, *, repeats: int | None = None, progress: Progress | None = None
) -> ReplicationPlan:
    """Make a campaign folder with a run sheet that repeats the campaign of a bundle on another bench.

    Articles, tools, bolt and protocol are theirs; identity, seed and order are new, and rig and calibration
    are left for a person to fill in.

    Parameters
    ----------
    repeats
        Runs of each article with each tool; as many as theirs when None.

    Raises
    ------
    BadInput, BadFile
        If it is no bundle, is damaged, or holds what could do harm.
    StoreError
        If the folder is there already, a file of the bundle was changed, or nothing can be written.
    StrikeproofError
        If its runs give no comparison.
    """
    if repeats is not None and not _LEAST_REPEATS <= repeats <= _MOST_REPEATS:
        raise BadInput(str(repeats), where="repeats", allowed=f"{_LEAST_REPEATS} to {_MOST_REPEATS}")
    if folder.exists():
        raise StoreError(f"{folder}: is there already", "name another folder")
    digest = hash_file(bundle) if bundle.is_file() else ""
    with _computed(bundle, progress) as theirs:
        effects = theirs.effects
        their_repeats = _repeats(effects)
        wanted = repeats or max(ceil(their_repeats), _LEAST_REPEATS)
        expected = tuple(_expected(effects, their_repeats / wanted, timed=_timed(theirs.outcome)))
        with whole_folder(folder) as new:
            campaign = _again(theirs, wanted, digest)
            write_whole(new / "campaign.toml", write_campaign_text(campaign))
            (new / campaign.logs_folder).mkdir()
            if materials := material_tables(theirs.home):
                carry_materials(new, materials)
            plan = plan_campaign(new)
            write_sheet(plan, new / campaign.runs_sheet)
        return ReplicationPlan(folder, digest, theirs.about, plan, expected, tuple(_notes(plan, theirs)))


def _repeats(effects: Effects) -> float:
    """Runs that count of a usual article with a tool."""
    pairs = [(name, tool) for tool in effects.tools for name in effects.articles(tool)]
    others = [effects.count_runs(*pair) for pair in pairs if pair[0] != effects.reference]
    return float(median(others)) if others else 1.0


def _again(theirs: _Theirs, repeats: int, digest: str) -> Campaign:
    campaign, about = theirs.campaign, theirs.about
    name = f"{campaign.name[: _LONGEST_NAME - 13]}, replicated"
    protocol = replace(campaign.protocol, repeats=repeats, seed=secrets.randbelow(10**6), looks=None)
    runs = "simulated runs" if campaign.simulated else "runs"
    return replace(
        campaign,
        name=name,
        id=new_identity(),
        protocol=protocol,
        rig=Rig("not named yet", unit=campaign.rig.unit),
        calibration=None,
        simulated=False,
        runs_sheet="runs.csv",
        logs_folder="logs",
        note=f"Repeats the {runs} of a bundle made {about.made} (SHA-256 {digest}).",
    )


def _expected(effects: Effects, fewer: float, *, timed: bool) -> Iterator[Expected]:
    """With runs that scatter as theirs did; `fewer` times as many of theirs as will be made here."""
    for tool in effects.tools:
        for article in effects.articles(tool):
            seen = estimate_gain(effects, article, tool)
            if seen is None:
                continue
            low, high = expected_range(seen, seen.error * sqrt(fewer), max(seen.freedom / fewer, 1.0))
            gain, down, up = gains(Interval(seen.value, None, low, high, None), timed=timed)
            if gain is not None and down is not None and up is not None:
                yield Expected(article, tool, gain, down, up)


def _notes(plan: RunPlan, theirs: _Theirs) -> Iterator[str]:
    yield from plan.notes
    yield "fill in your rig in campaign.toml, and calibrate it: theirs do not apply to it"
    if theirs.campaign.simulated:
        yield "theirs were simulated runs: a real bench may well see something else"
    if theirs.about.stripped:
        yield "remarks were taken out of the bundle: ask its author what you cannot see from the rest"


def _timed(outcome: ComparisonOutcome) -> bool:
    return outcome.judged.campaign.protocol.score.kind == "time to"


def compare_with_bundle(
    bundle: Path, workspace: Path, *, name: str | None = None, progress: Progress | None = None
) -> ReplicationOutcome:
    """Set the gains of a campaign against those that a bundle's logs give, article by article.

    Articles, tools and the reference go by their names.

    Raises
    ------
    BadInput, BadFile
        If it is no bundle, is damaged, or its campaign has another reference or another kind of score.
    StoreError
        If a file of the bundle was changed.
    StrikeproofError
        If there is no such campaign, or the runs of one side give no comparison.
    """
    mine = compare_campaign(workspace, name)
    campaign = mine.judged.campaign
    with _computed(bundle, progress) as theirs:
        _require_alike(theirs.campaign, campaign)
        first, second = theirs.effects, _effects(mine)
        found = compare_effects(first, second, timed=_timed(mine))
    pairs = {
        (article, tool) for each in (first, second) for tool in each.tools for article in each.articles(tool)
    }
    missing = pairs - {(each.article, each.tool) for each in found}
    left = sorted(pair for pair in missing if pair[0] != campaign.reference)
    is_simulated = campaign.simulated or theirs.campaign.simulated
    return ReplicationOutcome(
        theirs.about,
        campaign.name,
        campaign.reference,
        found,
        tuple(left),
        is_simulated,
        theirs.campaign.id == campaign.id,
    )


def _require_alike(theirs: Campaign, ours: Campaign) -> None:
    pairs = (
        ("reference", theirs.reference, ours.reference),
        ("score", str(theirs.protocol.score), str(ours.protocol.score)),
        ("direction", theirs.protocol.direction, ours.protocol.direction),
        ("duration", f"{theirs.protocol.duration_s:g} s", f"{ours.protocol.duration_s:g} s"),
    )
    for key, there, here in pairs:
        if there != here:
            raise BadInput(
                f"{here!r}, theirs is {there!r}",
                where=f"{key} of {ours.name}",
                allowed="the same on both benches",
                fix="gains under another protocol are other gains: repeat theirs, or do not compare",
            )


def expected_lines(plan: ReplicationPlan) -> Iterator[str]:
    """Where the gains are to be expected, a line for each article and tool."""
    for each in plan.expected:
        yield (
            f"{each.article} with {each.tool}: theirs {write_percent(each.gain_percent)}; yours is to be "
            f"expected from {write_percent(each.low_percent)} to {write_percent(each.high_percent)}"
        )


def replication_lines(outcome: ReplicationOutcome) -> Iterator[tuple[str, ...]]:
    """The comparison as rows of text, a head first."""
    yield ("article", "tool", "theirs", "yours", "expected", "En", "noticed from", "verdict")
    for each in outcome.found:
        yield (
            each.article,
            each.tool,
            _range(each.theirs),
            _range(each.ours),
            f"{write_percent(each.expected_low_percent).removesuffix(' %')} to "
            f"{write_percent(each.expected_high_percent)}",
            f"{each.en:+.2f}".replace("-", "−"),
            f"{each.noticed_percent:.1f} %",
            each.verdict,
        )


def _range(seen: tuple[float, float, float]) -> str:
    middle, low, high = map(write_percent, seen)
    return f"{middle} ({low.removesuffix(' %')} to {high})"


def replication_sentences(outcome: ReplicationOutcome) -> Iterator[str]:
    """What the comparison says, and what it does not."""
    if outcome.itself:
        yield "this bundle is of the same campaign: that it agrees with itself says nothing"
    if outcome.simulated:
        yield "some or all of these runs are SIMULATED"
    counted = {verdict: sum(each.verdict == verdict for each in outcome.found) for verdict in _SAID}
    said = [
        words.format(count(number, "gain"))
        for verdict, words in _SAID.items()
        if (number := counted[verdict])
    ]
    yield "; ".join(said) if said else "no article ran with the same tool, and often enough, on both benches"
    for article, tool in outcome.missing:
        yield f"{article} with {tool} was not compared: too few runs of it on one of the benches"
    if outcome.found:
        yield (
            "each gain is judged by itself, at 95 %: of twenty that agree in truth, about one is called "
            "different. 'Agrees' only means that a difference beyond 'noticed from' would have shown"
        )


_SAID = {
    "agrees": "{} in agreement: En at most 1, inside the expected range",
    "differs": "{} in disagreement: En beyond 1, outside the expected range",
    "cannot tell": "{} undecided: En and expected range disagree",
}
