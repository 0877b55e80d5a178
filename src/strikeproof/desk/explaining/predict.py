"""What an article that was never run would gain, by all that a campaign taught, and whether it would hold."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from strikeproof.design.records import Found
from strikeproof.desk.articles.article import ArticleFacts as Described
from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.articles.known import know_described
from strikeproof.desk.articles.life_words import LIFE_UNSURE, tell_life, tell_margin, tell_near
from strikeproof.desk.explaining.belief import REACH
from strikeproof.desk.explaining.explain import ExplainOutcome, explain_workspace, find_explanation
from strikeproof.desk.safety.cautions import Stop
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.drivetrain import build_chain, draw_scatter, place_peaks, simulate_run
from strikeproof.errors import BadInput
from strikeproof.explain import ArticleFacts, Evidence, Prediction, Setting, predict_article
from strikeproof.explain.explanation import leading_chain
from strikeproof.explain.parameters import build_bench, build_tool, read_spread, read_values
from strikeproof.explain.physical import Physical
from strikeproof.explain.variants import spread_article
from strikeproof.parts import Margin, Spectrum, least_margins, margins_at, read_spectrum
from strikeproof.quantity import FloatArray, write_number, write_percent

__all__ = [
    "Expected",
    "PredictOutcome",
    "ToolPrediction",
    "expect_found",
    "expect_predicted",
    "predict_described",
    "predict_file",
]

Progress = Callable[[int, int, str], None]

_PEAK_DRAWS = 32
_NOTHING = 1e-9  # N·m
_HIGH = 0.95
"""Share of the draws whose peak an article must withstand."""


@dataclass(frozen=True, slots=True, eq=False)
class ToolPrediction:
    """An article with one tool: its gain, the peak torque at the bolt, and what that does to it.

    Attributes
    ----------
    peak_torque, peak_high
        Largest torque at the bolt's head in a run, and what it exceeds once in twenty draws of what is
        believed; None without a fitted chain. [N·m]
    margins
        Each at what the peak of its own joint exceeds once in twenty draws, smallest first; empty without
        dimensions or a fitted chain.
    """

    prediction: Prediction
    peak_torque: float | None
    peak_high: float | None
    margins: tuple[Margin, ...]

    @property
    def stop(self) -> bool:
        """Whether some place would give."""
        return any(each.verdict == "stop" for each in self.margins)

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        told = self.prediction
        return {
            "tool": told.setting.tool,
            "duration_s": told.setting.duration,
            "gain_percent": told.gain_percent,
            "low": told.low,
            "high": told.high,
            "low_run": told.low_run,
            "high_run": told.high_run,
            "by_rival": told.by_rival,
            "peak_torque_n_m": self.peak_torque,
            "peak_torque_high_n_m": self.peak_high,
            "stop": self.stop,
            "margins": self.margins,
        }


@dataclass(frozen=True, slots=True, eq=False)
class PredictOutcome:
    """An article's predictions for every tool of a campaign."""

    outcome: ExplainOutcome
    described: Described
    tools: tuple[ToolPrediction, ...]
    cautions: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        return {
            "campaign": self.outcome.campaign.name,
            "reference": self.outcome.campaign.reference,
            "article": self.described.properties.name,
            "tools": self.tools,
            "verdict": self.outcome.explanation.verdict,
            "seed": self.outcome.seed,
            "cautions": self.cautions,
        }

    def lines(self) -> list[tuple[str, ...]]:
        """A header and one row a tool, for a terminal."""
        head = ("tool", "gain", "90 % interval", "of one run", "peak torque [N·m]", "weakest place", "holds")
        return [head, *(_row(each) for each in self.tools)]


def _row(each: ToolPrediction) -> tuple[str, ...]:
    told = each.prediction
    weakest = each.margins[0] if each.margins else None
    return (
        told.setting.tool,
        write_percent(told.gain_percent),
        f"{write_percent(told.low)} to {write_percent(told.high)}",
        f"{write_percent(told.low_run)} to {write_percent(told.high_run)}",
        "–" if each.peak_torque is None else write_number(each.peak_torque, 3),
        "–" if weakest is None else f"{weakest.part} ({weakest.mode})",
        "–" if weakest is None else tell_margin(weakest),
    )


