"""A bundle of a small campaign: the same bytes each time, computed again by a stranger, tampering named."""

from __future__ import annotations

import hashlib
import json
import stat
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo
from tests.commands import strikeproof
from tests.unit.desk.logged import write_logged
from tests.unit.publish.explain.sample import bare_why

from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.publishing import report
from strikeproof.desk.publishing.bundle.form import read_about, versions
from strikeproof.desk.publishing.bundle.gathering import free_name
from strikeproof.desk.publishing.bundle.making import BundleWishes, PersonalData, make_bundle
from strikeproof.desk.publishing.bundle.photo import read_photo
from strikeproof.desk.publishing.bundle.recomputing import recompute_bundle, say_versions
from strikeproof.desk.publishing.bundle.shown import bundle_to_show
from strikeproof.desk.runs.standing import set_run_aside
from strikeproof.errors import BadInput, StoreError
from strikeproof.publish import gallery, page
from strikeproof.publish.charts.gain import gain_charts

KEEP = BundleWishes(licence="cc-by-4.0", authors=("A. Nonymus",), personal="keep", made="2026-05-04")


@pytest.fixture(scope="module", autouse=True)
def short() -> Iterator[None]:
    """Of all charts only one is drawn, and the page says why: both have tests of their own, and take long."""
    with pytest.MonkeyPatch.context() as patch:
        for module in (gallery, page):
            patch.setattr(module, "find_charts", lambda shown: gain_charts(shown)[:1])
        patch.setattr(report, "_find_why", lambda *_: bare_why("nothing"))
        yield


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Path:
    here = tmp_path_factory.mktemp("bundle")
    folder = write_logged(here / "bench")
    log = folder / "logs" / "1.csv"
    log.write_text(f"# Operator: J. Doe\n{log.read_text()}")
    load_campaign(folder, here / "lab")
    set_run_aside(here / "lab", None, "5", "=slipped, says K. Roe")
    return here / "lab"


@pytest.fixture(scope="module")
def made(lab: Path) -> Path:
    out = lab.parent / "one.zip"
    make_bundle(lab, out, KEEP)
    return out


def test_it_is_computed_again_elsewhere_and_agrees(made: Path) -> None:
    out, _ = strikeproof("recompute", made, code=0)
    last = out.splitlines()[-1]
    assert last.startswith('all that was computed again agrees; not compared: the part "Why" of page.html, ')
    assert all(each in last for each in ("CITATION.cff", "README.md", "charts/ (1 file)"))  # the PNG
    assert "page.html  comes out the same but for its explanation, which is not computed again" in out
    assert "charts as SVG  1 come out the same" in out
    with zipfile.ZipFile(made) as packed:
        assert b'<section id="why">' in packed.read("page.html")  # it is not computed again
    assert all("same in every digit" in line for line in out.splitlines() if line.startswith("runs."))


def test_the_same_content_gives_the_same_bytes(lab: Path, made: Path) -> None:
    again = lab.parent / "again" / "one.zip"
    outcome = make_bundle(lab, again, KEEP)
    assert again.read_bytes() == made.read_bytes()
    assert outcome.sha256 == hashlib.sha256(made.read_bytes()).hexdigest()


def test_every_file_is_listed_with_its_hash(made: Path) -> None:
    with zipfile.ZipFile(made) as packed:
        names = set(packed.namelist())
        sums = [line.split("  ", 1) for line in packed.read("SHA256SUMS").decode().splitlines()]
        assert {name for _digest, name in sums} == names - {"SHA256SUMS"}
        assert all(hashlib.sha256(packed.read(name)).hexdigest() == digest for digest, name in sums)
    assert {
        "page.html",
        "charts/gain.svg",
        "results/runs.csv",
        "results/growth.json",
        "campaign/logs/1.csv",
    } <= names


