"""The line of every key is found, however the file is written."""

import tomllib
from collections.abc import Iterator
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from strikeproof.campaign.toml_lines import find_line

TEXT = '''\
# a comment with [brackets] and a = sign
top.dotted = 1

[campaign]
name = "a [b] = c"
note = """
[rig]
name = "not a key"
"""

[[article]]
name = "x"
[[article.part]]
outer = 1
[[article.part]]
outer = 2
[[article]]
  "price" = 3
tags = [
  "a",
]
[bolt]
inline = { thread = "M20", class = "10.9" }
'''


def test_lines_of_keys_tables_and_what_stands_inside_them() -> None:
    assert find_line(TEXT, ("campaign", "name")) == 5
    assert find_line(TEXT, ("campaign", "note")) == 6
    assert find_line(TEXT, ("article", 0, "name")) == 12
    assert find_line(TEXT, ("article", 0, "part", 1, "outer")) == 16
    assert find_line(TEXT, ("article", 1, "price")) == 18
    assert find_line(TEXT, ("bolt", "inline", "class")) == 23
    assert find_line(TEXT, ("top", "dotted")) == 2


def test_a_key_that_is_missing_has_the_line_of_its_table() -> None:
    assert find_line(TEXT, ("article", 1, "name")) == 17
    assert find_line(TEXT, ("campaign", "reference")) == 4
    assert find_line(TEXT, ("rig", "name")) is None
    assert find_line("", ("rig",)) is None


def test_an_array_has_the_line_of_its_first_table() -> None:
    assert find_line(TEXT, ("article",)) == 11
    assert find_line(TEXT, ("article", 0, "part")) == 13


def test_a_text_of_several_lines_holds_no_keys() -> None:
    assert find_line(TEXT, ("rig",)) is None
    assert find_line("a = '''\n[b]\nc = 1'''\n[b]\nc = 2\n", ("b", "c")) == 5
    assert find_line('a = """\\"""\n[b]\n"""\n[b]\n', ("b",)) == 4


def test_only_a_line_feed_ends_a_line() -> None:
    assert find_line("a = 'one\u2028line\x85'\nb = 1\n", ("b",)) == 2


NAMES = st.text("abcdefgh_-", min_size=1, max_size=6)
KEYS = st.dictionaries(NAMES, st.integers(0, 9), min_size=1, max_size=4)


@settings(deadline=None)  # two busy cores must not fail it
@given(st.dictionaries(NAMES, KEYS | st.lists(KEYS, min_size=1, max_size=3), max_size=5), st.randoms())
def test_the_line_found_is_the_line_written(tables: dict[str, Any], rng: Any) -> None:
    text, lines = [], {}
    for place, header, keys in _tables(tables):
        text += [""] * rng.randint(0, 2) + [header]
        for key, value in keys.items():
            text.append(f"{' ' * rng.randint(0, 2)}{key}{' ' * rng.randint(0, 2)}={value}")
            lines[*place, key] = len(text)
    tomllib.loads("\n".join(text))
    for place, number in lines.items():
        assert find_line("\n".join(text), place) == number


def _tables(tables: dict[str, Any]) -> Iterator[tuple[tuple[str | int, ...], str, dict[str, int]]]:
    for name, content in tables.items():
        if isinstance(content, dict):
            yield (name,), f"[{name}]", content
        else:
            for position, keys in enumerate(content):
                yield (name, position), f"[[{name}]]", keys
