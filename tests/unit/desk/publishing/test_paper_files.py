"""PDF files by command: what is there is not written over, what cannot be set says why."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.commands import strikeproof
from tests.unit.desk.publishing.plain_bundle import CAMPAIGN, rows

from strikeproof.desk.loading.load import load_campaign


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("paper")
    (home / "campaign.toml").write_text(CAMPAIGN)
    (home / "runs.csv").write_text(rows({"ring": 0.1, "sleeve": 0.05}, seed=1))
    load_campaign(home, home / "lab")
    return home / "lab"


def test_a_document_of_a_campaign_becomes_a_pdf(lab: Path, tmp_path: Path) -> None:
    out, what = tmp_path / "new" / "one.pdf", "certificate"
    strikeproof("paper", what, "-w", lab, "-o", out, code=0)
    first = out.read_bytes()
    assert first.startswith(b"%PDF-1.7") and b"/StructTreeRoot" in first
    _, err = strikeproof("paper", what, "-w", lab, "-o", out, code=2)
    assert "is there already" in err and "--replace" in err and out.read_bytes() == first


def test_a_sheet_that_a_design_wrote_becomes_a_pdf(tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.html"
    sheet.write_text("<title>ring</title><body><h1>ring</h1><p>Turn it.</p></body>")
    out, _ = strikeproof("paper", sheet, "-o", tmp_path / "sheet.pdf", code=0)
    assert out.startswith(str(tmp_path / "sheet.pdf"))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("certificate", "-o", "x.pdf"), "no workspace is given"),
        (("certificate", "-o", "x.txt"), r"ends in .pdf"),
        (("poster", "-o", "x.pdf"), "page, certificate, run-sheet"),
    ],
)
def test_what_cannot_be_set_says_why(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], says: str
) -> None:
    monkeypatch.chdir(tmp_path)
    _, err = strikeproof("paper", *words, code=2)
    assert says in err and not list(tmp_path.iterdir())


def test_the_run_sheet_of_a_campaign_that_was_loaded_from_elsewhere(lab: Path, tmp_path: Path) -> None:
    _, told = strikeproof("paper", "run-sheet", "-w", lab, "-o", tmp_path / "sheet.pdf", code=2)
    assert f"{lab.parent}/campaign.toml: nothing says how many repeats" in told
    text = CAMPAIGN.replace("[protocol]", "[protocol]\nrepeats = 6")
    (lab.parent / "campaign.toml").write_text(text)
    before = {path: path.read_bytes() for path in lab.parent.glob("*") if path.is_file()}
    strikeproof("paper", "run-sheet", "-w", lab, "-o", tmp_path / "sheet.pdf", code=0)
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF-1.7")
    assert {path: path.read_bytes() for path in lab.parent.glob("*") if path.is_file()} == before
