"""Logs as they come from real benches: each defect is told with its line, nothing but BadFile comes out."""

from __future__ import annotations

import gzip
import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from strikeproof.capture import Log, pick_channel, read_log
from strikeproof.errors import BadFile

COUNT = 200
LOAD = np.cumsum(np.abs(np.random.default_rng(0).normal(size=COUNT))).round(3)
Row = Callable[[int, float], str]


def _plain(i: int, load: float) -> str:
    return f"{i / 20:.2f},{load:.3f}\n"


def _rows(row: Row = _plain, first: int = 0, last: int = COUNT) -> str:
    return "".join(row(i, float(LOAD[i])) for i in range(first, last))


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., Log]:
    def write_and_read(text: str | bytes, **options: float) -> Log:
        path = tmp_path / "log.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_log(path, **options)

    return write_and_read


def _told(log: Log) -> list[tuple[str, str | None, int | None, int]]:
    return [(each.kind, each.channel, each.first_line, each.count) for each in log.findings]


HEAD = "t [s],load [kN]\n"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        pytest.param(
            HEAD + _rows(lambda i, x: f"{i / 20:.2f},{9999 if 50 <= i < 53 else x}\n"),
            [("overflow-code", "load", 52, 3)],
            id="overflow code",
        ),
        pytest.param(
            HEAD + _rows(lambda i, x: f"{i / 20:.2f},{'OL' if i == 50 else x}\n"),
            [("overflow-code", "load", 52, 1)],
            id="overflow word",
        ),
        pytest.param(
            HEAD + _rows(lambda i, x: f"{i / 20:.2f},{'slip' if i % 50 == 7 else x}\n"),
            [("not-a-number", "load", 9, 4)],
            id="words between numbers",
        ),
        pytest.param(
            HEAD + _rows(lambda i, x: f"{i / 20:.2f},{'ERR' if i == 0 else x}\n"),
            [("not-a-number", "load", 2, 1)],
            id="the first value is a word",
        ),
        pytest.param(
            HEAD + _rows(lambda i, x: f"{i / 20:.2f},{'' if i == 9 else x}\n"),
            [("not-a-number", "load", 11, 1)],
            id="an empty cell",
        ),
        pytest.param(
            HEAD
            + "\n"
            + _rows(last=100)
            + "\n# pause\n"
            + _rows(lambda i, x: f"{i / 20 + 3:.2f},{x}\n", 100),
            [("gap", None, 105, 1)],
            id="a pause with a comment and blank lines",
        ),
        pytest.param(
            HEAD + _rows() + "End of recording\nMax,156.19\n",
            [("not-a-number", None, 202, 2)],
            id="a footer",
        ),
        pytest.param(HEAD + _rows()[:-3], [("cut-off", None, 201, 1)], id="digits of the last line cut off"),
        pytest.param(HEAD + _rows()[:-9], [("cut-off", None, 201, 1)], id="cells of the last line cut off"),
        pytest.param(
            HEAD + _rows(lambda i, x: f"{i / 20:.2f},{chr(34) if i == 50 else ''}{x}\n"),
            [("not-a-number", "load", 52, 1)],
            id="a quote that is never closed",
        ),
        pytest.param(
            HEAD + _rows(lambda i, x: f"{i / 20:.2f},{x}{',7' if i == 9 else ''}\n"),
            [("not-a-number", None, 11, 1), ("gap", None, 12, 1)],
            id="a cell too many",
        ),
        pytest.param(
            HEAD + _rows(lambda i, x: f"{i / 20:.2f},{min(x, 100.0)}\n"),
            [("clipped-plateau", "load", 128, 74)],
            id="a clipped amplifier",
        ),
        pytest.param(
            "t;load\n" + _rows(lambda i, x: f"{i / 20:.2f};" + f"{x:.3f}\n".replace(".", ",."[i != 50])),
            [("not-a-number", "load", 52, 1)],
            id="a decimal comma among decimal points, which might be thousands",
        ),
        pytest.param(
            "Rate: 20 Hz\nload,air\n" + _rows(lambda i, x: f"{'###' if i == 50 else x},{6 + i / 100}\n"),
            [("overflow-code", "load", 53, 1)],
            id="an overload that looks like a comment",
        ),
        pytest.param(
            HEAD + _rows(lambda i, x: f"{i / 20:.2f},{'+-5' if i == 50 else x}\n"),
            [("not-a-number", "load", 52, 1)],
            id="two signs",
        ),
        pytest.param(
            "clock;load\n" + _rows(lambda i, x: f"23:59:{56 + i // 80};{x}\n".replace(".", ",")),
            [("repeated-time", None, 3, 197)],
            id="stamps of whole seconds at 80 samples a second",
        ),
        pytest.param(
            "date,load\n" + _rows(lambda i, x: f"03/04/2026 12:00:{i / 20:06.3f},{x}\n"),
            [("assumed", None, 2, 200)],
            id="a date that can be read in two ways",
        ),
        pytest.param("X,Y\n" + _rows(), [("assumed", None, 2, 200)], id="a time column of another name"),
        pytest.param(
            "time,load\n" + _rows(lambda i, x: f"{71234 + 50 * i},{x}\n"),
            [("assumed", None, 2, 200)],
            id="milliseconds that nothing names",
        ),
    ],
)
def test_each_defect_is_told_with_its_line(read: Callable[..., Log], text: str, told: list[tuple]) -> None:
    assert _told(read(text)) == told


