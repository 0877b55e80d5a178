"""No name leads out of its folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.errors import BadInput
from strikeproof.web.inside import inside


@pytest.mark.parametrize(
    "name", ["", " ", ".", "..", "../x", "/etc/passwd", "a/../../x", "a\0b", "link/x", "a/.."]
)
def test_what_leads_out_is_refused(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / "link").symlink_to(tmp_path)
    with pytest.raises(BadInput):
        inside(folder, name)


def test_what_is_inside_is_found(tmp_path: Path) -> None:
    assert inside(tmp_path, "a/b.csv") == tmp_path.resolve() / "a" / "b.csv"
