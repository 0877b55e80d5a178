"""A film over made footage: numbers read back, sync, layers, contrast, restart, bad clips."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from tests.film_clips import make_clip, turn_clip
from tests.unit.desk.logged import write_logged

from strikeproof.campaign import gate
from strikeproof.campaign.gate import Job
from strikeproof.capture.clip import Footage, opened_clip, read_clip
from strikeproof.desk.loading import load
from strikeproof.desk.publishing.film import making, parts, syncing
from strikeproof.desk.publishing.film.clips import clip_names, keep_clip, traced_runs
from strikeproof.desk.publishing.film.making import FilmOutcome, FilmWishes, make_film
from strikeproof.desk.publishing.film.shown import film_to_make
from strikeproof.desk.publishing.film.syncing import Mark, probe_clip
from strikeproof.desk.publishing.film.telling import ToldRuns, tell_film
from strikeproof.errors import BadFile, BadInput, InUse, NotFound, StoreError, StrikeproofError
from strikeproof.publish.film import shapes
from strikeproof.publish.film.layout import lay_out
from strikeproof.publish.film.lettering import letters
from strikeproof.publish.film.looks import LOOKS, contrast
from strikeproof.publish.film.overlay import number_size
from strikeproof.publish.film.shapes import Shape, find_shape

SMALL = FilmWishes(size=180, rate=10, trim=True)


def in_place(jobs: Iterable[Job], most: int = 1) -> Iterator[Any]:
    """What the gate does, without its processes."""
    for job in jobs:
        try:
            yield job.function(*job.given)
        except StrikeproofError as wrong:
            yield wrong


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = write_logged(tmp_path_factory.mktemp("film"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(gate._POOL, "is_inside", True)
        patch.setattr(load, "read_each", in_place)
        load.load_campaign(home, home / "lab")
    return home / "lab"


@pytest.fixture(scope="module")
def told(lab: Path) -> ToldRuns:
    return tell_film(lab, ["1"])


@pytest.fixture(scope="module")
def clip(lab: Path, told: ToldRuns) -> Path:
    path = lab.parent / "clip.mp4"
    blows = told.blows[0]
    make_clip(path, blows, length_s=float(blows[-1] - blows[0]) + 2.0)
    return path


@pytest.fixture(autouse=True)
def _in_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """What runs behind the gate runs here: the gate has tests of its own, and its processes take a second.

    Small pictures are soon drawn; people are given none whose letters they could not read.
    """

    monkeypatch.setattr(shapes, "SIDES", (90, 2160))
    monkeypatch.setattr(making, "read_each", in_place)
    monkeypatch.setattr(syncing, "read_each", in_place)


def decoded(path: Path, codec: str = "", pixels: str = "rgb24") -> list[np.ndarray]:
    with av.open(str(path)) as source:
        stream = source.streams.video[0]
        if not codec:
            return [frame.to_ndarray(format=pixels) for frame in source.decode(stream)]
        decoder = av.CodecContext.create(codec, "r")
        packets = [*source.demux(stream)]
        return [frame.to_ndarray(format=pixels) for packet in packets for frame in decoder.decode(packet)]


def likeness(picture: np.ndarray, number: str, shape: Shape) -> float:
    """Correlation of the number's box in a decoded picture with the number as it is drawn."""
    layout = lay_out(shape, 1)
    box, panel = layout.numbers[0], layout.panel
    size = number_size(number, box, layout.sizes)
    left, top = panel.left + box.left, panel.top + box.top + layout.sizes.number - size
    seen = picture[top : top + round(1.28 * size), left : left + box.width].astype(float).mean(axis=2)
    drawn = np.zeros_like(seen)
    mask = letters(number, size, bold=True)[: seen.shape[0], : seen.shape[1]]
    drawn[: mask.shape[0], : mask.shape[1]] = mask
    return float(np.corrcoef(seen.ravel(), drawn.ravel())[0, 1])


def near_misses(number: str) -> list[str]:
    """The number with one digit changed, each in turn to each other."""
    return [
        number[:place] + other + number[place + 1 :]
        for place, digit in enumerate(number)
        if digit.isdigit()
        for other in "0123456789"
        if other != digit
    ]


def make(
    lab: Path, out: Path, wishes: FilmWishes, *clips: Path, runs: tuple[str, ...] = ("1",)
) -> FilmOutcome:
    return make_film(lab, runs, out, wishes, clips=clips)


