"""Make a film: find its runs in the clips, draw and pack it part by part, join the parts.

An interrupted film goes on where it was: its finished parts lie in a hidden folder beside it, named after all
that it is made from.
"""

from __future__ import annotations

import errno
import hashlib
import os
import shutil
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass, fields, is_dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Final

import numpy as np

import strikeproof
from strikeproof.campaign.gate import Job, read_each
from strikeproof.campaign.whole_file import name_new, sync_folder, write_whole
from strikeproof.capture.clip import ClipFacts
from strikeproof.desk.publishing.film.joining import join_parts
from strikeproof.desk.publishing.film.parts import (
    KINDS,
    PICTURES,
    ClipUse,
    FilmPlan,
    bounds_of,
    is_finished,
    is_sound_picture,
    measure_opacity,
    write_part,
    write_sound,
)
from strikeproof.desk.publishing.film.placing import (
    LOCK,
    alone_in,
    drop_others,
    place_text,
    refuse_inputs,
    refuse_other_texts,
    writing_to,
)
from strikeproof.desk.publishing.film.syncing import Mark, SyncSaid, probe_clip, sync_run
from strikeproof.desk.publishing.film.telling import ToldRuns, tell_film
from strikeproof.errors import BadInput, StoreError, StrikeproofError
from strikeproof.publish.film.captions import describe_film, write_captions
from strikeproof.publish.film.looks import LOOKS, needed_opacity
from strikeproof.publish.film.shapes import MOST_RATE, find_shape
from strikeproof.publish.film.story import LINGER_S

__all__ = ["FilmOutcome", "FilmWishes", "make_film"]

Progress = Callable[..., None]
BEFORE_S: Final = 2.0
PART_S: Final = 5.0
RATES: Final = (24, 25, 30, 50, 60)
MOST_S: Final = 7200.0
_ENDS_WITHIN_S: Final = 0.5
"""How much earlier than the run a clip may end without a word. [s]"""


@dataclass(frozen=True, slots=True)
class FilmWishes:
    """What a person wants: `size` is the shorter side [pixels], `rate` None for that of the footage.

    `trim` cuts the film to the runs, `whole` shows all of the footage with bands, `marks` are for the clips
    in their order where the sound is not to be asked.
    """

    format: str = "16:9"
    size: int = 1080
    rate: float | None = None
    look: str = "dark"
    trim: bool = False
    whole: bool = False
    marks: tuple[Mark, ...] = ()
    layer: bool = False


@dataclass(frozen=True, slots=True)
class FilmOutcome:
    """A film that was made: where, its size in bytes, length [s], and what to know of it."""

    place: Path
    captions: Path
    description: Path
    size: int
    length_s: float
    pictures: int
    kind: str
    opacity: float
    first_blows_s: tuple[float, ...]
    paces: tuple[float, ...]
    notes: tuple[str, ...]


def make_film(
    workspace: Path,
    names: Sequence[str],
    out: Path,
    wishes: FilmWishes,
    *,
    clips: Sequence[Path] = (),
    campaign: str | None = None,
    replace_it: bool = False,
    progress: Progress | None = None,
) -> FilmOutcome:
    """Make the film of one to four runs over one clip, a clip of each, or none (a layer).

    Raises
    ------
    BadInput
        If wishes do not go together, or it is not sure where a run is in its clip.
    BadFile
        If a clip cannot be read.
    StoreError
        If a file is at `out`, or it cannot be written.
    StrikeproofError
        If there is no such run, or it has no trace.
    """
    kind = _find_kind(out, wishes, clips, names)
    captions, description = out.with_name(f"{out.stem}.vtt"), out.with_name(f"{out.stem}.txt")
    _check_place((out, captions, description), kind, replace_it=replace_it)
    refuse_inputs((out, captions, description), clips, where="film")
    told = tell_film(workspace, names, campaign)
    says = describe_film(told.story)
    refuse_other_texts({captions: "WEBVTT", description: says})
    facts = tuple(probe_clip(path) for path in clips)
    plan, said = _plan(told, facts, wishes, kind)
    texts = {
        captions: write_captions(told.story, plan.start_s, plan.start_s + plan.length_s, plan.pace),
        description: says,
    }
    folder = out.parent / f".{out.name}.{_key(plan)}.parts"
    with writing_to(out):
        folder.mkdir(parents=True, exist_ok=True)
        with alone_in(folder, out):
            drop_others(folder, out)
            plan = replace(plan, opacity=_opacity(plan, folder))
            _make(plan, folder, out, progress, replace_it=replace_it, beside=tuple(texts))
        for place, text in texts.items():
            place_text(place, text, replace_it=replace_it)
    return FilmOutcome(
        place=out,
        captions=captions,
        description=description,
        size=sum(each.stat().st_size for each in (out.iterdir() if out.is_dir() else [out])),
        length_s=plan.length_s,
        pictures=plan.pictures,
        kind=KINDS[kind].says,
        opacity=plan.opacity,
        first_blows_s=tuple(each.first_blow_s for each in plan.clips),
        paces=tuple(each.pace for each in plan.clips),
        notes=_notes(told, facts, said),
    )


