"""Archives that came through the browser write nowhere else, and are refused in words."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from strikeproof.desk.loading.upload import load_upload
from strikeproof.errors import BadInput, StrikeproofError


@pytest.mark.parametrize(
    "name",
    ["../out.txt", "/out.txt", "bench/../../out.txt", "bench\\..\\..\\out.txt", "C:out.txt"],
)
def test_no_archive_writes_outside_its_folder(tmp_path: Path, name: str) -> None:
    workspace = tmp_path / "lab"
    (workspace / "incoming").mkdir(parents=True)
    with zipfile.ZipFile(workspace / "incoming" / "x", "w") as archive:
        archive.writestr("bench/campaign.toml", "")
        archive.writestr(name, "out")
    with pytest.raises(StrikeproofError):
        load_upload(workspace, "x")
    assert not list(tmp_path.rglob("out.txt"))
    assert list((workspace / "incoming").iterdir()) == []


def test_an_archive_that_swells_is_refused_before_it_is_unpacked(tmp_path: Path) -> None:
    workspace = tmp_path / "lab"
    (workspace / "incoming").mkdir(parents=True)
    with zipfile.ZipFile(workspace / "incoming" / "x", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("campaign.toml", "")
        with archive.open("logs/zeros.csv", "w") as stream:
            for _ in range(600):
                stream.write(bytes(2**20))
    with pytest.raises(BadInput, match="files of"):
        load_upload(workspace, "x")


@pytest.mark.parametrize("content", [b"", b"no archive at all", b"PK\x03\x04cut"])
def test_what_is_no_archive_is_told(tmp_path: Path, content: bytes) -> None:
    workspace = tmp_path / "lab"
    (workspace / "incoming").mkdir(parents=True)
    (workspace / "incoming" / "x").write_bytes(content)
    with pytest.raises(BadInput, match="cannot be unpacked"):
        load_upload(workspace, "x")
