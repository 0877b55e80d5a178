"""What a film says: layout inside what is safe, captions with the pictures' numbers, results at the end."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from strikeproof.errors import BadInput
from strikeproof.publish.film.captions import describe_film, write_captions
from strikeproof.publish.film.layout import lay_out
from strikeproof.publish.film.lettering import fit_words, line_height
from strikeproof.publish.film.looks import LOOKS, contrast, needed_opacity
from strikeproof.publish.film.overlay import RESULT, Overlay, number_words
from strikeproof.publish.film.shapes import FORMATS, SIDES, find_shape
from strikeproof.publish.film.story import FilmRun, FilmStory, FilmVerdict
from strikeproof.publish.verdicts import SIGNS


def told(runs: int = 2, winner: str | None = None) -> FilmStory:
    time = np.linspace(0.0, 2.0, 41)
    made = tuple(
        FilmRun(
            run=f"r{place}",
            article=f"article-{place}",
            tool="air",
            unit="N·m",
            decimals=1,
            score=f"{400 + place}.0 ± 1.2 N·m",
            growth_time=time,
            growth_level=200.0 * time,
            trace_time=time,
            trace_level=200.0 * time,
            blows=time[1:],
            end_s=2.0,
        )
        for place in range(runs)
    )
    sign = SIGNS["higher" if winner else "cannot tell"]
    verdict = FilmVerdict("article-1", "air", "It is <so>.", "short", sign.role, sign.path, sign.hollow)
    return FilmStory("rings", "torque", made, (verdict,), (), winner, simulated=True)


@pytest.mark.parametrize("short", [SIDES[0], 480])
@pytest.mark.parametrize("name", FORMATS)
def test_all_plates_are_inside_what_is_safe(name: str, short: int) -> None:
    for runs in (1, 2, 4):
        shape = find_shape(name, short, Fraction(30))
        left, top, right, bottom = shape.safe
        overlay = Overlay(told(runs), shape, LOOKS["light"])
        for plate in overlay.plates:
            at = plate.place
            assert left - 1 <= at.left < at.right <= right + 1
            assert top - 1 <= at.top < at.bottom <= bottom + 1
        assert lay_out(shape, runs).above.height > 0


def test_the_result_appears_after_the_last_run_and_a_winner_only_where_there_is_one() -> None:
    shape = find_shape("16:9", 360, Fraction(30))
    inks = {}
    for winner in (None, "article-1"):
        overlay = Overlay(told(2, winner), shape, LOOKS["dark"])
        overlay.advance(1.99)
        assert not overlay.plates[RESULT].shown
        overlay.advance(2.7)
        assert overlay.plates[RESULT].shown
        box = overlay.layout.numbers[1]
        part = overlay.plates[0].ink[box.top : box.bottom, box.left : box.right]
        inks[winner] = np.all(part[..., :3] == LOOKS["dark"]["higher"], axis=-1).sum()
    assert inks[None] == 0 < inks["article-1"]


def test_a_picture_reached_at_once_is_the_same_as_one_reached_step_by_step() -> None:
    shape = find_shape("1:1", 360, Fraction(30))
    at_once, stepped = Overlay(told(), shape, LOOKS["dark"]), Overlay(told(), shape, LOOKS["dark"])
    for moment in np.arange(-0.5, 1.2, 1 / 30):
        stepped.advance(float(moment))
    stepped.advance(1.234)
    at_once.advance(1.234)
    for one, other in zip(at_once.plates, stepped.plates, strict=True):
        np.testing.assert_array_equal(one.ink, other.ink)


@pytest.mark.parametrize("runs", [1, 2, 4])
@pytest.mark.parametrize("name", FORMATS)
def test_an_excluded_run_says_so_at_the_smallest_size(name: str, runs: int) -> None:
    layout = lay_out(find_shape(name, SIDES[0], Fraction(30)), runs)
    row, sizes = layout.rows[0], layout.sizes
    sample = round(1.8 * sizes.name) + sizes.gap // 2
    room = (row.right if layout.stacked else layout.numbers[0].left) - row.left - sample
    assert fit_words("excluded: a very long name of a tool", sizes.small, room).startswith("excluded:")


@pytest.mark.parametrize("runs", [1, 2, 3, 4])
@pytest.mark.parametrize("name", FORMATS)
def test_a_result_has_room_for_each_verdict_and_what_limits_it(name: str, runs: int) -> None:
    layout = lay_out(find_shape(name, 1080, Fraction(30)), runs)
    lines = 1 + max(runs - 1, 1) + 1
    assert layout.above.height >= 2 * layout.sizes.gap + lines * line_height(layout.sizes.small)


def test_where_blows_cannot_be_separated_nobody_counts_them() -> None:
    run = replace(told().runs[0], blows=np.zeros(0))
    assert number_words(run, 1.0) == ("200.0 N·m", "score so far")
    assert "blow" in number_words(told().runs[0], 1.0)[1]


def test_what_limits_a_result_is_shown_where_there_is_no_verdict() -> None:
    story = replace(told(), verdicts=(), caveats=("No result yet: 1 run, 2 needed.",))
    overlay = Overlay(story, find_shape("1:1", 360, Fraction(30)), LOOKS["dark"])
    overlay.advance(2.7)
    assert overlay.plates[RESULT].shown
    assert "No result yet" in write_captions(story, -1.0, 7.0)
    silent = Overlay(replace(story, caveats=()), find_shape("1:1", 360, Fraction(30)), LOOKS["dark"])
    silent.advance(2.7)
    assert not silent.plates[RESULT].shown


def test_captions_have_the_numbers_of_their_moment() -> None:
    said = write_captions(told(), -1.0, 7.0)
    assert said.startswith("WEBVTT\n\n00:00:00.000 --> 00:00:01.000\nSimulated runs.\n")
    assert "article-1, air, r1: 401.0 ± 1.2 N·m, score · 40 blows" in said
    assert (
        "It is &lt;so&gt;." in said.split("00:00:03.600")[2] and "It is" not in said.split("00:00:03.600")[0]
    )
    assert "It is <so>." in describe_film(told()) and "simulated" in describe_film(told())


@pytest.mark.parametrize("look", LOOKS)
def test_the_ground_is_as_opaque_as_the_letters_need(look: str) -> None:
    chosen = LOOKS[look]
    for footage in ([0, 0, 0], [255, 255, 255], [130, 130, 130], [255, 0, 0], [0, 255, 0]):
        share = needed_opacity(chosen, [footage])
        ground = (1 - share) * np.asarray(footage) + share * np.asarray(chosen["paper"])
        assert contrast(chosen["ink"], ground) >= 4.5
    assert contrast([255, 255, 255], [0, 0, 0]) == pytest.approx(
        21.0
    )  # WCAG 2.2, definition of contrast ratio


@pytest.mark.parametrize(
    ("name", "short", "rate"), [("4:3", 1080, 30), ("16:9", 4320, 30), ("1:1", 1080, 120)]
)
def test_a_size_that_is_not_made_says_which_are(name: str, short: int, rate: int) -> None:
    with pytest.raises(BadInput, match="allowed"):
        find_shape(name, short, Fraction(rate))
