"""Bolts that no catalogue has: their own strength, a turned-down shank, a head of another size."""

from __future__ import annotations

import math
from typing import Any

import pytest

from strikeproof.errors import BadInput
from strikeproof.joint import (
    Friction,
    assembly_preload,
    bearing_of,
    parse_class,
    parse_thread,
    proof_load,
    read_bolt_parts,
    tensile_load,
    yield_load,
)

OWN = {"thread": "M30x2", "proof_stress_mpa": 1100.0, "tensile_strength_mpa": 1300.0}


def parts(**words: Any) -> Any:
    found = read_bolt_parts(words)
    assert found is not None
    return found


def test_own_strength_stands_in_place_of_a_class() -> None:
    bolt = parts(**OWN)
    area = bolt.thread.stress_area
    assert proof_load(bolt.thread, bolt.property_class) == pytest.approx(1100e6 * area)
    assert tensile_load(bolt.thread, bolt.property_class) == pytest.approx(1300e6 * area)
    assert yield_load(bolt.thread, bolt.property_class) == pytest.approx(1100e6 * area)  # the safe side
    inch = parts(thread="3/4-16", proof_stress_mpa="120 ksi", tensile_strength_mpa="150 ksi")
    assert proof_load(inch.thread, inch.property_class) == pytest.approx(
        proof_load(inch.thread, parse_class("grade 8")), rel=1e-4
    )


def test_a_thin_shank_is_the_weakest_section() -> None:
    """VDI 2230-1 (from memory) rates a reduced shank by its own area."""
    bolt = parts(thread="M20", **{"class": "10.9"}, shank_diameter_mm=15.0)
    assert proof_load(bolt.thread, bolt.property_class) == pytest.approx(830e6 * math.pi / 4 * 0.015**2)
    thread = parse_thread("M20")
    thick = parts(thread="M20", **{"class": "10.9"}, shank_diameter_mm=19.0)
    assert proof_load(thick.thread, thick.property_class) == proof_load(thread, parse_class("10.9"))
    friction = Friction.total(0.12)
    assert assembly_preload(bolt.thread, bolt.property_class, friction) < (
        15.0 / 17.65
    ) ** 2 * assembly_preload(thread, parse_class("10.9"), friction)


def test_a_small_head_turns_on_a_small_ring() -> None:
    small = parts(thread="M30x2", **{"class": "10.9"}, head_across_flats_mm=36)
    assert small.bearing.outer == pytest.approx(0.93 * 0.036)
    assert small.bearing.inner == pytest.approx(0.030)
    flange = parts(thread="M20", **{"class": "10.9"}, bearing_face_mm=42.9)
    assert (flange.bearing.outer, flange.bearing.inner) == pytest.approx((0.0429, 0.022))
    assert parts(thread="M20").bearing == bearing_of(parse_thread("M20"))


@pytest.mark.parametrize(
    ("words", "where"),
    [
        ({"class": "10.9", **OWN}, "proof_stress_mpa"),
        ({"thread": "M20", "proof_stress_mpa": 830}, "tensile_strength_mpa"),
        ({"thread": "M20", "tensile_strength_mpa": 830}, "proof_stress_mpa"),
        ({**OWN, "tensile_strength_mpa": 900}, "proof_stress_mpa"),
        ({**OWN, "shank_diameter_mm": 31}, "shank_diameter_mm"),
        ({**OWN, "shank_diameter_mm": 2}, "shank_diameter_mm"),
        ({**OWN, "head_across_flats_mm": 24}, "head_across_flats_mm"),
        ({**OWN, "bearing_face_mm": 30}, "bearing_face_mm"),
        ({**OWN, "shank_diameter_mm": math.nan}, "shank_diameter_mm"),
        ({**OWN, "proof_stress_mpa": 830e6, "tensile_strength_mpa": 1040e6}, "proof_stress_mpa"),
        ({**OWN, "tensile_strength_mpa": 1e12}, "tensile_strength_mpa"),
        ({**OWN, "proof_stress_mpa": 1e-9}, "proof_stress_mpa"),
        ({**OWN, "head_across_flats_mm": 1e6}, "head_across_flats_mm"),
        ({**OWN, "bearing_face_mm": 1e9}, "bearing_face_mm"),
    ],
)
def test_what_cannot_be_is_refused_at_its_key(words: dict[str, Any], where: str) -> None:
    with pytest.raises(BadInput) as wrong:
        read_bolt_parts(words)
    assert wrong.value.where == where


@pytest.mark.parametrize(
    ("name", "thread", "ksi"),
    [("grade 2", "1/2-13", 55), ("grade 2", "1-8", 33), ("grade 5.2", "1-8", 85), ("SAE 8.2", "3/4-16", 120)],
)
def test_grades_of_sae_j429(name: str, thread: str, ksi: float) -> None:
    """SAE J429 as in Shigley, 9th ed., Table 8-9 (from memory for these grades)."""
    strength = parse_class(name).strength(parse_thread(thread))
    assert strength.proof_stress / 6.894757e6 == pytest.approx(ksi)


@pytest.mark.parametrize(
    ("name", "load"),
    [("4.6", 19_000), ("4.8", 26_100), ("5.6", 23_600), ("5.8", 32_000), ("6.8", 37_100), ("9.8", 54_800)],
)
def test_proof_loads_of_m12(name: str, load: float) -> None:
    """ISO 898-1:2013, Table 5, M12 (from memory); printed to three digits."""
    assert proof_load(parse_thread("M12"), parse_class(name)) == pytest.approx(load, rel=5e-3)


@pytest.mark.parametrize("stress", [-5.0, 0, "-5 MPa", "0 MPa", True, [600]])
def test_a_strength_of_nothing_or_less_is_refused(stress: Any) -> None:
    with pytest.raises(BadInput, match="proof_stress_mpa"):
        parts(**(OWN | {"proof_stress_mpa": stress}))
