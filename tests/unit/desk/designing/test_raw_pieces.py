from strikeproof.design.records import Base, Brief, Offer
from strikeproof.desk.designing.proposal import find_raw
from strikeproof.parts import read_article

SOCKET = {
    "name": "socket",
    "shape": "bar",
    "outer_diameter_mm": 44,
    "length_mm": 50,
    "material": "42CrMo4 +QT",
    "cut": [{"kind": "hexagon", "size_mm": 27, "depth_mm": 25}, {"kind": "bore", "size_mm": 11}],
}
COLLAR = {
    "name": "collar", "shape": "disc", "outer_diameter_mm": 55, "length_mm": 10, "material": "42CrMo4 +QT",
    "carrier": "socket", "bond": "rigid",
}  # fmt: skip
RING = {
    "name": "ring", "shape": "disc", "outer_diameter_mm": 58, "length_mm": 10, "material": "S355J2",
    "carrier": "socket", "at_mm": 35, "bond": {"kind": "weld", "throat_mm": 3, "runs": 2},
}  # fmt: skip
BRIEF = Brief(
    "b",
    0.027,
    0.0127,
    offers=(
        Offer("bar 50 mm", "42CrMo4 +QT"),
        Offer("bar 60 mm", "42CrMo4 +QT"),
        Offer("bar 60 mm"),
        Offer("bar 80 mm"),
    ),
)


def found(*parts, brief=BRIEF, stock=()):
    table = {"name": "x", "part": list(parts)}
    return find_raw(brief, table, read_article(table), stock)


def test_the_thinnest_bar_of_the_material_is_taken():
    raw = found(SOCKET, RING)
    assert (raw["socket"].source, raw["socket"].what) == ("sawn", "bar 50 mm")
    assert raw["ring"].what == "bar 60 mm"


def test_the_bar_that_the_search_names_wins():
    assert found(SOCKET, RING, stock=("bar 80 mm",))["ring"].what == "bar 80 mm"


def test_a_bar_is_not_taken_because_its_name_begins_that_of_another():
    brief = Brief("b", 0.027, 0.0127, offers=(Offer("bar 80"), Offer("bar 80.5")))
    assert found(SOCKET, RING, brief=brief, stock=("bar 80.5 mm",))["ring"].what == "bar 80.5 mm"


def test_a_collar_stands_on_the_body_whose_bar_must_be_as_wide():
    raw = found(SOCKET, COLLAR)
    assert raw["collar"].source == "with"
    assert raw["socket"].what == "bar 60 mm"


def test_a_base_is_bought_whatever_it_costs():
    brief = Brief("b", 0.027, 0.0127, bases=(Base("shop socket", {"part": [SOCKET]}, 16.0),))
    raw = found({**SOCKET, "price": 16.0}, RING, brief=brief)
    assert (raw["socket"].source, raw["socket"].what) == ("bought", "shop socket")


def test_a_washer_is_taken_as_it_is_sold():
    washer = {
        "name": "ring", "stock": "washer M36", "bore_mm": 44.0, "carrier": "socket",
        "bond": {"kind": "weld", "throat_mm": 3},
    }  # fmt: skip
    assert found(SOCKET, washer)["ring"].source == "item"
