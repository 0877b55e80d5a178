"""What is above the numbers: column names, units, a sampling rate."""

from __future__ import annotations

import re
from collections.abc import Sequence

from strikeproof.capture.cells import cell_kind, split_line
from strikeproof.capture.stamps import is_time_unit
from strikeproof.errors import BadInput
from strikeproof.plain_text import TextKind, TextProblem, clean_text, judge_text
from strikeproof.quantity import is_known_unit, parse_number, split_number
from strikeproof.quantity.unit_table import find_factors

__all__ = [
    "clean_names",
    "find_names",
    "find_sample_rate",
    "is_index_name",
    "is_time_name",
    "split_name",
    "tells_names",
]

_BRACKETS = re.compile(r"(.*?)\s*[\[(<{]\s*([^\])>}]*?)\s*[\])>}]")
_BEFORE_UNIT = re.compile(r"\s*/\s*|\s+in\s+|,\s*")
_WORDS_TOO = {"A", "C", "K", "a", "c", "g", "h", "in", "k", "m", "min", "t"}
"""Units that are words, channels or short forms when only a blank or a stroke comes before them."""
_OF = re.compile(r"\b(?:of|per|a|the)$", re.IGNORECASE)  # "time of day" is not in days
_TIME = re.compile(
    r"(?:time|zeit|temps|tiempo|tempo|t|tijd|timestamp|time ?stamp|date|datum|date ?time|clock|elapsed.*"
    r"|seconds?(?: of.*)?|secs?|.* time|time .*|uhrzeit|zeitstempel|millis|micros|milliseconds?|microseconds?"
    r"|sekunden"
    r"|ms|s|us|µs)"
)
_INDEX = re.compile(
    r"(?:#|no\.?|nr\.?|n|i|index|idx|sample|samples|sample (?:no|nr|number)\.?|count|point|row|scan)"
)
_SECONDS_WORDS = {
    "millis": "ms",
    "micros": "us",
    "sekunden": "s",
    "elapsed seconds": "s",
    "seconds of day": "s",
    "seconds of the day": "s",
    "sec": "s",
}
_RATE = re.compile(
    r"(?:sampl|scan|abtast|acqui|record|data|log|mess)\w*[\s_-]*(?:rate|freq\w*)\b|^\W*(?:rate|freq\w*)\b"
    r"|^\W*f_?s\b|\bsps\b",
    re.IGNORECASE,
)
_INTERVAL = re.compile(
    r"(?:sampl\w*|scan\w*|abtast\w*|time|log\w*)[\s_-]*(?:interval|period|step|increment)"
    r"|\bdt\b|\bdelta ?t\b",
    re.IGNORECASE,
)
_LONGEST_NAME = 200


def split_name(heading: str) -> tuple[str, str | None]:
    """Name and unit of a column: "load [kN]", "load (kN)", "load/kN", "load in kN", "load_kN", "load kN"."""
    text = re.sub(r"\s+", " ", heading[:_LONGEST_NAME]).strip().strip("#").strip()
    match = _BRACKETS.fullmatch(text)
    if match and match[1].strip():
        return match[1].strip(), match[2].strip() or None
    for cut in _BEFORE_UNIT.finditer(text):
        if cut.start() and is_known_unit(text[cut.end() :]):
            return text[: cut.start()].strip(), text[cut.end() :].strip()
    for cut in re.finditer(r"[_ ]", text):
        unit = text[cut.end() :].strip()
        if (
            cut.start()
            and not _OF.search(text[: cut.start()])
            and unit not in _WORDS_TOO
            and _is_spelt(unit, stroke=cut[0] == "_")
        ):
            return text[: cut.start()].strip(), unit
    return text, _SECONDS_WORDS.get(text.casefold()) or (text if _is_bare_unit(text) else None)


def _is_bare_unit(text: str) -> bool:
    """Whether a column is called by nothing but its unit; N may as well be a count."""
    return is_time_unit(text) or (text != "N" and _is_spelt(text, stroke=False))


def _is_spelt(unit: str, *, stroke: bool) -> bool:
    """Whether a unit is spelt as it should be; after a blank only a load, a pressure, a voltage or a time."""
    if stroke and is_known_unit(unit) and (find_factors(unit, "time") or len(unit) > 1):
        return True
    return any(
        find_factors(unit, kind, exact=True) for kind in ("force", "torque", "pressure", "voltage", "time")
    )


