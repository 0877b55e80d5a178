"""Catalogues of the languages: what is to be translated, what is, and whether both agree.

`catalogues.py --write` brings every catalogue up to date with the source: new sentences come in empty, those
that are no longer said go out, and what the program reads (.mo) is made from what people edit (.po).
`catalogues.py` alone lists what is missing or wrong; exit code 1 when there is something.
"""

from __future__ import annotations

import argparse
import io
import re
import string
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import read_mo, write_mo
from babel.messages.pofile import read_po, write_po

SOURCE = Path(__file__).parent.parent / "src" / "strikeproof"
PLACE = SOURCE / "language" / "catalogues"
LANGUAGES = ("de", "es")
KEYWORDS: dict[str, Any] = {"say": None, "say_marked": None, "say_many": (1, 2)}
NOTE = "Made without a native reader: corrections are welcome."
SCRIPTS = ("record_template.js", "record_screen.js", "record_keys.js", "record_signals.js")
SAYS = re.compile(r"from strikeproof\.language import (?:\([^)]*?|[^)\n]*?)\bsay(?:_many)?\b")
SAID = re.compile(r"""\bsay\((["'])(.+?)\1""")


def find_sentences() -> Catalog:
    """Every sentence of the source that is said by a language, with the files that say it."""
    catalogue = Catalog(fuzzy=False)
    for path, method in _files():
        place = path.relative_to(SOURCE).as_posix()
        for one, many in _sentences(path, method):
            catalogue.add((one, many) if many else one, locations=[(place, 1)])
    return catalogue


def _files() -> Iterator[tuple[Path, str]]:
    for path in sorted(SOURCE.rglob("*.py")):
        if path.name == "speech.py" or SAYS.search(path.read_text("utf-8")):
            yield path, "python"
    for path in sorted((SOURCE / "publish" / "templates").glob("*.html")):
        yield path, "jinja2.ext:babel_extract"
    for name in SCRIPTS:
        yield SOURCE / "web" / "assets" / name, "script"


def _sentences(path: Path, method: str) -> Iterator[tuple[str, str]]:
    if method == "script":
        yield from ((found[2], "") for found in SAID.finditer(path.read_text("utf-8")))
        return
    with path.open("rb") as file:
        for _line, words, _comments, _context in extract(method, file, KEYWORDS):
            yield (words, "") if isinstance(words, str) else (words[0], words[1])


def read_catalogue(language: str) -> Catalog:
    """What people edit; empty where it is not there yet."""
    path = PLACE / f"{language}.po"
    if not path.exists():
        return Catalog(locale=language, fuzzy=False)
    with path.open("rb") as file:
        return read_po(file, locale=language)


def find_problems(language: str, sentences: Catalog) -> Iterator[str]:
    """What is missing, no longer said, put otherwise than in the source, or not made again."""
    catalogue = read_catalogue(language)
    known = {message.id for message in catalogue if message.id}
    said = {message.id for message in sentences if message.id}
    yield from (f"{language}: not in the catalogue: {each!r}" for each in sorted(said - known, key=str))
    yield from (f"{language}: no longer said: {each!r}" for each in sorted(known - said, key=str))
    for message in catalogue:
        if message.id:
            yield from (f"{language}: {each}: {message.id!r}" for each in _wrong(message.id, message))
    made = io.BytesIO()
    write_mo(made, catalogue)
    place = PLACE / f"{language}.mo"
    if not place.exists() or _texts(place.read_bytes()) != _texts(made.getvalue()):
        yield f"{language}: {place.name} is not made from {language}.po"


def _texts(compiled: bytes) -> dict[Any, Any]:
    return {str(message.id): message.string for message in read_mo(io.BytesIO(compiled)) if message.id}


def _wrong(source: Any, message: Any) -> Iterator[str]:
    sources = source if isinstance(source, tuple) else (source,)
    texts = message.string if isinstance(message.string, tuple) else (message.string,)
    if message.fuzzy:
        yield "marked as unsure"
    if not all(texts):
        yield "not translated"
        return
    facts = [_facts(each) for each in sources]
    for text in texts:
        if _facts(text) not in facts:
            yield f"has other places for facts in {text!r}"
        if text[:1].isspace() != sources[0][:1].isspace() or text[-1:].isspace() != sources[0][-1:].isspace():
            yield f"begins or ends otherwise in {text!r}"


def _facts(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


def write_catalogue(language: str, sentences: Catalog) -> None:
    """Bring a catalogue up to date with the source, and make from it what the program reads."""
    known = {message.id: message.string for message in read_catalogue(language) if message.id}
    catalogue = Catalog(
        locale=language, project="Strikeproof", fuzzy=False, header_comment=f"# {NOTE}", copyright_holder=""
    )
    for message in sentences:
        if message.id:
            places = [(place, None) for place, _ in message.locations]
            catalogue.add(message.id, known.get(message.id, ""), locations=places)
    catalogue.creation_date = catalogue.revision_date = datetime(
        2026, 1, 1, tzinfo=UTC
    )  # no clock in the repository
    with (PLACE / f"{language}.po").open("wb") as file:
        write_po(file, catalogue, width=110, sort_output=False, omit_header=False)
    with (PLACE / f"{language}.mo").open("wb") as file:
        write_mo(file, catalogue)


def main() -> int:
    """List what is missing or wrong, or write the catalogues."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--write", action="store_true", help="bring the catalogues up to date")
    asked = parser.parse_args()
    sentences = find_sentences()
    if asked.write:
        for language in LANGUAGES:
            write_catalogue(language, sentences)
    problems = [each for language in LANGUAGES for each in find_problems(language, sentences)]
    print(*problems, sep="\n", end="\n" if problems else "")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
