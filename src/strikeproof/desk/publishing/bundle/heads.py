"""Lines at the head of a text log that say something of a person; the row with its columns' names is none."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

__all__ = ["blank_head", "find_lines"]

_REMOVED: Final = b"removed"
_WORDS: Final = (
    rb"operator|user ?name|user|technician|tester|author|owner|engineer|inspector|bediener|pr\xc3\xbcfer|"
    rb"serial (?:no\.?|number)|serial|s/n|gps|latitude|longitude|e-?mail|phone|seriennummer"
)
_DONE: Final = rb"operated|tested|measured|recorded|performed|logged|inspected|checked"
_PERSON: Final = re.compile(
    rb"(?im)^(?P<before>[^\r\n]{0,60}?\b(?:(?:" + _WORDS + rb")(?:[ _](?:name|id|initials))?\b[\"']?[ \t]*"
    rb"(?P<sign>[:=;,\t])|(?:" + _DONE + rb")[ _]by\b[\"']?(?:[ \t]*(?P<by_sign>[:=;,\t])|[ \t]))[ \t]*)"
    rb"(?P<value>[^\r\n]+)"
)
_MAIL: Final = re.compile(rb"[\w.+-]+@[\w-]+\.[\w.-]+")
_SIGNS: Final = (b"\t", b";", b",")
_NUMBER: Final = re.compile(rb"[\"\s]*[-+]?\.?\d[\d.,:/TZeE+\- ]*[\"\s]*")
_UNIT: Final = re.compile(rb"[\[(][^\])]*[\])]")
_HEADING_LINES: Final = 3


def find_lines(head: bytes) -> list[bytes]:
    """Lines that name a person, a serial number, a place or an address, sorted."""
    found = {each["before"] + each["value"] for each in _find(head)}
    return sorted(found | {each[0] for each in _MAIL.finditer(head)})


def blank_head(head: bytes) -> bytes:
    """The same with a word in place of what such lines say."""
    parts, end = [], 0
    for each in _find(head):
        # A quotation mark that was opened before the value is closed behind it.
        closing = b'"' if each["value"].count(b'"') % 2 else b""
        parts += [head[end : each.start("value")], _REMOVED, closing]
        end = each.end("value")
    return _MAIL.sub(_REMOVED, b"".join((*parts, head[end:])))


def _find(head: bytes) -> Iterator[re.Match[bytes]]:
    sign, names = _heading(head)
    for each in _PERSON.finditer(head):
        if not (each.start() in names and sign in (each["sign"], each["by_sign"])):
            yield each


def _heading(head: bytes) -> tuple[bytes, set[int]]:
    """The sign between cells, and where lines begin that name the columns: right above the first two rows."""
    lines = head.splitlines(keepends=True)
    starts = [0]
    for line in lines:
        starts.append(starts[-1] + len(line))
    for number in range(len(lines) - 1):
        sign = next((each for each in _SIGNS if each in lines[number]), b"")
        if sign and _is_row(lines[number], sign) and _is_row(lines[number + 1], sign):
            many = len(lines[number].split(sign))
            above = range(max(0, number - _HEADING_LINES), number)
            return sign, {starts[each] for each in above if _is_heading(lines[each], sign, many)}
    return b"", set()


def _is_row(line: bytes, sign: bytes) -> bool:
    cells = line.split(sign)
    return 2 * sum(_NUMBER.fullmatch(each) is not None for each in cells) > len(cells)


def _is_heading(line: bytes, sign: bytes, many: int) -> bool:
    """Whether it names each column; two cells may be key and value, unless one has a unit."""
    cells = [each for each in line.split(sign) if each.strip(b'" \t\r\n')]
    return len(cells) == many and (many > 2 or _UNIT.search(line) is not None)