def _find_kind(out: Path, wishes: FilmWishes, clips: Sequence[Path], names: Sequence[str]) -> str:
    if wishes.look not in LOOKS:
        raise BadInput(f"look {wishes.look!r}", where="film", allowed=", ".join(LOOKS), key="look")
    if wishes.layer:
        if clips:
            raise BadInput(
                "a layer has no footage", where="film", allowed="--layer without --video", key="layer"
            )
        kinds = {each.suffix: code for code, each in KINDS.items() if each.transparent}
        code = kinds.get(out.suffix.lower())
        if code is None:
            allowed = "a name that ends in .mov (ProRes 4444) or .webm (VP9), or a folder for PNG pictures"
            raise BadInput(repr(out.name), where="film", allowed=allowed, key="out")
        return code
    if len(clips) not in (1, len(names)):
        raise BadInput(
            f"{len(clips)} clips for {len(names)} runs",
            where="film",
            allowed="one clip, a clip for each run in the same order, or --layer without any",
            key="video",
        )
    if len(wishes.marks) not in (0, len(clips)):
        raise BadInput(
            f"{len(wishes.marks)} marks for {len(clips)} clips",
            where="film",
            allowed="one for each clip",
            key="offset",
        )
    if out.suffix.lower() != ".mp4":
        raise BadInput(repr(out.name), where="film", allowed="a file whose name ends in .mp4", key="out")
    return "film"


def _check_place(places: Sequence[Path], kind: str, *, replace_it: bool) -> None:
    out = places[0]
    if kind == PICTURES:
        if out.exists() and (not out.is_dir() or any(out.iterdir())):
            raise StoreError(f"{out}: is there already", "give a folder that is new or empty")
        places = places[1:]
    elif out.is_dir():
        raise BadInput(repr(out.name), where="film", allowed="the name of a file, not of a folder")
    for each in places:
        if each.exists() and not replace_it:
            raise StoreError(f"{each}: is there already", "give another name, or add --replace")


def _plan(
    told: ToldRuns, facts: Sequence[ClipFacts], wishes: FilmWishes, kind: str
) -> tuple[FilmPlan, tuple[SyncSaid, ...]]:
    shape = find_shape(wishes.format, wishes.size, _rate(wishes.rate, facts))
    marks: Sequence[Mark | None] = wishes.marks or [None] * len(facts)
    names = [run.run for run in told.story.runs]
    said = tuple(
        sync_run(clip, name, blows, start, mark)
        for clip, name, blows, start, mark in zip(facts, names, told.blows, told.starts, marks, strict=False)
    )
    uses = tuple(ClipUse(clip, each.first_blow_s, each.pace) for clip, each in zip(facts, said, strict=True))
    pace = uses[0].pace if uses else 1.0
    end = told.story.verdict_s / pace + LINGER_S
    start = -max(0.0, min([BEFORE_S, *(each.first_blow_s for each in uses)]))  # no clip is black at first
    if len(uses) == 1 and not wishes.trim:
        start, end = -uses[0].first_blow_s, max(end, facts[0].length_s - uses[0].first_blow_s)
    if not 0.0 < end - start <= MOST_S:
        raise BadInput(
            f"the film would be {end - start:.0f} s long", where="film", allowed="up to 2 hours, --trim"
        )
    pictures = max(int((end - start) * float(shape.rate)), 1)
    plan = FilmPlan(told.story, shape, wishes.look, kind, uses, wishes.whole, start, pictures, 0.0)
    return plan, said


def _rate(wanted: float | None, facts: Sequence[ClipFacts]) -> Fraction:
    """That of the first clip where it is even and one that is made, else the nearest of the usual ones."""
    if wanted is not None:
        if not 1.0 <= wanted <= MOST_RATE:  # also what is no number
            allowed = f"1 to {MOST_RATE} pictures a second"
            raise BadInput(f"{wanted:g}", where="rate", allowed=allowed, key="rate")
        return Fraction(wanted).limit_denominator(1001)
    if not facts:
        return Fraction(30)
    own = facts[0].rate.limit_denominator(1001)
    if facts[0].steady and 10 <= own <= 60:
        return own
    return Fraction(min(RATES, key=lambda each: abs(each - float(own))))


def _opacity(plan: FilmPlan, folder: Path) -> float:
    """Measured over the footage, once for a film; a layer's is enough over any footage."""
    if not plan.clips:
        return needed_opacity(LOOKS[plan.look], [LOOKS[plan.look].worst])
    noted = folder / "opacity"
    if noted.is_file():
        return float(noted.read_text())
    job = Job(plan.clips[0].facts.path, measure_opacity, (plan,), bounds_of(plan, 24 * 30))
    (outcome,) = read_each([job])
    measured = float(_checked(outcome))
    write_whole(noted, f"{measured:.3f}")
    return measured


