"""Questions on the command line: which is best, any two, a difference as it is written."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.commands import strikeproof
from tests.json_keys import printed

from strikeproof.desk.comparing import answers
from strikeproof.desk.publishing.parts import ask_to_show

CAMPAIGN = """
[campaign]
name = "four articles"
reference = "plain"
margin_percent = 3
currency = "EUR"
[rig]
name = "cell"
unit = "kN"
[[tool]]
name = "air"
[[article]]
name = "plain"
price = 10
[[article]]
name = "ring-27"
price = 30
[[article]]
name = "ring-33"
price = 40
[[article]]
name = "long arm"
price = 20
"""


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Six blocks of scores only: both rings 20 % up, 1.5 % scatter."""
    folder = tmp_path_factory.mktemp("ask")
    rng = np.random.default_rng(3)
    level = {"plain": 100.0, "ring-27": 120.0, "ring-33": 120.0, "long arm": 100.0}
    rows = ["run,tool,article,block,score"]
    for block in range(1, 7):
        for place, article in enumerate(rng.permutation(["plain", *level])):
            score = level[str(article)] * np.exp(rng.normal(0, 0.015))
            rows.append(f"{block}{place},air,{article},{block},{score:.2f}")
    (folder / "runs.csv").write_text("\n".join(rows) + "\n")
    (folder / "campaign.toml").write_text(CAMPAIGN)
    strikeproof("load", folder / "campaign.toml", "-w", folder / "lab")
    return folder / "lab"


def test_the_best_is_not_told_apart_from_its_like(lab: Path) -> None:
    found = printed("ask", "best", "-w", lab)
    (with_air,) = found["best"]
    assert found["says"][0].startswith("With air: cannot tell which is best: ring-")
    assert "The cheapest of these is ring-27 (30.00 EUR)." in found["says"][0]
    assert found["confidence"] == 0.95 and set(with_air["may_be_best"]) == {"ring-27", "ring-33"}
    places = {each["article"]: (each["place_first"], each["place_last"]) for each in with_air["articles"]}
    assert places == {"ring-27": (1, 2), "ring-33": (1, 2), "plain": (3, 4), "long arm": (3, 4)}


def test_all_pairs_or_those_that_are_named(lab: Path) -> None:
    every = printed("ask", "pairs", "-w", lab)
    assert (every["comparisons"], len(every["differences"])) == (6, 6)
    named = printed("ask", "pairs", "ring-27", "long arm", "-w", lab)
    (one,) = named["differences"]
    assert one["verdict"] == "higher" and one["low_percent"] < 20 < one["high_percent"]
    (wider,) = (each for each in every["differences"] if each["weights"] == one["weights"])
    assert wider["low_percent"] < one["low_percent"]  # more comparisons, wider intervals
    out, _ = strikeproof("ask", "pairs", "ring-27", "long arm", "-w", lab)
    assert "ring-27 is higher than long arm by " in out and "This interval holds with 95 %" in out


def test_a_difference_is_judged_as_it_is_written(lab: Path) -> None:
    text = "mean(ring-27, ring-33) - mean(plain, 'long arm')"
    found = printed("ask", "difference", text, "ring-27 - plain", "-w", lab)
    one, other = found["differences"]
    assert one["asked"] == text and one["low_percent"] < 20 < one["high_percent"]
    assert (other["asked"], found["comparisons"]) == ("ring-27 - plain", 2)
    assert found["says"][:1] == [f"“{text}” is higher by {found['says'][0].split(' by ')[1]}"]
    ((_mark, said),) = ask_to_show(lab, text).said
    assert said.startswith(f"“{text}” is higher by ")


def test_specimens_speak_for_the_product(lab: Path) -> None:
    found = printed("ask", "product", "ring-27", "ring-33", "-w", lab)
    (one,) = found["products"]
    assert one["specimens"] == ["ring-27", "ring-33"] and one["low_percent"] < 20 < one["high_percent"]
    assert found["says"][0].startswith("The product that ring-27 and ring-33 are specimens of")


def test_what_changes_with_the_runs_is_said_with_what_would_be_found(lab: Path) -> None:
    found = printed("ask", "ageing", "-w", lab)
    (one,) = found["ageing"]
    assert (found["article"], one["tool"], one["verdict"]) == ("plain", "air", "cannot tell")
    assert one["low_percent"] < 0 < one["high_percent"] and one["found_percent"] > 0
    assert "would show" in found["says"][0] and "four times in five" in found["says"][0]


def test_a_change_to_a_piece_is_judged_and_its_order_looked_at(lab: Path) -> None:
    found = printed("ask", "change", "plain", "ring-27", "-w", lab)
    (one,) = found["changes"]
    assert (one["order"], one["difference"]["verdict"]) == ("took turns", "higher")
    out, _ = strikeproof("ask", "change", "plain", "ring-27", "-w", lab)
    assert "mixed in time" in out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("difference", "ring-72 - plain"), "no article 'ring-72'; did you mean 'ring-27'?"),
        (("pairs", "ring-27"), "name two or more articles"),
        (("tools",), "a single tool drove plain"),
        (("change", "plain", "ring-72"), "no article 'ring-72'; did you mean 'ring-27'?"),
        (("change", "plain", "plain"), "plain"),
        (("ageing", "--with", "ring-72"), "no article 'ring-72'; did you mean 'ring-27'?"),
        (("product", "ring-27"), "1 specimen, 2 needed"),
    ],
)
def test_what_cannot_be_asked_says_why(lab: Path, words: tuple[str, ...], says: str) -> None:
    _, err = strikeproof("ask", *words, "-w", lab, code=2)
    assert says in err