@pytest.mark.parametrize(
    ("text", "problems"),
    [
        ("", [("is empty", None)]),
        (HEAD, [("holds no rows of numbers", None)]),
        ("this is a letter\n" * 30, [("holds no rows of numbers", None)]),
        ("<html><body>404</body></html>\n", [("is a web page, not a table of cells", 1)]),
        (
            HEAD + _rows(last=100) + HEAD + _rows(last=100),
            [("holds 2 runs one after another, which begin at lines 2, 103", 103)],
        ),
        ("t [s],load\n0.1,5\n", [("holds fewer than two samples", None)]),
        (
            "load\n" + _rows(lambda i, x: f"{x}\n"),
            [("has no time column, and no sample rate is known", None)],
        ),
        ("left,right\n" + _rows(lambda i, x: f"{x},{2 * x}\n"), [("has no time column", None)]),
        (_rows(lambda i, x: f"{i},{x}\n"), [("the first column counts 1, 2, 3 and nothing says what", None)]),
        (
            "t [s]\n" + _rows(lambda i, x: f"{i / 20}\n"),
            [("holds no column of numbers beside the time", None)],
        ),
        (
            HEAD + _rows(lambda i, x: f"{i / 20},{'x' if i % 3 == 1 else x}\n"),
            [("34% of the cells of 'load'", 3)],
        ),
        ("t,load\n" + _rows(_plain).replace(".", ","), [("has 2 names for 4 cells in a row", 2)]),
        ("time,load\n" + _rows(lambda i, x: f"12:00:00,{x}\n"), [("its time stamps are too coarse", None)]),
        (
            "n,note\n" + _rows(lambda i, x: f"{i},a\n"),
            [("holds no column of numbers beside", None), ("has no time column", None)],
        ),
    ],
)
def test_what_cannot_be_used_is_told_at_once(
    read: Callable[..., Log], text: str, problems: list[tuple[str, int | None]]
) -> None:
    with pytest.raises(BadFile) as caught:
        read(text)
    assert [each.line for each in caught.value.problems] == [line for _, line in problems]
    for told, (words, _) in zip(caught.value.problems, problems, strict=True):
        assert words in told.problem and told.fix and told.file.endswith("log.csv")


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("t;load;\n" + _rows(lambda i, x: f"{i / 20};{x};\n"), id="rows end with a separator"),
        pytest.param("t;load\n" + _rows(lambda i, x: f"{i / 20};{x};\n"), id="and the header does not"),
        pytest.param("t,state,load\n" + _rows(lambda i, x: f"{i / 20},OK,{x}\n"), id="a column of words"),
        pytest.param(
            "t;load\n" + _rows(lambda i, x: f"{i / 20};" + f"{x}\n".replace(".", ",")),
            id="both decimal marks",
        ),
        pytest.param(
            "t;load\n"
            + _rows(lambda i, x: f"{i / 20};{x * 1000:,.0f}\n".replace(",", "'")).replace("'", "'"),
            id="grouped thousands",
        ),
        pytest.param(
            "# run 3\n#   t    load\n" + _rows(lambda i, x: f"  {i / 20:6.2f}  {x:9.3f}\n"), id="aligned"
        ),
        pytest.param("t,load\r\n" + _rows().replace("\n", "\r\n"), id="line ends of two codes"),
        pytest.param(gzip.compress(("t,load\n" + _rows()).encode("utf-16")), id="packed"),
        pytest.param("No.;t [s];load\n" + _rows(lambda i, x: f"{i + 1};{i / 20};{x}\n"), id="numbered rows"),
        pytest.param("t,load\n" + _rows(lambda i, x: f"+{i / 20},+{x}\n"), id="plus signs"),
        pytest.param("t,load\n" + _rows(lambda i, x: f"{i / 20:e},{x:.6e}\n"), id="exponents"),
    ],
)
def test_habits_of_loggers_that_are_no_defect(read: Callable[..., Log], text: str | bytes) -> None:
    log = read(text)
    factor = 1000 if isinstance(text, str) and "'" in text else 1
    assert _told(log) == []
    np.testing.assert_allclose(pick_channel(log, "load").values, LOAD * factor, rtol=1e-12)
    np.testing.assert_allclose(log.time, np.arange(COUNT) / 20, atol=1e-12)


