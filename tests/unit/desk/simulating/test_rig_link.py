"""The name that a simulated rig gives its port never costs a person a file."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.desk.simulating.rig import _Pty
from strikeproof.errors import BadInput


def test_a_file_of_that_name_is_refused_and_left(tmp_path: Path) -> None:
    link = tmp_path / "thesis.txt"
    link.write_text("years of work")
    with pytest.raises(BadInput, match=r"thesis\.txt"):
        _Pty(link)
    assert link.read_text() == "years of work"
    assert [each.name for each in tmp_path.iterdir()] == ["thesis.txt"]


@pytest.mark.parametrize("target", ["precious.txt", "/dev/null", "gone", "/dev/pts/0"])
def test_a_link_of_a_persons_own_is_refused_and_left(tmp_path: Path, target: str) -> None:
    (tmp_path / "precious.txt").write_text("kept")
    link = tmp_path / "rig"
    link.symlink_to(target)
    with pytest.raises(BadInput, match="--link"):
        _Pty(link)
    assert link.readlink() == Path(target)
    assert (tmp_path / "precious.txt").read_text() == "kept"


def test_a_folder_of_that_name_or_none_to_be_in_is_refused(tmp_path: Path) -> None:
    for place in (tmp_path, tmp_path / "nowhere" / "rig"):
        with pytest.raises(BadInput, match="--link"):
            _Pty(place)


def test_its_own_link_goes_and_comes_with_the_plug(tmp_path: Path) -> None:
    link = tmp_path / "rig"
    line = _Pty(link)
    assert link.samefile(line.name)
    line.unplug()
    assert not link.is_symlink()
    line.plug_in()
    assert link.samefile(line.name)
    line.unplug()
    assert list(tmp_path.iterdir()) == []


def test_a_link_that_a_killed_rig_left_is_taken_again(tmp_path: Path) -> None:
    link = tmp_path / "rig"
    killed = _Pty(link)
    line = _Pty(link)
    assert link.samefile(line.name)
    killed.unplug()  # it is no longer the link of that one
    assert link.samefile(line.name)
    line.unplug()


def test_what_has_taken_the_links_place_meanwhile_stays(tmp_path: Path) -> None:
    link = tmp_path / "rig"
    line = _Pty(link)
    link.unlink()
    link.write_text("a note")
    line.unplug()
    assert link.read_text() == "a note"


def test_a_file_beside_it_is_no_scratch_paper(tmp_path: Path) -> None:
    beside = tmp_path / ".rig.new"
    beside.write_text("mine")
    _Pty(tmp_path / "rig").unplug()
    assert beside.read_text() == "mine"
