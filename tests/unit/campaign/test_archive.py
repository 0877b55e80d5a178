"""An archive is looked at before anything of it is written; a damaged one says so, wherever the damage is."""

from __future__ import annotations

import stat
import struct
import zipfile
from pathlib import Path

import numpy as np
import pytest

from strikeproof.campaign import archive
from strikeproof.campaign.archive import unpack_campaign, unpack_holding
from strikeproof.errors import BadInput, StoreError

WAYS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA)
WORDS = np.random.default_rng(2).integers(32, 127, 4000, dtype=np.uint8).tobytes()


def _unpack(path: Path, into: Path) -> Path:
    """In this process, without its bounds."""
    return archive._unpack(path, into, "campaign.toml", ("one campaign folder", "pack it again"))


def pack(path: Path, *names: str | zipfile.ZipInfo, way: int = zipfile.ZIP_DEFLATED) -> Path:
    with zipfile.ZipFile(path, "w", way) as packed:
        for name in ("bench/campaign.toml", *names):
            packed.writestr(name, WORDS)
    return path


def linked(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name)
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    return entry


@pytest.mark.parametrize("way", WAYS)
def test_a_campaign_comes_out_as_it_went_in(tmp_path: Path, way: int) -> None:
    path = pack(tmp_path / "x", "bench/logs/1.csv", "elsewhere.txt", way=way)
    folder = unpack_campaign(path, tmp_path / "out")
    found = sorted(str(each.relative_to(folder)) for each in folder.rglob("*") if each.is_file())
    assert found == ["campaign.toml", "logs/1.csv"]
    assert (folder / "logs" / "1.csv").read_bytes() == WORDS


@pytest.mark.parametrize("way", WAYS)
def test_no_damage_raises_anything_else(tmp_path: Path, way: int) -> None:
    """Cut off anywhere, or with bytes of it changed: it is refused, or what comes out is what went in."""
    whole = pack(tmp_path / "x", "bench/logs/1.csv", way=way).read_bytes()
    rng = np.random.default_rng(way)
    for number in range(150):
        raw = bytearray(whole)
        if number % 3 == 0:
            del raw[rng.integers(len(raw)) :]
        else:  # most of them where the archive speaks of itself
            for at in rng.integers(max(len(raw) - 250, 0) if number % 3 == 1 else 0, len(raw), 2):
                raw[at] = rng.integers(256)
        (tmp_path / "x").write_bytes(raw)
        out = tmp_path / f"out-{number}"
        try:
            _unpack(tmp_path / "x", out)
        except BadInput:
            continue
        assert {each.read_bytes() for each in out.rglob("*") if each.is_file()} == {WORDS}


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("../out.txt", "no plain file"),
        ("/out.txt", "no plain file"),
        ("bench/../../out.txt", "no plain file"),
        ("C:out.txt", "no plain file"),
        ("bench\\out.txt", "no plain file"),
        ("bench/out\x1b[2J.txt", "no plain file"),
        ("bench/out\u202etxt", "no plain file"),
        ("bench/" + "o" * 300, "no plain file"),
        ("a/" * 40 + "out.txt", "no plain file"),
        (linked("bench/logs"), "no plain file"),
        ("bench/Campaign.toml", "twice"),
        ("bench/campaign.toml/out.txt", "both a file and a folder"),
    ],
)
def test_harm_is_seen_before_anything_is_written(
    tmp_path: Path, name: str | zipfile.ZipInfo, says: str
) -> None:
    with pytest.raises(BadInput, match=says):
        _unpack(pack(tmp_path / "x", name), tmp_path / "out")
    assert sorted(each.name for each in tmp_path.iterdir()) == ["x"]


def test_one_member_that_swells_is_seen_among_others(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archive, "_SMALL_BYTES", 1000)
    path = pack(tmp_path / "x", *(f"bench/{number}" for number in range(9)))
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("bench/zeros", bytes(2_000_000))
    with pytest.raises(BadInput, match="files of"):
        _unpack(path, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_disk_that_takes_no_more_is_not_the_archives_fault(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"in the way")
    with pytest.raises(StoreError, match=r"Not a directory|File exists"):
        unpack_campaign(pack(tmp_path / "x"), tmp_path / "out")


def test_a_million_members_are_refused_before_their_list_is_read(tmp_path: Path) -> None:
    """The end of the archive says how many (APPNOTE.TXT 6.3.10, section 4.3.16; from memory)."""
    path = pack(tmp_path / "x")
    raw = bytearray(path.read_bytes())
    struct.pack_into("<HH", raw, raw.rfind(b"PK\x05\x06") + 8, 60_000, 60_000)
    path.write_bytes(raw)
    with pytest.raises(BadInput, match="60000 files"):
        unpack_campaign(path, tmp_path / "out")
    many = 1_000_000
    end = struct.pack("<4sQHHIIQQQQ", b"PK\x06\x06", 44, 45, 45, 0, 0, many, many, 46 * many, 0)
    end += struct.pack("<4sIQI", b"PK\x06\x07", 0, 0, 1)
    end += struct.pack("<4sHHHHIIH", b"PK\x05\x06", 0, 0, 0xFFFF, 0xFFFF, 0xFFFFFFFF, 0xFFFFFFFF, 0)
    path.write_bytes(bytes(46 * 100) + end)
    with pytest.raises(BadInput, match=r"files, their list of"):
        unpack_campaign(path, tmp_path / "out")


def test_another_folder_is_found_by_its_own_file(tmp_path: Path) -> None:
    path = pack(tmp_path / "x", "whole/paper.json", "whole/bench/campaign.toml")
    folder = unpack_holding(path, tmp_path / "out", "paper.json", ("a paper", "pack it"))
    assert sorted(each.name for each in folder.rglob("*") if each.is_file()) == [
        "campaign.toml",
        "paper.json",
    ]
    with pytest.raises(BadInput, match=r"no other\.json is in it"):
        unpack_holding(path, tmp_path / "two", "other.json", ("another", "pack it"))