def test_its_papers_have_the_fields_that_their_standards_require(made: Path) -> None:
    """Data Package 2.0, RO-Crate 1.2, Citation File Format 1.2.0: what they require, by hand, from memory."""
    with zipfile.ZipFile(made) as packed:
        package, crate = (
            json.loads(packed.read(name)) for name in ("datapackage.json", "ro-crate-metadata.json")
        )
        citation = packed.read("CITATION.cff").decode()
        names = set(packed.namelist())
    names_of = [each["name"] for each in package["resources"]]
    assert len(set(names_of)) == len(names_of) and all(each == each.lower() for each in names_of)
    for each in package["resources"]:
        assert each["path"] in names and each["hash"].startswith("sha256:") and each["bytes"] >= 0
    runs = next(each for each in package["resources"] if each["path"] == "results/runs.csv")
    assert {"name": "score [kN]", "type": "number"}.items() <= runs["schema"]["fields"][6].items()
    # Frictionless 5.21 reads as a table what looks like CSV and does not say otherwise.
    logs = [each for each in package["resources"] if "schema" not in each]
    assert logs and all(each["mediatype"] != "text/csv" or each["format"] == "log" for each in logs)
    assert any(each["mediatype"] == "text/csv" for each in logs)
    assert package["licenses"][0]["name"] == "CC-BY-4.0"
    entities = {each["@id"]: each for each in crate["@graph"]}
    about = entities["ro-crate-metadata.json"]
    assert about["about"] == {"@id": "./"} and about["conformsTo"]["@id"].endswith("ro/crate/1.2")
    root = entities["./"]
    assert {"name", "description", "datePublished", "license"} <= root.keys()
    assert all(each["@id"] in entities for each in (*root["hasPart"], *root["author"], root["license"]))
    required = ("cff-version: 1.2.0", "message: ", "title: ", "authors:\n  - name: ", "license: CC-BY-4.0")
    assert all(each in citation for each in required)


def test_nothing_is_chosen_for_a_person(lab: Path) -> None:
    out = lab.parent / "none.zip"
    with pytest.raises(BadInput, match="no licence is chosen"):
        make_bundle(lab, out, BundleWishes(licence=""))
    with pytest.raises(PersonalData) as found:
        make_bundle(lab, out, BundleWishes(licence="CC0-1.0"))
    assert [each.kind for each in found.value.items] == ["remark", "log"]
    _, err = strikeproof("bundle", "-w", lab, "-o", out, "--licence", "CC0-1.0", code=2)
    assert "Operator: J. Doe" in err and "K. Roe" in err and "--strip" in err
    assert not out.exists()


def test_a_file_that_is_there_is_replaced_only_on_demand(lab: Path, tmp_path: Path) -> None:
    out = tmp_path / "notes.zip"
    out.write_text("years of work")
    _, err = strikeproof("bundle", "-w", lab, "-o", out, "--licence", "CC0-1.0", "--keep", code=2)
    assert "is there already" in err and "--replace" in err and out.read_text() == "years of work"
    link = tmp_path / "link.zip"
    link.symlink_to(tmp_path / "nowhere")
    with pytest.raises(StoreError, match="is there already"):
        make_bundle(lab, link, KEEP)
    folder = tmp_path / "folder.zip"
    folder.mkdir()
    for replaces in (False, True):
        with pytest.raises(BadInput, match="is a folder"):
            make_bundle(lab, folder, KEEP, replace=replaces)
    strikeproof("bundle", "-w", lab, "-o", out, "--licence", "CC0-1.0", "--keep", "--replace", code=0)
    assert zipfile.is_zipfile(out)


def test_the_browser_shows_what_is_personal_before_anything_is_written(lab: Path) -> None:
    shown = bundle_to_show(lab, None, "CC0-1.0", "", "ask")
    assert len(shown.personal) == 2 and not shown.file and not list((lab / "published").glob("*.zip"))


def photo(path: Path) -> Path:
    picture = Image.new("RGB", (40, 20), "red")
    exif = picture.getexif()
    exif[0x0112] = 6  # taken upright: a quarter turn
    exif[0x013B] = "P. Hoto"
    exif.get_ifd(0x8769)[0xA431] = "SN-4711"
    exif.get_ifd(0x8825)[1] = "N"
    picture.save(path, "JPEG", exif=exif)
    return path


@pytest.mark.parametrize("strip", [False, True])
@pytest.mark.parametrize("ending", ["jpg", "png", "webp"])
def test_a_photo_of_each_kind_is_read_and_says_camera_and_time(
    tmp_path: Path, ending: str, strip: bool
) -> None:
    picture = Image.new("RGB", (40, 20), "red")
    exif = picture.getexif()
    exif[0x010F], exif[0x0110], exif[0x0132] = "Maker", "Model", "2026:05:04 10:00:00"
    exif.get_ifd(0x8769)[0x9003] = "2026:05:03 10:00:00"
    path = tmp_path / f"bench.{ending}"
    picture.save(path, exif=exif)
    content, says = read_photo(path, strip=strip)
    said = " ".join(says)
    assert all(each in said for each in ("Maker", "Model", "2026:05:04", "2026:05:03"))
    assert (content == path.read_bytes()) is not strip
    assert bool(dict(Image.open(BytesIO(content)).getexif())) is not strip


