"""The gate for texts: what it lets in, what it says of the rest, and how texts go out.

XML 1.0 (W3C, fifth edition), section 2.2, says which characters a document may hold; the parser of the
standard library holds the drawings to it. NFC is Unicode Standard Annex 15, by `unicodedata`.
"""

import csv
import io
import json
import unicodedata
from itertools import product
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikeproof.errors import BadInput
from strikeproof.plain_text import (
    MARK,
    TextKind,
    TextProblem,
    accept_text,
    clean_text,
    escape_json,
    guard_cell,
    join_halves,
    judge_text,
    show_codes,
    unguard_cell,
    write_csv_text,
    xml_text,
)

ANY = st.text(st.characters(exclude_categories=()), max_size=20)
FEW = settings(max_examples=60)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a\0b", "character 2 is NUL (U+0000)"),
        ("\x1b[31mred", "character 1 is ESC (U+001B)"),
        ("ab\x85c", "character 3 is a control character (U+0085)"),
        ("a\ud800", "character 2 is half a character (U+D800)"),
        ("a\u202eb", "character 2 is a mark that reverses text (U+202E)"),
        ("a\u2028b", "character 2 is a line end (U+2028)"),
        ("a\ufffe", "character 2 is no character (U+FFFE)"),
    ],
)
@pytest.mark.parametrize("kind", list(TextKind))
def test_what_cannot_be_seen_is_refused_by_name_and_place(text: str, said: str, kind: TextKind) -> None:
    assert judge_text(text, kind) == TextProblem(said, "delete it or type the text again")
    with pytest.raises(BadInput, match=r"name of the tool: character") as told:
        accept_text(text, kind, "name of the tool")
    assert told.value.where == "name of the tool" and str(told.value).isprintable()


def test_a_note_is_put_on_one_line_and_a_name_must_be_on_one() -> None:
    assert judge_text(" slipped \r\n once\tmore\n", TextKind.NOTE) == "slipped once more"
    assert judge_text("a\nb", TextKind.NAME) == TextProblem(
        "character 2 is a line end (U+000A)", "delete it or type the text again"
    )


def test_characters_are_composed_but_for_the_names_of_files() -> None:
    apart = unicodedata.normalize("NFD", "Schlüssel Å")
    assert judge_text(apart, TextKind.NAME) == "Schlüssel Å"
    assert judge_text(apart, TextKind.FILE) == apart


@pytest.mark.parametrize("kind", list(TextKind))
def test_lengths_are_limited_and_said(kind: TextKind) -> None:
    assert judge_text("é" * kind.most, kind) == "é" * kind.most
    told = judge_text("é" * (kind.most + 1), kind)
    assert isinstance(told, TextProblem) and f"{kind.most:,}" in told.what and told.fix == "shorten it"


def test_scripts_and_pictures_of_the_world_are_let_in() -> None:
    for text in ("шпилька", "六角", "مفتاح\u200f", "🔩 long", "N·m", "µm", "नट"):
        assert judge_text(text, TextKind.NAME) == unicodedata.normalize("NFC", text)


@FEW
@given(ANY)
def test_any_text_is_let_in_or_refused_and_what_is_cleaned_is_let_in(text: str) -> None:
    told = judge_text(text, TextKind.NOTE)
    assert isinstance(told, TextProblem) == (clean_text(text.replace(MARK, "")).count(MARK) > 0)
    assert not isinstance(judge_text(clean_text(text), TextKind.NAME), TextProblem)
    show_codes(text).encode()
    assert not set(show_codes(text)) & {"\x1b", "\0", "\x9b", "\r", "\u202e"}


@FEW
@given(ANY)
def test_json_says_the_same_and_holds_nothing_that_a_terminal_obeys(text: str) -> None:
    document = escape_json(json.dumps({"note": text}, ensure_ascii=False))
    document.encode()
    assert not set(document) & {"\x1b", "\x7f", "\x9b", "\u202e"}
    assert json.loads(document) == json.loads(json.dumps({"note": text}))


@FEW
@given(ANY)
def test_any_text_may_stand_in_a_drawing(text: str) -> None:
    read = ElementTree.fromstring(f'<g t="{xml_text(text)}">{xml_text(text)}</g>')
    assert read.text is None or MARK in read.text or clean_text(read.text) == clean_text(text)


@pytest.mark.parametrize(
    "text", ["=1+1", "+A1", "-A1", "@SUM(A1)", "=HYPERLINK(1)", "-2+3", "＝1+1", "'=1", "''-x", "-"]
)
def test_no_cell_of_a_csv_file_is_a_formula(text: str) -> None:
    cell = guard_cell(text)
    assert isinstance(cell, str) and (cell == "-" or cell.startswith("'"))
    assert unguard_cell(cell) == text


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("slipped;=1+1", "slipped;'=1+1"),  # where numbers have a comma, a spreadsheet splits at semicolons
        ("a\t@sum", "a\t'@sum"),
        ("=a;=b", "'=a;'=b"),
        ("x;'=1", "x;''=1"),
        ("x;-5+a", "x;'-5+a"),
        ("x;-5", "x;-5"),
        ("oiled; -5 °C", "oiled; -5 °C"),
    ],
)
def test_no_part_of_a_cell_is_a_formula_where_it_is_split(text: str, cell: str) -> None:
    assert guard_cell(text) == cell and unguard_cell(cell) == text


def test_every_guarded_text_comes_back() -> None:
    texts = ("".join(each) for each in product("a;'=-5", repeat=4))
    assert [text for text in texts if unguard_cell(str(guard_cell(text))) != text] == []


@pytest.mark.parametrize("number", ["-12.5", "+3", "-1e-3", "-3,5", "-3.2 %", -4.0, 7, None])
def test_a_number_stays_a_number(number: object) -> None:
    assert guard_cell(number) == number


@FEW
@given(st.lists(ANY, min_size=1, max_size=4))
def test_rows_come_back_from_a_csv_file(cells: list[str]) -> None:
    text = write_csv_text([cells])
    text.encode()
    (row,) = csv.reader(io.StringIO(text, newline=""))
    assert all(cell[:1] not in ("=", "@") or len(cell) == 1 for cell in row)
    kept = [cell.replace("\r\n", "\n") for cell in row]
    assert [clean_text(unguard_cell(cell)) for cell in kept] == [clean_text(cell) for cell in cells]


def test_halves_that_a_browser_sends_are_joined_or_marked() -> None:
    assert join_halves("\ud83d\udd29 a\ud800b é") == f"\U0001f529 a{MARK}b é"
