"""A PostgreSQL server of the tests' own, in a folder and on a port of its own, that ends with them."""

from __future__ import annotations

import getpass
import itertools
import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sqlalchemy import create_engine, text

from strikeproof.campaign.database import open_database
from strikeproof.campaign.database_server import ADDRESS, parse_address

__all__ = ["Server", "run_server"]

_NUMBERS = itertools.count(1)


class Server:
    """A server that runs: its databases are made from one that has the tables already."""

    def __init__(self, address: str) -> None:
        self.address = address
        self._admin = create_engine(
            parse_address(f"{address}/postgres"), isolation_level="AUTOCOMMIT", pool_size=1
        )
        self.new_database("ready", template="template0")
        with tempfile.TemporaryDirectory() as folder:
            open_database(parse_address(f"{address}/ready"), Path(folder)).dispose()

    def new_database(self, name: str, template: str = "ready") -> str:
        with self._admin.connect() as db:
            db.execute(text(f"CREATE DATABASE {name} TEMPLATE {template}"))
        return f"{self.address}/{name}"

    def new_workspace(self, folder: Path) -> Path:
        """A folder whose database is a new one on the server."""
        folder.mkdir(parents=True, exist_ok=True)
        (folder / ADDRESS).write_text(self.new_database(f"lab_{next(_NUMBERS)}"))
        return folder

    def close(self) -> None:
        self._admin.dispose()


@contextmanager
def run_server() -> Iterator[Server]:
    """Start one; nothing of it outlives the block. As root it runs as the user that its package made."""
    as_user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    # Others than their own user may not enter the folders of pytest, so the server makes one of its own.
    make = [*as_user, "mktemp", "-d", "/tmp/strikeproof-server-XXXXXX"]
    place = Path(subprocess.run(make, check=True, capture_output=True, text=True, cwd="/").stdout.strip())
    data, port = place / "data", _free_port()
    start = [*as_user, _tool("pg_ctl"), "-D", str(data), "-l", str(place / "log"), "-w"]
    first = ("-D", data, "-U", "bench", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
    try:
        _run([*as_user, _tool("initdb"), *map(str, first)], place)
        _run([*start, "-o", f"-p {port} -k {place} -c listen_addresses=127.0.0.1", "start"], place)
        server = Server(f"postgresql://bench@127.0.0.1:{port}")
        yield server
        server.close()
    finally:
        with suppress(subprocess.CalledProcessError):
            _run([*start, "-m", "immediate", "stop"], place)
        _run([*as_user, "rm", "-rf", str(place)], Path("/"))


def _run(command: list[str], place: Path) -> None:
    subprocess.run(command, check=True, cwd=place, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def _tool(name: str) -> str:
    places = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    found = next((str(place / name) for place in places if (place / name).is_file()), shutil.which(name))
    assert found is not None, f"{name} is not installed: scripts/need-server ({getpass.getuser()})"
    return found


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
