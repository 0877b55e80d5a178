"""The look: the same colours as the published page, each pair with contrast enough."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.publish.colours import COLOURS
from strikeproof.web import look

TEXT_ON_GROUND = [
    ("ink", "paper"),
    ("ink", "panel"),
    ("ink", "band"),
    ("ink", "field"),
    ("soft", "paper"),
    ("soft", "panel"),
    ("accent", "paper"),
    ("accent", "panel"),
    ("on-accent", "accent"),
    ("higher", "paper"),
    ("lower", "paper"),
    ("alarm", "paper"),
    ("on-accent", "due"),
    ("paper", "live"),
    ("ink", "alarm-ground"),
    ("soft", "alarm-ground"),
]


def _luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, glossary."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_colours_are_the_published_page_s() -> None:
    assert {each.role: (each.light, each.dark) for each in COLOURS.values()} == look.PALETTE


@pytest.mark.parametrize("night", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize("pair", TEXT_ON_GROUND, ids="-on-".join)
def test_text_stands_out_from_its_ground(pair: tuple[str, str], night: int) -> None:
    """At least 4.5 to 1 (WCAG 2.2, success criterion 1.4.3)."""
    roles = {**look.PALETTE, **look.MORE}
    assert _contrast(roles[pair[0]][night], roles[pair[1]][night]) >= 4.5


@pytest.mark.parametrize("night", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "panel", "field"])
def test_edges_of_fields_and_buttons_stand_out(ground: str, night: int) -> None:
    """At least 3 to 1 (WCAG 2.2, success criterion 1.4.11)."""
    roles = {**look.PALETTE, **look.MORE}
    assert _contrast(roles["edge"][night], roles[ground][night]) >= 3.0


@pytest.mark.parametrize("asset", ["record.css", "live_chart.js"])
def test_no_state_of_the_recorder_has_the_colour_of_a_verdict(asset: str) -> None:
    text = (Path(look.__file__).with_name("assets") / asset).read_text("utf-8")
    assert all(f'"{role}"' not in text and f"--{role})" not in text for role in ("higher", "lower", "same"))


def test_a_strange_cookie_gives_the_device_s_light() -> None:
    assert look.look_of({"strikeproof_look": '"><script>'}) == "auto"
    assert look.look_of({"strikeproof_look": "dark"}) == "dark"
