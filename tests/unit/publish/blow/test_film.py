from __future__ import annotations

import io
import itertools
import re
import sys
from xml.etree import ElementTree

import numpy as np
import pytest
from tests.unit.publish.blow.bench import CASES, case

from strikeproof.errors import BadInput
from strikeproof.publish.blow import film_frames, film_mp4, film_page, film_svg, set_scene
from strikeproof.publish.blow.discs import outline_points
from strikeproof.publish.blow.scene import RATE, SECONDS
from strikeproof.publish.blow.stage import light_box, name_word, still_words, strip_lines, torque_word
from strikeproof.publish.blow.story import OPEN

SHORT = (0.08, 0.72, 0.12)


def scene(name: str = "plain", *, narrow: bool = False, seconds: tuple[float, float, float] = SHORT):
    return set_scene(case(name).story, "air wrench, ring socket, blow 8", narrow=narrow, seconds=seconds)


def test_the_whole_film_lasts_six_to_ten_seconds():
    whole = set_scene(case().story, "x")
    assert 6.0 <= whole.clock.seconds <= 10.0
    assert whole.clock.slower == pytest.approx(1e3 * SECONDS[1] / case().story.end)
    assert "times slower than life" in whole.layout.heading[0] and "SIMULATED" in whole.layout.heading[0]


@pytest.mark.parametrize("name", CASES)
def test_discs_turn_by_the_true_angle_times_the_stated_factor(name):
    shown = scene(name)
    story = shown.story
    assert f"angles ×\u00a0{shown.exaggeration};" in " ".join(shown.layout.heading)
    at_end = shown.turns[-1]
    assert at_end == pytest.approx(shown.sense * shown.exaggeration * story.angles[-1])
    assert np.abs(np.ptp(shown.turns[:, 1:], axis=0)).max() <= 75.0 + 1e-9