def _grouped(first: int, step: int, mark: str, time: str) -> str:
    return "t\tload [N]\n" + "".join(
        f"{time.format(i / 20)}\t{first + step * i:,d}\n".replace(",", mark) for i in range(COUNT)
    )


@pytest.mark.parametrize("mark", [",", "."])
def test_thousands_are_grouped_or_not_believed(read: Callable[..., Log], mark: str) -> None:
    """A force that passes 1,000 N on the way: of many such readings it is plain, a few are not believed."""
    time = "00:00:{:05.2f}"
    log = read(_grouped(900, 7, mark, time))
    assert np.array_equal(pick_channel(log, "load").values, 900.0 + 7 * np.arange(COUNT)) and not log.findings
    log = read(_grouped(820, 1, mark, time))
    assert np.isnan(pick_channel(log, "load").values).sum() == 20
    assert [(each.kind, each.first_line) for each in log.findings] == [("not-a-number", 182)]
    assert "can be read in two ways" in log.findings[0].detail
    with pytest.raises(BadFile, match=r"'1.000' can be read in two ways.*thousands"):
        read("".join(_grouped(960, 1, mark, time).splitlines(keepends=True)[:71]))


@pytest.mark.parametrize(("point", "comma"), [(",", "."), (".", ",")])
@pytest.mark.parametrize("first", [820, 2002])
def test_the_decimal_mark_of_one_column_is_that_of_the_file(
    read: Callable[..., Log], point: str, comma: str, first: int
) -> None:
    """Where no bare number shows that thousands are grouped, it is said that they are taken for such."""
    rows = "".join(
        f"{i / 100:.3f}".replace(".", point) + f";{first + i:,d}\n".replace(",", comma) for i in range(COUNT)
    )
    log = read("t [s];load [N]\n" + rows)
    assert np.array_equal(pick_channel(log, "load").values, first + np.arange(COUNT))
    assert _told(log) == ([("assumed", "load", 2, COUNT)] if first > 1000 else [])
    np.testing.assert_allclose(log.time, np.arange(COUNT) / 100, atol=1e-12)


def test_what_is_neither_grouped_nor_of_the_files_mark_is_refused(read: Callable[..., Log]) -> None:
    rows = "".join(f"0,{i:03d};{'2.5' if i == 7 else f'2.{i:03d}'}\n" for i in range(COUNT))
    log = read("t [s];load [N]\n" + rows)
    assert ("not-a-number", "load", 9, 1) in _told(log)
    assert pick_channel(log, "load").values[8] == 2008


@pytest.mark.parametrize("text", ["12", "345"])
def test_a_damaged_cell_makes_no_thousands(read: Callable[..., Log], text: str) -> None:
    """Among readings of three decimals, one that lost digits does not turn them into thousands."""
    cells = [text if i == 70 else f"12.{300 + i}" for i in range(COUNT)]
    log = read("t\tload\n" + "".join(f"00:00:{i / 20:05.2f}\t{cell}\n" for i, cell in enumerate(cells)))
    assert pick_channel(log, "load").values[0] == 12.3


@pytest.mark.parametrize("blank", [" ", "\u00a0", "\u2009", "\u202f", "'"])
@pytest.mark.parametrize("separator", [";", "\t"])
def test_thousands_may_be_set_apart_by_any_blank(
    read: Callable[..., Log], blank: str, separator: str
) -> None:
    rows = "".join(
        f"{i / 20:.2f}".replace(".", ",") + separator + f"{990 + i},5\n".replace("1", f"1{blank}", i > 9)
        for i in range(20)
    )
    log = read(f"t [s]{separator}load [N]\n" + rows)
    assert np.array_equal(pick_channel(log, "load").values, 990.5 + np.arange(20)) and not log.findings


def test_a_slow_channel_beside_a_fast_one_refuses_only_itself(read: Callable[..., Log]) -> None:
    log = read("t,load,slow\n" + _rows(lambda i, x: f"{i / 20},{x},{i if i % 10 == 0 else ''}\n"))
    assert np.array_equal(pick_channel(log, "load").values, LOAD)
    with pytest.raises(BadFile, match="90% of the cells of 'slow' hold no number"):
        pick_channel(log, "slow")


