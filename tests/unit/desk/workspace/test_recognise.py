"""A campaign is more than its name: another of that name is refused, the same one elsewhere is not."""

import shutil
import zipfile
from pathlib import Path

import pytest
from tests.faults.bench import write_campaign

from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.store import open_store
from strikeproof.desk.articles.materials import campaign_material_tables
from strikeproof.desk.designing.brief_draft import brief_path
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.loading.upload import load_upload
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.setting_up.editor import change_set_up, start_set_up
from strikeproof.desk.setting_up.edits import set_value
from strikeproof.desk.setting_up.new import start_folder
from strikeproof.errors import BadInput, StoreError

REFUSED = "another campaign"
MATERIAL = """[material."shop bronze"]
density_kg_m3 = 8800
shear_modulus_gpa = 42
elastic_modulus_gpa = 110
yield_mpa = 240
tensile_mpa = 400
endurance_mpa = 110
"""


def give_identity(folder: Path, identity: str) -> Path:
    path = folder / "campaign.toml"
    path.write_text(path.read_text().replace("[campaign]\n", f'[campaign]\nid = "{identity}"\n'))
    return folder


def other(folder: Path, word: str = "1.") -> Path:
    """Another campaign of the same name: other readings, another article."""
    write_campaign(folder)
    for log in (folder / "logs").iterdir():
        log.write_text(log.read_text().replace(".", word))
    text = (folder / "campaign.toml").read_text()
    (folder / "campaign.toml").write_text(text + '[[article]]\nname = "third"\n')
    return folder


def articles(workspace: Path) -> int:
    return len(open_store(workspace).campaign(None)[1].articles)


@pytest.mark.parametrize("identities", [("one", "two"), (None, None), ("one", None), (None, "two")])
def test_a_second_campaign_of_the_same_name_is_refused_and_changes_nothing(
    tmp_path: Path, identities: tuple[str | None, str | None]
) -> None:
    first, second = write_campaign(tmp_path / "first"), other(tmp_path / "second")
    for folder, identity in zip((first, second), identities, strict=True):
        if identity is not None:
            give_identity(folder, identity)
    load_campaign(first, tmp_path / "lab")
    with pytest.raises(StoreError, match=REFUSED) as refusal:
        load_campaign(second, tmp_path / "lab")
    assert articles(tmp_path / "lab") == 2
    known = open_store(tmp_path / "lab").known_campaign("drum rollers")
    assert known is not None
    assert f'id = "{known.identity}"' in refusal.value.fix
    assert "another name" in refusal.value.fix


def test_the_refusal_says_what_makes_it_the_same(tmp_path: Path) -> None:
    load_campaign(write_campaign(tmp_path / "first"), tmp_path / "lab")
    known = open_store(tmp_path / "lab").known_campaign("drum rollers")
    assert known is not None
    second = give_identity(other(tmp_path / "second"), known.identity)
    assert load_campaign(second, tmp_path / "lab").other_logs != ()
    assert articles(tmp_path / "lab") == 3


@pytest.mark.parametrize("identity", [None, "one"])
def test_a_folder_that_moved_or_was_copied_is_the_same_campaign(tmp_path: Path, identity: str | None) -> None:
    folder = write_campaign(tmp_path / "first")
    if identity:
        give_identity(folder, identity)
    load_campaign(folder, tmp_path / "lab")
    for place in (tmp_path / "moved", tmp_path / "moved again"):
        folder = Path(shutil.move(folder, place))
        assert load_campaign(folder, tmp_path / "lab").runs_unchanged == 12
    shutil.copytree(folder, tmp_path / "copied")
    (tmp_path / "copied" / "logs" / "1.csv").write_text("spoiled\n")
    assert load_campaign(tmp_path / "copied", tmp_path / "lab").runs_unchanged == 11


def test_a_campaign_with_scores_alone_is_known_by_them(tmp_path: Path) -> None:
    for place, score in (("first", 5), ("moved", 5), ("second", 6)):
        folder = write_campaign(tmp_path / place)
        (folder / "runs.csv").write_text(f"run,article,block,score\nrun-1,plain,0,{score}\n")
    load_campaign(tmp_path / "first", tmp_path / "lab")
    assert load_campaign(tmp_path / "moved", tmp_path / "lab").runs_unchanged == 1
    with pytest.raises(StoreError, match=REFUSED):
        load_campaign(tmp_path / "second", tmp_path / "lab")


