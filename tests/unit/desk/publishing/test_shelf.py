"""A shelf over a few bundles: every page there is linked, results under their own bench, nothing obeyed."""

from __future__ import annotations

import json
import re
import struct
import zipfile
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import pytest
from tests.commands import strikeproof
from tests.unit.desk.publishing.plain_bundle import changed_member, shelf_bundle

NASTY = "<script>alert(1)</script>"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bundles")
    shelf_bundle(folder / "one.zip", "rings", "north stand", {"ring": 9.0, "sleeve": 4.0})
    (folder / "more").mkdir()
    shelf_bundle(folder / "more" / "two #2.zip", "rings again", "south stand", {"ring": 30.0}, simulated=True)
    shelf_bundle(folder / "three.zip", NASTY, f"stand {NASTY}", {NASTY: 1.0, "ring": -2.0})
    changed_member(folder / "one.zip", folder / "changed.zip", "results/articles.json", "{}")
    (folder / "none.zip").write_bytes(b"PK nothing")
    return folder


@pytest.fixture(scope="module")
def site(folder: Path) -> Path:
    out, err = strikeproof("shelf", folder, "--title", "Stands", code=0)
    assert (
        "3 bundles" in out and "changed.zip" in err and "results/articles.json is not as its list says" in err
    )
    assert "none.zip" in err
    return folder / "shelf"


class Addresses(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.scripts: list[dict[str, str | None]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.found += [str(given[key]) for key in ("href", "src", "data-lines") if given.get(key)]
        self.scripts += [given] if tag == "script" else []


def test_every_address_leads_somewhere_and_no_name_is_obeyed(site: Path) -> None:
    pages = list(site.rglob("*.html"))
    # front, lists, campaigns; ring, sleeve, plain and the nasty one; benches; one class of tools
    assert len(pages) == 1 + 4 + 3 + 4 + 3 + 1
    for page in pages:
        looked = Addresses()
        looked.feed(page.read_text())
        for address in looked.found:
            if not address.startswith("#"):
                assert (page.parent / unquote(address)).resolve().exists(), (page, address)
        assert [each["src"] for each in looked.scripts if not (each.get("src") or "").endswith(".js")] == []
        assert len(looked.scripts) == 1
    assert NASTY not in next(site.glob("search-*.js")).read_text()


def test_results_stand_under_their_bench_in_no_order_of_gain(site: Path) -> None:
    (page,) = site.glob("article/ring-*.html")
    text = page.read_text().replace("\u00a0", " ")
    assert re.findall(r"[+−]\d+\.0 % \(", text) == ["+9.0 % (", "+30.0 % (", "−2.0 % ("]  # by bench, by name
    assert (
        text.index("north stand") < text.index("+9.0 %") < text.index("south stand") < text.index("+30.0 %")
    )
    assert "in no order and cannot be set against each other" in text
    assert text.count("SIMULATED") == 1 and text.count("Gain over plain") == 3


def test_an_index_can_be_included_and_a_bundle_is_there_once(
    folder: Path, site: Path, tmp_path: Path
) -> None:
    own = tmp_path / "own"
    own.mkdir()
    (own / "same.zip").write_bytes((folder / "one.zip").read_bytes())
    strikeproof("shelf", own, "-o", tmp_path / "site", "--include", site / "index.json", code=0)
    entries = json.loads((tmp_path / "site" / "index.json").read_text())["entries"]
    assert {each["file"]: each.get("shelf", "") for each in entries} == {
        "same.zip": "",
        "more/two #2.zip": "Stands",
        "three.zip": "Stands",
    }
    first = json.loads((site / "index.json").read_text())
    rings = next(each for each in first["entries"] if each["campaign"] == "rings")
    assert rings["results"][1] == {
        "article": "ring",
        "tool": "air",
        "verdict": "higher",
        "runs": 6,
        "gain_percent": 9.0,
        "low_percent": 8.0,
        "high_percent": 10.0,
    }
    (own / "index.json").write_text('{"form":1,"shelf":"x","entries":[{"sha256":"../x"}]}')
    _, err = strikeproof("shelf", own, "-o", tmp_path / "other", "--include", own / "index.json", code=2)
    assert "index.json of a shelf" in err
    assert not (tmp_path / "other").exists()


def test_the_same_bundles_give_the_same_files(folder: Path, site: Path, tmp_path: Path) -> None:
    files = {path.relative_to(site): path.read_bytes() for path in site.rglob("*") if path.is_file()}
    strikeproof("shelf", folder, "--title", "Stands", code=0)
    assert {path.relative_to(site): path.read_bytes() for path in site.rglob("*") if path.is_file()} == files
    assert sum(b".zip</a>" in content for content in files.values()) == 3
    strikeproof("shelf", folder, "-o", tmp_path / "far", "--title", "Stands", code=0)
    assert {path.relative_to(tmp_path / "far") for path in (tmp_path / "far").rglob("*.*")} == set(files)
    assert not [path for path in (tmp_path / "far").rglob("*.html") if ".zip</a>" in path.read_text()]


def test_bundles_made_to_hurt_are_left_out_by_name(tmp_path: Path) -> None:
    good = shelf_bundle(tmp_path / "good.zip", "rings", "stand", {"ring": 9.0})
    changed_member(good, tmp_path / "deep.zip", "bundle.json", "[" * 100_000)
    with zipfile.ZipFile(tmp_path / "swells.zip", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("SHA256SUMS", bytes(5 << 20))
    raw = bytearray(good.read_bytes())
    struct.pack_into("<HH", raw, raw.rfind(b"PK\x05\x06") + 8, 60_000, 60_000)  # as its end says, only
    (tmp_path / "many.zip").write_bytes(raw)
    out, err = strikeproof("shelf", tmp_path, code=0)
    assert "1 bundle" in out
    wanted = {"deep": "not as its list says", "swells": "more than 4 MiB", "many": "60000 files"}
    for name, says in wanted.items():
        assert re.search(rf"{name}\.zip.*{says}", err), (name, err)


def test_what_is_no_shelf_is_not_replaced(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("years of work")
    _, err = strikeproof("shelf", folder, "-o", tmp_path, code=2)
    assert "something else than a shelf" in err
    _, err = strikeproof("shelf", folder, "-o", folder, code=2)
    assert "holds the bundles" in err and (folder / "one.zip").is_file()
    strikeproof("shelf", tmp_path / "nowhere", code=2)
    assert [each.name for each in tmp_path.iterdir()] == ["notes.txt"]


@pytest.mark.parametrize("name", ["diary.txt", ".git/config", "three.zip", "index.html"])
def test_what_a_person_put_into_a_shelf_is_not_deleted(folder: Path, tmp_path: Path, name: str) -> None:
    """An `index.json` makes no shelf either: another program's folder may have one."""
    out = tmp_path / "site"
    strikeproof("shelf", folder, "-o", out)
    (out / name).parent.mkdir(exist_ok=True)
    (out / name).write_text("years of work")
    _, err = strikeproof("shelf", folder, "-o", out, code=2)
    assert name in err and (out / name).read_text() == "years of work"
    other = tmp_path / "other"
    other.mkdir()
    (other / "index.json").write_text("{}")
    strikeproof("shelf", folder, "-o", other, code=2)
    assert (other / "index.json").read_text() == "{}"
