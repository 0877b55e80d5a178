"""The gate for texts from outside: what a name, a unit or a note may hold, and how any text goes out again.

A text comes in from a file, a form, the web wire or the serial line. Where a person can type it again it is
judged, and refused with the character and its place. Where it is in a file that stays as it is, it is
cleaned, and a problem or a flag says so. On the way out a terminal is shown the codes of what it would obey,
and no cell of a CSV file begins like a formula.
"""

from __future__ import annotations

import csv
import io
import json
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum
from html import escape
from typing import Final

from strikeproof.errors import BadInput

__all__ = [
    "MARK",
    "TextKind",
    "TextProblem",
    "accept_text",
    "clean_text",
    "escape_json",
    "guard_cell",
    "join_halves",
    "judge_text",
    "mark_foreign",
    "show_codes",
    "unguard_cell",
    "write_csv_text",
    "xml_text",
]

MARK: Final = "\N{REPLACEMENT CHARACTER}"
"""What is in a cleaned text for characters that do not belong there."""

# Control codes, ends of lines and paragraphs, directions that reorder what follows, halves of characters
# (UTF-16 surrogates), and code points that are no characters; XML 1.0, section 2.2, forbids most of them too.
_FOREIGN: Final = (
    "\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufdd0-\ufdef"
    + "".join(chr((plane << 16) + code) for plane in range(17) for code in (0xFFFE, 0xFFFF))
)
_WRONG: Final = re.compile(f"[{_FOREIGN}]")
_WRONG_RUN: Final = re.compile(f"[{_FOREIGN}]+")
_WRONG_IN_NAME: Final = re.compile(rf"[\t\n\r{_FOREIGN}]")
_LINE_ENDS: Final = re.compile(r"[ ]*[\t\n\r]+[ ]*")
_NAMED: Final = {"\0": "NUL", "\a": "BEL", "\b": "BS", "\t": "a tab", "\x1b": "ESC", "\x7f": "DEL"}


class TextKind(Enum):
    """What a text is: its word in a sentence and the most characters that it may have."""

    NAME = ("name", 80)
    UNIT = ("unit", 30)
    CHANNEL = ("channel name", 200)
    FILE = ("file name", 400)
    NOTE = ("text", 2000)

    @property
    def word(self) -> str:
        """For a person."""
        return self.value[0]

    @property
    def most(self) -> int:
        """Characters."""
        return self.value[1]


@dataclass(frozen=True, slots=True)
class TextProblem:
    """What is wrong with a text and how to fix it, one clause each."""

    what: str
    fix: str


def judge_text(text: str, kind: TextKind) -> str | TextProblem:
    """The text as it is saved, in composed characters (Unicode NFC), no blanks around it; or a problem.

    In a note tabs and line ends are blanks. The name of a file stays as its disk spells it.
    """
    wrong = (_WRONG if kind is TextKind.NOTE else _WRONG_IN_NAME).search(text.strip(" \t\n\r"))
    if wrong is not None:
        place = text.index(wrong[0]) + 1
        return TextProblem(f"character {place} is {_called(wrong[0])}", "delete it or type the text again")
    told = _LINE_ENDS.sub(" ", text).strip()
    if kind is not TextKind.FILE:
        told = unicodedata.normalize("NFC", told)
    if len(told) > kind.most:
        most = f"{kind.most:,}"
        return TextProblem(f"it has {len(told):,} characters, a {kind.word} at most {most}", "shorten it")
    return told


def _called(character: str) -> str:
    """ESC (U+001B), half a character (U+D800): what a person cannot see, in words."""
    code = ord(character)
    if character in "\n\r\u2028\u2029":
        word = "a line end"
    elif 0xD800 <= code <= 0xDFFF:
        word = "half a character"
    elif 0x2028 < code < 0x2070:
        word = "a mark that reverses text"
    else:
        word = _NAMED.get(character, "a control character" if code < 0xA0 else "no character")
    return f"{word} (U+{code:04X})"