def test_the_copy_in_which_runs_are_recorded_is_the_same_and_so_is_a_restored_workspace(
    tmp_path: Path,
) -> None:
    folder = write_campaign(tmp_path / "first")
    load_campaign(folder, tmp_path / "lab")
    with open_recorder(tmp_path / "lab"):
        pass
    place = tmp_path / "lab" / "campaigns" / "drum-rollers"
    known = open_store(tmp_path / "lab").known_campaign("drum rollers")
    assert known is not None
    assert read_campaign(place / "campaign.toml").id == known.identity
    assert change_set_up(tmp_path / "lab", "drum-rollers", set_value(("campaign", "margin_percent"), 5)).done
    assert open_store(tmp_path / "lab").campaign(None)[1].margin_percent == 5
    assert load_campaign(folder, tmp_path / "lab").problems == ()
    shutil.move(tmp_path / "lab", tmp_path / "restored")
    place = tmp_path / "restored" / "campaigns" / "drum-rollers"
    assert load_campaign(place, tmp_path / "restored").problems == ()


def test_an_upload_of_another_one_is_refused_and_leaves_no_folder(tmp_path: Path) -> None:
    lab = tmp_path / "lab"
    load_campaign(write_campaign(tmp_path / "first"), lab)
    (lab / "incoming").mkdir()
    second = other(tmp_path / "second")
    with zipfile.ZipFile(lab / "incoming" / "x", "w") as archive:
        for path in second.rglob("*"):
            archive.write(path, path.relative_to(tmp_path))
    with pytest.raises(StoreError, match=REFUSED):
        load_upload(lab, "x")
    assert not (lab / "campaigns" / "drum-rollers").exists()


def test_a_campaign_set_up_in_the_browser_takes_no_name_that_is_loaded(tmp_path: Path) -> None:
    load_campaign(write_campaign(tmp_path / "first"), tmp_path / "lab")
    with pytest.raises(BadInput, match="is there already"):
        start_set_up(tmp_path / "lab", "drum rollers")


def test_a_name_is_free_again_when_no_run_was_made_and_the_folder_was_deleted(tmp_path: Path) -> None:
    folder = write_campaign(tmp_path / "first")
    (folder / "runs.csv").write_text("run,log,article,block\n")
    load_campaign(folder, tmp_path / "lab")
    second = other(tmp_path / "second")
    with pytest.raises(StoreError, match=REFUSED):
        load_campaign(second, tmp_path / "lab")
    shutil.rmtree(folder)
    assert load_campaign(second, tmp_path / "lab").runs_loaded == 12
    shutil.rmtree(second)
    with pytest.raises(BadInput, match="is there already"):
        start_set_up(tmp_path / "lab", "drum rollers")  # its runs stay


def test_a_new_folder_gives_its_name_and_an_identity_of_its_own(tmp_path: Path) -> None:
    made = []
    for name in ("spring 2026", 'a "quoted" name'):
        start_folder(tmp_path / name)
        made.append(read_campaign(tmp_path / name / "campaign.toml"))
    assert [each.name for each in made] == ["spring 2026", 'a "quoted" name']
    assert made[0].id != made[1].id
    assert all(each.id for each in made)


def named(folder: Path, name: str) -> Path:
    path = folder / "campaign.toml"
    path.write_text(path.read_text().replace('"drum rollers"', f'"{name}"', 1))
    return folder


