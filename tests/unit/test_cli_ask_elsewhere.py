"""Whether results hold on other benches: three campaigns on two benches and a published table."""

from __future__ import annotations

import html
import shutil
from pathlib import Path

import numpy as np
import pytest
from tests.commands import strikeproof
from tests.json_keys import printed

from strikeproof.campaign.store import open_store

CAMPAIGN = """
[campaign]
name = "{name}"
reference = "plain"
[protocol]
duration = "{duration}"
[rig]
name = "{bench}"
unit = "{unit}"
[[tool]]
name = "air"
[[article]]
name = "plain"
[[article]]
name = "ring-27"
[[article]]
name = "{third}"
"""
PUBLISHED = """
[published]
name = "ring table"
source = "An invented table, page 3"
date = 2026-03-01
bench = "bench C"
unit = "N m"
simulated = true
[[article]]
name = "plain"
mean = 300
runs = 8
standard_deviation = 6
[[article]]
name = "ring-27"
median = 363
runs = 8
lowest = 352
highest = 371
"""


def write_campaign(
    place: Path, name: str, bench: str, third: str, *, unit: str = "kN", duration: str = "10 s"
) -> Path:
    """Six blocks of scores only: ring-27 20 % up, the third article equal, 1.5 % scatter."""
    place.mkdir()
    rng = np.random.default_rng(sum(name.encode()))
    level = {"plain": 100.0, "ring-27": 120.0, third: 100.0}
    rows = ["run,tool,article,block,score"]
    for block in range(1, 7):
        for at, article in enumerate(rng.permutation(["plain", *level])):
            score = level[str(article)] * np.exp(rng.normal(0, 0.015))
            rows.append(f"{block}{at},air,{article},{block},{score:.2f}")
    (place / "runs.csv").write_text("\n".join(rows) + "\n")
    text = CAMPAIGN.format(name=name, bench=bench, third=third, unit=unit, duration=duration)
    (place / "campaign.toml").write_text(text)
    return place / "campaign.toml"


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("elsewhere")
    for name, bench, third in (
        ("may", "bench A", "arm"),
        ("june", "bench A", "arm"),
        ("july", "bench B", "ring-33"),
    ):
        strikeproof("load", write_campaign(folder / name, name, bench, third), "-w", folder / "lab")
    (folder / "lab" / "published-summaries").mkdir()
    (folder / "lab" / "published-summaries" / "table.toml").write_text(PUBLISHED)
    return folder / "lab"


def test_three_campaigns_on_two_benches_and_a_table_give_one_answer(lab: Path) -> None:
    found = printed("ask", "elsewhere", "-w", lab)
    ring = next(each for each in found["articles"] if each["article"] == "ring-27")
    assert (ring["verdict"], ring["benches"], ring["direct"]) == ("higher", 3, 4)
    assert ring["low_percent"] < 20.0 < ring["high_percent"]
    assert ring["next_low_percent"] < 20.0 < ring["next_high_percent"]
    other = next(each for each in found["articles"] if each["article"] == "ring-33")
    assert other["benches"] < 3 and other["next_low_percent"] is None
    assert [each["name"] for each in found["sources"]] == ["may", "june", "july", "ring table"]
    assert {each["bench"] for each in found["benches"]} == {"bench A", "bench B", "bench C"}
    (precision,) = found["precision"]
    assert (precision["tool"], precision["kind"], precision["benches"]) == ("air", "force", 2)
    assert precision["repeatability_percent"] == pytest.approx(1.5, rel=0.5)


def test_what_is_said_names_what_is_simulated_and_the_next_bench(lab: Path) -> None:
    out, _ = strikeproof("ask", "elsewhere", "-w", lab)
    assert "ring-27 is higher than plain over 3 benches: +" in out
    assert "One more bench would find +" in out
    assert "Simulated, so no measurement: ring table." in out


def test_another_length_of_a_run_is_left_out_by_name(lab: Path, tmp_path: Path) -> None:
    text = PUBLISHED.replace("simulated", 'duration = "5 s"\nsimulated').replace("ring table", "short")
    text = text.replace("mean = 300", "mean = 299")
    (tmp_path / "short.toml").write_text(text)
    found = printed("ask", "elsewhere", "-w", lab, "--published", tmp_path / "short.toml")
    assert found["left_out"] == [{"name": "short", "why": "question", "detail": ""}]


def test_a_scale_that_does_not_start_at_zero_is_left_out(lab: Path, tmp_path: Path) -> None:
    text = PUBLISHED.replace('unit = "N m"', 'unit = "reading"').replace("ring table", "odd scale")
    text = text.replace("mean = 300", "mean = 299")
    path = tmp_path / "odd.toml"
    path.write_text(text)
    _, told = strikeproof("ask", "elsewhere", "-w", lab, "--published", path, code=2)
    assert "nothing says where its scale starts" in told
    path.write_text(text.replace("simulated", "scale_from_zero = false\nsimulated"))
    found = printed("ask", "elsewhere", "-w", lab, "--published", path)
    assert found["left_out"] == [{"name": "odd scale", "why": "scale", "detail": ""}]
    path.write_text(text.replace("simulated", "scale_from_zero = true\nsimulated"))
    found = printed("ask", "elsewhere", "-w", lab, "--published", path, "--calibrated")
    assert found["left_out"] == [{"name": "odd scale", "why": "not calibrated", "detail": ""}]


