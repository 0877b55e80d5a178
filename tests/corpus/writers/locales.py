"""Separators, decimal marks, thousands, encodings and quotes of the world's spreadsheets and loggers."""

from __future__ import annotations

import csv
import gzip
import io
import itertools

import numpy as np
import pandas as pd
from tests.corpus.writers.cases import (
    Case,
    Cases,
    Signal,
    channel,
    lines,
    make_signal,
    numbers,
    read,
    refused,
)

__all__ = ["WRITERS"]


def _plain(signal: Signal, unit: str = "kN", name: str = "Load", air: str = "Air") -> dict:
    return read([channel(name, unit, signal.load), channel(air, "bar", signal.air)], signal.time)


def _by_csv(rows: list[list[str]], **dialect: object) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n", **dialect).writerows(rows)  # type: ignore[arg-type]
    return text.getvalue()


def _table(signal: Signal, mark: str = ".", decimals: int = 2) -> list[list[str]]:
    return [
        list(row)
        for row in zip(
            numbers(signal.time, 3, mark),
            numbers(signal.load, decimals, mark),
            numbers(signal.air, 3, mark),
            strict=True,
        )
    ]


def separators() -> Cases:
    """The csv module, every separator with both decimal marks that it allows."""
    head = ["Time [s]", "Load [kN]", "Air [bar]"]
    marks = itertools.product((";", "\t", "|"), (".", ","))
    for at, (separator, mark) in enumerate([(",", "."), *marks]):
        signal = make_signal(100 + at)
        name = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}[separator]
        text = _by_csv([head, *_table(signal, mark)], delimiter=separator)
        kind = "point" if mark == "." else "decimal-comma"
        yield Case(f"separators/{name}-{kind}.csv", text.encode(), "csv", _plain(signal))
    signal = make_signal(110)
    rows = [
        f"{t:10.3f}  {a:10.2f}  {b:8.3f}"
        for t, a, b in zip(signal.time, signal.load, signal.air, strict=True)
    ]
    text = lines("  Time [s]   Load [kN]  Air [bar]", rows)
    yield Case("separators/blanks-point.txt", text.encode(), "by hand", _plain(signal))
    yield Case("separators/blanks-comma.txt", text.replace(".", ",").encode(), "by hand", _plain(signal))
    text = _by_csv([head, *_table(signal)]).replace("\n", ",\n")
    yield Case("separators/comma-at-every-end.csv", text.encode(), "csv", _plain(signal))
    text = _by_csv([head, *_table(signal)]).replace(",", " , ")
    yield Case("separators/comma-with-blanks.csv", text.encode(), "csv", _plain(signal))
    text = _by_csv([head, *_table(signal, ",")], delimiter=",", quoting=csv.QUOTE_MINIMAL)
    yield Case("separators/comma-in-quotes.csv", text.encode(), "csv", _plain(signal))
    bare = "\n".join(",".join(row) for row in [head, *_table(signal, ",")]) + "\n"
    yield Case("separators/comma-for-both.csv", bare.encode(), "by hand", refused("comma"))


def spreadsheets() -> Cases:
    """As spreadsheets save text: a hint line, quoted names of two lines, formulas, empty columns."""
    signal = make_signal(120)
    rows = _table(signal, ",")
    text = lines("sep=;", "Zeit [s];Kraft [kN];Luft [bar]", [";".join(row) for row in rows], end="\r\n")
    german = _plain(signal, name="Kraft", air="Luft")
    yield Case("spreadsheets/separator-hint.csv", text.encode("cp1252"), "by hand", german)
    head = ['"Time\n[s]"', '"Load\n[kN]"', '"Air\n[bar]"']
    text = ";".join(head) + "\r\n" + lines([";".join(row) for row in rows], end="\r\n")
    yield Case("spreadsheets/names-of-two-lines.csv", text.encode(), "by hand", _plain(signal))
    quoted = _by_csv([["Time\n[s]", "Load\n[kN]", "Air\n[bar]"], *_table(signal)])
    yield Case("spreadsheets/names-of-two-lines-comma.csv", quoted.encode(), "csv", _plain(signal))
    formulas = lines(
        "Time [s],Load [kN],Air [bar]", [",".join(f'"=""{cell}"""' for cell in row) for row in _table(signal)]
    )
    yield Case(
        "spreadsheets/numbers-as-formulas.csv", formulas.encode(), "by hand", refused("no rows of numbers")
    )
    text = lines(";;Time [s];Load [kN];Air [bar];;", [f";;{';'.join(row)};;" for row in rows])
    yield Case("spreadsheets/empty-columns-around.csv", text.encode(), "by hand", _plain(signal))
    text = lines(
        "Bench report;;", ";;", "Time [s];Load [kN];Air [bar]", [";".join(row) for row in rows], ";;", ";;"
    )
    yield Case(
        "spreadsheets/empty-rows-around.csv",
        text.encode(),
        "by hand",
        _plain(signal) | {"findings": ["not-a-number"]},
    )
    text = _by_csv(
        [["Time [s]", "Load [kN]", "Air [bar]"], *_table(signal)], quoting=csv.QUOTE_ALL, delimiter=";"
    )
    yield Case("spreadsheets/all-quoted.csv", text.encode(), "csv", _plain(signal))
    text = lines(
        "Time [s],Load [kN],Air [bar]", [",".join("'" + cell for cell in row) for row in _table(signal)]
    )
    yield Case(
        "spreadsheets/apostrophe-before-numbers.csv", text.encode(), "by hand", refused("no rows of numbers")
    )
    errors = _table(signal)
    errors[9][1], errors[20][1] = "#DIV/0!", "#N/A"
    want = read(
        [
            channel("Load", "kN", np.where(np.isin(np.arange(48), (9, 20)), np.nan, signal.load)),
            channel("Air", "bar", signal.air),
        ],
        signal.time,
        findings=["not-a-number"],
    )
    text = _by_csv([["Time [s]", "Load [kN]", "Air [bar]"], *errors])
    yield Case("spreadsheets/formula-errors.csv", text.encode(), "csv", want)


