"""An index of another shelf over a real line: fetched, bounded, and nobody else is asked."""

from __future__ import annotations

import contextlib
import json
import os
import threading
import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import ClassVar

import pytest
from tests.commands import strikeproof
from tests.unit.desk.publishing.plain_bundle import shelf_bundle

from strikeproof.desk.publishing.shelf import fetching
from strikeproof.desk.publishing.shelf.fetching import fetch_index
from strikeproof.errors import StoreError


class _Shelf(BaseHTTPRequestHandler):
    content = b""
    files: ClassVar[dict[str, bytes]] = {}

    def do_GET(self) -> None:
        where = {
            "/moved": "/index.json",
            "/away": "http://127.0.0.2:9/index.json",
            "/file": "file:///etc/passwd",
            "/port": "http://127.0.0.1:9/index.json",
        }
        if self.path in where:
            self.send_response(302)
            self.send_header("location", where[self.path])
            self.end_headers()
            return
        if self.path == "/drip":
            self.send_response(200)
            self.end_headers()
            with contextlib.suppress(OSError):
                for _ in range(40):
                    self.wfile.write(b" ")
                    time.sleep(0.01)
            return
        there = {"/index.json": self.content, **self.files}
        self.send_response(200 if self.path in there else 404)
        self.end_headers()
        self.wfile.write(there.get(self.path, b""))

    def log_message(self, *_words: object) -> None:
        pass


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with ThreadingHTTPServer(("127.0.0.1", 0), _Shelf) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}"
        server.shutdown()


def test_a_shelf_at_an_address_is_included(address: str, tmp_path: Path) -> None:
    for name in ("theirs", "mine"):
        (tmp_path / name).mkdir()
        shelf_bundle(tmp_path / name / f"{name}.zip", name, f"{name} stand", {"ring": 9.0})
    strikeproof("shelf", tmp_path / "theirs")
    _Shelf.content = (tmp_path / "theirs" / "shelf" / "index.json").read_bytes()
    out, _ = strikeproof("shelf", tmp_path / "mine", "--include", f"{address}/moved")
    assert "1 bundles and 1 of other shelves" in out or "1 bundle and 1 of other shelves" in out
    entries = json.loads((tmp_path / "mine" / "shelf" / "index.json").read_text())["entries"]
    assert {each["campaign"] for each in entries} == {"theirs", "mine"}


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("/away", "leads on to"),
        ("/port", "leads on to"),
        ("/file", "is not allowed"),
        ("/nothing", "404"),
        ("/index.json", "too large"),
    ],
)
def test_what_cannot_be_fetched_says_why(
    address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, path: str, said: str
) -> None:
    monkeypatch.setattr(fetching, "_MOST_BYTES", 10)
    _Shelf.content = b"{}" * 100
    with pytest.raises(StoreError, match=said):
        fetch_index(f"{address}{path}", tmp_path / "x.json")


def test_a_host_that_answers_drop_by_drop_is_left(
    address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(fetching, "_LONGEST_S", 0.05)
    with pytest.raises(StoreError, match="takes too long"):
        fetch_index(f"{address}/drip", tmp_path / "x.json")
    assert (tmp_path / "x.json").stat().st_size < 40


def test_a_shelf_is_built_over_an_address(
    address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelf_bundle(tmp_path / "a.zip", "theirs", "their stand", {"ring": 9.0})
    strikeproof("shelf", tmp_path, "--title", "Theirs")
    bundle, index = (tmp_path / "a.zip").read_bytes(), (tmp_path / "shelf" / "index.json").read_bytes()
    links = (
        "a%20b.zip",
        "/elsewhere/x.zip",
        "..%2f..%2fx.zip",
        "http://127.0.0.2:9/y.zip",
        "//[z.zip",
        "a.txt",
    )
    listing = "".join(f'<a href="{link}">x</a>' for link in links).encode()
    files = {"/site/index.json": index, "/list/": listing, "/list/a%20b.zip": bundle, "/none/": b"nothing"}
    monkeypatch.setattr(_Shelf, "files", files)
    out, err = strikeproof("shelf", f"{address}/site", "-o", tmp_path / "one")
    assert "1 of other shelves" in out and f"asked for {address}/site/index.json" in err
    out, err = strikeproof("shelf", f"{address}/list/", "-o", tmp_path / "two")
    assert "1 bundle" in out and f"asked for {address}/list/a%20b.zip" in err and "elsewhere" not in err
    entries = json.loads((tmp_path / "two" / "index.json").read_text())["entries"]
    assert [each["file"] for each in entries] == ["a b.zip"]
    _, err = strikeproof("shelf", f"{address}/none/", "-o", tmp_path / "three", code=2)
    assert "no index.json and no link to a bundle" in err
    _, err = strikeproof("shelf", f"{address}/list/", code=2)
    assert "--out FOLDER" in err
    monkeypatch.setattr(fetching, "_MOST_IN_ALL", 10)
    _, err = strikeproof("shelf", f"{address}/list/", "-o", tmp_path / "four", code=2)
    assert "too large" in err and not (tmp_path / "four").exists()


def test_a_link_and_a_pipe_are_left_out_by_name(tmp_path: Path) -> None:
    shelf_bundle(tmp_path / "one.zip", "rings", "north stand", {"ring": 9.0})
    os.mkfifo(tmp_path / "pipe.zip")
    (tmp_path / "folder.zip").mkdir()
    (tmp_path / "link.zip").symlink_to(tmp_path / "one.zip")
    _, told = strikeproof("shelf", tmp_path)
    for name in ("pipe.zip", "folder.zip", "link.zip"):
        assert f"{name}: is no file but a link, folder or pipe" in told
