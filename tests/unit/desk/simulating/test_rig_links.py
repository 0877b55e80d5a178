"""A browser may open the machine's serial ports and simulated rigs, and no other file."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from strikeproof.desk.simulating import rig_links
from strikeproof.desk.simulating.rig_links import point, require_known_port
from strikeproof.errors import BadInput


@pytest.fixture
def listed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    device = tmp_path / "ttyACM0"
    device.touch()
    monkeypatch.setattr(rig_links, "list_ports", lambda: ((str(device), "a rig"),))
    return str(device)


def test_a_listed_port_is_known_by_all_its_names(listed: str, tmp_path: Path) -> None:
    by_id = tmp_path / "by-id"
    by_id.symlink_to(listed)
    require_known_port(listed)
    require_known_port(str(by_id))


def test_a_simulated_rig_s_link_is_known(listed: str, tmp_path: Path) -> None:
    point(tmp_path / "rig", "/dev/pts/7")
    require_known_port(str(tmp_path / "rig"))


@pytest.mark.parametrize(
    "name", ["/dev/pts/0", "/dev/tty", "/dev/null", "socket://192.0.2.1:7", "loop://", ""]
)
def test_anything_else_is_refused_with_what_is_allowed(listed: str, name: str) -> None:
    with pytest.raises(BadInput) as wrong:
        require_known_port(name)
    assert listed in str(wrong.value.allowed) and "--any-port" in wrong.value.fix


def test_a_person_s_own_link_to_a_terminal_is_refused(listed: str, tmp_path: Path) -> None:
    link = tmp_path / "link"
    link.symlink_to(os.devnull)
    with pytest.raises(BadInput):
        require_known_port(str(link))