_GROUPS = {
    "comma": ",",
    "point": ".",
    "blank": " ",
    "thin-blank": "\u202f",
    "hard-blank": "\xa0",
    "apostrophe": "'",
    "curled-apostrophe": "\u2019",
}


def thousands() -> Cases:
    """Loads in newtons and pounds with the thousands set apart."""
    for at, (name, group) in enumerate(_GROUPS.items()):
        signal = make_signal(130 + at, scale=1000.0, decimals=1)
        mark = "." if group == "," else ","
        cells = [
            f"{each:,.1f}".replace(",", "\0").replace(".", mark).replace("\0", group) for each in signal.load
        ]
        text = lines(
            "Time;Force;Air",
            "s;N;bar",
            [
                ";".join(row)
                for row in zip(
                    numbers(signal.time, 3, mark), cells, numbers(signal.air, 3, mark), strict=True
                )
            ],
        )
        yield Case(
            f"thousands/{name}-one-decimal.csv", text.encode(), "by hand", _plain(signal, "N", "Force")
        )
    for at, (name, group) in enumerate(_GROUPS.items()):
        signal = make_signal(140 + at, scale=1000.0, decimals=0)
        cells = [f"{each:,.0f}".replace(",", group) for each in signal.load]
        mark = "," if group == "." else "."
        text = _by_csv(
            [
                ["Time [s]", "Load [lbf]"],
                *[list(row) for row in zip(numbers(signal.time, 1, mark), cells, strict=True)],
            ],
            delimiter="\t",
        )
        want = read([channel("Load", "lbf", signal.load)], signal.time)
        yield Case(f"thousands/{name}-whole.txt", text.encode(), "csv", want)
    signal = make_signal(131, scale=1000.0, decimals=0)
    rows = [f"{t:.1f}\t{a:,.0f}".replace(",", ".") for t, a in zip(signal.time, signal.load, strict=True)]
    text = lines("Time [s]\tLoad [lbf]", rows)
    yield Case("thousands/point-beside-decimal-point.txt", text.encode(), "by hand", refused("two ways"))
    signal = make_signal(150, scale=1000.0, decimals=1)
    cells = [f"{each:,.1f}" for each in signal.load]
    text = _by_csv(
        [
            ["Time [s]", "Load [N]", "Air [bar]"],
            *[list(row) for row in zip(numbers(signal.time, 3), cells, numbers(signal.air, 3), strict=True)],
        ]
    )
    yield Case("thousands/comma-in-quotes.csv", text.encode(), "csv", _plain(signal, "N"))
    mixed = list(cells)
    mixed[20:] = [each.replace(",", "\0").replace(".", ",").replace("\0", ".") for each in cells[20:]]
    text = lines("Time [s];Load [N]", [f"{t:.1f};{c}" for t, c in zip(signal.time, mixed, strict=True)])
    yield Case(
        "thousands/mixed-in-one-column.csv", text.encode(), "by hand", refused("two ways|cannot be read")
    )
    signal = make_signal(152, scale=100000.0, decimals=4)
    cells = [f"{each:,.4f}".replace(",", " ") for each in signal.load]
    rows = [f"{a},{b:.3f}," for a, b in zip(cells, signal.air, strict=True)]
    text = lines("Sample rate: 10 Hz", "Load (N),Air (bar),Event", rows)
    yield Case("thousands/blank-between-commas.csv", text.encode(), "by hand", _plain(signal, "N"))
    signal = make_signal(151, scale=20000.0, decimals=0)
    cells = [f"{each:,.0f}".replace(",", ".") for each in signal.load]
    text = lines(
        "Zeit [s];Kraft [N]",
        [f"{t:.1f};{c}".replace(".", ",", 1) for t, c in zip(signal.time, cells, strict=True)],
    )
    yield Case(
        "thousands/point-millions.csv",
        text.encode(),
        "by hand",
        read([channel("Kraft", "N", signal.load)], signal.time),
    )
    cells = [
        f"{int(abs(v)) // 100000},{int(abs(v)) // 1000 % 100:02d},{int(abs(v)) % 1000:03d}"
        if abs(v) >= 1e5
        else f"{v:,.0f}"
        for v in signal.load
    ]
    text = lines("Time [s];Load [N]", [f"{t:.1f};{c}" for t, c in zip(signal.time, cells, strict=True)])
    yield Case("thousands/lakh.csv", text.encode(), "by hand", refused("cannot be read|two ways"))


