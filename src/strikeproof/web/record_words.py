"""What a recording page says, from the station's view: every word and number as it is read at the rig."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from strikeproof.desk.recording.views import (
    LiveScore,
    NextRun,
    RecentRun,
    RecordView,
    RunVerdict,
    SpentBolt,
    Standing,
    StationView,
)
from strikeproof.desk.safety.bolt_limit import BoltLimit, unwatched_words
from strikeproof.desk.safety.cautions import Stop
from strikeproof.errors import StrikeproofError
from strikeproof.language import say, translations, write_figures
from strikeproof.quantity import unit_label, write_duration, write_number
from strikeproof.web.record_status import button_words, second_words, sentence, signal_of, status_words
from strikeproof.web.units import Units

__all__ = ["error_words", "screen_words", "script_words"]

_SCRIPTS = ("record_template.js", "record_screen.js", "record_keys.js", "record_signals.js")
_SAID_IN_SCRIPT = re.compile(r"""\bsay\((["'])(.+?)\1""")

_UNDER_WAY = ("armed", "recording", "keeping")


def screen_words(
    view: StationView, units: Units, me: str, expected: Mapping[tuple[str, str], str] | None = None
) -> dict[str, Any]:
    """All that a screen shows but the chart, as JSON.

    Parameters
    ----------
    me
        The screen's own name.
    expected
        Overloads of the bolt that are predicted, in words, by tool and article.
    """
    record = view.record
    shown = record.again if view.undecided is not None and record.again else record.next
    return {
        "phase": record.phase,
        "status": status_words(view, units, me),
        "main": button_words(view),
        "second": second_words(view),
        "verdict": _verdict(record.last, units) if record.last else None,
        "run": _run(shown, record.spent, units) if shown else None,
        "cool": _clock(shown.cool_down_left_s) if shown else "",
        "cautions": _cautions(shown, expected or {}) if shown else [],
        "live": _live(record.live, units) or _lived(view, units),
        "reading": _reading(record.standing),
        "signal": signal_of(view),
        "progress": _progress(view),
        "undo": record.undo,
        "news": [sentence(each) for each in view.news],
        "simulated": _simulated(record),
        "marked": record.simulated,
        "line": _line(view),
        "ports": [list(each) for each in view.ports],
        "recent": [_recent(each, units) for each in view.recent],
        "can_decide": record.phase not in ("armed", "recording", "keeping"),
        "can_plan": view.undecided is None,
    }


def script_words(language: str) -> dict[str, str]:
    """What the screen's own scripts say, from English to a language; empty for English itself."""
    words = translations(language)
    said = {text: words.gettext(text) for text in _texts_of_scripts()}
    return {text: other for text, other in said.items() if other != text}


@cache
def _texts_of_scripts() -> frozenset[str]:
    assets = Path(__file__).with_name("assets")
    texts = (assets.joinpath(name).read_text("utf-8") for name in _SCRIPTS)
    return frozenset(found[2] for text in texts for found in _SAID_IN_SCRIPT.finditer(text))


def _cautions(run: NextRun, expected: Mapping[tuple[str, str], str]) -> list[dict[str, Any]]:
    predicted = expected.get((run.row.tool, run.row.article))
    first = () if predicted is None else (predicted,)
    return [{"text": each, "stop": isinstance(each, Stop)} for each in (*first, *run.cautions)]


def _simulated(record: RecordView) -> str:
    """What is invented of what is shown."""
    if record.simulated:
        return say("Simulated runs")
    return say("Simulated rig") if record.line.simulated else ""


def error_words(error: StrikeproofError) -> dict[str, str]:
    """What cannot be done, and the fix."""
    return {"what": sentence(getattr(error, "what", "") or error.problem), "fix": error.fix}


def _verdict(last: RunVerdict, units: Units) -> dict[str, Any]:
    numbers = []
    if last.score is not None:
        numbers.append([say("Score"), units.write_in(last.score, last.unit, last.standard_uncertainty)])
    if last.clamp_load_n is not None:
        numbers.append([say("Clamp load"), units.write(last.clamp_load_n, "force")])
    if last.blows:
        numbers.append([say("Blows"), str(last.blows)])
    return {
        "run": last.run,
        "article": last.row.article,
        "good": last.good and not last.overload,
        "headline": last.headline,
        "says": [sentence(each) for each in last.details],
        "numbers": numbers,
        "aside": last.row.set_aside or "",
        "note": last.row.note or "",
    }


def _run(run: NextRun, spent: SpentBolt | None, units: Units) -> dict[str, Any]:
    """The next run; where its bolt is spent, no name asks for that one again."""
    is_spent = spent is not None and spent.bolt == run.row.bolt
    bolt = say("a new one") if is_spent else run.row.bolt or say("the same bolt")
    use = say("run {number} on it", number=run.bolt_use + 1)
    if run.bolt_budget and run.bolt_use >= run.bolt_budget:
        use = say("all {budget} runs on it are used up", budget=run.bolt_budget)
    elif run.bolt_budget:
        use = say("run {number} of {budget} on it", number=run.bolt_use + 1, budget=run.bolt_budget)
    place = {"place": run.place, "total": run.total}
    return {
        "name": run.row.run,
        "article": run.row.article,
        "tool": run.row.tool,
        "bolt": bolt,
        "use": say("to be named") if is_spent else use,
        "new_bolt": run.new_bolt or is_spent,
        "supply": run.supply or "",
        "limit": _limit(run.limit, units),
        "note": run.row.note or "",
        "place": say("Run {place} of {total}, block {block}", block=run.row.block, **place)
        if run.row.block
        else say("Run {place} of {total}", **place),
        "again": say("{run}, try {attempt}", run=run.row.run, attempt=run.attempt) if run.attempt > 1 else "",
    }


def _limit(limit: BoltLimit, units: Units) -> dict[str, str]:
    """What to stop below in the unit of the level, the clamp load where that is another, and whether
    nothing watches, or only in part."""
    if limit.level is None or limit.load is None:
        return {"most": "", "what": "", "within": "", "load": "", "unwatched": unwatched_words(limit)}
    value, label = units.convert(limit.level, limit.unit)
    most, load = f"{write_number(value, 3)} {label}", units.write(limit.load, "force", 3)
    what = say("May carry") if limit.loosens else say("Stop below")
    within = say("may carry") if limit.loosens else say("stop below")
    return {
        "most": most,
        "what": what,
        "within": within,
        "load": "" if load == most else load,
        "unwatched": unwatched_words(limit),
    }


def _live(live: LiveScore | None, units: Units) -> dict[str, Any] | None:
    if live is None:
        return None
    level, level_unit = (None, "") if live.level is None else units.convert(live.level, live.level_unit)
    score, score_unit = (None, "") if live.score is None else units.convert(live.score, live.score_unit)
    return {
        "level": _fixed(level),
        "level_unit": level_unit,
        "beyond": live.is_beyond,
        "score": _fixed(score),
        "score_unit": score_unit,
        "elapsed": write_figures(f"{live.elapsed_s:.1f}"),
        "of": f"{write_figures(f'{live.duration_s:g}')} s",
    }


def _lived(view: StationView, units: Units) -> dict[str, Any] | None:
    """What the rig shows between runs, and the score of the run that is still shown, in the same place."""
    last, standing = view.record.last, view.record.standing
    score, unit, level, level_unit = None, "", None, ""
    if last is not None and last.score is not None and view.record.phase not in _UNDER_WAY:
        score, unit = units.convert(last.score, last.unit)
    if standing is not None:
        level, level_unit = units.convert(standing.level, standing.unit)
    if score is None and level is None:
        return None
    return {
        "level": _fixed(level),
        "level_unit": level_unit,
        "beyond": False,
        "score": _fixed(score),
        "score_unit": unit,
        "elapsed": "–",
        "of": "",
    }


def _reading(standing: Standing | None) -> dict[str, str] | None:
    """What the rig itself shows, as it is typed into a calibration sheet."""
    if standing is None:
        return None
    unit = unit_label(standing.reading_unit) if standing.reading_unit != "reading" else ""
    return {
        "typed": f"{standing.reading:.5g}",
        "scatter": write_number(standing.scatter, 2),
        "unit": unit,
    }


def _fixed(value: float | None) -> str:
    """A number that changes all the time: always as many digits after the point, so that it does not move."""
    if value is None:
        return "–"
    places = 0 if abs(value) >= 1000 else 1 if abs(value) >= 100 else 2
    return write_figures(f"{value:.{places}f}".replace("-", "−"))


def _progress(view: StationView) -> dict[str, Any]:
    run = view.record.next
    if run is None:
        return {"done": 1, "total": 1, "text": say("Every planned run is recorded.")}
    left = run.total - run.done
    text = say(
        "{done} of {total} made, {left} left, about {duration}",
        done=run.done,
        total=run.total,
        left=left,
        duration=write_duration(view.left_s),
    )
    return {"done": run.done, "total": run.total, "text": text}


def _clock(seconds: float) -> str:
    """A countdown; empty at nought."""
    whole = int(-(-seconds // 1))
    return f"{whole // 60}:{whole % 60:02d}" if whole > 0 else ""


def _line(view: StationView) -> dict[str, Any]:
    line = view.record.line
    rate = (
        ""
        if line.rate_hz is None
        else say("{rate_hz} samples a second", rate_hz=write_number(line.rate_hz, 4))
    )
    return {
        "port": line.port or "",
        "speaks": ", ".join(each for each in (line.speaks or "", rate) if each),
        "trouble": line.trouble,
        "simulated": line.simulated,
        "ours": view.simulated,
    }


def _recent(run: RecentRun, units: Units) -> dict[str, Any]:
    told = run.verdict
    score = units.write_in(told.score, told.unit) if told is not None and told.score is not None else ""
    return {
        "run": run.row.run,
        "article": run.row.article,
        "tool": run.row.tool,
        "started": (run.row.started or "")[11:16],
        "says": told.headline if told is not None else "",
        "score": score,
        "aside": run.row.set_aside or "",
        "note": run.row.note or "",
    }
