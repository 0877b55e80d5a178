from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikeproof.desk.setting_up.editor import start_set_up
from strikeproof.desk.workspace.places import (
    DRAFT,
    campaign_place,
    campaign_places,
    find_campaign_place,
    folder_word,
    planned_names,
)
from strikeproof.errors import BadInput, NotFound


@given(st.text(max_size=200))
def test_no_name_leads_out_of_the_folder_and_a_word_stays_itself(name: str) -> None:
    try:
        word = folder_word(name)
    except BadInput:
        return
    assert Path(word).name == word and word not in (".", "..")
    assert folder_word(word) == word


def test_a_name_becomes_a_plain_folder_name() -> None:
    assert folder_word("Track rollers, spring") == "track-rollers-spring"
    assert folder_word("../../etc/passwd") == "etc-passwd"
    with pytest.raises(BadInput, match="no letter or digit"):
        folder_word(" ../.. ")


def test_only_folders_with_a_campaign_in_them_count(tmp_path: Path) -> None:
    assert campaign_places(tmp_path) == ()
    place = campaign_place(tmp_path, "Spring")
    place.mkdir(parents=True)
    assert campaign_places(tmp_path) == ()
    (place / "campaign.toml").touch()
    assert campaign_places(tmp_path) == (place,)
    assert find_campaign_place(tmp_path, "spring") == place
    with pytest.raises(NotFound, match="did you mean 'spring'"):
        find_campaign_place(tmp_path, "sprinf")


def test_planned_campaigns_are_told_by_the_names_that_people_gave_them(tmp_path: Path) -> None:
    assert planned_names(tmp_path) == {}
    place = start_set_up(tmp_path, "Track rollers").folder
    assert planned_names(tmp_path) == {"Track rollers": "track-rollers"}
    (place / DRAFT).write_text("this is = not = TOML")
    assert planned_names(tmp_path) == {"track-rollers": "track-rollers"}