def test_what_hides_in_a_picture_is_shown_and_stripped(tmp_path: Path) -> None:
    """Text chunks of PNG (PNG 3, 11.3.3), and the film that some phones put behind a JPEG (from memory)."""
    texts = PngInfo()
    texts.add_text("Bench", "SN-4711 of J. Doe")
    Image.new("RGB", (8, 8), "red").save(tmp_path / "a.png", pnginfo=texts)
    Image.new("RGB", (8, 8), "red").save(tmp_path / "b.jpg")
    film = b"\0\0\0\x18ftypmp42" + b"voices"
    (tmp_path / "b.jpg").write_bytes((tmp_path / "b.jpg").read_bytes() + film)
    for name, says, hidden in (("a.png", "Bench: SN-4711", b"J. Doe"), ("b.jpg", "a film behind", b"voices")):
        assert hidden in (tmp_path / name).read_bytes()
        bare, said = read_photo(tmp_path / name, strip=True)
        assert says in " ".join(said) and hidden not in bare


def test_what_is_personal_is_taken_out_and_it_still_agrees(lab: Path) -> None:
    out = lab.parent / "bare.zip"
    picture = photo(lab.parent / "bench.jpg")
    wishes = BundleWishes(licence="CC0-1.0", personal="strip", photos=(picture,), made="2026-05-04")
    outcome = make_bundle(lab, out, wishes)
    said = " ".join(outcome.personal)
    assert all(each in said for each in ("J. Doe", "K. Roe", "GPS", "SN-4711", "P. Hoto"))
    with zipfile.ZipFile(out) as packed:
        contents = {name: packed.read(name) for name in packed.namelist()}
    for word in (b"J. Doe", b"K. Roe", b"SN-4711", b"P. Hoto"):
        assert not [name for name, content in contents.items() if word in content]
    bare = Image.open(BytesIO(contents["photos/bench.jpg"]))
    assert bare.size == (20, 40) and not dict(bare.getexif())
    found = recompute_bundle(out)
    assert found.agrees and "personal data was taken out" in found.notes[0]


def changed(made: Path, out: Path, edit: Callable[[dict[str, bytes]], None], *, sums: bool = False) -> Path:
    """The bundle with its members edited; `sums` makes its list say so too."""
    with zipfile.ZipFile(made) as packed:
        contents = {name: packed.read(name) for name in packed.namelist()}
    edit(contents)
    if sums:
        listed = [
            f"{hashlib.sha256(content).hexdigest()}  {name}\n"
            for name, content in contents.items()
            if name != "SHA256SUMS"
        ]
        contents["SHA256SUMS"] = "".join(listed).encode()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in contents.items():
            packed.writestr(name, content)
    return out


def in_log(contents: dict[str, bytes]) -> None:
    log = contents["campaign/logs/2.csv"].splitlines(keepends=True)
    log[-1] = log[-1].replace(b".", b"5", 1)
    contents["campaign/logs/2.csv"] = b"".join(log)


def in_number(contents: dict[str, bytes]) -> None:
    document = json.loads(contents["results/runs.json"])
    document["rows"][1][6] *= 1.001
    contents["results/runs.json"] = json.dumps(document).encode()


def in_page(contents: dict[str, bytes]) -> None:
    contents["page.html"] = contents["page.html"].replace(b"cannot tell", b"higher", 1)


def test_changed_files_are_named(made: Path, tmp_path: Path) -> None:
    def everywhere(contents: dict[str, bytes]) -> None:
        for edit in (in_log, in_number, in_page):
            edit(contents)
        contents["campaign/more.csv"] = contents.pop("README.md")

    out, _ = strikeproof("recompute", changed(made, tmp_path / "x.zip", everywhere), code=1)
    for name in ("campaign/logs/2.csv", "results/runs.json", "page.html"):
        assert f"{name} was changed" in out
    assert "README.md is on the list and not in the bundle" in out
    assert "campaign/more.csv is in the bundle and not on its list" in out
    assert "stated" in out and "digits agree" in out and "NOT everything agrees" in out