@pytest.mark.parametrize("names", [("Pump 1", "pump-1"), ("p" * 61 + "a", "p" * 61 + "b")])
def test_two_campaigns_that_fold_to_one_folder_never_share_it(tmp_path: Path, names: tuple[str, str]) -> None:
    lab = tmp_path / "lab"
    for place, name in zip(("first", "second"), names, strict=True):
        load_campaign(give_identity(named(write_campaign(tmp_path / place), name), place), lab)
    open_recorder(lab, names[0]).close()
    (place,) = (lab / "campaigns").iterdir()
    sheet = place / "runs.csv"
    sheet.write_text(sheet.read_text().replace("plain", "heavy"))
    before = sheet.read_bytes()
    key = open_store(lab).campaign(names[1])[0]
    kept = open_store(lab).runs(key)
    with pytest.raises(StoreError, match=REFUSED) as refusal:
        open_recorder(lab, names[1])
    assert all(repr(name) in str(refusal.value) for name in names) and str(place) in str(refusal.value)
    assert sheet.read_bytes() == before
    assert open_store(lab).runs(key) == kept
    (place / "materials.toml").write_text(MATERIAL)
    assert brief_path(lab, names[0]) == place / "brief.toml"
    assert "shop bronze" in campaign_material_tables(lab, names[0])
    with pytest.raises(StoreError, match=REFUSED):
        brief_path(lab, names[1])
    assert "shop bronze" not in campaign_material_tables(lab, names[1])
    (tmp_path / "second" / "materials.toml").write_text(MATERIAL)
    assert "shop bronze" in campaign_material_tables(lab, names[1])


def test_a_name_that_is_set_up_in_the_workspace_is_refused_from_outside(tmp_path: Path) -> None:
    lab = tmp_path / "lab"
    place = give_identity(write_campaign(lab / "campaigns" / "drum-rollers"), "one")
    outside = give_identity(other(tmp_path / "second"), "two")
    with pytest.raises(StoreError, match=REFUSED) as refusal:
        load_campaign(outside, lab)
    assert str(place) in str(refusal.value) and "another name" in refusal.value.fix
    assert open_store(lab).campaigns() == ()
    same = give_identity(write_campaign(tmp_path / "same"), "one")
    assert load_campaign(same, lab).runs_loaded == 12
    assert load_campaign(place, lab).runs_unchanged == 12


@pytest.mark.parametrize("place", ["first", "moved"])
def test_a_campaign_renamed_by_hand_keeps_its_runs_and_what_is_excluded(tmp_path: Path, place: str) -> None:
    lab = tmp_path / "lab"
    folder = give_identity(write_campaign(tmp_path / "first"), "one")
    load_campaign(folder, lab)
    store = open_store(lab)
    key = store.campaign(None)[0]
    store.set_aside(store.runs(key)[0], "the bolt broke")
    named(folder.rename(tmp_path / place), "spring")
    assert load_campaign(tmp_path / place, lab).runs_unchanged == 12
    assert store.campaigns() == ("spring",)
    assert store.campaign("spring")[0] == key
    assert store.runs(key)[0].set_aside == "the bolt broke"


@pytest.mark.parametrize("is_loaded", [False, True])
def test_a_copy_with_the_same_identity_is_no_rename_while_both_names_are_used(
    tmp_path: Path, is_loaded: bool
) -> None:
    lab = tmp_path / "lab"
    first = give_identity(write_campaign(tmp_path / "first"), "one")
    load_campaign(first, lab)
    if is_loaded:
        load_campaign(give_identity(named(other(tmp_path / "second"), "spring"), "two"), lab)
        shutil.move(first, tmp_path / "copy")
    else:
        shutil.copytree(first, tmp_path / "copy")
    names = open_store(lab).campaigns()
    with pytest.raises(StoreError, match="both names are in use") as refusal:
        load_campaign(named(tmp_path / "copy", "spring"), lab)
    assert "'drum rollers'" in str(refusal.value) and "delete the line id" in refusal.value.fix
    assert open_store(lab).campaigns() == names


def test_a_folder_whose_name_is_no_text_is_refused_in_words(tmp_path: Path) -> None:
    try:
        folder = write_campaign(tmp_path / "pump-\udcff")
    except OSError:  # not every file system takes such a name
        pytest.skip("this file system takes only UTF-8")
    with pytest.raises(BadInput, match="UTF-8") as refusal:
        load_campaign(folder, tmp_path / "lab")
    str(refusal.value).encode()
    assert "rename the folder" in refusal.value.fix
