"""Text comes out the same however a file was packed or encoded; what is no text says so."""

import gzip
import os
import socket
from pathlib import Path

import pytest

from strikeproof.campaign.text import find_encoding, read_file, read_text, unpack
from strikeproof.errors import BadFile

WORDS = "Zeit;Kraft [kN];Prüfer µ\n0,0;1,5;é\n0,1;-2,5;ß\n"
MARK = "\ufeff"


@pytest.fixture
def put(tmp_path: Path):
    def write(raw: bytes, name: str = "log.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(raw)
        return path

    return write


@pytest.mark.parametrize(
    "raw",
    [
        WORDS.encode(),
        WORDS.encode("utf-8-sig"),
        WORDS.encode("utf-16"),
        (MARK + WORDS).encode("utf-16-be"),
        WORDS.encode("utf-16-le"),
        WORDS.encode("utf-16-be"),
        (MARK + WORDS).encode("utf-32-le"),
        WORDS.encode("latin-1"),
        WORDS.encode("cp1252"),
        WORDS.replace("\n", "\r\n").encode(),
        WORDS.replace("\n", "\r").encode(),
        gzip.compress(WORDS.encode("utf-16"), mtime=0),
        gzip.compress(WORDS.encode()[:20], mtime=0) + gzip.compress(WORDS.encode()[20:], mtime=0),
        WORDS.encode() + b"\x1a",
    ],
)
def test_every_packing_gives_the_same_text(put, raw: bytes) -> None:
    assert read_text(put(raw)) == WORDS


def test_cp1252_is_told_from_latin_1_by_the_codes_only_one_has(put) -> None:
    assert read_text(put("5 € – ok".encode("cp1252"))) == "5 € – ok"
    path = put(b"caf\xe9 \x81")  # 0x81 is undefined in cp1252
    assert find_encoding(path, path.read_bytes()) == "latin-1"


@pytest.mark.parametrize(
    ("raw", "problem"),
    [
        (b"", "empty"),
        (gzip.compress(b"", mtime=0), "empty"),
        (gzip.compress(os.urandom(4000), mtime=0)[:2000], "ends too early"),
        (gzip.compress(WORDS.encode(), mtime=0)[:-6] + b"\x00" * 6, "damaged gzip"),
        (b"PK\x03\x04junk", "workbook"),
        (b"PAR1junk", "Parquet"),
        (bytes(range(32)) * 40, "NUL"),
        (bytes(range(1, 256)) * 40, "binary"),
        (b"\xff\xfe" + "ab".encode("utf-16-le") + b"\x00\xd8", "does not fit"),
        ((MARK + "a\nb\x00").encode(), "NUL"),
    ],
)
def test_what_is_no_text_is_a_bad_file_with_its_fix(put, raw: bytes, problem: str) -> None:
    with pytest.raises(BadFile, match=problem) as caught:
        read_text(put(raw))
    assert caught.value.problems[0].fix


def test_the_line_of_the_first_nul_is_named(put) -> None:
    with pytest.raises(BadFile) as caught:
        read_text(put(b"a,b\n1,2\n" + b"\x00" * 512))
    assert caught.value.problems[0].line == 3


def test_a_missing_file_names_the_nearest_one(put, tmp_path: Path) -> None:
    put(b"a", "run-012.csv")
    with pytest.raises(BadFile, match=r"run-012\.csv"):
        read_text(tmp_path / "run-12.csv")
    with pytest.raises(BadFile, match="folder"):
        read_text(tmp_path / "nowhere" / "run-12.csv")


def test_what_is_not_a_regular_file_is_refused_at_once(tmp_path: Path) -> None:
    with pytest.raises(BadFile, match="is a folder"):
        read_text(tmp_path)
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(BadFile, match="not a regular file"):
        read_text(tmp_path / "pipe")
    with pytest.raises(BadFile):
        read_text(tmp_path / "a\x00b")
    with pytest.raises(BadFile):
        read_text(tmp_path / ("x" * 5000))


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_without_the_right_to_read_says_so(put) -> None:
    path = put(b"a,b")
    path.chmod(0)
    with pytest.raises(BadFile, match="not allowed"):
        read_text(path)


@pytest.mark.parametrize("members", [[1 << 24], [1 << 20, 1 << 24]])
def test_a_small_gzip_cannot_fill_the_memory(members: list[int]) -> None:
    """Also when its first member fills the room to the last byte, so that none is left for the second."""
    packed = b"".join(gzip.compress(b"0" * size) for size in members)
    with pytest.raises(BadFile, match="more than 1 MiB"):
        unpack(Path("log.gz"), packed, 1 << 20)


def test_a_file_beyond_the_limit_is_not_read(put) -> None:
    with pytest.raises(BadFile, match="more than 1 MiB"):
        read_file(put(b"0" * (1 << 21)), 1 << 20)


@pytest.mark.parametrize("kind", ["pipe", "device", "socket", "folder"])
def test_only_regular_files_are_opened(tmp_path: Path, kind: str) -> None:
    """A pipe without a writer would hold up the opening itself, a device never ends."""
    path = tmp_path / "log.csv"
    with socket.socket(socket.AF_UNIX) as end:
        match kind:
            case "pipe":
                os.mkfifo(path)
            case "device":
                path.symlink_to("/dev/zero")
            case "socket":
                end.bind(str(path))
            case _:
                path.mkdir()
        with pytest.raises(BadFile, match="not a"):
            read_file(path)


def test_what_is_added_while_a_file_is_read_is_not_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(b"12345")
    found = os.fstat

    def grow(handle: int) -> os.stat_result:
        size = found(handle)
        with path.open("ab") as stream:
            stream.write(b"67890")
        return size

    monkeypatch.setattr(os, "fstat", grow)
    content = read_file(path)
    monkeypatch.undo()
    assert (content, path.stat().st_size) == (b"12345", 10)
