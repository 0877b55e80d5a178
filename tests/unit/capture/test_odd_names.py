"""Names and units that a log or a rig gives are cleaned, flagged and still found by a person's spelling."""

from pathlib import Path

import pytest

from strikeproof.capture import pick_name
from strikeproof.capture.heading import clean_names
from strikeproof.capture.line_form import find_form
from strikeproof.capture.reading import read_log
from strikeproof.plain_text import TextKind

ROWS = "".join(f"{i / 1000:.3f},{i % 7}.5,{i % 5}.25\n" for i in range(40))


@pytest.mark.parametrize("odd", ["\x1b", "\x07", "\u202e", "\ufffe", "\x9b"])
def test_a_log_with_an_odd_name_is_read_and_flagged(tmp_path: Path, odd: str) -> None:
    path = tmp_path / "run.csv"
    path.write_text(f"time [s],lo{odd}ad [k{odd}N],load [kN]\n{ROWS}", encoding="utf-8")
    log = read_log(path)
    assert [(each.name, each.unit) for each in log.channels] == [("load", "kN"), ("load (2)", "kN")]
    assert [(each.kind, each.count) for each in log.findings] == [("odd-name", 1)]


def test_plain_names_stay_and_long_ones_are_cut() -> None:
    plain = [("load", "kN"), ("µ θ", None), ("column 3", "N·m")]
    assert clean_names(plain) == (plain, 0)
    ((name, unit),), odd = clean_names([("x" * 300, "k" * 31)])
    assert (len(name), len(unit or ""), odd) == (TextKind.CHANNEL.most, TextKind.UNIT.most, 1)


def test_a_channel_is_found_by_its_plain_spelling() -> None:
    assert pick_name(["time", "rig/lo\x1bad"], "Load", "a.tdms") == "rig/lo\x1bad"


def test_what_a_rig_calls_its_columns_is_cleaned() -> None:
    lines = [b"ms;lo\x1b[2Jad [k\x07N]", *(f"{i};{i % 7}.5".encode() for i in range(8))]
    form = find_form(lines)
    assert form is not None
    told = form.describe(lines)
    assert all(
        name.isprintable() and (unit or "").isprintable()
        for name, unit in zip(told.names, told.units, strict=True)
    )
