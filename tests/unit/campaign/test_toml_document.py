"""A fixed file says what was asked and keeps what a person wrote."""

import copy
import difflib
import tomllib
from collections.abc import Callable
from importlib.resources import files
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikeproof.campaign import keys
from strikeproof.campaign.toml_document import merge_document, write_document

DEMO = (
    (files("strikeproof.desk") / "templates" / "demo-campaign.toml").read_text("utf-8").replace("SEED", "1")
)
TEMPLATE = (files("strikeproof.campaign") / "templates" / "campaign.toml").read_text("utf-8")
BAR = {"name": "a", "shape": "bar", "outer_diameter_mm": 20, "length_mm": 30, "material": "A36"}
RING = {"name": "r", "shape": "disc", "length_mm": 9, "material": "A36", "carrier": "a"}
SWING = {"wires": 3, "period_s": 1.2, "wire_length_mm": 800, "spacing_mm": 90}

Tables = dict[str, Any]

EDITS: dict[str, Callable[[Tables], Any]] = {
    "a value": lambda t: t["protocol"].update(duration="5 s"),
    "a wrong value": lambda t: t["protocol"].update(repeats="many"),
    "a key less": lambda t: t["protocol"].pop("cool_down"),
    "a key more": lambda t: t["rig"].update(full_scale=250.5),
    "a tool's value": lambda t: t["tool"][0].update(drive_mm=19.05),
    "a tool more": lambda t: t["tool"].append({"name": "b", "mechanism": "air"}),
    "an article less": lambda t: t["article"].pop(),
    "an article first": lambda t: t["article"].insert(0, {"name": "new", "part": [BAR]}),
    "an article renamed": lambda t: t["article"][0].update(name="renamed"),
    "a part more": lambda t: t["article"][0].setdefault("part", []).append(RING),
    "measured": lambda t: t["article"][0].update(measured={"mass_kg": 0.4, "swing": SWING}),
    "a calibration more": lambda t: t.update(calibration={"sheet": "c.csv", "applied_unit": "N m"}),
}


@pytest.mark.parametrize("text", [DEMO, TEMPLATE], ids=["demo", "template"])
@pytest.mark.parametrize("edit", EDITS.values(), ids=EDITS)
def test_a_change_leaves_all_other_lines_alone(text: str, edit: Callable[[Tables], Any]) -> None:
    wanted = tomllib.loads(text)
    edit(wanted)
    fixed = merge_document(text, wanted)
    assert tomllib.loads(fixed) == wanted
    gone = [line for line in difflib.ndiff(text.splitlines(), fixed.splitlines()) if line.startswith("- #")]
    assert gone == []
    kept = difflib.SequenceMatcher(None, text.splitlines(), fixed.splitlines()).ratio()
    assert kept > 0.7
    assert "\n\n\n" not in fixed


def test_articles_change_over_with_their_own_lines() -> None:
    wanted = tomllib.loads(DEMO)
    wanted["article"].reverse()
    fixed = merge_document(DEMO, wanted)
    assert tomllib.loads(fixed) == wanted
    assert sorted(fixed.split()) == sorted(DEMO.split())


def test_a_table_taken_out_leaves_the_others() -> None:
    wanted = tomllib.loads(TEMPLATE)
    del wanted["rig"]
    fixed = merge_document(TEMPLATE, wanted)
    assert tomllib.loads(fixed) == wanted
    assert "# friction = 0.12" in fixed and "# full_scale" not in fixed


def test_nothing_changed_is_the_same_text() -> None:
    for text in (DEMO, TEMPLATE):
        assert merge_document(text, tomllib.loads(text)) == text


def test_a_comment_beside_a_changed_value_stays() -> None:
    text = "[protocol]\nrepeats = 6   # as agreed in the yard\n"
    assert merge_document(text, {"protocol": {"repeats": 7}}) == text.replace("6", "7")


def test_a_new_file_tells_each_key_once() -> None:
    text = write_document(tomllib.loads(DEMO))
    assert tomllib.loads(text) == tomllib.loads(DEMO)
    assert text.count("# as the run sheet calls it") == 2  # the first tool and the first article
    assert "8e8 " in text


_NAMES = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=12)
_VALUES = st.one_of(
    _NAMES, st.integers(-(2**40), 2**40), st.booleans(), st.floats(allow_nan=False, allow_infinity=False)
)
_ENTRY = st.fixed_dictionaries(
    {"name": _NAMES},
    optional={
        "note": _NAMES,
        "price": _VALUES,
        "part": st.lists(
            st.dictionaries(st.sampled_from(["name", "length_mm"]), _VALUES), min_size=1, max_size=3
        ),
        "measured": st.dictionaries(st.just("mass_kg"), _VALUES),
    },
)
_TABLES = st.fixed_dictionaries(
    {"campaign": st.dictionaries(_NAMES, _VALUES, max_size=4)},
    optional={
        "article": st.lists(_ENTRY, min_size=1, max_size=4),
        "rig": st.dictionaries(_NAMES, _VALUES, max_size=3),
    },
)


@given(_TABLES, _TABLES)
def test_whatever_is_asked_is_said(before: Tables, after: Tables) -> None:
    text = write_document(before)
    assert tomllib.loads(text) == before
    assert tomllib.loads(merge_document(text, copy.deepcopy(after))) == after


def test_every_key_has_its_words() -> None:
    assert list(keys.TABLES) == list(keys.CampaignFile.model_fields)
    for model in keys.TABLES.values():
        assert all(each.title and each.description for each in model.model_fields.values())