@pytest.mark.parametrize("name", CASES)
def test_a_tooth_touches_its_lug_exactly_when_the_twist_is_nothing(name):
    """Front face at δ = 0, rear face at δ = −gap, in the sense of the blow."""
    shown = scene(name)
    for station in shown.stations:
        if station.contact is None:
            continue
        contact = shown.story.contacts[station.contact]
        front = _bearing(station.lugs[0][0])
        assert _bearing(station.tooth[len(station.tooth) // 2 - 1]) == pytest.approx(front, abs=1e-9)
        if len(station.lugs) == 2:
            width = abs(_bearing(station.tooth[0]))
            rear = shown.sense * _bearing(station.lugs[1][0])
            assert rear == pytest.approx(-(width + shown.exaggeration * contact.gap), abs=1e-9)


def _bearing(point: np.ndarray) -> float:
    """Clockwise from the top, degrees."""
    return float(np.degrees(np.arctan2(point[0], -point[1])))


def test_turning_an_outline_is_clockwise_on_the_picture():
    (right,) = outline_points(np.array([[0.0, -10.0]]), (100.0, 100.0), 90.0)
    assert right == pytest.approx([110.0, 100.0])


@pytest.mark.parametrize("narrow", [False, True], ids=["wide", "narrow"])
@pytest.mark.parametrize("name", CASES)
def test_words_of_the_film_stay_in_the_frame_and_apart(name, narrow):
    """By 0.6 of its size for every letter, which the faces in use do not exceed on average."""
    shown = scene(name, narrow=narrow)
    words = still_words(shown)
    words += [name_word(shown, each, "backward") for each in shown.stations if each.braked]
    words += [torque_word(shown, each, -888.0) for each in shown.stations if each.contact is not None]
    boxes = []
    for word in words:
        width = 0.60 * word.size * len(word.text)
        left = word.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[word.anchor] * width
        boxes.append((word.text, left, word.y - 0.75 * word.size, left + width, word.y + 0.1 * word.size))
    for text, left, top, right, bottom in boxes:
        assert left >= -2 and top >= 0 and bottom <= shown.layout.frame[1], text
        assert right <= shown.layout.frame[0] + 6, text
    for place, one in enumerate(boxes):
        for two in boxes[:place]:
            across = min(one[3], two[3]) - max(one[1], two[1])
            up = min(one[4], two[4]) - max(one[2], two[2])
            assert across <= 0 or up <= 1.0, (one[0], two[0])
    assert all(light_box(shown, each).left >= 0 for each in shown.stations)
    assert shown.layout.frame[0] % 2 == shown.layout.frame[1] % 2 == 0


def test_strip_charts_hold_the_record():
    shown = scene()
    lines = {line.name: line.points for line in strip_lines(shown)}
    assert set(lines) == {"jaw", "square drive", "hexagon", "shank", "slow turning", "clamp load"}
    strip = shown.layout.torque_strip
    hexagon = lines["hexagon"]
    crest = hexagon[np.argmin(hexagon[:, 1])]
    peak = int(np.argmax(shown.story.torques[:, 2]))
    assert (crest[0] - strip.left) / strip.width * shown.story.end == pytest.approx(
        shown.story.time[peak], abs=0.01
    )
    for points in lines.values():
        assert points[:, 0].min() >= strip.left and points[:, 0].max() <= strip.right + 1e-6


def test_frames_differ_while_the_blow_runs_and_stand_before_and_after():
    shown = scene()
    frames = list(film_frames(shown))
    assert len(frames) == shown.clock.times.size
    assert frames[0].shape == (shown.layout.frame[1], shown.layout.frame[0], 3)
    assert np.array_equal(frames[0], frames[1]) and np.array_equal(frames[-1], frames[-2])
    running = frames[2:-3]
    assert all(not np.array_equal(one, two) for one, two in itertools.pairwise(running))


@pytest.fixture(scope="module")
def film() -> bytes:
    pytest.importorskip("av")
    return film_mp4(scene())


def test_the_written_film_decodes_to_its_frames(film):
    av = pytest.importorskip("av")
    shown = scene()
    with av.open(io.BytesIO(film)) as container:
        stream = container.streams.video[0]
        assert float(stream.average_rate) == RATE
        frames = [frame.to_ndarray(format="rgb24") for frame in container.decode(stream)]
    assert len(frames) == shown.clock.times.size
    assert frames[0].shape[1::-1] == shown.layout.frame
    assert np.abs(frames[3].astype(int) - frames[12].astype(int)).max() > 100
    drawn = list(film_frames(shown))
    off = np.abs(frames[12].astype(int) - drawn[12].astype(int))
    assert off.mean() < 4.0


def test_the_film_is_small_and_the_same_bytes_every_time(film):
    assert film == film_mp4(scene())
    seconds = scene().clock.seconds
    whole = set_scene(case().story, "x").clock.seconds
    assert len(film) / seconds * whole < 3e6


def test_progress_is_told_for_every_frame():
    pytest.importorskip("av")
    told = []
    film_mp4(scene(seconds=(0.04, 0.12, 0.04)), progress=lambda done, total: told.append((done, total)))
    assert told == [(n, 5) for n in range(1, 6)]


def test_without_its_writer_the_extra_is_named(monkeypatch):
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(BadInput, match=r"strikeproof\[film\]") as caught:
        film_mp4(scene())
    assert ".html" in str(caught.value)


@pytest.mark.parametrize("name", CASES)
def test_the_drawing_that_moves_has_a_value_for_every_frame(name):
    shown = scene(name)
    root = ElementTree.fromstring(film_svg(shown))
    space = "{http://www.w3.org/2000/svg}"
    turns = [each for each in root.iter(f"{space}animateTransform") if each.get("type") == "rotate"]
    assert len(turns) == 2 * len(shown.stations)
    for each in turns:
        assert len(each.get("values").split(";")) == shown.clock.times.size + 1
        assert each.get("dur") == f"{shown.clock.seconds:g}s"
    first = [float(value) for value in turns[0].get("values").split(";")]
    assert first[:-1] == pytest.approx(shown.turns[:, 0], abs=6e-3)
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)", film_svg(shown))


@pytest.mark.parametrize("name", CASES)
def test_at_every_instant_exactly_one_state_and_one_caption_are_seen(name):
    shown = scene(name)
    root = ElementTree.fromstring(film_svg(shown))
    space = "{http://www.w3.org/2000/svg}"
    groups = [
        (group, group.find(f"{space}animate"))
        for group in root.iter(f"{space}g")
        if group.find(f"{space}animate") is not None
        and group.find(f"{space}animate").get("attributeName") == "visibility"
    ]
    for share in np.linspace(0.0, 0.9999, 37):
        seen = [group for group, animate in groups if _value_at(animate, share) == "visible"]
        lights = [group for group in seen if group.find(f"{space}rect") is not None]
        assert len(lights) == len(shown.story.contacts)
        assert len(seen) - len(lights) == 2  # the caption and the bolt's state
    # the last instant is the record's
    words = {
        group.find(f"{space}text").text
        for group, animate in groups
        if _value_at(animate, 0.9999) == "visible"
    }
    if shown.story.states[-1, 0] == OPEN:
        assert "○ open" in words


def _value_at(animate: ElementTree.Element, share: float) -> str:
    keys = [float(key) for key in animate.get("keyTimes").split(";")]
    values = animate.get("values").split(";")
    assert keys[0] == 0.0 and keys == sorted(keys) and len(keys) == len(values)
    return values[int(np.searchsorted(keys, share, side="right")) - 1]


def test_the_page_needs_nothing_else_and_tells_every_event():
    page = film_page(scene(), scene(narrow=True))
    assert not re.search(r'(?:src|href)="|https?:|@\w+@', page)
    assert "SIMULATED" in page and page.count("<svg") == 2
    for event in case().story.events:
        assert f"{event.time:.2f} ms {event.words}</button>" in page
    frames = [int(frame) for frame in re.findall(r'data-frame="(\d+)"', page)]
    assert frames == sorted(frames) and frames[-1] < scene().clock.times.size
    assert page == film_page(scene(), scene(narrow=True))


def test_names_with_markup_are_told_as_they_are():
    odd = set_scene(case().story, '<b>&"x" </script>', seconds=SHORT)
    page = film_page(odd, odd)
    assert "<b>" not in page and page.count("</script>") == 1
    ElementTree.fromstring(film_svg(odd))