def test_a_changed_number_is_found_although_the_list_was_changed_too(made: Path, tmp_path: Path) -> None:
    def loosely(contents: dict[str, bytes]) -> None:
        in_number(contents)
        in_page(contents)
        about = json.loads(contents["bundle.json"])
        about["tolerances"]["runs"]["score"] = {"relative": 1.0, "absolute": 1e9}
        contents["bundle.json"] = json.dumps(about).encode()

    found = recompute_bundle(changed(made, tmp_path / "x.zip", loosely, sums=True))
    assert not found.problems and not found.agrees and found.page == "differs"
    (wrong,) = [each for each in found.tables if not each.agrees]
    (only,) = wrong.differences
    assert (wrong.table, only.row, only.column, only.digits) == ("runs.json", "2", "score [kN]", 3)


def in_chart(contents: dict[str, bytes]) -> None:
    contents["charts/gain.svg"] = contents["charts/gain.svg"].replace(b"path", b"p", 1)


def in_about(contents: dict[str, bytes]) -> None:
    about = json.loads(contents["bundle.json"])
    contents["bundle.json"] = json.dumps(about | {"campaign": "another", "runs": 999}).encode()


def without_why(contents: dict[str, bytes]) -> None:
    about = json.loads(contents["bundle.json"])
    contents["bundle.json"] = json.dumps(about | {"explained": False}).encode()


def test_charts_campaign_and_a_planted_explanation_are_compared(made: Path, tmp_path: Path) -> None:
    def everywhere(contents: dict[str, bytes]) -> None:
        for edit in (in_chart, in_about, without_why):
            edit(contents)

    out, _ = strikeproof("recompute", changed(made, tmp_path / "x.zip", everywhere, sums=True), code=1)
    assert "0 not" in out and "charts/gain.svg  DIFFERS" in out and "page.html  DIFFERS" in out
    assert "campaign: stated another, here " in out and "runs: stated 999, here " in out


def test_other_versions_are_named(made: Path) -> None:
    with zipfile.ZipFile(made) as packed:
        about = read_about(packed.read("bundle.json").decode())
    assert about.versions == versions() and about.licence == "CC-BY-4.0" and about.seed == 5
    older = replace(about, versions={**about.versions, "scores": "0"})
    assert next(say_versions(older)).startswith("it was made with other versions: scores 0 (here ")


def link(contents: zipfile.ZipFile) -> None:
    entry = zipfile.ZipInfo("campaign/logs/link")
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    contents.writestr(entry, "/etc/passwd")


def bomb(contents: zipfile.ZipFile) -> None:
    contents.writestr("campaign/logs/zeros", bytes(1 << 20))
    contents.getinfo("campaign/logs/zeros").file_size = 700 << 20  # as its list will say


@pytest.mark.parametrize(
    ("harm", "says"),
    [
        (lambda packed: packed.writestr("../x", b"out"), "no plain file"),
        (link, "no plain file"),
        (bomb, "times its size"),
        (lambda packed: packed.writestr("bundle.JSON", b"{}"), "in it twice"),
    ],
)
def test_an_archive_made_to_hurt_is_refused(
    made: Path, tmp_path: Path, harm: Callable[[zipfile.ZipFile], None], says: str
) -> None:
    hurting = tmp_path / "in" / "x.zip"
    hurting.parent.mkdir()
    hurting.write_bytes(made.read_bytes())
    with zipfile.ZipFile(hurting, "a", zipfile.ZIP_DEFLATED) as packed:
        harm(packed)
    _, err = strikeproof("recompute", hurting, code=2)
    assert says in err and "get the bundle again" in err
    assert [each.name for each in tmp_path.rglob("*")] == ["in", "x.zip"]


def test_what_is_no_bundle_says_so(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no such file"):
        recompute_bundle(tmp_path / "none.zip")
    with zipfile.ZipFile(tmp_path / "x.zip", "w") as packed:
        packed.writestr("campaign.toml", "")
    with pytest.raises(BadInput, match=r"no bundle\.json is in it"):
        recompute_bundle(tmp_path / "x.zip")
    with zipfile.ZipFile(tmp_path / "y.zip", "w") as packed:
        packed.writestr("bundle.json", "[" * 100_000)
    with pytest.raises(BadInput, match=r"its bundle\.json cannot be used"):
        recompute_bundle(tmp_path / "y.zip")


def test_no_two_files_of_a_bundle_get_one_name() -> None:
    taken: set[str] = set()
    names = [free_name(each, taken) for each in ("r-1.wav", "R-1.wav", "r-1.wav", "r-1-2.wav")]
    assert names == ["r-1.wav", "R-1-2.wav", "r-1-3.wav", "r-1-2-2.wav"]
