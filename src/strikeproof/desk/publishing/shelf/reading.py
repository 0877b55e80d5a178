"""What a shelf says of one bundle, read from three of its files in a process with bounds."""

from __future__ import annotations

import json
import re
import zipfile
from collections.abc import Iterator, Mapping
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.archive import refuse_many
from strikeproof.campaign.files import hash_file
from strikeproof.campaign.text import read_file
from strikeproof.campaign.toml_reader import parse_toml
from strikeproof.campaign.zip_file import DAMAGED_ZIP
from strikeproof.desk.publishing.bundle.form import ABOUT, CAMPAIGN, RESULTS, SUMS, read_about
from strikeproof.errors import BadFile, BadInput, Problem
from strikeproof.publish.shelf.records import (
    FORM,
    ShelfEntry,
    ShelfTool,
    read_entry,
    read_result,
    short_text,
)

__all__ = ["read_bundle", "read_index"]

_MOST_BYTES: Final = 1 << 22
_MOST_INDEX: Final = 1 << 28
_TABLE: Final = f"{RESULTS}/articles.json"
_FILE: Final = f"{CAMPAIGN}/campaign.toml"
_LINE: Final = re.compile(r"([0-9a-f]{64})  (\S.*)")
_AGAIN: Final = "get it again from where it was published"
_NUMBERS: Final = {"gain": "gain_percent", "gain_low": "low_percent", "gain_high": "high_percent"}


def read_bundle(path: Path, file: str) -> ShelfEntry:
    """The entry of one bundle, as its author states it; `file` is its place in the folder of the shelf.

    Raises
    ------
    BadFile
        If it is no bundle, is damaged, or one of the three files is not as its own list says.
    """
    try:
        refuse_many(path)
        with zipfile.ZipFile(path) as archive:
            listed = dict(_listed(_member(archive, SUMS).decode("utf-8", "replace")))
            content = {name: _member(archive, name) for name in (ABOUT, _TABLE, _FILE)}
        for name, bytes_ in content.items():
            if sha256(bytes_).hexdigest() != listed.get(name):
                raise ValueError(f"{name} is not as its list says")
        return _entry(path, file, content)
    except (*DAMAGED_ZIP, TypeError, AttributeError, RecursionError, BadInput) as cause:
        said = " ".join(str(cause).split())[:120] or type(cause).__name__
        raise BadFile([Problem(file, None, f"is no bundle for a shelf: {said}", _AGAIN)]) from cause


def _member(archive: zipfile.ZipFile, name: str) -> bytes:
    """A file of the archive, however large its list says that it is."""
    with archive.open(name) as stream:
        content = stream.read(_MOST_BYTES + 1)
    if len(content) > _MOST_BYTES:
        raise ValueError(f"{name} has more than {_MOST_BYTES >> 20} MiB")
    return content


def _listed(text: str) -> Iterator[tuple[str, str]]:
    for line in text.splitlines():
        found = _LINE.fullmatch(line)
        if found is not None:
            yield found[2], found[1]


def _entry(path: Path, file: str, content: Mapping[str, bytes]) -> ShelfEntry:
    about = read_about(content[ABOUT].decode("utf-8", "replace"))
    tables = parse_toml(content[_FILE].decode("utf-8", "replace"), Path(_FILE))
    protocol = tables.get("protocol", {})
    rule, length, way = (
        short_text(str(protocol.get(key, usual)))
        for key, usual in (("score", "end"), ("duration", "10 s"), ("direction", "tighten"))
    )
    return ShelfEntry(
        sha256=hash_file(path),
        file=file,
        size=path.stat().st_size,
        campaign=short_text(about.campaign),
        made=short_text(about.made),
        simulated=about.simulated,
        runs=about.runs,
        licence=short_text(about.licence),
        authors=tuple(map(short_text, about.authors)),
        bench=short_text(tables.get("rig", {}).get("name", "a bench without a name")),
        reference=short_text(tables["campaign"]["reference"]),
        score=f"level: {rule}; {length}, {way}",
        version=short_text(about.versions.get("strikeproof", "")),
        tools=tuple(ShelfTool(short_text(each["name"]), _kind(each)) for each in tables["tool"]),
        results=tuple(map(read_result, _results(content[_TABLE]))),
    )


def _kind(tool: Mapping[str, Any]) -> str:
    """The class of a tool: mechanism and drive, as far as they are given."""
    mechanism, drive = tool.get("mechanism"), tool.get("drive_mm")
    size = f", {float(drive):g} mm drive" if isinstance(drive, int | float) else ""
    return f"{short_text(mechanism) if mechanism else 'mechanism not given'}{size}"


def _results(content: bytes) -> Iterator[Mapping[str, Any]]:
    document = json.loads(content)
    names = [_NUMBERS.get(each["name"], each["name"]) for each in document["columns"]]
    return (dict(zip(names, row, strict=True)) for row in document["rows"])


def read_index(path: Path) -> tuple[ShelfEntry, ...]:
    """The entries of another shelf's index.

    Raises
    ------
    BadInput, BadFile
        If it is none.
    """
    try:
        document = json.loads(read_file(path, _MOST_INDEX))
        if document["form"] > FORM:
            raise ValueError("of a newer program")
        shelf = short_text(document["shelf"]) or path.stem
        return tuple(read_entry(each, shelf) for each in document["entries"])
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as cause:
        raise BadInput(
            f"{path.name} cannot be used", where="the index", allowed="index.json of a shelf", fix=_AGAIN
        ) from cause