@pytest.mark.parametrize(
    ("wrong", "right", "said"),
    [
        (
            "runs = 8\nstandard_deviation = 6",
            "runs = 1\nstandard_deviation = 6",
            "greater than or equal to 2",
        ),
        ("standard_deviation = 6", "", "one kind of spread is needed"),
        ("mean = 300", "mean = 300\nmedian = 301", "a mean or a median is needed, not both"),
        ("lowest = 352", "lowest = 392", "lowest is not below highest"),
        ('name = "ring-27"', 'name = "plain"', "article 'plain' is there twice"),
        ("date = 2026-03-01", 'date = "last spring"', "write it like 2026-05-04"),
        ("date = 2026-03-01", "date = 2999-03-01", "is in the future"),
        (
            "lowest = 352\nhighest = 371",
            "lower_quartile = 364\nupper_quartile = 371",
            "median 363 is not within",
        ),
        (
            "mean = 300\nruns = 8\nstandard_deviation = 6",
            "mean = 300\nruns = 8\nlowest = 301\nhighest = 305",
            "mean 300",
        ),
        ("mean = 300", "mean = 1e300", "less than or equal to"),
        ("standard_deviation = 6", "standard_deviation = 1e-300", "the spread 1e-300"),
        ("standard_deviation = 6", "standard_deviation = 600", "the spread 600"),
        ("bench =", "bensh =", "unknown key 'published.bensh'"),
    ],
)
def test_a_bad_table_is_refused_with_its_line(
    lab: Path, tmp_path: Path, wrong: str, right: str, said: str
) -> None:
    (tmp_path / "bad.toml").write_text(PUBLISHED.replace(wrong, right))
    _, told = strikeproof("ask", "elsewhere", "-w", lab, "--published", tmp_path / "bad.toml", code=2)
    assert said in told and "bad.toml" in told


def test_one_campaign_alone_is_refused(lab: Path, tmp_path: Path) -> None:
    path = write_campaign(tmp_path / "alone", "alone", "bench A", "arm")
    strikeproof("load", path, "-w", tmp_path / "lab")
    _, told = strikeproof("ask", "elsewhere", "-w", tmp_path / "lab", code=2)
    assert "1 source, 2 needed" in told and "published-summaries" in told


def test_a_table_given_twice_is_refused(lab: Path, tmp_path: Path) -> None:
    (tmp_path / "again.toml").write_text(PUBLISHED)
    _, told = strikeproof("ask", "elsewhere", "-w", lab, "--published", tmp_path / "again.toml", code=2)
    assert "the same was given in table.toml" in told


def test_what_cannot_be_used_is_left_out_by_name_and_the_others_answer(lab: Path, tmp_path: Path) -> None:
    shutil.copytree(lab, tmp_path / "lab")
    (tmp_path / "lab" / "published-summaries" / "worse.toml").write_text(
        PUBLISHED.replace("bench =", "bensh =")
    )
    planned = write_campaign(tmp_path / "planned", "planned", "bench A", "arm")
    (planned.parent / "runs.csv").write_text("run,tool,article,block,score\n")
    strikeproof("load", planned, "-w", tmp_path / "lab", code=2)  # planned, nothing made
    found = printed("ask", "elsewhere", "-w", tmp_path / "lab")
    assert len(found["sources"]) == 4
    assert [(each["name"], each["why"]) for each in found["left_out"]] == [
        ("worse.toml", "file"),
        ("planned", "refused"),
    ]
    assert "worse.toml, line 2" in found["left_out"][0]["detail"]


def test_the_question_is_that_of_the_first_source_with_the_tool(lab: Path, tmp_path: Path) -> None:
    """The first of the list may be of another tool and another length of a run: it has no say."""
    shutil.copytree(lab, tmp_path / "lab")
    for name, duration in (("a-first", "5 s"), ("b", "10 s"), ("c", "10 s")):
        path = write_campaign(tmp_path / name, name, f"bench of {name}", "arm", duration=duration)
        if name != "a-first":
            for each in (path, path.parent / "runs.csv"):
                each.write_text(each.read_text().replace("air", "cell"))
        strikeproof("load", path, "-w", tmp_path / "lab")
    shutil.rmtree(tmp_path / "lab" / "published-summaries")
    found = printed("ask", "elsewhere", "-w", tmp_path / "lab", "--tool", "cell", "--campaign", "a-first",
                    "--campaign", "b", "--campaign", "c")  # fmt: skip
    assert [each["name"] for each in found["sources"]] == ["b", "c"]
    _, told = strikeproof("ask", "elsewhere", "-w", tmp_path / "lab", "--campaign", "a-first", "--campaign",
                          "b", code=2)  # fmt: skip
    assert "b: its score, direction or length of a run is another one" in told


def test_a_page_says_whether_it_holds_elsewhere_where_that_is_asked(lab: Path, tmp_path: Path) -> None:
    said = strikeproof("ask", "elsewhere", "-w", lab, "--reference", "plain")[0].splitlines()[0]
    name = open_store(lab).campaigns()[0]
    for words, expected in (((), False), (("--elsewhere",), True)):
        strikeproof("report", "-w", lab, "--campaign", name, "-o", tmp_path / "page.html", *words)
        page = html.unescape((tmp_path / "page.html").read_text()).replace("\u00a0", " ")
        assert (said in page) == expected
        assert ("Does it hold elsewhere" in page) == expected
        assert ("page.html --elsewhere" in page) == expected
