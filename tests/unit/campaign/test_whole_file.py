"""One writer for everything a person keeps: the old stays until all of the new is on disk."""

import os
import re
from pathlib import Path

import pytest

import strikeproof
from strikeproof.campaign.whole_file import whole_folder, write_beside, write_whole
from strikeproof.errors import StoreError


def stop(*_args: object) -> None:
    """A person presses Ctrl-C, or the disk is full, before the new bytes are safe."""
    raise KeyboardInterrupt


def test_a_stop_before_the_bytes_are_safe_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = tmp_path / "page.html"
    page.write_text("old")
    monkeypatch.setattr(os, "fsync", stop)
    with pytest.raises(KeyboardInterrupt):
        write_whole(page, "new")
    assert page.read_text() == "old"
    assert list(tmp_path.iterdir()) == [page]


def test_a_full_disk_is_one_readable_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match=r"page\.html: cannot be written: No space left on device"):
        write_whole(tmp_path / "page.html", "new")
    assert list(tmp_path.iterdir()) == []


def test_bytes_and_text_are_written_as_they_are(tmp_path: Path) -> None:
    write_whole(tmp_path / "text", "a\r\nµ")
    write_whole(tmp_path / "bytes", b"\x00\r\n")
    assert (tmp_path / "text").read_bytes() == "a\r\nµ".encode()
    assert (tmp_path / "bytes").read_bytes() == b"\x00\r\n"


def test_the_folder_is_synced_after_the_rename(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """POSIX.1-2017, rename and fsync: a rename lasts only once its folder is synced."""
    synced: list[bool] = []
    monkeypatch.setattr(os, "fsync", lambda handle: synced.append(Path(f"/proc/self/fd/{handle}").is_dir()))
    write_whole(tmp_path / "page.html", "new")
    assert synced == [False, True]


def test_permissions_and_links_stay(tmp_path: Path) -> None:
    page, link = tmp_path / "page.html", tmp_path / "link.html"
    page.write_text("old")
    page.chmod(0o640)
    link.symlink_to(page)
    write_whole(link, "new")
    assert link.is_symlink()
    assert page.read_text() == "new"
    assert page.stat().st_mode & 0o777 == 0o640


def test_what_is_no_file_is_written_straight(tmp_path: Path) -> None:
    """A named pipe, or /dev/stdout: a rename would put a file in its place."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        write_whole(pipe, "new")
        assert os.read(reader, 10) == b"new"
    finally:
        os.close(reader)
    assert pipe.is_fifo()


def test_the_version_before_is_saved_beside_with_its_date(tmp_path: Path) -> None:
    sheet = tmp_path / "runs.csv"
    assert write_beside(sheet, "first") is None
    assert write_beside(sheet, "first") is None  # nothing changes, so nothing is saved
    saved = [write_beside(sheet, text) for text in ("second", "third")]
    assert [path.read_text() for path in saved if path] == ["first", "second"]
    assert all(re.fullmatch(r"runs\.before-\d{4}-\d\d-\d\d-\d{6}(-\d+)?\.csv", p.name) for p in saved if p)
    assert sheet.read_text() == "third"


def fill_half(folder: Path) -> None:
    with whole_folder(folder) as new:
        (new / "half").write_text("half")
        raise KeyboardInterrupt


def test_a_folder_takes_the_place_of_another_only_when_it_is_complete(tmp_path: Path) -> None:
    folder = tmp_path / "design"
    folder.mkdir()
    (folder / "old").write_text("old")
    with pytest.raises(KeyboardInterrupt):
        fill_half(folder)
    assert [path.name for path in folder.iterdir()] == ["old"]
    with whole_folder(folder) as new:
        (new / "new").write_text("new")
    assert [path.name for path in folder.iterdir()] == ["new"]
    assert list(tmp_path.iterdir()) == [folder]


OTHER_WAYS = {
    "campaign/whole_file.py",  # the writer itself
    "campaign/database.py",  # a lock
    "desk/setting_up/run_rows.py",  # a lock
    "desk/setting_up/editor.py",  # a lock
    "desk/recording/folder.py",  # a lock
    "desk/publishing/film/placing.py",  # a lock
    "desk/workspace/moving.py",  # a lock
    "web/upload.py",  # grows under a name of its own, then is renamed
    "desk/loading/upload.py",  # unpacks into a folder that is renamed when complete
    "capture/recording.py",  # grows while it is recorded, synced batch by batch
    "campaign/archive.py",  # unpacks into a folder that is renamed when complete
    "desk/workspace/backup_files.py",  # fills a folder that takes its place when it is verified
    "desk/publishing/shelf/building.py",  # fills a folder that takes its place when complete
    "desk/publishing/shelf/fetching.py",  # what is fetched, in a folder that is gone afterwards
    "desk/publishing/bundle/signing.py",  # a list of keys, in a folder that is gone afterwards
    "desk/demo.py",  # logs of the demo, made again at will
    "publish/blow/film.py",  # into memory
}


def test_nothing_else_opens_a_file_to_write_it() -> None:
    source = Path(strikeproof.__file__).parent
    writes = re.compile(r"""\.write_(?:text|bytes)\(|open\([^)\n]*["'][wxa]b?["']""")
    found = {
        str(path.relative_to(source)) for path in source.rglob("*.py") if writes.search(path.read_text())
    }
    assert found - OTHER_WAYS == set()