def accept_text(text: str, kind: TextKind, where: str, *, key: str = "") -> str:
    """The text as it is saved.

    Parameters
    ----------
    text
        As a person wrote it.
    kind
        Says how long it may be.
    where
        Which text it is, in words.
    key
        Of the text in its file; empty where it has none.

    Raises
    ------
    BadInput
        If it holds what no text may hold, or is too long; `where` and `key` say which text that is.
    """
    told = judge_text(text, kind)
    if isinstance(told, TextProblem):
        allowed = f"at most {kind.most:,} characters that can be seen"
        raise BadInput(told.what, where=where, allowed=allowed, fix=told.fix, key=key)
    return told


def clean_text(text: str, mark: str = MARK) -> str:
    """The text on one line, with `mark` for each run of characters that no text may hold."""
    return unicodedata.normalize("NFC", _LINE_ENDS.sub(" ", _WRONG_RUN.sub(mark, text)))


def show_codes(text: str) -> str:
    r"""The text with codes for what a terminal would obey, such as \x1b; line ends and tabs stay."""
    return _WRONG.sub(_code, text.replace("\r\n", "\n").replace("\r", "\\r"))


def _code(found: re.Match[str]) -> str:
    code = ord(found[0])
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def escape_json(document: str) -> str:
    """A JSON document in which only escapes are left of characters that no text may hold."""
    return _WRONG.sub(lambda found: json.dumps(found[0])[1:-1], document)


def mark_foreign(text: str) -> str:
    """The text, on as many lines as before, with a mark for each run of characters that no text may hold."""
    return _WRONG_RUN.sub(MARK, text)


def join_halves(text: str) -> str:
    """The text with halves of characters (UTF-16 surrogates, as a browser may send them) joined or marked."""
    return text.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")


def xml_text(text: str) -> str:
    """The text between tags or quotes of XML, SVG or HTML."""
    return escape(mark_foreign(text))


# A spreadsheet works out a cell that begins so as a formula, the wide forms too (common practice, no source).
_FORMULA: Final = re.compile(r"'*[=+\-@\t\r\n＝＋－＠].", re.DOTALL)
_NUMBER: Final = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?\s*%?", re.ASCII)


# Where numbers have a comma, a spreadsheet splits at semicolons, and at tabs when pasted: what follows one
# inside a text would then begin a cell of its own (common practice, no source).
_LATER: Final = re.compile(r"([;\t])(?='*[=+\-@＝＋－＠][^;\t])(?![+-]?\d+(?:[.,]\d*)?\s*(?:[;\t]|$))")
_GUARDED_LATER: Final = re.compile(_LATER.pattern.replace("([;\\t])", "([;\\t])'", 1))


def guard_cell(cell: object) -> object:
    """A cell of a CSV file: text that would be a formula gets an apostrophe in front, a number stays one."""
    if not isinstance(cell, str):
        return cell
    text = _LATER.sub(r"\1'", mark_foreign(cell))
    return f"'{text}" if _FORMULA.match(text) and not _NUMBER.fullmatch(text) else text


def unguard_cell(cell: str) -> str:
    """The text before `guard_cell` put an apostrophe in front."""
    inner = cell.removeprefix("'")
    is_guarded = inner != cell and _FORMULA.match(inner) and not _NUMBER.fullmatch(inner)
    return _GUARDED_LATER.sub(r"\1", inner if is_guarded else cell)


def _with_comma(cell: object) -> object:
    is_number = isinstance(cell, float) or (isinstance(cell, str) and _NUMBER.fullmatch(cell))
    return str(cell).replace(".", ",") if is_number else cell


def write_csv_text(
    rows: Iterable[Iterable[object] | Mapping[str, object]],
    columns: Iterable[str] | None = None,
    *,
    decimal_comma: bool = False,
) -> str:
    """Rows as CSV with guarded cells; rows that are mappings are written in the order of `columns`.

    With a decimal comma a semicolon separates the cells, as spreadsheets of such countries read it (common
    practice, no source).
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n", delimiter=";" if decimal_comma else ",")
    names = None if columns is None else list(columns)
    if names is not None:
        writer.writerow(names)
    for row in rows:
        cells = (row.get(name) for name in names or ()) if isinstance(row, Mapping) else row
        writer.writerow(
            [_with_comma(guard_cell(cell)) if decimal_comma else guard_cell(cell) for cell in cells]
        )
    return text.getvalue()
