"""The page's colours keep their contrast, and stay apart for readers who confuse red and green.

Contrast: W3C, *Web Content Accessibility Guidelines 2.2*, 2023, definitions of relative luminance and
contrast ratio, criteria 1.4.3 (text 4.5) and 1.4.11 (shapes 3). Colour vision: G. Machado, M. Oliveira and
L. Fernandes, "A physiologically-based model for simulation of color vision deficiency", IEEE TVCG 15
(2009) 1291, matrices at severity 1 (from memory; each row must add up to 1). Difference: CIE 1976 L*a*b*.
"""

from itertools import combinations

import numpy as np
import pytest

from strikeproof.publish.colours import COLOURS, theme_css
from strikeproof.publish.verdicts import SIGNS

THEMES = ("light", "dark")
TEXTS = ("ink", "soft", "accent", "higher", "lower", "same")
SHAPES = (*TEXTS, "unknown")
DEFICIENCIES = {
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritan": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}
D65 = np.array([0.95047, 1.0, 1.08883])
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def linear(colour: str) -> np.ndarray:
    value = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    bright, dim = sorted((float(TO_XYZ[1] @ linear(each)) for each in (one, other)), reverse=True)
    return (bright + 0.05) / (dim + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    ratio = TO_XYZ @ np.clip(rgb, 0, 1) / D65
    root = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * root[1] - 16, 500 * (root[0] - root[1]), 200 * (root[1] - root[2])])


def seen_apart(one: str, other: str, deficiency: str) -> float:
    matrix = np.array(DEFICIENCIES[deficiency])
    return float(np.linalg.norm(lab(matrix @ linear(one)) - lab(matrix @ linear(other))))


def test_contrast_of_black_on_white_is_21_and_of_767676_is_4_54() -> None:
    """The first from the definition, the second the well-known greyest text that passes (from memory)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_simulated_eyes_leave_greys_as_they_are(deficiency: str) -> None:
    assert np.array(DEFICIENCIES[deficiency]).sum(axis=1) == pytest.approx(1.0, abs=2e-6)


def test_simulated_eyes_do_confuse_red_with_green() -> None:
    """The simulation bites: a red and a green far apart for most eyes come close for deuteranopes."""
    red, green = "#b8402c", "#5a7a2c"
    plain = float(np.linalg.norm(lab(linear(red)) - lab(linear(green))))
    assert seen_apart(red, green, "deutan") < 0.4 * plain


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("ground", ["paper", "panel"])
def test_text_stands_out_from_its_ground(theme: str, ground: str) -> None:
    for role in TEXTS:
        assert contrast(getattr(COLOURS[role], theme), getattr(COLOURS[ground], theme)) >= 4.5, role


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("ground", ["paper", "band"])
def test_shapes_stand_out_from_their_ground(theme: str, ground: str) -> None:
    for role in SHAPES:
        assert contrast(getattr(COLOURS[role], theme), getattr(COLOURS[ground], theme)) >= 3.0, role


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_higher_and_lower_stay_apart_for_every_eye(theme: str, deficiency: str) -> None:
    """20 in L*a*b* is about nine just noticeable differences (2.3; Sharma, Digital Color Imaging, 2003)."""
    for one, other in combinations(("higher", "lower", "same"), 2):
        pair = (getattr(COLOURS[one], theme), getattr(COLOURS[other], theme))
        assert seen_apart(*pair, deficiency) >= 20, (one, other)
    assert seen_apart(getattr(COLOURS["accent"], theme), getattr(COLOURS["lower"], theme), deficiency) >= 20


TIMED = {"sooner": "higher", "later": "lower"}


@pytest.mark.parametrize(("timed", "plain"), TIMED.items())
def test_a_time_has_the_shape_of_what_is_as_good(timed: str, plain: str) -> None:
    assert (SIGNS[timed].path, SIGNS[timed].role) == (SIGNS[plain].path, SIGNS[plain].role)


def test_no_two_verdicts_share_a_shape_or_a_word() -> None:
    assert len({sign.word for sign in SIGNS.values()}) == len(SIGNS)
    signs = [sign for code, sign in SIGNS.items() if code not in TIMED]  # never on one page
    assert len({sign.marker for sign in signs}) == len({sign.path for sign in signs}) == len(signs)


def test_no_two_roles_share_a_light_colour() -> None:
    """A drawing's colours are turned back into roles, which needs them to be different."""
    assert len({colour.light for colour in COLOURS.values()}) == len(COLOURS)


def test_dark_colours_are_for_screens_only() -> None:
    assert "@media screen and (prefers-color-scheme:dark)" in theme_css()
