"""Numbers as people write them: decimal comma or point, grouped in thousands, fractions of an inch."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final

from strikeproof.errors import BadInput

__all__ = ["PLAIN_NUMBER", "mark_of", "parse_number", "parse_size", "split_number"]

PLAIN_NUMBER: Final = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_BLANKS: Final = r"\s\u00a0\u2009\u202f"
_GROUPED: Final = re.compile(rf"(?<=\d)[{_BLANKS}'’](?=\d{{3}}(?!\d))")
_DIGITS: Final = rf"\d(?:(?:[.,]|[{_BLANKS}'’](?=\d{{3}}(?!\d)))?\d)*\.?"
_LEADING: Final = re.compile(rf"\s*([+\-−]?(?:{_DIGITS}|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*", re.DOTALL)
_FRACTION: Final = re.compile(r"\s*(?:(\d+)(?:\s+|\s*-\s*))?(\d+)\s*[/⁄]\s*(\d+)\s*(.*?)\s*", re.DOTALL)
_LONGEST_UNIT: Final = 16
_LONGEST: Final = 200  # letters of a number with its unit
_VULGAR: Final = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_SURE: Final = {
    mark: re.compile(
        rf"[+-]?(?:\d+[{mark}](?:\d{{1,2}}|\d{{4,}})|0[{mark}]\d+|\d{{1,3}}(?:[{group}]\d{{3}})+[{mark}]\d*"
        rf"|\d{{1,3}}(?:[{group}]\d{{3}}){{2,}})",
        re.ASCII,
    )
    for mark, group in ((",", "."), (".", ","))
}


def parse_number(text: str, *, decimal: str | None = None) -> float:
    """A number as people write it: decimal comma or point, grouped in thousands.

    Parameters
    ----------
    text
        For example "12,5", "1 234,5", "1.234,5", "1,234.5", "1'234.5", "1e-3".
    decimal
        "," or "." when the decimal mark is known from elsewhere.

    Raises
    ------
    BadInput
        If it is no number, or "1,234" while nothing says what the comma means.
    """
    plain = _GROUPED.sub("", text.strip().replace("\N{MINUS SIGN}", "-"))
    mark = decimal or _guess_mark(plain)
    if mark is None:
        raise BadInput(
            f"{text!r} can be read in two ways, as {plain.replace(',', '')} or as {plain.replace(',', '.')}",
            where="number",
            allowed="one meaning",
            fix=f"write {plain.replace(',', '')} or {plain.replace(',', '.')}",
        )
    other = "," if mark == "." else "."
    whole, point, rest = plain.partition(mark)
    if re.fullmatch(rf"[+-]?[1-9]\d{{0,2}}(?:{re.escape(other)}\d{{3}})+", whole):
        whole = whole.replace(other, "")
    plain = whole + point.replace(",", ".") + rest
    if not PLAIN_NUMBER.fullmatch(plain):
        raise BadInput(
            f"{text!r} is not a number", where="number", allowed="12.5 or 12,5", fix="write it like 12.5"
        )
    return float(plain)


def _guess_mark(plain: str) -> str | None:
    """The decimal mark of one number by itself; None when a lone comma may as well group thousands."""
    commas, points = plain.count(","), plain.count(".")
    if commas and points:
        return max(",.", key=plain.rindex)
    if commas == 1:
        return None if re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", plain) else ","
    return "," if points > 1 else "."


def mark_of(text: str) -> str | None:
    """The decimal mark that a number shows beyond doubt, "," or "."; None when it shows none."""
    number, rest = split_number(text)
    plain = _GROUPED.sub("", number.replace("\N{MINUS SIGN}", "-"))
    if not number or re.search(r"\d", rest) or len(rest) > _LONGEST_UNIT:
        return None
    return next((mark for mark, pattern in _SURE.items() if pattern.fullmatch(plain)), None)


def split_number(text: str) -> tuple[str, str]:
    """The number that a text begins with, and what follows it; "" and the text when it begins with none."""
    found = _LEADING.fullmatch(text) if len(text) <= _LONGEST else None
    return (found[1], found[2]) if found else ("", text.strip())


def parse_size(text: str) -> tuple[float, str] | None:
    """A size as a fraction, such as '1 1/16 in' or '3/4"': its value and what follows it; None for any other.

    Raises
    ------
    BadInput
        If it divides by zero.
    """
    for sign, plain in _VULGAR.items():
        text = text.replace(sign, f" {plain}")
    found = _FRACTION.fullmatch(text) if len(text) <= _LONGEST else None
    if found is None:
        return None
    if int(found[3]) == 0:
        raise BadInput(
            f"{text!r} divides by 0", where="size", allowed="a fraction", fix="write it like 3/4 in"
        )
    return float(Fraction(int(found[1] or 0)) + Fraction(int(found[2]), int(found[3]))), found[4]
