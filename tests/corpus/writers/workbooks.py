"""Workbooks: XLSX written by openpyxl and pandas, ODS by hand."""

from __future__ import annotations

import datetime
import io
import zipfile

import numpy as np
import openpyxl
import pandas as pd
from tests.corpus.writers.cases import Case, Cases, Signal, channel, lines, make_signal, misses, read

__all__ = ["START", "START_ISO", "WRITERS", "two_channels"]

START = datetime.datetime(2026, 3, 17, 8, 30)
START_ISO = "2026-03-17T08:30:00"


def two_channels(signal: Signal, started: str | None = None, load: str = "Load", air: str = "Air") -> dict:
    both = [channel(load, "kN", signal.load), channel(air, "bar", signal.air)]
    return read(both, signal.time, started=started)


def _book(*sheets: list[list[object]], formats: dict[str, str] | None = None) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)  # type: ignore[arg-type]
    book.properties.created = book.properties.modified = datetime.datetime(2026, 1, 1)
    for i, rows in enumerate(sheets):
        sheet = book.create_sheet(f"sheet {i + 1}")
        for row in rows:
            sheet.append(row)
        for column, form in (formats or {}).items():
            for cell in sheet[column]:
                cell.number_format = form
    out = io.BytesIO()
    book.save(out)
    packed = zipfile.ZipFile(out)
    again = io.BytesIO()
    with zipfile.ZipFile(again, "w", zipfile.ZIP_DEFLATED) as new:
        for each in packed.infolist():
            new.writestr(
                zipfile.ZipInfo(each.filename, (2026, 1, 1, 0, 0, 0)), packed.read(each), zipfile.ZIP_DEFLATED
            )
    return again.getvalue()


def workbooks() -> Cases:
    """XLSX: plain, dated, with a title, empty sheets, formulas never calculated, numbers as text."""
    signal = make_signal(500)
    head: list[object] = ["Time [s]", "Load [kN]", "Air [bar]"]
    rows: list[list[object]] = [
        list(map(float, row)) for row in zip(signal.time, signal.load, signal.air, strict=True)
    ]
    moments: list[object] = [START + datetime.timedelta(seconds=float(t)) for t in signal.time]
    dated: list[list[object]] = [[m, *row[1:]] for m, row in zip(moments, rows, strict=True)]
    stamp_head: list[object] = ["Stamp", *head[1:]]

    def case(name: str, book: bytes, want: dict) -> Case:
        return Case(f"workbooks/{name}.xlsx", book, "openpyxl", want)

    yield case("plain", _book([head, *rows]), two_channels(signal))
    yield case(
        "title-above", _book([["Bench run 12"], ["Rig", "bench 4"], [], head, *rows]), two_channels(signal)
    )
    yield case("second-sheet", _book([], [head, *rows]), two_channels(signal))
    yield case(
        "dates",
        _book([stamp_head, *dated], formats={"A": "yyyy-mm-dd hh:mm:ss.000"}),
        two_channels(signal, START_ISO),
    )
    yield case(
        "dates-shown-short",
        _book([stamp_head, *dated], formats={"A": "dd.mm.yy"}),
        two_channels(signal, START_ISO),
    )
    clock: list[list[object]] = [[m.time(), *row[1:]] for m, row in zip(moments, rows, strict=True)]  # type: ignore[attr-defined]
    yield case(
        "clock-times",
        _book([["Time", *head[1:]], *clock], formats={"A": "hh:mm:ss.000"}),
        two_channels(signal),
    )
    spans: list[list[object]] = [
        [datetime.timedelta(seconds=float(t)), *row[1:]] for t, row in zip(signal.time, rows, strict=True)
    ]
    yield case(
        "durations",
        _book([["Elapsed", *head[1:]], *spans], formats={"A": "[h]:mm:ss.000"}),
        two_channels(signal),
    )
    words: list[list[object]] = [
        [f"{t:.3f}", f"{a:.2f}", f"{b:.3f}"]
        for t, a, b in zip(signal.time, signal.load, signal.air, strict=True)
    ]
    yield case("numbers-as-text", _book([head, *words]), two_channels(signal))
    commas: list[list[object]] = [[str(cell).replace(".", ",") for cell in row] for row in words]
    yield case("numbers-as-text-comma", _book([head, *commas]), two_channels(signal))
    serial: list[list[object]] = [
        [(m - datetime.datetime(1899, 12, 30)) / datetime.timedelta(days=1), *row[1:]]
        for m, row in zip(moments, rows, strict=True)
    ]  # type: ignore[operator]
    yield case(
        "serial-dates",
        _book([["Date", *head[1:]], *serial], formats={"A": "0.00000000"}),
        two_channels(signal, START_ISO),
    )
    holes = [list(row) for row in rows]
    holes[20][1] = None
    lost = read(
        [channel("Load", "kN", misses(signal.load, 20)), channel("Air", "bar", signal.air)],
        signal.time,
        findings=["not-a-number"],
    )
    yield case("empty-cell", _book([head, *holes]), lost)
    uncounted: list[list[object]] = [[row[0], f"=B{i}*1000", row[2]] for i, row in enumerate(rows, 2)]
    none = channel("Load", "kN", np.full(48, np.nan))
    want = read([none, channel("Air", "bar", signal.air)], signal.time, findings=["not-a-number"])
    yield case("formulas-not-calculated", _book([head, *uncounted]), want)
    units: list[list[object]] = [["Time", "Load", "Air"], ["s", "kN", "bar"], *rows]
    yield case("names-then-units", _book(units), two_channels(signal))
    aside: list[list[object]] = [
        [*head, None, "Mean"],
        *[[*row, None, 34.5 if i == 0 else None] for i, row in enumerate(rows)],
    ]
    yield case("mean-beside", _book(aside), two_channels(signal))
    frame = pd.DataFrame({"time [s]": signal.time, "load [kN]": signal.load, "air [bar]": signal.air})
    out = io.BytesIO()
    frame.to_excel(out, sheet_name="run")
    yield Case(
        "workbooks/data-frame.xlsx",
        _same_each_time_book(out.getvalue()),
        "pandas",
        two_channels(signal, None, "load", "air"),
    )
    text = lines("Time [s],Load [kN],Air [bar]", [",".join(map(str, row)) for row in rows])
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as new:
        new.writestr(zipfile.ZipInfo("run.csv", (2026, 1, 1, 0, 0, 0)), text)
    yield Case("workbooks/zip-of-a-csv.zip", packed.getvalue(), "zipfile", two_channels(signal))
    yield Case("workbooks/csv-called.xlsx", text.encode(), "by hand", two_channels(signal))


