"""What a film shows, in words: captions beside it (WebVTT) and one description of the whole."""

from __future__ import annotations

from typing import Final

from strikeproof.plain_text import clean_text
from strikeproof.publish.film.overlay import number_words
from strikeproof.publish.film.story import FilmRun, FilmStory
from strikeproof.publish.texts import count, join_words

__all__ = ["describe_film", "write_captions"]

_EACH_S: Final = 2.5
"""How long a caption stays; its numbers are those at its begin. [s]"""


def write_captions(story: FilmStory, start_s: float, end_s: float, pace: float = 1.0) -> str:
    """Captions of what is shown, as WebVTT.

    Parameters
    ----------
    start_s, end_s
        Begin and end of the film, from the first blow, on the film's clock. [s]
    pace
        Seconds of the run for one second of the film.

    References
    ----------
    W3C, *WebVTT: The Web Video Text Tracks Format*, 4.1 (from memory).
    """
    moments = [start_s]
    time = max(0.0, start_s)
    while time < min(story.end_s / pace, end_s):
        moments.append(time)
        time += _EACH_S
    moments += [each / pace for each in (story.end_s, story.verdict_s) if start_s < each / pace < end_s]
    moments = sorted(set(moments))
    lines = ["WEBVTT", ""]
    for place, moment in enumerate(moments):
        until = moments[place + 1] if place + 1 < len(moments) else end_s
        if until <= moment:
            continue
        lines += [f"{_stamp(moment - start_s)} --> {_stamp(until - start_s)}"]
        lines += [_safe(each) for each in _shown(story, moment * pace)]
        lines += [""]
    return "\n".join(lines)


def _shown(story: FilmStory, time: float) -> list[str]:
    """What can be read at a moment of the runs, line by line."""
    lines = ["Simulated runs."] if story.simulated else []
    for run in story.runs:
        number, label = number_words(run, time)
        lines.append(f"{run.article}, {run.tool}, {run.run}{_aside(run)}: {number}, {label}")
    if time >= story.verdict_s and story.has_result:
        lines += [each.words for each in story.verdicts]
        lines += story.caveats
    return lines


def describe_film(story: FilmStory) -> str:
    """One paragraph for who cannot see it: what is drawn, where it ends, what is found."""
    names = join_words([f"{run.article} ({run.tool}, {run.run}{_aside(run)})" for run in story.runs])
    ends = " ".join(f"{run.article}: {run.number_at(run.end_s)}." for run in story.runs)
    many = count(len(story.runs), "run")
    together = "" if len(story.runs) == 1 else ", in time from the first blow"
    parts = [f"Footage of a bench test with {many} drawn over it{together}: {names}."]
    if story.simulated:
        parts.append("The runs are simulated.")
    parts.append(
        f"Names, {story.quantity} so far as a number and as a curve over time, and a mark at each blow."
    )
    parts.append(f"At the end: {ends}")
    parts += [each.words for each in story.verdicts]
    return " ".join((*parts, *story.caveats)) + "\n"


def _stamp(seconds: float) -> str:
    whole = round(1000 * max(seconds, 0.0))
    minutes, rest = divmod(whole, 60_000)
    return f"{minutes // 60:02d}:{minutes % 60:02d}:{rest // 1000:02d}.{rest % 1000:03d}"


def _safe(line: str) -> str:
    """A line as a cue may hold it: no markup, no arrow, not empty."""
    line = clean_text(line, " ").strip() or "–"
    return line.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _aside(run: FilmRun) -> str:
    return ", excluded from the result" if run.excluded else ""