def encodings() -> Cases:
    """The same log in each encoding, marked or not, with the line ends of each system."""
    head = "Température ; Prüfstand µ\nZeit [s];Kraft [kN];Luft [bar]"
    for at, encoding in enumerate(
        (
            "utf-8",
            "utf-8-sig",
            "utf-16",
            "utf-16-le",
            "utf-16-be",
            "utf-32",
            "cp1252",
            "latin-1",
            "mac-roman",
            "cp850",
        )
    ):
        signal = make_signal(160 + at)
        text = lines(head, [";".join(row) for row in _table(signal, ",")], end="\r\n" if at % 2 else "\n")
        yield Case(
            f"encodings/{encoding}.csv",
            text.encode(encoding),
            "by hand",
            _plain(signal, name="Kraft", air="Luft"),
        )
    signal = make_signal(170)
    text = lines(head, [";".join(row) for row in _table(signal, ",")])
    german = _plain(signal, name="Kraft", air="Luft")
    yield Case("encodings/old-line-ends.csv", text.replace("\n", "\r").encode(), "by hand", german)
    yield Case("encodings/packed.csv.gz", gzip.compress(text.encode(), mtime=0), "gzip", german)
    yield Case("encodings/end-of-file-mark.csv", text.encode() + b"\x1a", "by hand", german)
    mixed = "".join(line + ("\r\n" if i % 3 else "\n") for i, line in enumerate(text.splitlines()))
    yield Case("encodings/mixed-line-ends.csv", mixed.encode(), "by hand", german)
    yield Case(
        "encodings/blank-line-after-each.csv", text.replace("\n", "\r\r\n").encode(), "by hand", german
    )
    torn = text.encode()[:900] + b"\0" * 40 + text.encode()[940:]
    yield Case("encodings/power-lost.csv", torn, "by hand", refused("NUL"))
    swapped = text.encode().replace(b"[kN]", b"[k\xc3\x82\xc2\xb7N]")
    want = _plain(signal, "kÂ·N", "Kraft", "Luft")
    yield Case("encodings/unit-garbled.csv", swapped, "by hand", want)


def pandas_text() -> Cases:
    """What pandas writes: an index, a dated index, two levels of names, a decimal comma, many digits."""
    for at in range(8):
        signal = make_signal(180 + at)
        frame = pd.DataFrame({"time [s]": signal.time, "load [kN]": signal.load, "air [bar]": signal.air})
        want = _plain(signal, name="load", air="air")
        if at == 0:
            text = frame.to_csv()
        elif at == 1:
            text = frame.to_csv(index=False, sep=";", decimal=",")
        elif at == 2:
            text = frame.set_index("time [s]").to_csv()
        elif at == 3:
            frame.index = pd.Timestamp("2026-03-17 08:30:00") + pd.to_timedelta(signal.time, unit="s")
            text = frame.drop(columns="time [s]").to_csv(index_label="stamp")
            want["started"] = "2026-03-17T08:30:00"
        elif at == 4:
            frame.index = pd.date_range("2026-03-17 08:30:00", periods=48, freq="100ms", tz="Europe/Berlin")
            text = frame.drop(columns="time [s]").to_csv(index_label="stamp")
            want["started"] = "2026-03-17T08:30:00+01:00"
        elif at == 5:
            frame.columns = pd.MultiIndex.from_tuples([("time", "s"), ("load", "kN"), ("air", "bar")])
            text = frame.to_csv(index=False)
        elif at == 6:
            text = frame.to_csv(index=False, float_format="%.9e", sep="\t")
        else:
            frame.index = pd.to_timedelta(signal.time, unit="s")
            text = frame.drop(columns="time [s]").to_csv(index_label="elapsed")
        yield Case(
            f"data-frames/{at + 1}.csv",
            text.encode(),
            "pandas",
            want if at < 7 else refused("no time column"),
        )
    signal = make_signal(190)
    frame = pd.DataFrame({"time [s]": signal.time, "load [kN]": signal.load, "air [bar]": signal.air})
    yield Case(
        "data-frames/as-printed.txt",
        frame.to_string().encode(),
        "pandas",
        _plain(signal, name="load", air="air"),
    )
    for name, text in (
        ("records.json", frame.to_json(orient="records")),
        ("columns.json", frame.to_json()),
        ("lines.jsonl", frame.to_json(orient="records", lines=True)),
    ):
        yield Case(f"pages-and-objects/{name}", text.encode(), "pandas", refused("JSON"))


WRITERS = (separators, spreadsheets, thousands, encodings, pandas_text)