def predict_file(
    file: Path,
    workspace: Path,
    name: str | None = None,
    *,
    article: str | None = None,
    quick: bool = False,
    progress: Progress | None = None,
) -> PredictOutcome:
    """Gain of the article in a file over the campaign's reference, for every tool, and its strength margins.

    Parameters
    ----------
    name
        Of the campaign, when there are several.
    article
        Which one, when the file has several.
    quick
        Of the explanation that it starts from, where none is stored yet.

    Raises
    ------
    StrikeproofError
        If the article's inertia is not known or contradicts its dimensions, or the campaign cannot be
        explained.
    """
    described = describe_article(file, name=article)
    _known(described)  # before the long work
    outcome = find_explanation(*open_campaign(workspace, name)) or explain_workspace(
        workspace, name, quick=quick, progress=progress
    )
    return predict_described(outcome, described)


def predict_described(outcome: ExplainOutcome, described: Described) -> PredictOutcome:
    """The same of an article that was worked out already, from an explanation that is there.

    Raises
    ------
    StrikeproofError
        If the article's inertia is not known or contradicts its dimensions, or nothing was fitted.
    """
    facts = _known(described)
    settings = outcome.explanation.evidence.settings
    tools = tuple(
        _predict(outcome, facts, described, setting, np.random.default_rng([outcome.seed, 2, place]))
        for place, setting in enumerate(settings)
    )
    return PredictOutcome(outcome, described, tools, tuple(_cautions(outcome, described, tools)))


def _known(described: Described) -> ArticleFacts:
    known = know_described(described)
    if known.facts.model is None:
        raise BadInput(
            known.problem,
            where=f"article {known.facts.name}",
            allowed="values that agree with its dimensions",
            fix=known.fix,
        )
    return known.facts


def _predict(
    outcome: ExplainOutcome,
    facts: ArticleFacts,
    described: Described,
    setting: Setting,
    rng: np.random.Generator,
) -> ToolPrediction:
    told = predict_article(outcome.explanation, facts, rng=rng, setting=setting)
    found = _peaks(outcome, facts, setting, rng)
    if found is None:
        return ToolPrediction(told, None, None, ())
    peaks, spectrum = found
    middle, high = np.quantile(peaks[:, 0], [0.5, _HIGH]).tolist()
    places = np.quantile(peaks[:, 1:], _HIGH, axis=0)
    known = described.properties
    margins = margins_at(known, places.tolist(), spectrum) if known.checks else ()
    return ToolPrediction(told, middle, high, margins)


def _peaks(
    outcome: ExplainOutcome, facts: ArticleFacts, setting: Setting, rng: np.random.Generator
) -> tuple[FloatArray, Spectrum] | None:
    """Largest torques in a run whose blows scatter, at draws of what is believed, (draws, 1 + limits).

    First that at the bolt's head, then of each of the article's limits in its own joint. [N·m] Beside them
    how hard the blows of these runs are at the bolt's head, over the hardest of their run.
    """
    fits, fit = outcome.explanation.fits, leading_chain(outcome.explanation)
    if fits is None or fit is None:
        return None
    flat = fit.chains.flat
    chosen = flat[rng.integers(len(flat), size=_PEAK_DRAWS)]
    rows = [_peak(fits.evidence, fit, facts, setting, point, rng) for point in chosen]
    spectrum = read_spectrum(np.concatenate([blows for _row, blows in rows]))
    return np.array([row for row, _blows in rows]), spectrum


def _peak(
    evidence: Evidence,
    fit: Physical,
    facts: ArticleFacts,
    setting: Setting,
    point: FloatArray,
    rng: np.random.Generator,
) -> tuple[FloatArray, FloatArray]:
    """All of the article's own properties count here, whatever the explanation leaves out."""
    assert facts.model is not None  # the caller has looked
    values = read_values(fit.parameters, point)
    bolt, rig = build_bench(evidence, values)
    tool = build_tool(next(each for each in evidence.tools if each.name == setting.tool), setting, values)
    model = spread_article(facts.model, read_spread(evidence, values, np.zeros(3)))
    chain = build_chain(tool, model, bolt, rig, direction=evidence.direction)
    scatter = draw_scatter(tool, setting.duration, rng)
    run = simulate_run(chain, tool, duration=setting.duration, scatter=scatter)
    most = run.peak_torque.max(initial=0.0)
    return np.array([most, *place_peaks(facts.model, model, run.own)]), run.peak_torque / max(most, _NOTHING)


