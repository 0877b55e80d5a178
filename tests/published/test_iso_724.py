"""ISO 724 basic dimensions (d2) and DIN 13-1 (d3), coarse thread, printed to 0.001 mm."""

import pytest

from strikeproof.joint import parse_thread


@pytest.mark.parametrize(
    ("size", "pitch", "root"),
    [
        ("M12", 10.863, 9.853),
        ("M16", 14.701, 13.546),
        ("M20", 18.376, 16.933),
        ("M24", 22.051, 20.319),
        ("M30", 27.727, 25.706),
        ("M36", 33.402, 31.093),
    ],
)
def test_pitch_and_root_diameter_agree_to_the_last_printed_digit(size, pitch, root):
    thread = parse_thread(size)
    assert thread.pitch_diameter * 1e3 == pytest.approx(pitch, abs=0.0006)
    assert thread.minor_diameter * 1e3 == pytest.approx(root, abs=0.0006)


@pytest.mark.parametrize("size", ["M12", "M24x2", "3/4-16"])
def test_basic_profile_has_the_factors_of_iso_68_1(size):
    thread = parse_thread(size)
    in_pitches = [
        (thread.diameter - each) / thread.pitch
        for each in (thread.pitch_diameter, thread.basic_minor_diameter)
    ]
    assert thread.profile_height / thread.pitch == pytest.approx(0.866025404, abs=1e-9)
    assert in_pitches == pytest.approx([0.649519053, 1.082531755], abs=1e-9)
