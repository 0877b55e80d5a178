"""The papers of a bundle: for people, for a citation, and for the programs of archives.

A Data Package (datapackage.org, version 2.0), an RO-Crate (w3id.org/ro/crate/1.2) and a Citation File Format
file (version 1.2.0); the fields of all three from memory.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any, Final
from urllib.parse import quote

from strikeproof.plain_text import clean_text, escape_json
from strikeproof.publish.data.licences import Licence
from strikeproof.publish.data.tables import DataTable

__all__ = ["BundleFile", "Papers", "write_citation", "write_crate", "write_datapackage", "write_readme"]

_CRATE: Final = "ro-crate-metadata.json"
_MEDIA: Final = {
    ".cff": "application/yaml",
    ".csv": "text/csv",
    ".html": "text/html",
    ".jpeg": "image/jpeg",
    ".jpg": "image/jpeg",
    ".json": "application/json",
    ".md": "text/markdown",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".toml": "application/toml",
    ".txt": "text/plain",
    ".wav": "audio/wav",
    ".webp": "image/webp",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@dataclass(frozen=True, slots=True)
class BundleFile:
    """One file of a bundle; `table` is what it holds where it is a table of results."""

    path: str
    sha256: str
    size: int
    title: str
    table: DataTable | None = None

    @property
    def media(self) -> str:
        """Its media type by its ending."""
        return _MEDIA.get(PurePosixPath(self.path).suffix.lower(), "application/octet-stream")


@dataclass(frozen=True, slots=True)
class Papers:
    """What is said of a bundle as a whole.

    Parameters
    ----------
    made
        The day, as ISO 8601.
    command
        What computes everything again.
    """

    title: str
    description: str
    made: str
    licence: Licence
    authors: tuple[str, ...]
    version: str
    command: str
    simulated: bool

    @property
    def called(self) -> tuple[str, ...]:
        """The authors as a citation names them."""
        return self.authors or ("anonymous",)


def write_citation(papers: Papers) -> str:
    """CITATION.cff: strings in quotes, so that no name can become anything else in YAML."""
    lines = [
        "cff-version: 1.2.0",
        'message: "If you use these data, please cite them as below."',
        "type: dataset",
        f"title: {_quoted(papers.title)}",
        "authors:",
        *(f"  - name: {_quoted(each)}" for each in papers.called),
        f"abstract: {_quoted(papers.description)}",
        f'date-released: "{papers.made}"',
        f"license: {papers.licence.spdx}",
    ]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """A JSON string, which YAML 1.2 reads as it is."""
    return json.dumps(clean_text(text), ensure_ascii=False)


def write_datapackage(papers: Papers, files: Iterable[BundleFile]) -> str:
    """datapackage.json."""
    names: set[str] = set()
    document = {
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": _slug(papers.title) or "bundle",
        "title": papers.title,
        "description": papers.description,
        "created": f"{papers.made}T00:00:00Z",
        "licenses": [
            {
                "name": papers.licence.spdx,
                "path": papers.licence.address,
                "title": papers.licence.title,
            }
        ],
        "contributors": [{"title": each, "roles": ["author"]} for each in papers.authors],
        "resources": [_resource(each, names) for each in files],
    }
    if not papers.authors:
        del document["contributors"]
    return _json(document)


def _resource(file: BundleFile, names: set[str]) -> dict[str, Any]:
    name = _slug(file.path) or "file"
    while name in names:
        name += "-2"
    names.add(name)
    found: dict[str, Any] = {
        "name": name,
        "path": file.path,
        "title": file.title,
        "mediatype": file.media,
        "bytes": file.size,
        "hash": f"sha256:{file.sha256}",
    }
    if file.table is None:
        # A log ends in .csv and is no table of this standard: lines before its head, separators of its own.
        return found | ({"format": "log"} if file.media == "text/csv" else {})
    fields = [
        {"name": each.head, "type": each.kind, "description": each.means}
        | ({"unit": each.unit} if each.unit else {})
        for each in file.table.columns
    ]
    return found | {"type": "table", "format": "csv", "encoding": "utf-8", "schema": {"fields": fields}}


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9._]+", "-", text.lower()).strip("-.")


def write_crate(papers: Papers, files: Sequence[BundleFile]) -> str:
    """ro-crate-metadata.json."""
    authors = [{"@id": f"#author-{at}"} for at, _each in enumerate(papers.called, start=1)]
    program, about = "#strikeproof", papers.licence
    graph: list[dict[str, Any]] = [
        {
            "@id": _CRATE,
            "@type": "CreativeWork",
            "conformsTo": {"@id": "https://w3id.org/ro/crate/1.2"},
            "about": {"@id": "./"},
        },
        {
            "@id": "./",
            "@type": "Dataset",
            "name": papers.title,
            "description": papers.description,
            "datePublished": papers.made,
            "license": {"@id": about.address},
            "author": authors,
            "hasPart": [{"@id": quote(each.path)} for each in files],
            "mentions": {"@id": "#made"},
        },
        {
            "@id": about.address,
            "@type": "CreativeWork",
            "name": about.title,
            "identifier": about.spdx,
        },
        *(
            {"@id": f"#author-{at}", "@type": "Person", "name": each}
            for at, each in enumerate(papers.called, start=1)
        ),
        {"@id": program, "@type": "SoftwareApplication", "name": "strikeproof", "version": papers.version},
        {
            "@id": "#made",
            "@type": "CreateAction",
            "name": papers.command,
            "instrument": {"@id": program},
            "endTime": papers.made,
            "result": {"@id": "./"},
        },
        *(
            {
                "@id": quote(each.path),
                "@type": "File",
                "name": each.title,
                "contentSize": str(each.size),
                "encodingFormat": each.media,
                "sha256": each.sha256,
            }
            for each in files
        ),
    ]
    return _json({"@context": "https://w3id.org/ro/crate/1.2/context", "@graph": graph})


def _json(document: dict[str, Any]) -> str:
    return escape_json(json.dumps(document, ensure_ascii=False, indent=1)) + "\n"


def write_readme(papers: Papers, folders: Iterable[tuple[str, str]]) -> str:
    """README.md: what is where, and how to compute it again."""
    title = clean_text(papers.title)
    said = ["**SIMULATED.** A computer made these runs; no bolt was struck.", ""] if papers.simulated else []
    lines = [
        f"# {title}",
        "",
        *said,
        clean_text(papers.description),
        "",
        f"By {', '.join(map(clean_text, papers.called))}, {papers.made}. "
        f"Licence: {papers.licence.title} ({papers.licence.spdx}), <{papers.licence.address}>.",
        "",
        "To compute everything again from the logs and compare it with what is stated here:",
        "",
        f"    {papers.command}",
        "",
        f"That takes strikeproof {papers.version} or later. Nothing in this bundle is ever run.",
        "",
        "| what | where |",
        "|---|---|",
        *(f"| {says} | `{place}` |" for place, says in folders),
        "",
        "`SHA256SUMS` lists every other file: `sha256sum -c SHA256SUMS`.",
    ]
    return "\n".join(lines) + "\n"
