"""The command that tells where an article touches: its answers, exit codes and words."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.commands import strikeproof
from tests.json_keys import printed

ARTICLE = """
[article]
name = "ringed"
[[article.part]]
name = "socket"
shape = "bar"
outer_diameter_mm = 38
length_mm = 50
material = "4140 at 45 HRC"
cut = [
  { kind = "square drive", size_mm = 12.5, depth_mm = 18 },
  { kind = "hexagon", size_mm = 27, depth_mm = 25 },
]
[[article.part]]
name = "ring"
shape = "disc"
outer_diameter_mm = 72
length_mm = 16
material = "S355J2"
carrier = "socket"
bond = { kind = "weld", throat_mm = 4, runs = 2 }
"""
POCKET = """
[envelope]
free_length_mm = 120
nearest_wall_mm = 60
clearance_mm = 1
pocket = [{ to_depth_mm = 30, diameter_mm = 90 }, { to_depth_mm = 55, diameter_mm = 52 }]
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "article.toml").write_text(ARTICLE)
    (tmp_path / "pocket.toml").write_text(POCKET)
    (tmp_path / "wide.toml").write_text(POCKET.replace("52", "90"))
    return tmp_path


def fit_check(*words: str | Path, code: int) -> tuple[str, str]:
    return strikeproof("fit-check", *words, code=code)


def test_where_it_touches_by_how_much_and_what_fixes_it(folder: Path) -> None:
    found = printed("fit-check", folder / "article.toml", folder / "pocket.toml", code=1)
    assert found["fits"] is False
    (touch,) = found["touches"]
    assert (touch["part"], touch["limit"], touch["step_to_depth_m"]) == ("ring", "pocket", 0.055)
    # Its lower edge stands (50 - 16)/2 = 17 mm above the seat, the ledge 25 mm and 1 mm of clearance.
    assert (touch["from_m"], touch["to_m"]) == (pytest.approx(0.017), pytest.approx(0.026))
    assert touch["excess_m"] == pytest.approx(0.036 - 0.025)
    assert {fix["key"]: fix["value_m"] for fix in found["fixes"]} == {
        "outer_diameter_mm": pytest.approx(0.050),
        "at_mm": pytest.approx(0.008),
        "pocket.2.diameter_mm": pytest.approx(0.074),
    }
    assert any("tool's nose" in caution for caution in found["cautions"])


def test_in_words(folder: Path) -> None:
    out, _ = fit_check(folder / "article.toml", folder / "pocket.toml", code=1)
    assert "too wide by 11 mm on the radius from 17 to 26 mm above the seat" in out
    assert "turn 'ring' down to 50 mm" in out
    assert "! The bolt end is taken to sit on the seat" in out


def test_what_fits_ends_with_0(folder: Path) -> None:
    found = printed("fit-check", folder / "article.toml", folder / "wide.toml", code=0)
    assert found["fits"] is True
    assert found["touches"] == found["fixes"] == []
    assert found["swept_diameter_m"] == pytest.approx(0.072)


def test_the_fix_it_tells_makes_it_fit(folder: Path) -> None:
    (folder / "article.toml").write_text(ARTICLE.replace("length_mm = 16", "length_mm = 16\nat_mm = 8"))
    fit_check(folder / "article.toml", folder / "pocket.toml", code=0)


@pytest.mark.parametrize(
    ("article", "envelope", "told"),
    [
        (ARTICLE, POCKET.replace("free_length_mm", "fre_length_mm"), "line 3: envelope: unknown key"),
        (ARTICLE, "[envelop]\n", "did you mean 'envelope'"),
        (ARTICLE.replace("38", "-38"), POCKET, "outer_diameter_mm = -38"),
        ('[article]\nname = "x"\npolar_inertia_kg_m2 = 6e-5\n', POCKET, "no dimensions"),
        (ARTICLE, "", "empty"),
    ],
)
def test_bad_input_ends_with_2_and_its_fix(folder: Path, article: str, envelope: str, told: str) -> None:
    (folder / "article.toml").write_text(article)
    (folder / "pocket.toml").write_text(envelope)
    out, err = fit_check(folder / "article.toml", folder / "pocket.toml", code=2)
    assert out == ""
    assert told in err


def test_a_file_that_is_not_there(folder: Path) -> None:
    assert "there is no such file" in fit_check(folder / "article.toml", folder / "none.toml", code=2)[1]