def test_tools_are_asked_for_on_the_line(lab: Path, tmp_path: Path) -> None:
    text = (lab.parent / "campaign.toml").read_text()
    (tmp_path / "campaign.toml").write_text(
        text.replace('name = "air"', 'name = "air"\n[[tool]]\nname = "cell"')
    )
    rng = np.random.default_rng(5)
    rows = ["run,tool,article,block,score"]
    for block in range(12):
        tool = ("air", "cell")[(block + block // 2) % 2]
        for place, article in enumerate(rng.permutation(["plain", "plain", "ring-27"])):
            score = 100 * (1.1 if tool == "cell" else 1.0) * (1.2 if article == "ring-27" else 1.0)
            rows.append(f"{block}-{place},{tool},{article},{block},{score * np.exp(rng.normal(0, 0.01)):.2f}")
    (tmp_path / "runs.csv").write_text("\n".join(rows) + "\n")
    strikeproof("load", tmp_path / "campaign.toml", "-w", tmp_path / "lab")
    found = printed("ask", "tools", "-w", tmp_path / "lab")
    assert (found["article"], found["paired"], found["unknown"]) == ("plain", True, None)
    (one,) = found["differences"]
    assert (one["tool"], one["other"], one["verdict"]) == ("cell", "air", "higher")
    assert one["low_percent"] < 10 < one["high_percent"]
    assert found["effects"]["verdict"] in ("same", "cannot tell")
    out = strikeproof("ask", "best", "-w", tmp_path / "lab")[0].splitlines()
    for tool in ("air", "cell"):  # a table of each, under its name
        assert out[out.index(f"Which is best with {tool}:") + 1].startswith("article ")


def test_a_text_may_begin_with_a_minus(lab: Path) -> None:
    said = strikeproof("ask", "difference", "-plain + ring-27", "-w", lab)[0]
    assert "ring-27 is higher than plain by" in said


def test_a_minus_without_blanks_is_hinted_at(lab: Path) -> None:
    error = strikeproof("ask", "difference", "ring-27-plain", "-w", lab, code=2)[1]
    assert "no article is called 'ring-27-plain'" in error and "blanks around it: ring-27 - plain" in error


def test_tools_that_cannot_be_compared_are_named_with_the_reason(tmp_path: Path) -> None:
    tool = '[[tool]]\nname = "air"\n'
    (tmp_path / "campaign.toml").write_text(CAMPAIGN.replace(tool, tool + '[[tool]]\nname = "cord"\n'))
    rows = ["run,tool,article,block,score"]
    for block in range(1, 5):
        rows += [
            f"{block}a,air,plain,air{block},{100 + block}",
            f"{block}b,air,ring-27,air{block},{118 + block % 3}",
            f"{block}c,cord,plain,cord{block},{90 + block % 2}",
        ]
    (tmp_path / "runs.csv").write_text("\n".join(rows) + "\n")
    strikeproof("load", tmp_path / "campaign.toml", "-w", tmp_path / "lab")
    said = strikeproof("ask", "tools", "-w", tmp_path / "lab")[0]
    assert "not clear whether what the articles do holds with each tool: air (no other article" in said


def test_scores_that_repeat_are_not_called_too_few(tmp_path: Path) -> None:
    (tmp_path / "campaign.toml").write_text(CAMPAIGN)
    rows = ["run,tool,article,block,score"]
    for block in range(1, 5):
        rows += [f"{block}a,air,plain,{block},100", f"{block}b,air,ring-27,{block},110"]
    (tmp_path / "runs.csv").write_text("\n".join(rows) + "\n")
    strikeproof("load", tmp_path / "campaign.toml", "-w", tmp_path / "lab")
    for command in (("compare",), ("ask", "difference", "ring-27 - plain")):
        said = strikeproof(*command, "-w", tmp_path / "lab")[0]
        assert "no interval: too few" not in said and "repeat to the last digit" in said


def test_one_tool_has_a_sheet_of_its_own(lab: Path) -> None:
    found = printed("ask", "tool", "air", "-w", lab)
    scores = {each["name"]: each for each in found["scores"]}
    assert scores["plain"]["runs"] == 12 and scores["ring-27"]["runs"] == 6
    plain = scores["plain"]
    assert plain["scatter_percent"] == pytest.approx(600.0 * plain["deviation"] / plain["mean"])
    assert (found["place_first"], found["supplies"]) == (None, [])
    assert {each["article"] for each in found["articles"]} == {"plain", "ring-27", "ring-33", "long arm"}
    assert found["ageing"][0]["tool"] == "air"
    out, _ = strikeproof("ask", "tool", "air", "-w", lab)
    assert "6 s / mean" in out and "This is no test by it" in out
    _, told = strikeproof("ask", "tool", "ait", "-w", lab, code=2)
    assert "did you mean 'air'?" in told


def test_how_many_blocks_are_enough_and_what_they_cost(lab: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(answers, "CAMPAIGNS", 30)
    found = printed("ask", "enough", "-w", lab, "--difference", "4", "--hour", "36", "--bolt", "2")
    assert found["made"] == 6 and found["needed"] is not None and 1.0 < found["scatter_percent"] < 2.5
    (last,) = (each for each in found["tried"] if each["blocks"] == found["needed"])
    assert last["power"] >= 0.8 and last["runs"] == 5 * last["blocks"] and last["bolts"] is None
    assert last["cost"] == pytest.approx(36.0 * last["time_s"] / 3600.0)
    assert (
        f"{found['needed']} blocks of each tool show a difference of 4 % in 80 % of campaigns"
        in found["says"][0]
    )
    out, _ = strikeproof("ask", "enough", "-w", lab, "--difference", "4", "--bolt", "2")
    assert "Bolts are not in the cost" in " ".join(out.split())
    _, told = strikeproof("ask", "enough", "-w", lab, "--difference", "0", code=2)
    assert "more than 0 %" in told
