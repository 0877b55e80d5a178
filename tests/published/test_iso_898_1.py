"""ISO 898-1:2013, mechanical properties of bolts: Tables 4 and 5 (coarse thread) against computed figures.

The standard prints its nominal stress areas to three significant figures and multiplies those by the stress,
again rounded to three; 0.5 % covers both roundings.
"""

import pytest

from strikeproof.joint import parse_class, parse_thread, proof_load, tensile_load

ROUNDING = 0.005

STRESS_AREA_MM2 = {
    "M8": 36.6, "M10": 58.0, "M12": 84.3, "M14": 115, "M16": 157, "M18": 192, "M20": 245, "M22": 303,
    "M24": 353, "M27": 459, "M30": 561, "M33": 694, "M36": 817,
}  # fmt: skip

PROOF_LOAD_N = {
    "M8": (21200, 30400, 35500), "M10": (33700, 48100, 56300), "M12": (48900, 70000, 81800),
    "M16": (91000, 130000, 152000), "M20": (147000, 203000, 238000), "M24": (212000, 293000, 342000),
    "M27": (275000, 381000, 445000),
    # the next three from memory
    "M30": (337000, 466000, 544000), "M33": (416000, 576000, 673000), "M36": (490000, 678000, 792000),
}  # fmt: skip

TENSILE_LOAD_N = {
    "M12": (67400, 87700, 103000), "M16": (125000, 163000, 192000), "M20": (203000, 255000, 299000),
    "M24": (293000, 367000, 431000), "M27": (381000, 477000, 560000), "M30": (466000, 583000, 684000),
    "M33": (576000, 722000, 847000), "M36": (678000, 850000, 997000),
}  # fmt: skip


def by_class(table):
    return [
        pytest.param(size, name, load, id=f"{size} {name}")
        for size, loads in table.items()
        for name, load in zip(("8.8", "10.9", "12.9"), loads, strict=True)
    ]


@pytest.mark.parametrize(("size", "area"), STRESS_AREA_MM2.items())
def test_stress_area_is_that_of_table_4(size, area):
    assert parse_thread(size).stress_area * 1e6 == pytest.approx(area, rel=ROUNDING)


@pytest.mark.parametrize(("size", "name", "load"), by_class(PROOF_LOAD_N))
def test_proof_load_is_that_of_table_5(size, name, load):
    assert proof_load(parse_thread(size), parse_class(name)) == pytest.approx(load, rel=ROUNDING)


@pytest.mark.parametrize(("size", "name", "load"), by_class(TENSILE_LOAD_N))
def test_tensile_load_is_that_of_table_4(size, name, load):
    assert tensile_load(parse_thread(size), parse_class(name)) == pytest.approx(load, rel=ROUNDING)


@pytest.mark.parametrize(
    ("name", "size", "stresses"),
    [
        ("8.8", "M16", (580, 640, 800)),  # from memory
        ("8.8", "M18", (600, 660, 830)),
        ("10.9", "M18", (830, 940, 1040)),
        ("12.9", "M18", (970, 1100, 1220)),
    ],
)
def test_stresses_are_those_of_table_3(name, size, stresses):
    strength = parse_class(name).strength(parse_thread(size))
    found = (strength.proof_stress, strength.yield_strength, strength.tensile_strength)
    assert found == pytest.approx([each * 1e6 for each in stresses])