def _checked(outcome: object) -> float:
    if isinstance(outcome, StrikeproofError):
        raise outcome
    return float(outcome) if isinstance(outcome, int | float) else 0.0


def _make(
    plan: FilmPlan,
    folder: Path,
    out: Path,
    progress: Progress | None,
    *,
    replace_it: bool,
    beside: Sequence[Path],
) -> None:
    """Make what is missing, a process for each core, then join it; not where one of `beside` came there."""
    each = max(round(PART_S * plan.shape.rate), 1)
    spans = [(first, min(first + each, plan.pictures)) for first in range(0, plan.pictures, each)]
    kind = KINDS[plan.kind]
    pictures = plan.kind == PICTURES
    parts = [folder if pictures else folder / f"{place:05d}{kind.suffix}" for place in range(len(spans))]
    missing = [
        (span, part)
        for span, part in zip(spans, parts, strict=True)
        if not _is_made(span, part, pictures=pictures)
    ]
    sound = (
        folder / "sound.m4a"
        if plan.clips and plan.clips[0].facts.has_sound and not kind.transparent
        else None
    )
    seen = plan.clips[0].facts.path if plan.clips else folder
    jobs = [Job(seen, write_part, (plan, span, part), bounds_of(plan, each)) for span, part in missing]
    if sound is not None and not is_finished(sound):
        jobs.append(Job(seen, write_sound, (plan, sound), bounds_of(plan, 300)))
    total, done = len(spans) + 1, len(spans) - len(missing)
    if progress is not None:
        progress(done, total, "")
    with closing(
        read_each(jobs, most=max(os.cpu_count() or 1, 1))
    ) as outcomes:  # ends them when it is stopped
        for outcome in outcomes:
            _checked(outcome)
            done += 1
            if progress is not None:
                progress(min(done, total - 1), total, "")
    for place in () if replace_it else beside:
        if place.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(place))
    if pictures:
        for name in ("opacity", LOCK):
            (folder / name).unlink(missing_ok=True)
        folder.rename(out)
    else:
        waiting = folder / f"joined{kind.suffix}.part"
        join_parts(parts, sound, plan.shape.rate, kind.container, waiting)
        if replace_it:
            waiting.replace(out)
        else:
            name_new(waiting, out)
        shutil.rmtree(folder)
    sync_folder(out.parent)
    if progress is not None:
        progress(total, total, "")


def _is_made(span: tuple[int, int], part: Path, *, pictures: bool) -> bool:
    if not pictures:
        return is_finished(part)
    seen = (part / f"{number + 1:06d}.png" for number in range(*span))
    return all(is_sound_picture(each) for each in seen)


def _key(plan: FilmPlan) -> str:
    """A word for all that a film is made from: runs, look, size, and the clips as they are on disk."""
    files = [each.facts.path.stat() for each in plan.clips]
    clips = [(each.st_size, each.st_mtime_ns) for each in files]
    return hashlib.sha256(repr((strikeproof.__version__, clips, _flat(plan))).encode()).hexdigest()[:12]


def _flat(value: object) -> object:
    """A record as plain values that are written the same each time."""
    if isinstance(value, np.ndarray):
        return hashlib.sha256(value.tobytes()).hexdigest()
    if is_dataclass(value):
        return [_flat(getattr(value, each.name)) for each in fields(value)]
    return [_flat(each) for each in value] if isinstance(value, tuple) else str(value)


def _notes(told: ToldRuns, facts: Sequence[ClipFacts], said: Sequence[SyncSaid]) -> tuple[str, ...]:
    notes = []
    end = told.story.end_s
    for clip, each in zip(facts, said, strict=True):
        missing = each.first_blow_s + end / each.pace - clip.length_s
        if each.first_blow_s < 0.0:
            notes.append(
                f"{clip.path.name} begins {-each.first_blow_s:.1f} s after the first blow: it is black until "
                "then"
            )
        if missing > _ENDS_WITHIN_S:
            notes.append(
                f"{clip.path.name} ends {missing:.1f} s before the last run does: its last picture stays; "
                "look whether this is the clip of that run"
            )
        drift = 1e6 * (each.pace - 1.0)
        clock = "" if each.by == "by hand" else f", clocks {drift:+.0f} ppm apart"
        notes.append(f"{clip.path.name}: first blow at {each.first_blow_s:.3f} s, {each.by}{clock}")
        if clip.bright:
            notes.append(
                f"{clip.path.name} is of high dynamic range and will look pale; export it as SDR first"
            )
        if not clip.steady:
            notes.append(f"{clip.path.name} has pictures at uneven times; each is shown when it was taken")
    if told.story.simulated:
        notes.append("the runs are simulated, and every picture says so")
    return tuple(notes)