def is_time_name(name: str) -> bool:
    """Whether a column of this name (without unit) holds the time."""
    return _TIME.fullmatch(_last_part(name)) is not None


def is_index_name(name: str) -> bool:
    """Whether a column of this name merely counts the samples."""
    return _INDEX.fullmatch(_last_part(name)) is not None


def _last_part(name: str) -> str:
    """Of a name in full (group/column), the column's own."""
    return name.rsplit("/", 1)[-1].casefold().replace("_", " ").strip()


def find_names(above: Sequence[str], separator: str, width: int) -> tuple[list[tuple[str, str | None]], int]:
    """Names and units of `width` columns from the lines above the numbers.

    Returns them with the count of lines that belong to them; without a header the names are
    "column 1" and so on and the count is 0.
    """
    block = _heading_block(above, separator, width)
    if not block:
        return [(f"column {i + 1}", None) for i in range(width)], 0
    at = next((i for i, cells in enumerate(block) if _are_units(cells)), None)
    if at is None or len(block) == 1:
        # The likeliest of them, of a draw the nearest: below names some exporters say "average" or "float".
        return _named([split_name(name) for name in max(block, key=_tells)]), 1
    names = block[at + 1] if at + 1 < len(block) and (at == 0 or _tells(block[at + 1])) else block[at - 1]
    pairs = [
        (split_name(name)[0], unit.strip("[](){}- ") or None)
        for name, unit in zip(names, block[at], strict=True)
    ]
    return _named(pairs), 2


_MOST_HEADING_LINES = 5
_MOST_OTHER_LINES = 2
_LIMITS = re.compile(
    r"\W*(?:min|max|low|high|range|limit|scale|full scale|gain|offset|sensor|type)", re.IGNORECASE
)
_BEGINS_AS_NUMBER = re.compile(r"[\s\"'+-]*[.,]?\d")
_RULE = re.compile(r"[-=_+|:;,*\s]*[-=_*]{3}[-=_+|:;,*\s]*")


def _heading_block(above: Sequence[str], separator: str, width: int) -> list[list[str]]:
    """The lines of names, units and the like right above the numbers, the nearest first.

    Rules drawn of dashes are skipped; so are a few other lines, where what is above them has units or a time.
    A line with a digit is not, unless it says that it holds limits, and one that begins as a number and has
    neither unit nor time names nothing: it may be the first row, damaged so that it is none.
    """
    filled = [line for line in _whole_lines(above) if line.strip() and not _RULE.fullmatch(line)]
    block: list[list[str]] = []
    for i, line in enumerate(reversed(filled[-_MOST_HEADING_LINES:])):
        cells = _split_heading(line, separator, width)
        late = not block and i > 0  # other lines stand between
        if cells is not None and _BEGINS_AS_NUMBER.match(line) and not _tells(cells):
            break
        if cells is not None and not (late and _tells(cells) < min(2, width)):
            block.append(cells)
        elif block or i >= _MOST_OTHER_LINES or _may_be_a_row(line):
            break
    return block


def _may_be_a_row(line: str) -> bool:
    return any(each.isdigit() for each in line) and _LIMITS.match(line) is None


def _whole_lines(above: Sequence[str]) -> list[str]:
    """The last lines; those that a quoted name of two lines cut are joined again."""
    joined: list[str] = []
    for line in above[-4 * _MOST_HEADING_LINES :]:
        if joined and joined[-1].count('"') % 2 and len(joined[-1]) < _LONGEST_NAME * 10:
            joined[-1] += " " + line
        else:
            joined.append(line)
    return joined


def _tells(cells: Sequence[str]) -> int:
    """How many of the cells have a known unit or are called like a time."""
    pairs = [split_name(cell) for cell in cells]
    return sum(is_time_name(name) or (unit is not None and is_known_unit(unit)) for name, unit in pairs)


def tells_names(line: str, separator: str, width: int) -> bool:
    """Whether a line beyond doubt names so many columns: most have a unit or are called like a time."""
    cells = _split_heading(line, separator, width)
    return cells is not None and 2 * _tells(cells) > width


