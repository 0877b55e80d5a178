"""TOML of a person or a stranger: tables or one problem, in bounded time and memory, whatever is in it."""

from __future__ import annotations

import contextlib
import gzip
import time
from pathlib import Path

import pytest
from tests.unit.desk.live_bench import CAMPAIGN

from strikeproof.campaign.folder import read_campaign, read_own_materials
from strikeproof.campaign.toml_reader import MOST_BYTES, MOST_DEEP, MOST_VALUES, read_toml
from strikeproof.desk.designing.brief import load_brief
from strikeproof.errors import BadFile

HOSTILE = {
    "a dotted key of 20,000 parts": ".".join("a" * 20_000) + "=1",
    "dotted header": "[" + ".".join(["'a'"] * 20_000) + "]",
    "nested arrays": "a=" + "[" * 900 + "]" * 900,
    "arrays deeper than the parser goes": "a=" + "[" * 100_000,
    "nested tables": "a=" + "{a=" * 200 + "1" + "}" * 200,
    "many keys": "\n".join(f"k{i}=0" for i in range(MOST_VALUES + 1)),
    "a long array": "a=[" + "1," * 50_000 + "]",
    "many articles": "[[article]]\n" * 1001,
    "a long key": '"' + "k" * 100_000 + '"=1',
    "a number beyond 64 bits": "a=0x" + "f" * 20_000,
    "a number of 5000 digits": "a=" + "9" * 5000,
    "a header of spaces": "[" + " " * 300_000,
    "too long": "#" * (MOST_BYTES + 1),
}


def say(path: Path) -> str:
    """What is said of a campaign file, within a second or two of a busy machine."""
    start = time.process_time()
    with pytest.raises(BadFile) as wrong:
        read_campaign(path)
    assert time.process_time() - start < 2.0
    assert len(wrong.value.problems) < 300 and all(len(str(each)) < 800 for each in wrong.value.problems)
    return str(wrong.value)


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_a_hostile_file_is_one_problem_at_once(tmp_path: Path, text: str) -> None:
    path = tmp_path / "campaign.toml"
    path.write_text(text)
    assert str(path) in say(path)
    (tmp_path / "materials.toml").write_text(text)
    with pytest.raises(BadFile, match=r"materials\.toml"):
        read_own_materials(tmp_path)


def test_thousands_of_unknown_keys_are_named_as_far_as_anybody_reads(tmp_path: Path) -> None:
    keys = "\n".join(f"k{i}=0" for i in range(MOST_VALUES - 100))
    (tmp_path / "campaign.toml").write_text(CAMPAIGN.replace("[rig]", f"{keys}\n[rig]"))
    with pytest.raises(BadFile) as wrong:
        read_campaign(tmp_path / "campaign.toml")
    said = [(each.line, each.problem) for each in wrong.value.problems]
    assert said[0] == (9, "unknown key 'protocol.k0'")
    assert said[100] == (109, f"and {MOST_VALUES - 200} more problems")
    (tmp_path / "brief.toml").write_text(keys)
    with pytest.raises(BadFile, match="unknown table 'k0'"):
        load_brief(tmp_path / "brief.toml")


def test_what_is_packed_is_not_unpacked_beyond_the_limit(tmp_path: Path) -> None:
    (tmp_path / "campaign.toml").write_bytes(gzip.compress(b"#" * 5_000_000))
    assert "holds more than 1 MiB; check what file it is" in say(tmp_path / "campaign.toml")


def test_what_a_person_writes_is_far_within_the_limits(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    note = ".".join(["e.g"] * 5) + " ... v1.2.3.4.5 "
    path.write_text(f'# {note * 9}\na.b."c d".e = 1\ntext = "{note * 9}"\nlong = [{"0.5," * 4000}]\n')
    assert read_toml(path)[0]["a"] == {"b": {"c d": {"e": 1}}}
    path.write_text("a" + ".a" * (MOST_DEEP - 2) + "= 1")
    assert "a" in read_toml(path)[0]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("material = 5", "is no table"),
        ("[[material]]\na = 1", "is no table"),
        ("[material]\nbronze = 5", "material 'bronze': is no table"),
        ("[materials.bronze]\na = 1", "unknown table 'materials'"),
        ("[material.bronze]\ndensity = 1", "no key of material 'bronze' 'density'"),
        ('[material.bronze]\n{}\ndensity_kg_m3 = "8000"', "density_kg_m3 = '8000'"),
        ("[material.bronze]\n{}\ndensity_kg_m3 = [8000]", "density_kg_m3 = "),
        ("[material.bronze]\n{}\ndensity_kg_m3 = nan", "density_kg_m3 = nan"),
        ('[material.bronze]\n{}\ndensity_kg_m3 = 8000\nhardenable = "no"', "hardenable = 'no'"),
        ("[material.bronze]\n{}\ndensity_kg_m3 = 8000\nsource = 2026-05-04", "source = "),
    ],
)
def test_a_material_of_the_wrong_type_is_a_problem(tmp_path: Path, text: str, says: str) -> None:
    rest = "shear_modulus_gpa = 40\nelastic_modulus_gpa = 110\nyield_mpa = 200\n"
    path = tmp_path / "materials.toml"
    path.write_text(text.replace("{}", rest + "tensile_mpa = 400\nendurance_mpa = 90"))
    with pytest.raises(BadFile, match=r"materials\.toml") as wrong:
        read_own_materials(tmp_path)
    assert says in str(wrong.value)


WRONG = ("5", "-1.5", "nan", "true", '"text"', '""', "[]", "[[1]]", "{ a = 1 }", "1979-05-27", "07:32:00")


@pytest.mark.parametrize("value", WRONG)
def test_any_key_of_any_type_is_read_or_a_problem(tmp_path: Path, value: str) -> None:
    """Every line of the campaign in turn, with a value of this type."""
    lines = CAMPAIGN.splitlines()
    path = tmp_path / "campaign.toml"
    for number, line in enumerate(lines):
        name = line.strip("[]").split(" = ")[0]
        changed = f"{name} = {value}" if "=" in line or lines[number + 1 :] else line
        path.write_text("\n".join([*lines[:number], changed, *lines[number + 1 :]]))
        with contextlib.suppress(BadFile):
            read_campaign(path)