def test_picking_a_channel(read: Callable[..., Log]) -> None:
    log = read("t [s],Clamp load [kN],torque [N m]\n" + _rows(lambda i, x: f"{i / 20},{x},{2 * x}\n"))
    for name in ("Clamp load", "clamp_load", "CLAMP LOAD [kN]", "clampload"):
        assert pick_channel(log, name).unit == "kN"
    with pytest.raises(BadFile, match=r"did you mean 'torque'\? .*: Clamp load, torque; .*\[rig\]"):
        log.channel("torqe")
    with pytest.raises(BadFile, match="has 2 channels"):
        log.channel()


def _seeds() -> list[bytes]:
    sheet, book = io.BytesIO(), openpyxl.Workbook()
    for i in range(20):
        book.active.append([i / 20, float(LOAD[i])])
    book.save(sheet)
    parquet = io.BytesIO()
    pq.write_table(pa.table({"time": np.arange(20) / 20, "load": LOAD[:20]}), parquet)
    text = "Rate: 80 Hz\nt [s];load [kN]\n" + _rows(lambda i, x: f"{i / 20};{x}\n".replace(".", ","), last=30)
    clock = "time,load\n" + _rows(lambda i, x: f'2026-03-17T23:59:{i / 20:06.3f},"{x}"\n', last=30)
    texts = [text.encode(), text.encode("utf-16"), gzip.compress(text.encode()), clock.encode()]
    return [*texts, sheet.getvalue(), parquet.getvalue()]


SEEDS = _seeds()


@st.composite
def _mutated(draw: st.DrawFn) -> bytes:
    raw = bytearray(draw(st.sampled_from(SEEDS)))
    for _ in range(draw(st.integers(1, 8))):
        at = draw(st.integers(0, len(raw)))
        piece = draw(
            st.one_of(
                st.binary(max_size=4), st.sampled_from([b"\n", b'"', b",", b";", b"9" * 30, b"#", b"-"])
            )
        )
        raw[at : at + draw(st.integers(0, 6))] = piece
    return bytes(raw[: draw(st.integers(0, len(raw)))]) if draw(st.booleans()) else bytes(raw)


def _check(path: Path, raw: bytes, rate: float | None) -> None:
    path.write_bytes(raw)
    try:
        log = read_log(path, sample_rate_hz=rate)
    except BadFile:
        return
    assert len(log.time) >= 2 and np.all(np.isfinite(log.time)) and log.time[0] == 0
    assert np.isfinite(log.sample_rate_hz) and log.sample_rate_hz > 0
    assert log.channels and all(each.values.shape == log.time.shape for each in log.channels)
    assert not any(np.isinf(each.values).any() for each in log.channels)


@settings(max_examples=100, deadline=2000, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(raw=_mutated(), rate=st.sampled_from([None, 80.0]))
def test_damaged_files_give_a_log_or_a_bad_file(tmp_path: Path, raw: bytes, rate: float | None) -> None:
    _check(tmp_path / "log", raw, rate)


@settings(max_examples=150, deadline=2000, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    raw=st.one_of(
        st.binary(max_size=300),
        st.text(alphabet='0123456789.,;:-+eE"#\t\n /TZ[]ab', max_size=300).map(str.encode),
        st.text(max_size=200).map(lambda text: text.encode("utf-8", "surrogatepass")),
    ),
    rate=st.sampled_from([None, 80.0]),
)
def test_any_bytes_give_a_log_or_a_bad_file(tmp_path: Path, raw: bytes, rate: float | None) -> None:
    _check(tmp_path / "log", raw, rate)


@pytest.mark.parametrize(
    "raw",
    [
        pytest.param(b"1" * 5_000_000, id="one endless number"),
        pytest.param(b"1," * 1_000_000, id="one endless row"),
        pytest.param(b'"' * 1_000_001, id="quotes only"),
        pytest.param(b"\n" * 3_000_000, id="line ends only"),
        pytest.param(b"1,2\n" + b'"' + b"3,4\n" * 500_000, id="a quote before half a million rows"),
        pytest.param(b"[" * 200_000 + b"\n1,2\n3,4\n", id="an endless header"),
        pytest.param(
            (b"a" * 2000 + b" " * 2000 + b"(\n") * 100 + b"1 2\n3 4\n5 6\n", id="long preamble lines"
        ),
    ],
)
def test_pathological_files_end_soon(tmp_path: Path, raw: bytes) -> None:
    _check(tmp_path / "log", raw, 80.0)