def clean_names(pairs: Sequence[tuple[str, str | None]]) -> tuple[list[tuple[str, str | None]], int]:
    """Names and units as texts may be, no two names alike, and how many held odd characters, or too many.

    A log is never changed and a rig cannot be asked to speak otherwise, so what does not belong is left out.
    """
    clean, odd = [], 0
    for name, unit in pairs:
        told = clean_text(name, "").strip()[: TextKind.CHANNEL.most].rstrip()
        of = None if unit is None else clean_text(unit, "").strip()[: TextKind.UNIT.most].rstrip() or None
        clean.append((told, of))
        odd += any(
            _is_odd(was, kind) for was, kind in ((name, TextKind.CHANNEL), (unit or "", TextKind.UNIT))
        )
    return (_named(clean) if clean != list(pairs) else clean), odd


def _is_odd(text: str, kind: TextKind) -> bool:
    return isinstance(judge_text(text, kind), TextProblem)


def _named(pairs: list[tuple[str, str | None]]) -> list[tuple[str, str | None]]:
    """No empty and no double names."""
    seen: dict[str, int] = {}
    named = []
    for i, (given, unit) in enumerate(pairs):
        name = given or f"column {i + 1}"
        seen[name] = seen.get(name, 0) + 1
        named.append((name if seen[name] == 1 else f"{name} ({seen[name]})", unit))
    return named


def _are_units(cells: Sequence[str]) -> bool:
    bare = [cell.strip("[](){} ") for cell in cells]
    return any(bare) and all(not cell or is_known_unit(cell) for cell in bare)


def _split_heading(line: str, separator: str, width: int) -> list[str] | None:
    """The line cut into `width` names, None when it is no header of that many columns."""
    line = line.strip().lstrip("#%").strip() if separator == " " else line.lstrip("#%")
    for cells in _heading_cuts(line, separator):
        trimmed = cells[:-1] if len(cells) == width + 1 and not cells[-1] else cells
        words = [cell for cell in trimmed if cell]
        if width == 1 and ":" in line:
            continue  # "Rig: bench 4" is no name of a column
        if len(trimmed) == width and words and all(cell_kind(cell) in ("text", "missing") for cell in words):
            return trimmed
    return None


def _heading_cuts(line: str, separator: str) -> list[list[str]]:
    cuts = [split_line(line, separator)]
    if separator == " ":
        cuts.append(re.split(r"\s{2,}|\t", line))
        cuts.append(re.findall(r"[^\s\[(]+(?:\s*[\[(][^\])]*[\])])?", line))
    cuts += [split_line(line, other) for other in ";\t," if other != separator and other in line]
    return cuts


def find_sample_rate(preamble: Sequence[str]) -> float | None:
    """The rate [Hz] a preamble line states, such as "Sample rate: 10 kHz" or "Interval;0,1;ms"."""
    for line in preamble:
        if len(line) > 500:
            continue
        for pattern, read in ((_RATE, _read_rate), (_INTERVAL, _read_interval)):
            key = pattern.search(line)
            amount = _amount(re.sub(r"[\t;:=|\"\[\]()]+", " ", line[key.end() :])) if key else None
            rate = read(line, *amount) if amount else None
            if rate:
                return rate
    return None


def _amount(text: str) -> tuple[float, str] | None:
    """The first number of a text and the word behind it; None where it can be read in two ways."""
    begin = re.search(r"[+-]?\.?\d", text)
    number, rest = split_number(text[begin.start() :]) if begin else ("", "")
    word = re.match(r"[A-Za-zµμ/]*", rest.lstrip(", "))
    try:
        return parse_number(number), word[0] if word else ""
    except BadInput:
        return None


def _read_rate(line: str, value: float, unit: str) -> float | None:
    of = find_factors(unit, "frequency") if unit else ()
    named = re.search(r"\b([kM](?:Hz|S/s|sps))\b", line, re.IGNORECASE)
    factor = of or (find_factors(named[1], "frequency") if named else (1.0,))
    return value * factor[0] if value > 0 and factor else None


def _read_interval(line: str, value: float, unit: str) -> float | None:
    named = unit or next((each for each in ("ms", "us", "µs", "ns") if re.search(rf"\b{each}\b", line)), "s")
    factor = find_factors(named, "time")
    return 1.0 / (value * factor[0]) if value > 0 and factor else None
