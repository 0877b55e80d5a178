import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikeproof.errors import BadInput
from strikeproof.joint import parse_bolt, parse_thread
from strikeproof.joint.designation import METRIC_PITCHES, inch_sizes, threads_per_inch


@pytest.mark.parametrize(
    ("text", "designation", "diameter_mm", "pitch_mm"),
    [
        ("M20", "M20x2.5", 20, 2.5),
        ("m20x2.5", "M20x2.5", 20, 2.5),
        (" M24 × 2 ", "M24x2", 24, 2),
        ("M20x2,5", "M20x2.5", 20, 2.5),
        ("M3,5", "M3.5x0.6", 3.5, 0.6),
        ("M18x1.5-6g", "M18x1.5", 18, 1.5),
        ("3/4-16", "3/4-16 UNF", 19.05, 25.4 / 16),
        ("3/4-16 UNF", "3/4-16 UNF", 19.05, 25.4 / 16),
        ('3/4"-16 unf', "3/4-16 UNF", 19.05, 25.4 / 16),
        (".750-16", "3/4-16 UNF", 19.05, 25.4 / 16),
        ("3/4", "3/4-10 UNC", 19.05, 2.54),
        ("3/4 UNF", "3/4-16 UNF", 19.05, 25.4 / 16),
        ("1/2-13 UNC-2A", "1/2-13 UNC", 12.7, 25.4 / 13),
        ("1/2-20 UNRF", "1/2-20 UNF", 12.7, 1.27),
        ("1-8", "1-8 UNC", 25.4, 3.175),
        ("1 1/4-7", "1 1/4-7 UNC", 31.75, 25.4 / 7),
        ("1-1/4-12", "1 1/4-12 UNF", 31.75, 25.4 / 12),
        ("5/8-16", "5/8-16 UN", 15.875, 25.4 / 16),
    ],
)
def test_a_thread_is_read_however_people_write_it(text, designation, diameter_mm, pitch_mm):
    thread = parse_thread(text)
    assert thread.designation == designation
    assert thread.diameter == pytest.approx(diameter_mm * 1e-3)
    assert thread.pitch == pytest.approx(pitch_mm * 1e-3)


@pytest.mark.parametrize(
    ("text", "thread", "name"),
    [
        ("M24x2 10.9", "M24x2", "10.9"),
        ("M24x2-10.9", "M24x2", "10.9"),
        ("M24x2, class 12.9", "M24x2", "12.9"),
        ("M20 8.8", "M20x2.5", "8.8"),
        ("M20 x 2.5 ISO 8,8", "M20x2.5", "8.8"),
        ("3/4-16 UNF grade 5", "3/4-16 UNF", "grade 5"),
        ("3/4-16 5", "3/4-16 UNF", "grade 5"),
        ("1 1/4-7 SAE J429 Gr. 8", "1 1/4-7 UNC", "grade 8"),
        ("1 8", "1-8 UNC", "grade 8"),
    ],
)
def test_a_bolt_is_a_thread_and_a_class(text, thread, name):
    found, property_class = parse_bolt(text)
    assert (found.designation, property_class.name) == (thread, name)


@pytest.mark.parametrize(
    ("text", "hints"),
    [
        ("M21 8.8", ["M20", "M22"]),
        ("M24x2.5 8.8", ["M24x2", "M24x3"]),
        ("M25 8.8", ["M25x1.5", "fine pitches only"]),
        ("M12x80 8.8", ["M12x1.75", "length"]),
        ("M20 10.8", ["'10.9'"]),
        ("M20 9", ["'8.8'"]),
        ("M20 grade 5", ["8.8, 9.8, 10.9, 12.9"]),
        ("3/4-16 10.9", ["grade 5.2, grade 7, grade 8"]),
        ("3/4-15 5", ["3/4-16 UNF"]),
        ("3/4-10 UNF grade 5", ["3/4-10 UNC"]),
        ("3/4 UNS grade 5", ["3/4-10 UNC"]),
        ("0.77-10 5", ["3/4", "13/16"]),
        ("20x2.5 8.8", ["begins with M"]),
        ("M20", ["'M20x2.5 10.9'"]),
        ("3/4-16", ["'3/4-16 UNF grade 5'"]),
        ("M42 10.9", ["1.6 to 39 mm"]),
        ("1 3/4-5 grade 8", ["0.25 to 1.5 in"]),
        ("1/0-20 5", ["M24x2"]),
        ("SAE 5", ["3/4-16 UNF"]),
        ("", ["M24x2"]),
    ],
)
def test_what_cannot_be_used_names_the_nearest_that_can(text, hints):
    with pytest.raises(BadInput) as caught:
        parse_bolt(text)
    assert all(hint in str(caught.value) for hint in hints), str(caught.value)


def test_a_thread_takes_nothing_after_it():
    with pytest.raises(BadInput, match="left over"):
        parse_thread("M20 10.9")


@given(st.text(alphabet="M0123456789/.,-xUNCFgrade \"'", max_size=16))
def test_any_text_is_either_read_or_refused(text):
    try:
        thread = parse_thread(text)
    except BadInput:
        return
    assert parse_thread(thread.designation) == thread


def test_every_metric_size_has_a_root_inside_its_thread():
    for size, pitches in METRIC_PITCHES.items():
        for pitch in pitches:
            thread = parse_thread(f"M{size:g}x{pitch:g}")
            d1, d2, d3 = thread.basic_minor_diameter, thread.pitch_diameter, thread.minor_diameter
            assert 0 < d3 < d1 < d2 < thread.diameter
            assert thread.stress_area == pytest.approx(math.pi / 16 * (d2 + d3) ** 2)


def test_every_unified_designation_is_read_back():
    for size in inch_sizes():
        for count, series in threads_per_inch(size).items():
            thread = parse_thread(f"{float(size)}-{count:g} {series}")
            assert parse_thread(thread.designation) == thread
            assert thread.designation.endswith(f"-{count:g} {series}")