def _same_each_time_book(packed: bytes) -> bytes:
    book = openpyxl.load_workbook(io.BytesIO(packed))
    return _book([list(row) for row in book.active.iter_rows(values_only=True)])  # type: ignore[union-attr]


_OPEN = (
    '<?xml version="1.0" encoding="UTF-8"?><office:document-content office:version="1.3" '
    'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0">'
    "<office:body><office:spreadsheet>"
)
_KIND = "application/vnd.oasis.opendocument.spreadsheet"
_MANIFEST = (
    '<?xml version="1.0"?><manifest:manifest '
    'xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
    f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{_KIND}"/></manifest:manifest>'
)


def open_documents() -> Cases:
    """ODS written by hand from the standard (ISO/IEC 26300): numbers, clock times, repeated cells."""
    signal = make_signal(510)

    def word(text: str) -> str:
        return f'<table:table-cell office:value-type="string"><text:p>{text}</text:p></table:table-cell>'

    def number(value: float) -> str:
        cell = f'<table:table-cell office:value-type="float" office:value="{value}">'
        return f"{cell}<text:p>{value}</text:p></table:table-cell>"

    head = "".join(map(word, ("Time [s]", "Load [kN]", "Air [bar]")))
    body = [
        number(t) + number(a) + number(b)
        for t, a, b in zip(signal.time, signal.load, signal.air, strict=True)
    ]
    moments = [START + datetime.timedelta(seconds=float(t)) for t in signal.time]
    dated = [
        f'<table:table-cell office:value-type="date" office:date-value="{m.isoformat()}"/>' + number(a)
        for m, a in zip(moments, signal.load, strict=True)
    ]
    for name, rows, want in (
        ("numbers", [head, *body], two_channels(signal)),
        (
            "dates",
            [word("Stamp") + word("Load [kN]"), *dated],
            read([channel("Load", "kN", signal.load)], signal.time, started=START_ISO),
        ),
    ):
        text = (
            _OPEN
            + '<table:table table:name="run">'
            + "".join(f"<table:table-row>{row}</table:table-row>" for row in rows)
        )
        text += '<table:table-row table:number-rows-repeated="1000"><table:table-cell/></table:table-row>'
        text += "</table:table></office:spreadsheet></office:body></office:document-content>"
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as book:
            for member, content in (
                ("mimetype", _KIND),
                ("META-INF/manifest.xml", _MANIFEST),
                ("content.xml", text),
            ):
                book.writestr(
                    zipfile.ZipInfo(member, (2026, 1, 1, 0, 0, 0)),
                    content,
                    zipfile.ZIP_DEFLATED if member != "mimetype" else zipfile.ZIP_STORED,
                )
        yield Case(f"open-documents/{name}.ods", out.getvalue(), "by hand", want)


WRITERS = (workbooks, open_documents)
