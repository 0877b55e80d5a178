"""What is in a bundle: names of its files, and the paper about how it was made that a recomputation reads."""

from __future__ import annotations

import json
import platform
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

import strikeproof
from strikeproof.campaign.files import hash_file
from strikeproof.desk.workspace.results_version import SCORES
from strikeproof.errors import BadInput
from strikeproof.plain_text import escape_json
from strikeproof.publish.data.agreement import Tolerances

__all__ = [
    "ABOUT",
    "CAMPAIGN",
    "CHARTS",
    "PAGE",
    "RESULTS",
    "SUMS",
    "About",
    "read_about",
    "versions",
    "write_about",
    "write_sums",
]

ABOUT: Final = "bundle.json"
SUMS: Final = "SHA256SUMS"
PAGE: Final = "page.html"
CAMPAIGN: Final = "campaign"
RESULTS: Final = "results"
CHARTS: Final = "charts"
_FORM: Final = 1
_LIBRARIES: Final = ("numpy", "scipy", "numba", "pyarrow", "matplotlib")


@dataclass(frozen=True, slots=True)
class About:
    """How a bundle was made.

    Parameters
    ----------
    made
        The day, as ISO 8601.
    versions
        Of the program and of the libraries that results go through, by name.
    tolerances
        By table and column, how far a number may be off: stated before anybody computes again.
    changed
        Files whose heads were changed to take out personal data: they are not the originals byte for byte.
    explained
        Whether its page has a part that explains the differences; None where an earlier program did not say.
    """

    campaign: str
    made: str
    simulated: bool
    runs: int
    seed: int | None
    licence: str
    authors: tuple[str, ...]
    command: str
    versions: Mapping[str, str]
    tolerances: Mapping[str, Tolerances]
    stripped: bool = False
    changed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    explained: bool | None = None


def versions() -> dict[str, str]:
    """Of this program, of its way of working results out, of Python and of the libraries they go through."""
    found = {
        "strikeproof": strikeproof.__version__,
        "scores": str(SCORES),
        "python": platform.python_version(),
    }
    return found | {name: version(name) for name in _LIBRARIES}


def write_about(about: About) -> str:
    """The paper as JSON."""
    body = {
        "form": _FORM,
        "campaign": about.campaign,
        "made": about.made,
        "simulated": about.simulated,
        "runs": about.runs,
        "seed": about.seed,
        "licence": about.licence,
        "authors": about.authors,
        "command": about.command,
        "versions": dict(about.versions),
        "tolerances": {
            table: {
                name: {"relative": relative, "absolute": absolute}
                for name, (relative, absolute) in columns.items()
            }
            for table, columns in about.tolerances.items()
        },
        "stripped": about.stripped,
        "changed": about.changed,
        "notes": about.notes,
        "explained": about.explained,
    }
    return escape_json(json.dumps(body, ensure_ascii=False, indent=1)) + "\n"


def read_about(text: str) -> About:
    """The paper of a bundle.

    Raises
    ------
    BadInput
        If it cannot be used, or is of a newer program.
    """
    try:
        body = json.loads(text)
        if body["form"] > _FORM:
            raise _unusable("is of a newer program", "update strikeproof")
        return About(
            campaign=_text(body["campaign"]),
            made=_text(body["made"])[:10],
            simulated=bool(body["simulated"]),
            runs=int(body["runs"]),
            seed=None if body["seed"] is None else int(body["seed"]),
            licence=_text(body["licence"]),
            authors=tuple(map(_text, body["authors"])),
            command=_text(body["command"]),
            versions={_text(name): _text(each) for name, each in body["versions"].items()},
            tolerances={_text(name): _allowed(each) for name, each in body["tolerances"].items()},
            stripped=bool(body["stripped"]),
            changed=tuple(map(_text, body["changed"])),
            notes=tuple(map(_text, body["notes"])),
            explained=None if body.get("explained") is None else bool(body["explained"]),
        )
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError, OverflowError) as cause:
        raise _unusable("cannot be used", "get the bundle again from where it was published") from cause


def _unusable(what: str, fix: str) -> BadInput:
    return BadInput(f"its {ABOUT} {what}", where="the bundle", allowed="as `bundle` wrote it", fix=fix)


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError(value)
    return value


def _allowed(columns: Mapping[str, Mapping[str, float]]) -> dict[str, tuple[float, float]]:
    return {
        _text(name): (abs(float(each["relative"])), abs(float(each["absolute"])))
        for name, each in columns.items()
    }


def write_sums(files: Sequence[Path], folder: Path) -> str:
    """SHA-256 and path of each file, as `sha256sum -c` reads them."""
    return "".join(f"{hash_file(path)}  {path.relative_to(folder).as_posix()}\n" for path in files)