def test_every_number_that_is_read_back_is_the_store_s(
    lab: Path, told: ToldRuns, clip: Path, tmp_path: Path
) -> None:
    out = tmp_path / "one.mp4"
    made = make(lab, out, SMALL, clip)
    pictures = decoded(out)
    assert len(pictures) == made.pictures and made.first_blows_s[0] == pytest.approx(1.0, abs=1 / 60)
    run, shape = told.story.runs[0], find_shape("16:9", 180, SMALL_RATE)
    assert pictures[0].shape == (180, 320, 3)
    for place in (0, 5, 21, 30, 47, len(pictures) - 1):
        # It begins with the clip, which is less than 2 s before the first blow.
        number = run.number_at((-made.first_blows_s[0] + place / 10) * made.paces[0])
        right = likeness(pictures[place], number, shape)
        wrong = max(likeness(pictures[place], each, shape) for each in near_misses(number))
        assert right > 0.9 and right > wrong, (place, number, right, wrong)
    with av.open(str(out)) as source:
        assert source.streams.audio[0].codec_context.name == "aac"
        assert float(source.duration) / 1e6 == pytest.approx(made.length_s, abs=0.1)
    again = syncing.sync_run(probe_clip(out), "1", told.blows[0], told.starts[0], None)
    assert again.first_blow_s == pytest.approx(made.first_blows_s[0], abs=0.005)  # its sound is where it was
    captions = made.captions.read_text()
    assert captions.startswith("WEBVTT\n\n00:00:00.000 --> 00:00:01.")
    assert run.score in captions and run.score in made.description.read_text()
    with pytest.raises(StoreError, match="is there already"):
        make(lab, out, SMALL, clip)


SMALL_RATE = making._rate(10, ())


@pytest.mark.parametrize("damage", [None, b"", bytes(3000)], ids=["whole", "emptied", "zeroed"])
def test_what_was_stopped_goes_on_where_it_was(
    lab: Path, clip: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, damage: bytes | None
) -> None:
    """A part that a power cut damaged is made again."""
    out, wishes = tmp_path / "two.mp4", FilmWishes(size=90, rate=10, trim=True)
    written, real = [], making.write_part

    def stop_at_second(plan: Any, span: tuple[int, int], part: Path) -> None:
        if written:
            raise KeyboardInterrupt
        written.append(part.name)
        real(plan, span, part)

    monkeypatch.setattr(making, "PART_S", 2.0)
    monkeypatch.setattr(making, "write_part", stop_at_second)
    with pytest.raises(KeyboardInterrupt):
        make(lab, out, wishes, clip)
    assert not out.exists() and written == ["00000.mp4"]
    if damage is not None:
        (part,) = tmp_path.glob(".*/00000.mp4")
        part.write_bytes(damage)

    def note(plan: Any, span: tuple[int, int], part: Path) -> None:
        written.append(part.name)
        real(plan, span, part)

    monkeypatch.setattr(making, "write_part", note)
    made = make(lab, out, wishes, clip)
    assert written.count("00000.mp4") == (1 if damage is None else 2) and len(written) > 2
    assert len(decoded(out)) == made.pictures
    assert sorted(each.name for each in tmp_path.iterdir()) == ["two.mp4", "two.txt", "two.vtt"]


