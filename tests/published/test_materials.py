"""Materials against standards and handbooks, typed here a second time.

Sources
-------
EN 10083-3 / ISO 683-2:2018 (42CrMo4 +QT), EN 10025-2 Table 7 (S355J2), ASTM A53 (from memory),
ASM Metals Handbook and Shigley Table A-21 (4140), ASTM B777-15 Table 1 (tungsten heavy alloy),
ASM Metals Handbook Desk Edition, elastic constants; CRC Handbook (lead);
Budynas & Nisbett, *Shigley's Mechanical Engineering Design*, eq. (6-8) (endurance, from memory).
"""

from __future__ import annotations

import pytest

from strikeproof.errors import BadInput, NotFound
from strikeproof.parts.handling import temper_of
from strikeproof.parts.materials import find_material, material_names, read_materials


@pytest.mark.parametrize(
    ("diameter", "yields", "tensile"),
    [(16, 900, 1100), (16.5, 750, 1000), (40, 750, 1000), (63, 650, 900), (160, 550, 800), (200, 500, 750)],
)
def test_42crmo4_by_diameter(diameter, yields, tensile):
    """EN 10083-3: warranted strength falls with the ruling diameter."""
    found = find_material("42CrMo4 +QT", diameter=diameter * 1e-3)
    assert (found.yield_strength, found.tensile_strength) == pytest.approx((yields * 1e6, tensile * 1e6))


@pytest.mark.parametrize(("thickness", "yields"), [(16, 355), (20, 345), (50, 335), (80, 325), (100, 315)])
def test_s355_by_thickness(thickness, yields):
    """EN 10025-2, Table 7."""
    found = find_material("S355J2", thickness=thickness * 1e-3)
    assert found.yield_strength == pytest.approx(yields * 1e6)


@pytest.mark.parametrize(
    ("celsius", "tensile", "yields"),
    [(205, 1772, 1641), (315, 1551, 1434), (425, 1248, 1138), (540, 951, 834), (650, 758, 655)],
)
def test_4140_by_temper(celsius, tensile, yields):
    """ASM; Shigley, Table A-21."""
    found = find_material(f"4140 tempered at {celsius} C")
    assert (found.tensile_strength, found.yield_strength) == pytest.approx((tensile * 1e6, yields * 1e6))


def test_4140_by_hardness_agrees_with_the_temper_of_that_hardness():
    """Tempered at 425 °C it has 370 HB (from memory), which is 40 HRC in ASTM E140 (371 HB)."""
    hard, temper = find_material("4140 at 40 HRC"), find_material("4140 tempered at 425 C")
    assert hard.tensile_strength == pytest.approx(temper.tensile_strength, rel=0.01)
    assert find_material("42CrMo4 at 370 HB").yield_strength == pytest.approx(temper.yield_strength)


def test_4140_annealed_and_normalised():
    """ASM: 655/417 and 1020/655 MPa."""
    for name, tensile, yields in (("4140 annealed", 655, 417), ("4140 normalised", 1020, 655)):
        found = find_material(name)
        assert (found.tensile_strength, found.yield_strength) == pytest.approx((tensile * 1e6, yields * 1e6))


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("tungsten heavy alloy 90", 16.85, 17.30),
        ("tungsten heavy alloy 92.5", 17.15, 17.85),
        ("tungsten heavy alloy 95", 17.75, 18.35),
        ("tungsten heavy alloy 97", 18.25, 18.85),
        ("lead", 11.3, 11.35),
        ("7075-T6", 2.80, 2.82),
        ("Ti-6Al-4V", 4.42, 4.43),
        ("A36", 7.85, 7.85),
    ],
)
def test_densities(name, low, high):
    """ASTM B777 for tungsten alloys, CRC Handbook for lead, data sheets for the light metals; g/cm³."""
    assert low - 1e-9 <= find_material(name).density / 1000 <= high + 1e-9


@pytest.mark.parametrize(
    ("name", "elastic", "shear", "tolerance"),
    [
        ("4140 annealed", 30.7, 11.9, 0.04),  # mild steel
        ("S355J2", 30.7, 11.9, 0.02),
        ("lead", 2.34, 0.811, 0.01),
        ("7075-T6", 10.2, 3.80, 0.03),  # aluminium
        ("Ti-6Al-4V", 17.4, 6.61, 0.06),  # pure titanium
    ],
)
def test_elastic_constants(name, elastic, shear, tolerance):
    """ASM Metals Handbook Desk Edition, in million psi; alloys differ from the metal by a few per cent."""
    found = find_material(name)
    assert found.elastic_modulus == pytest.approx(elastic * 6.894757e9, rel=tolerance)
    assert found.shear_modulus == pytest.approx(shear * 6.894757e9, rel=tolerance)


def test_strengths_of_the_light_metals_and_pipe():
    """7075-T6: 572/503/159 MPa; Ti-6Al-4V: 897/828; A53 B: 415/240; A36: 400/250."""
    for name, tensile, yields in (("7075-T6", 572, 503), ("Ti-6Al-4V", 897, 828), ("A53 grade B", 415, 240)):
        found = find_material(name)
        assert (found.tensile_strength, found.yield_strength) == pytest.approx((tensile * 1e6, yields * 1e6))
    assert find_material("7075-T6").endurance == pytest.approx(159e6)


def test_endurance_of_steel_is_half_its_strength_up_to_700_mpa():
    """Shigley, eq. (6-8): 0.5 Rm up to 1400 MPa, 700 MPa above."""
    assert find_material("4140 tempered at 540 C").endurance == pytest.approx(0.5 * 951e6)
    assert find_material("4140 tempered at 205 C").endurance == pytest.approx(700e6)


@pytest.mark.parametrize("name", material_names())
def test_every_material_says_where_its_numbers_stand(name):
    found = find_material(name)
    assert len(found.source) > 10
    assert 0 < found.endurance < found.tensile_strength
    assert 0.2 < found.poisson < 0.47


def test_a_persons_own_material_wins():
    own = read_materials(
        {
            "lead": {
                "density_kg_m3": 11000,
                "shear_modulus_gpa": 6,
                "elastic_modulus_gpa": 17,
                "yield_mpa": 12,
                "tensile_mpa": 30,
                "endurance_mpa": 5,
                "source": "our scales",
            }
        }
    )
    assert find_material("lead", own).density == 11000
    assert find_material("lead", own).source == "our scales"


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("4140 at 70 HRC", "20 to 54 HRC"),
        ("4140 tempered at 900 C", "205 to 650"),
        ("42CrMo4 +QT", "up to 250 mm"),
    ],
)
def test_outside_the_table_is_refused(name, message):
    with pytest.raises(BadInput, match=message):
        find_material(name, diameter=0.3)


def test_a_misspelt_material_gets_the_nearest():
    with pytest.raises(NotFound, match="7075-T6"):
        find_material("7075-T7")


@pytest.mark.parametrize("row", [{"densty_kg_m3": 1}, {"density_kg_m3": -5}, {"density_kg_m3": "heavy"}, {}])
def test_a_persons_own_material_is_checked(row):
    with pytest.raises((BadInput, NotFound), match="bronze"):
        read_materials({"bronze": row})


@pytest.mark.parametrize("name", ["4140 at 4.5.5 HRC", "42CrMo4 at .. HB", "4140 tempered at 4.2.5 C"])
def test_a_hardness_that_is_no_number_is_no_material(name: str) -> None:
    with pytest.raises(NotFound, match="material"):
        find_material(name)
    assert temper_of(name) is None