def _cautions(
    outcome: ExplainOutcome, described: Described, tools: tuple[ToolPrediction, ...]
) -> Iterator[str]:
    """A predicted overstress first."""
    for each in tools:
        for margin in (m for m in each.margins if m.verdict == "stop"):
            yield Stop(
                f"STOP: with {each.prediction.setting.tool}, {margin.part} ({margin.mode}) fails at "
                f"{margin.holds_to:.4g} N·m, and blows may reach {margin.peak:.4g} N·m there. Do not run it."
            )
    yield from tell_near(least_margins(each.margins for each in tools))
    finite = [(each, m) for each in tools for m in each.margins if m.verdict == "finite life"]
    for each, margin in finite:
        tool = each.prediction.setting.tool
        yield f"{margin.part} ({margin.mode}) has a finite life with {tool}: {tell_life(margin)}."
    if finite:
        yield LIFE_UNSURE
    if not described.properties.checks:
        yield "Without its parts nothing can be said about its strength: describe them before running it."
    yield from _further(outcome.explanation.evidence, described)
    if outcome.explanation.verdict == "cannot tell":
        yield "The campaign does not settle which explanation is right: this prediction mixes them."
    yield from (text for text in described.cautions if not isinstance(text, Stop))


def _further(evidence: Evidence, described: Described) -> Iterator[str]:
    """Said of an article that is heavier than all that was run: beyond some inertia gains break off."""
    if evidence.heaviest is None:
        return
    most, inertia = evidence.heaviest
    times = described.properties.polar_inertia / inertia
    if times > REACH:
        yield (
            f"It has {times:.2g} times the inertia of {most}, the largest that was run. Beyond some inertia "
            "the gain falls again, and no run shows where: build one in between first."
        )


@dataclass(frozen=True, slots=True)
class Expected:
    """Gain over the reference with its 90 % interval [%], and peak torque at the bolt's head [N·m].

    Parameters
    ----------
    low_run, high_run
        Of a single run; None where no run shows how runs scatter.
    margins
        At the peak of each place's own joint, smallest first; empty where only the search gives them.
    peak_torque, peak_high
        In the middle, and what is exceeded in one draw of twenty; None without a fitted chain.
    """

    setting: Setting
    gain_percent: float
    low: float
    high: float
    low_run: float | None
    high_run: float | None
    peak_torque: float | None
    peak_high: float | None
    margins: tuple[Margin, ...] = ()

    @property
    def words(self) -> str:
        """Such as `+28 % (18 to 36 %)`."""
        return _write_gain(self.gain_percent, self.low, self.high)

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it, under the keys of a prediction."""
        return {
            "tool": self.setting.tool,
            "duration_s": self.setting.duration,
            "gain_percent": self.gain_percent,
            "low": self.low,
            "high": self.high,
            "low_run": self.low_run,
            "high_run": self.high_run,
            "peak_torque_n_m": self.peak_torque,
            "peak_torque_high_n_m": self.peak_high,
        }


def _write_gain(gain: float, low: float, high: float) -> str:
    """A gain with its interval as people say it."""
    middle, least, most = (write_percent(each, decimals=0, sign=False) for each in (gain, low, high))
    sign = "+" if round(gain) > 0 else ""
    return f"{sign}{middle} ({least.removesuffix(' %')} to {most})"


def expect_predicted(told: ToolPrediction) -> Expected:
    """By the same prediction that `predict` prints."""
    each = told.prediction
    return Expected(
        each.setting,
        each.gain_percent,
        each.low,
        each.high,
        each.low_run,
        each.high_run,
        told.peak_torque,
        told.peak_high,
        told.margins,
    )


def expect_found(found: Found, settings: Sequence[Setting]) -> tuple[Expected, ...]:
    """By the draws of the search itself, where there is no campaign to predict from."""
    rows = []
    for tool, setting in enumerate(settings):
        low, gain, most = (100.0 * np.expm1(np.quantile(found.gains[:, tool], [0.05, 0.5, 0.95]))).tolist()
        middle, high = np.quantile(found.peaks[:, tool], [0.5, 0.95]).tolist()
        rows.append(Expected(setting, gain, low, most, None, None, middle, high))
    return tuple(rows)