@pytest.mark.parametrize(("look", "ground"), [("dark", 255), ("light", 0)])
def test_letters_stand_out_of_any_footage(
    lab: Path, tmp_path: Path, look: str, ground: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, out = tmp_path / "plain.mp4", tmp_path / "out.mp4"
    make_clip(path, ground=ground, length_s=1.0)
    monkeypatch.setattr(making, "LINGER_S", -1.0)
    make(lab, out, FilmWishes(size=180, rate=5, look=look, trim=True, marks=(Mark(0.5),)), path)
    picture, layout = decoded(out)[3], lay_out(find_shape("16:9", 180, SMALL_RATE), 1)
    left = layout.panel.left + 2
    below = picture[layout.panel.bottom - 3 : layout.panel.bottom - 1, left : left + layout.panel.width // 3]
    worst = float(np.min(contrast(below.reshape(-1, 3), np.asarray(LOOKS[look]["ink"]))))
    assert worst >= 4.5  # WCAG 2.2, success criterion 1.4.3


@pytest.mark.parametrize(("name", "codec"), [("l.mov", "prores"), ("l.webm", "libvpx-vp9"), ("l", "")])
def test_a_layer_is_transparent_where_nothing_is_drawn(
    lab: Path, tmp_path: Path, name: str, codec: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(making, "LINGER_S", -1.0)
    monkeypatch.setattr(making, "PART_S", 0.5)
    out = tmp_path / name
    made = make(lab, out, FilmWishes(format="9:16", size=90, rate=4, layer=True))
    if codec:
        pictures = decoded(out, codec, "rgba")
    else:
        from PIL import Image

        pictures = [np.asarray(Image.open(each)) for each in sorted(out.iterdir())]
    assert len(pictures) == made.pictures and pictures[0].shape == (160, 90, 4)
    panel = lay_out(find_shape("9:16", 90, SMALL_RATE), 1).panel
    middle = pictures[2][panel.top + panel.height // 2, panel.left + 2 : panel.right - 2, 3]
    assert middle.min() > 120 and pictures[2][: panel.top - 20, :, 3].max() < 20


def test_an_upright_phone_film_is_turned_and_uneven_times_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "turned.mp4"
    make_clip(path, np.array([0.0, 10.0]), length_s=1.2, jitter=True)
    assert not (flat := read_clip(path)).turned and (flat.width, flat.height) == (160, 90)
    turn_clip(path)
    facts = read_clip(path)
    assert (facts.width, facts.height) == (90, 160) and not facts.steady
    with opened_clip(path) as source:
        planes = Footage(source, facts, (90, 160), whole=False).at(0.0)
    lamp, other = planes[:20, -15:], planes[:20, :15]  # upper left becomes upper right
    assert lamp.mean() < 60 < other.mean() + 40 and planes.shape == (240, 90)


def test_what_cannot_be_filmed_says_why(lab: Path, clip: Path, tmp_path: Path) -> None:
    silent, text, damaged = (tmp_path / f"{each}.mp4" for each in ("silent", "text", "damaged"))
    content = bytearray(clip.read_bytes())
    begin = content.find(b"mdat") + 2000
    content[begin : begin + 9000 : 90] = bytes(100)
    damaged.write_bytes(content)
    made = make(lab, tmp_path / "d.mp4", FilmWishes(size=90, rate=5, trim=True, marks=(Mark(1.0),)), damaged)
    assert len(decoded(made.place)) == made.pictures  # what a player leaves out is left out
    make_clip(silent, length_s=1.0)
    text.write_text("#EXTM3U\n/etc/passwd\n")
    out = tmp_path / "o.mp4"
    with pytest.raises(BadInput, match=r"has no sound.*--offset"):
        make(lab, out, SMALL, silent)
    with pytest.raises(BadFile, match="cannot be read as a film"):
        make(lab, out, SMALL, text)
    with pytest.raises(BadFile, match="is not there"):
        make(lab, out, SMALL, tmp_path / "none.mp4")
    with pytest.raises(StrikeproofError, match="run '9'"):
        make(lab, out, SMALL, clip, runs=("9",))
    with pytest.raises(BadInput, match="2 clips for 1 runs"):
        make(lab, out, SMALL, clip, clip)
    with pytest.raises(BadInput, match=r"ends in \.mp4"):
        make(lab, tmp_path / "o.avi", SMALL, clip)
    with pytest.raises(BadInput, match="such time"):
        syncing.parse_clap("12")
    assert not out.exists()


def test_no_picture_of_the_footage_is_dropped_where_its_times_are_rounded(
    lab: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, out = tmp_path / "thirty.mp4", tmp_path / "o.mp4"
    make_clip(path, rate=30, length_s=1.0)  # times in whole milliseconds
    monkeypatch.setattr(making, "LINGER_S", -1.5)
    made = make(lab, out, FilmWishes(size=90, marks=(Mark(0.0),)), path)
    pictures = [each[30:60, 40:120].mean(axis=(0, 1)).round(1).tobytes() for each in decoded(out)[:28]]
    assert made.pictures >= 30 and len(set(pictures)) == 28


def test_a_clip_that_came_in_is_filmed_in_the_workspace(lab: Path, clip: Path) -> None:
    (lab / "incoming").mkdir()
    for number in (1, 2):
        (lab / "incoming" / f"{number}").write_bytes(clip.read_bytes())
        keep_clip(lab, f"../incoming/{number}", "../my clip?.mp4")
    assert sorted(clip_names(lab)) == ["2-my-clip-.mp4", "my-clip-.mp4"]
    assert traced_runs(lab, None)[0] == ("1", "1: plain, air") and not list((lab / "incoming").iterdir())
    made = film_to_make(lab, None, ("1", "2"), "my-clip-.mp4", ("1:1", "90", "light", "1,0"))
    assert (lab / "published" / "films" / made.file).is_file() and made.file.endswith("-1-1.mp4")
    other = film_to_make(lab, None, ("2", "1"), "my-clip-.mp4", ("1:1", "90", "light", "1,0"))
    assert other.file != made.file
    before = sorted(lab.parent.rglob("*"))
    with pytest.raises(BadInput, match="format"):
        film_to_make(lab, None, ("1",), "my-clip-.mp4", ("/../../../away/x", "90", "light", "1,0"))
    assert sorted(lab.parent.rglob("*")) == before
    with pytest.raises(BadInput, match="size"):
        film_to_make(lab, None, ("1",), "my-clip-.mp4", ("1:1", "nan", "light", "1,0"))
    with pytest.raises(NotFound, match="clip"):
        film_to_make(lab, None, ("1",), "../clip.mp4", ("1:1", "90", "light", ""))
    with pytest.raises(StoreError, match="send it again"):
        keep_clip(lab, "nothing", "a.mp4")


def test_nothing_of_a_person_is_written_over(
    lab: Path, clip: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not the footage itself, not a text of one's own, not what came there while the film was made."""
    own, wishes = tmp_path / "own.mp4", FilmWishes(size=90, rate=10, trim=True)
    own.write_bytes(clip.read_bytes())
    with pytest.raises(BadInput, match="is what is read"):
        make_film(lab, ("1",), own, wishes, clips=(own,), replace_it=True)
    (tmp_path / "b.txt").write_text("my notes")
    with pytest.raises(StoreError, match="a text of yours"):
        make_film(lab, ("1",), tmp_path / "b.mp4", wishes, clips=(own,), replace_it=True)
    real, late = making.join_parts, tmp_path / "late.mp4"

    def join_late(*given: Any) -> None:
        real(*given)
        late.write_text("my film")

    monkeypatch.setattr(making, "join_parts", join_late)
    with pytest.raises(StoreError, match=r"late\.mp4: came there meanwhile"):
        make(lab, late, wishes, own)
    assert late.read_text() == "my film" and own.read_bytes() == clip.read_bytes()
    late.unlink()
    late = tmp_path / "late.vtt"
    with pytest.raises(StoreError, match=r"late\.vtt: came there meanwhile"):
        make(lab, tmp_path / "late.mp4", wishes, own)
    assert late.read_text() == "my film"
    for rate in (float("nan"), 61.0):
        with pytest.raises(BadInput, match="1 to 60"):
            make(lab, tmp_path / "c.mp4", FilmWishes(size=90, rate=rate), own)


def test_a_full_disk_is_no_fault_of_the_clip(
    lab: Path, clip: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_given: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(parts, "_encode", full)
    with pytest.raises(StoreError, match="No space left") as wrong:
        make(lab, tmp_path / "o.mp4", SMALL, clip)
    assert wrong.value.fix.startswith("free some disk space") and clip.name not in wrong.value.problem


def test_the_same_film_is_made_once_at_a_time(
    lab: Path, clip: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One of other wishes and the same name leaves the parts that are being made."""
    out, wishes = tmp_path / "o.mp4", FilmWishes(size=90, rate=5, trim=True)
    real = making.join_parts

    def meanwhile(*given: Any) -> None:
        monkeypatch.setattr(making, "join_parts", real)
        with pytest.raises(InUse, match="is being made"):
            make(lab, out, wishes, clip)
        make(lab, out, FilmWishes(size=90, rate=4, trim=True), clip)
        for each in tmp_path.glob("o.*"):
            each.unlink()
        real(*given)

    monkeypatch.setattr(making, "join_parts", meanwhile)
    made = make(lab, out, wishes, clip)
    assert len(decoded(out)) == made.pictures


def test_a_clip_that_does_not_fit_its_run_is_named(lab: Path, tmp_path: Path) -> None:
    path = tmp_path / "short.mp4"
    make_clip(path, length_s=1.0)
    for at, says in ((0.2, "before the last run does: its last picture stays"), (-1.5, "begins 1.5 s after")):
        wishes = FilmWishes(size=90, rate=2, trim=True, marks=(Mark(at),))
        made = make_film(lab, ("1",), tmp_path / "o.mp4", wishes, clips=(path,), replace_it=True)
        assert any(says in note for note in made.notes)


def test_a_damaged_picture_of_a_layer_is_made_again(tmp_path: Path) -> None:
    from PIL import Image

    whole = tmp_path / "000001.png"
    Image.fromarray(np.zeros((40, 40, 4), np.uint8)).save(whole)
    assert making._is_made((0, 1), tmp_path, pictures=True)
    content = bytearray(whole.read_bytes())
    content[50] ^= 1
    whole.write_bytes(content)
    assert not making._is_made((0, 1), tmp_path, pictures=True)
