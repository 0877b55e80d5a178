"""A title picture by command: its numbers are those of the comparison, and what is there stays."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from tests.commands import strikeproof
from tests.unit.desk.publishing.plain_bundle import CAMPAIGN, rows

from strikeproof.desk.comparing.compare import compare_campaign
from strikeproof.desk.loading.load import load_campaign
from strikeproof.publish.verdicts import gain_words


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("still")
    (home / "campaign.toml").write_text(CAMPAIGN)
    (home / "runs.csv").write_text(rows({"ring": 0.1, "sleeve": 0.05}, seed=1))
    load_campaign(home, home / "lab")
    Image.fromarray(np.full((90, 120, 3), 200, np.uint8)).save(home / "photo.png")
    return home / "lab"


@pytest.mark.parametrize(("shape", "size"), [("16:9", (640, 360)), ("1:1", (360, 360))])
def test_a_title_picture_has_the_numbers_of_the_comparison(
    lab: Path, tmp_path: Path, shape: str, size: tuple[int, int]
) -> None:
    out, photo = tmp_path / "t.png", lab.parent / "photo.png"
    words = ("still", "-w", lab, "--photo", photo, "-o", out, "--format", shape, "--size", 360)
    strikeproof(*words, code=0)
    picture = Image.open(out)
    assert picture.size == size and len(picture.getcolors(100_000)) > 10
    says = out.with_suffix(".txt").read_text()
    for each in compare_campaign(lab).comparison.results:
        assert each.verdict == "reference" or f"{each.article}: {each.verdict}, {gain_words(each)}." in says
    _, err = strikeproof(*words, code=2)
    assert "is there already" in err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("-o", "t.jpg"), "ends in .png"),
        (("-o", "t.png", "--tool", "oil"), "oil"),
        (("-o", "t.png", "--article", "bolt"), "bolt"),
        (("-o", "t.png", "--look", "grey"), "dark, light"),
        (("-o", "t.png", "--size", "200"), "360 to 2160 pixels"),
    ],
)
def test_what_cannot_be_drawn_says_why(
    lab: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], says: str
) -> None:
    monkeypatch.chdir(tmp_path)
    _, err = strikeproof("still", "-w", lab, "--photo", lab.parent / "photo.png", *words, code=2)
    assert says in err and not list(tmp_path.iterdir())


def test_a_title_picture_shows_any_chart_of_the_report(lab: Path, tmp_path: Path) -> None:
    out, photo = tmp_path / "t.png", lab.parent / "photo.png"
    words = ("still", "-w", lab, "--photo", photo, "-o", out, "--format", "9:16", "--size", 1080)
    strikeproof(*words, "--chart", "gain", "--title", "Rings")
    picture = Image.open(out)
    assert picture.size == (1080, 1920)
    assert picture.getpixel((540, 6)) == (200, 200, 200)  # the photo above the card
    says = out.with_suffix(".txt").read_text()
    assert says.startswith("Photo with a chart over it: Rings. ") and "ring" in says
    small = (*words[:-1], 360, "--replace", "--chart", "gain")
    assert "larger --size" in strikeproof(*small, code=2)[1]
    for extra, wrong in (
        (("--chart", "gane"), "did you mean 'gain'"),
        (("--chart", "gain", "--tool", "air"), "--tool"),
    ):
        assert wrong in strikeproof(*words, "--replace", *extra, code=2)[1]


def test_a_photo_that_is_none_says_so(lab: Path, tmp_path: Path) -> None:
    (tmp_path / "p.jpg").write_text("no photo")
    _, err = strikeproof("still", "-w", lab, "--photo", tmp_path / "p.jpg", "-o", tmp_path / "t.png", code=2)
    assert "cannot be read as a photo" in err
    photo = lab.parent / "photo.png"
    _, err = strikeproof("still", "-w", lab, "--photo", photo, "-o", photo, "--replace", code=2)
    assert "is what is read" in err
