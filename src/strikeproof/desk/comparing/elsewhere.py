"""Whether results hold on other benches: campaigns of a workspace and published tables in one network."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from strikeproof.campaign.records import ScoreRule
from strikeproof.campaign.store import Store
from strikeproof.campaign.summary_file import PublishedArticle, Summary, read_summaries
from strikeproof.desk.comparing.answers import lines_of
from strikeproof.desk.comparing.compare import ComparisonOutcome, compare_campaign, scored_runs
from strikeproof.desk.runs.judged import JudgedCampaign, Progress
from strikeproof.desk.workspace.opening import open_workspace
from strikeproof.errors import BadFile, NotFound, StrikeproofError, TooFewRuns
from strikeproof.judge.elsewhere.answer import Elsewhere, answer_elsewhere
from strikeproof.judge.elsewhere.network import connected
from strikeproof.judge.elsewhere.sources import (
    OF_MEDIAN,
    Arm,
    Source,
    deviation_of_quartiles,
    deviation_of_range,
    source_of_arms,
    source_of_effects,
)
from strikeproof.judge.elsewhere.travelling import Level, precision_of_levels
from strikeproof.judge.questions.effects import fit_effects
from strikeproof.publish.answers import Panel
from strikeproof.publish.answers.elsewhere import (
    Beside,
    LeftOut,
    ReferencePrecision,
    WhyLeftOut,
    elsewhere_panel,
    why_left_out,
)
from strikeproof.quantity import kind_of_unit, to_si

__all__ = ["PUBLISHED_FOLDER", "ElsewhereAsking", "ask_elsewhere", "published_files"]

PUBLISHED_FOLDER: Final = "published-summaries"
"""In a workspace: what others published, a file each."""


@dataclass(frozen=True, slots=True)
class Offer:
    """One source, and what must agree before its ratios can be compared with others.

    `calibrated` says that its scores are a load, a torque or a time; else they are readings, whose ratios
    hold elsewhere only where the scale starts at zero: whether it does, None where nobody says. `levels` are
    the scores themselves by article, in one unit for each kind of load; empty where they are not calibrated.
    """

    source: Source
    tool: str | None
    score: ScoreRule
    direction: str
    duration_s: float
    calibrated: bool
    from_zero: bool | None
    simulated: bool
    levels: Mapping[str, Level]

    @property
    def question(self) -> tuple[str, str, float | None]:
        """Score, direction and, where the score hangs on it, length of the run."""
        length = self.duration_s if self.score.kind in ("end", "peak") else None
        return str(self.score), self.direction, length


@dataclass(frozen=True, slots=True, eq=False)
class ElsewhereAsking:
    """An answer for a front: what is said, its figures as JSON, and the warnings."""

    panel: Panel
    figures: dict[str, Any]
    warnings: tuple[str, ...]

    @property
    def said(self) -> tuple[str, ...]:
        """The sentences."""
        return tuple(text for _sign, text in self.panel.said)

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        return {**self.figures, "says": list(self.said), "warnings": list(self.warnings)}

    def lines(self) -> Iterator[list[tuple[str, ...]]]:
        """The tables as rows of text, a head first."""
        yield from lines_of(self.panel)


@dataclass(frozen=True, slots=True)
class ElsewhereWishes:
    """What to take in: campaigns by name (all where none is named), more files, one tool, calibrated ones
    only, and what all articles are set against."""

    campaigns: tuple[str, ...] = ()
    files: tuple[Path, ...] = ()
    tool: str | None = None
    calibrated_only: bool = False
    reference: str | None = None


def published_files(workspace: Path) -> tuple[Path, ...]:
    """The published summaries in a workspace, by name."""
    return tuple(sorted((workspace / PUBLISHED_FOLDER).glob("*.toml")))


def ask_elsewhere(
    workspace: Path, wishes: ElsewhereWishes | None = None, progress: Progress | None = None
) -> ElsewhereAsking:
    """Every article against the reference over all benches, and on the next one.

    Parameters
    ----------
    workspace
        Its campaigns, and the files in its folder of published summaries.
    wishes
        What to take in; all, where None.

    Raises
    ------
    StrikeproofError
        If there is no such workspace or campaign, a file cannot be used, or fewer than two sources are left.
    """
    wishes = wishes or ElsewhereWishes()
    store = open_workspace(workspace)
    known = store.campaigns()
    for name in wishes.campaigns:
        if name not in known:
            raise NotFound("campaign", name, known)
    left: list[LeftOut] = []
    summaries = [_of_summary(each) for each in _summaries(workspace, wishes.files, left)]
    offers: list[Offer] = []
    margin = 3.0
    for number, name in enumerate(wishes.campaigns or known):
        try:
            outcome = compare_campaign(workspace, name, progress)
            found = list(_of_campaign(store, outcome))
        except StrikeproofError as why:  # it is one of many: the others can be asked
            left.append(LeftOut(name, "refused", str(why)))
            continue
        margin = outcome.comparison.margin_percent if number == 0 else margin
        offers += found
        if not found:
            left.append(LeftOut(name, "nothing", ""))
    chosen, reference = _choose([*offers, *summaries], wishes, left)
    answer = answer_elsewhere(
        [each.source for each in chosen],
        reference,
        margin_percent=margin,
        timed=chosen[0].score.kind == "time to",
    )
    bare = tuple(each.source.name for each in chosen if not each.calibrated and each.from_zero is None)
    simulated = tuple(each.source.name for each in chosen if each.simulated)
    precision = _precision(chosen, reference)
    panel = elsewhere_panel(answer, Beside(tuple(left), bare, simulated, precision))
    figures = _figures(answer, chosen, left) | {"scale_not_known": list(bare), "precision": precision}
    return ElsewhereAsking(panel, figures, ())


def _summaries(workspace: Path, files: Sequence[Path], left: list[LeftOut]) -> list[Summary]:
    """What others published: `left` gets a file of the workspace's folder that cannot be used; a file that a
    person names must be usable."""
    read: dict[Path, Summary] = {}
    for path in published_files(workspace):
        try:
            read = read_summaries((path,), read)
        except BadFile as wrong:
            left.append(LeftOut(path.name, "file", str(wrong)))
    return list(read_summaries(files, read).values())


def _precision(chosen: Sequence[Offer], reference: str) -> tuple[ReferencePrecision, ...]:
    """Repeatability and reproducibility of the reference with each tool, for each kind of load."""
    found: list[ReferencePrecision] = []
    groups: dict[tuple[str, str], list[Level]] = {}
    for each in chosen:
        level = each.levels.get(reference)
        if level is not None:
            groups.setdefault((each.tool or "", level.bench.split("\n")[-1]), []).append(level)
    for (tool, kind), levels in groups.items():
        if (known := precision_of_levels(levels)) is not None:
            precision, benches = known
            sizes = (100.0 * precision.repeatability, 100.0 * precision.reproducibility)
            found.append(ReferencePrecision(tool, kind, *sizes, benches))
    return tuple(found)


def _bench(judged: JudgedCampaign) -> str:
    """The rigs that the runs were made on."""
    return ", ".join(judged.campaign.rigs_of(run.stored.row for run in judged.runs))


def _of_campaign(store: Store, outcome: ComparisonOutcome) -> Iterator[Offer]:
    judged = outcome.judged
    campaign, protocol = judged.campaign, judged.campaign.protocol
    effects = fit_effects(scored_runs(judged), campaign.reference)
    sheet = None if judged.worth.calibration is None else store.calibration_rows(judged.key)
    calibration = campaign.name if sheet is None else sheet.original_sha256
    calibrated = judged.worth.ratio_reason is None and judged.worth.kind is not None
    for tool in effects.tools:
        name = campaign.name if len(effects.tools) == 1 else f"{campaign.name}, {tool}"
        source = source_of_effects(effects, tool, name, _bench(judged), calibration)
        if source is not None:
            yield Offer(
                source,
                tool,
                protocol.score,
                protocol.direction,
                protocol.duration_s,
                calibrated or protocol.score.kind == "time to",
                None,
                campaign.simulated,
                _levels(outcome, tool) if calibrated else {},
            )


def _levels(outcome: ComparisonOutcome, tool: str) -> dict[str, Level]:
    """Log scores of each article in SI units."""
    judged, kind = outcome.judged, outcome.judged.worth.kind
    by_article: dict[str, list[float]] = {}
    for each in scored_runs(judged):
        if each.tool == tool and not each.set_aside and kind is not None:
            by_article.setdefault(each.article, []).append(to_si(each.score, judged.worth.unit, kind))
    bench = f"{_bench(judged)}\n{kind}"
    found = {}
    for name, scores in by_article.items():
        logs = np.log(scores)
        variance = float(np.var(logs, ddof=1)) if len(logs) > 1 else 0.0
        found[name] = Level(bench, float(np.mean(logs)), variance, len(logs))
    return found


def _of_summary(summary: Summary) -> Offer:
    told = summary.published
    source = source_of_arms(
        [Arm(each.name, _middle(each), _log_error(each), each.runs) for each in summary.article],
        told.name,
        told.bench,
        told.calibration or told.name,
    )
    known, kind = told.scale_from_zero is None, kind_of_unit(told.unit)
    levels = {
        each.name: Level(
            f"{told.bench}\n{kind}",
            float(np.log(to_si(_middle(each), told.unit, kind))),
            _log_deviation(each) ** 2,
            each.runs,
        )
        for each in summary.article
        if kind is not None
    }
    return Offer(
        source,
        told.tool,
        told.score,
        told.direction,
        told.duration,
        known,
        told.scale_from_zero,
        told.simulated,
        levels,
    )


def _middle(article: PublishedArticle) -> float:
    return article.mean if article.mean is not None else float(article.median or np.nan)


def _log_error(article: PublishedArticle) -> float:
    """Standard error of the logarithm of a mean or median."""
    runs, middle = article.runs, _middle(article)
    if article.standard_error is not None:
        return article.standard_error / middle
    if article.standard_deviation is not None:
        deviation = article.standard_deviation
    elif article.lowest is not None and article.highest is not None:
        deviation = deviation_of_range(article.highest - article.lowest, runs)
    else:
        width = float(article.upper_quartile or np.nan) - float(article.lower_quartile or np.nan)
        deviation = deviation_of_quartiles(width, runs)
    return (OF_MEDIAN if article.mean is None else 1.0) * deviation / (middle * float(np.sqrt(runs)))


def _log_deviation(article: PublishedArticle) -> float:
    """Standard deviation of the logarithms of its runs, whose median is known less well than their mean."""
    from_median = article.mean is None and article.standard_error is None
    return _log_error(article) * float(np.sqrt(article.runs)) / (OF_MEDIAN if from_median else 1.0)


def _choose(offers: Sequence[Offer], wishes: ElsewhereWishes, left: list[LeftOut]) -> tuple[list[Offer], str]:
    """Those that can be compared with each other, and the reference; `left` gets the others."""
    if wishes.tool is not None and all(each.tool != wishes.tool for each in offers):
        raise NotFound("tool", wishes.tool, [each.tool for each in offers if each.tool is not None])
    asked = [each for each in offers if wishes.tool in (None, each.tool)]
    question = asked[0].question if asked else None
    chosen: list[Offer] = []
    for each in offers:
        why = _why_not(each, wishes, question)
        if why is None:
            chosen.append(each)
        else:
            left.append(LeftOut(each.source.name, why, ""))
    counts = Counter(name for each in chosen for name in each.source.articles)
    reference = wishes.reference or (chosen[0].source.articles[0] if chosen else "")
    if wishes.reference is not None and reference not in counts:
        raise NotFound("article", reference, list(counts))
    joined = connected([each.source for each in chosen], reference)
    left += [LeftOut(each.source.name, "apart", "") for each in chosen if each.source not in joined]
    chosen = [each for each in chosen if each.source in joined]
    if len(chosen) < 2:
        raise TooFewRuns(
            f"network{f' ({why_left_out(left)})' if left else ''}",
            got=len(chosen),
            needed=2,
            kind="sources",
            fix="load another campaign, or put a published summary into the workspace's folder "
            f"{PUBLISHED_FOLDER}",
        )
    return chosen, reference


def _why_not(
    offer: Offer, wishes: ElsewhereWishes, question: tuple[str, str, float | None] | None
) -> WhyLeftOut | None:
    if wishes.tool is not None and offer.tool != wishes.tool:
        return "tool"
    if offer.question != question:
        return "question"
    if offer.from_zero is False:
        return "scale"
    if wishes.calibrated_only and not offer.calibrated:
        return "not calibrated"
    return None


def _figures(answer: Elsewhere, chosen: Sequence[Offer], left: Sequence[LeftOut]) -> dict[str, Any]:
    found = asdict(answer)
    loops = [
        {
            "article": each.first,
            "other": each.second,
            "direct_percent": 100.0 * float(np.expm1(each.direct)),
            "indirect_percent": 100.0 * float(np.expm1(each.indirect)),
            "p": each.p,
            "p_all": each.p_all,
        }
        for each in answer.loops
    ]
    return {
        "reference": answer.reference,
        "better": "less" if answer.timed else "more",
        "margin_percent": answer.margin_percent,
        "confidence": answer.confidence,
        "articles": found["articles"],
        "benches": found["benches"],
        "spread_percent": [{"level": level, "percent": size} for level, size in answer.spread_percent],
        "loops": loops,
        "loops_not_tested": [{"article": first, "other": second} for first, second in answer.untested],
        "designs": found["designs"],
        "sources": [
            {
                "name": each.source.name,
                "bench": each.source.bench,
                "tool": each.tool,
                "articles": list(each.source.articles),
                "calibrated": each.calibrated,
                "simulated": each.simulated,
            }
            for each in chosen
        ],
        "left_out": [{"name": each.name, "why": each.why, "detail": each.detail} for each in left],
    }
