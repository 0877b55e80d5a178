"""What stands above, below, between and beside the numbers of a log."""

from __future__ import annotations

import numpy as np
from tests.corpus.writers.cases import Case, Cases, Signal, channel, lines, make_signal, misses, read, refused

__all__ = ["WRITERS"]


def _rows(signal: Signal, separator: str = ",") -> list[str]:
    return [
        f"{t:.3f}{separator}{a:.2f}{separator}{b:.3f}"
        for t, a, b in zip(signal.time, signal.load, signal.air, strict=True)
    ]


def _want(signal: Signal, findings: tuple[str, ...] = (), load: str = "Load", air: str = "Air") -> dict:
    both = [channel(load, "kN", signal.load), channel(air, "bar", signal.air)]
    return read(both, signal.time, findings=findings)


_HEAD = "Time [s],Load [kN],Air [bar]"

_PREAMBLES: dict[str, list[str]] = {
    "keys": ["Rig: bench 4", "Operator: simulated", "Date: 17.03.2026", "", _HEAD],
    "keys-commas": ["Rig,bench 4", "Gain,2.5", "Offset,0.01", "Channels,2", _HEAD],
    "keys-of-three": ["Channel,1,2", "Range,100,10", "Gain,2.5,1", _HEAD],
    "numbers-of-three": ["1,100,10", "2,200,20", "", _HEAD],
    "sections": ["[header]", "version=2", "points=48", "[data]", _HEAD],
    "statistics": ["Maximum,,61.2,6.2", "Minimum,,-0.4,6.0", "Mean,,34.1,6.1", "", _HEAD],
    "comments": ["# rig 4", "# gain 2.5", f"# {_HEAD}"],
    "percent": ["% rig 4", f"% {_HEAD}"],
    "strokes": ["// rig 4", "// gain 2.5", _HEAD],
    "semicolons": ["; rig 4, simulated", "; gain 2.5", _HEAD],
    "exclamations": ["! rig 4", "! gain 2.5", _HEAD],
    "quotes": ["'rig 4", "'gain 2.5", _HEAD],
    "names-then-units": ["Time,Load,Air", "s,kN,bar"],
    "names-then-units-brackets": ["Time,Load,Air", "[s],[kN],[bar]"],
    "units-then-names": ["s,kN,bar", "Time,Load,Air"],
    "three-lines": ["Time,Load,Air", "s,kN,bar", "Smp,Smp,Avg"],
    "four-lines": ["Channel 0,Channel 1,Channel 2", "Time,Load,Air", "s,kN,bar", "float,float,float"],
    "names-units-blank": ["Time,Load,Air", "s,kN,bar", "", ""],
    "title-over-names": ["Bench run 12,,", _HEAD],
    "groups-over-names": [",Rig 4,Supply", _HEAD],
    "limits-below-names": [_HEAD, "max,100,10"],
    "bare-units": ["s,kN,bar"],
    "names-in-angles": ["<Time>,<Load>,<Air>"],
    "names-with-commas": ['"Time, [s]","Load [kN]","Air [bar]"'],
    "ruled": [_HEAD, "--------,---------,---------"],
    "ruled-equals": ["=" * 40, _HEAD, "=" * 40],
    "rate-and-time": ["Sample rate: 10 Hz", _HEAD],
    "long": [*(f"key {i}: {i}" for i in range(120)), _HEAD],
}


def preambles() -> Cases:
    """Lines above the numbers: keys, tables of other numbers, comments, one to four lines of names."""
    for at, (name, head) in enumerate(_PREAMBLES.items()):
        signal = make_signal(300 + at)
        want = _want(signal)
        if name == "bare-units":
            want = _want(signal, load="kN", air="bar")
        if name == "names-in-angles":
            both = [channel("<Load>", None, signal.load), channel("<Air>", None, signal.air)]
            want = read(both, signal.time, findings=["assumed"])
        folder = "name-lines" if "names" in name or "units" in name or "lines" in name else "preambles"
        yield Case(f"{folder}/{name}.csv", lines(head, _rows(signal)).encode(), "by hand", want)


_RATES = {
    "hertz": ("Sample rate: 10 Hz", 10.0),
    "kilohertz": ("Sampling frequency: 2.5 kHz", 2500.0),
    "kilohertz-comma": ("Abtastrate;2,5;kHz", 2500.0),
    "samples-a-second": ("Scan rate = 100 S/s", 100.0),
    "interval-ms": ("Sample interval: 4 ms", 250.0),
    "interval-comma": ("Abtastintervall;0,1;s", 10.0),
    "interval-exponent": ("Sample Interval,2.000000e-04", 5000.0),
    "short": ("fs=1000", 1000.0),
    "delta": ("delta t: 0.01 s", 100.0),
    "unit-first": ("Sample rate (Hz): 50", 50.0),
    "unit-first-khz": ("Sample rate [kHz];20", 20000.0),
    "interval-unit-first": ("Sampling interval (ms): 5", 200.0),
}


def rates() -> Cases:
    """No time column, a rate or an interval stated above."""
    for at, (name, (line, rate)) in enumerate(_RATES.items()):
        signal = make_signal(330 + at, rate=rate)
        mark = "," if "," in line and ";" in line else "."
        cells = [f"{each:.2f}".replace(".", mark) for each in signal.load]
        want = read([channel("Load", "kN", signal.load)], np.arange(48) / rate)
        yield Case(
            f"rates/{name}.txt", lines("Rig: bench 4", line, "", "Load [kN]", cells).encode(), "by hand", want
        )
    signal = make_signal(345)
    numbered = [f"{i},{a:.2f}" for i, a in enumerate(signal.load, 1)]
    text = lines("Sample rate,10,Hz", "Sample,Load [kN]", numbered)
    yield Case(
        "rates/numbered.csv",
        text.encode(),
        "by hand",
        read([channel("Load", "kN", signal.load)], signal.time),
    )
    yield Case(
        "rates/numbered-no-rate.csv",
        lines("Sample,Load [kN]", numbered).encode(),
        "by hand",
        refused("sample rate"),
    )
    yield Case("rates/unnamed-count.csv", lines(numbered).encode(), "by hand", refused("sample rate"))
    yield Case(
        "rates/one-column.txt",
        lines([f"{a:.2f}" for a in signal.load]).encode(),
        "by hand",
        refused("time column"),
    )


_FOOTERS: dict[str, list[str]] = {
    "statistics": ["", "Maximum,61.20,6.200", "Minimum,-0.40,6.000", "Mean,34.10,6.100"],
    "statistics-close": ["Max,61.20,6.200", "Min,-0.40,6.000"],
    "statistics-no-word": ["", ",61.20,6.200"],
    "signed": ["", "Signed: simulated", "End of file"],
    "count": ["", "48 samples"],
    "number-only": ["", "48"],
    "checksum": ["*5A"],
    "end": ["[end]"],
    "comment": ["# stopped by hand"],
}


def footers() -> Cases:
    """Lines below the numbers."""
    for at, (name, foot) in enumerate(_FOOTERS.items()):
        signal = make_signal(350 + at)
        count = len([line for line in foot if line and not line.startswith("#")])
        text = lines(_HEAD, _rows(signal), foot)
        want = _want(signal, ("not-a-number",) if count else ())
        yield Case(f"footers/{name}.csv", text.encode(), "by hand", want)
    signal = make_signal(365)
    rows = _rows(signal)
    for name, last in (("cut-in-a-row", rows[-1][:9]), ("cut-in-a-number", rows[-1][:-2])):
        text = lines(_HEAD, rows[:-1]) + last
        short = Signal(signal.time[:-1], signal.load[:-1], signal.air[:-1])
        yield Case(f"footers/{name}.csv", text.encode(), "by hand", _want(short, ("cut-off",)))


_BETWEEN = {
    "quotes": ("quotes",),
    "events": ("comment", "event", "marker", "note"),
    "repeated-headers": ("again", "page"),
    "wrapped-lines": ("wrapped",),
    "gaps-and-repeats": ("gap", "twice", "swapped", "blank"),
}


def between() -> Cases:
    """Rows of other kinds between the numbers, and rows that are not whole."""
    signal = make_signal(370)
    rows = _rows(signal)
    lost = Signal(signal.time, misses(signal.load, 20), misses(signal.air, 20))

    def case(name: str, body: list[str], want: dict, head: str = _HEAD) -> Case:
        folder = next(
            (folder for folder, words in _BETWEEN.items() if any(word in name for word in words)), "torn-rows"
        )
        return Case(f"{folder}/{name}.csv", lines(head, body).encode(), "by hand", want)

    yield case("comment-rows", [*rows[:20], "# trigger pressed", *rows[20:]], _want(signal))
    yield case(
        "event-rows",
        [*rows[:20], "2.000,trigger pressed,", *rows[21:]],
        _want(lost, ("not-a-number", "not-a-number")),
    )
    yield case(
        "event-rows-timed",
        [*rows[:20], "EVENT,trigger pressed,", *rows[20:]],
        _want(signal, ("not-a-number",)),
    )
    yield case(
        "marker-column",
        [f"{row},{'M1' if i == 20 else ''}" for i, row in enumerate(rows)],
        _want(signal),
        _HEAD + ",Marker",
    )
    yield case(
        "note-column",
        [
            f"{row},{'hit, then stopped' if i == 20 else ''}".replace(
                "hit, then stopped", '"hit, then stopped"'
            )
            for i, row in enumerate(rows)
        ],
        _want(signal),
        _HEAD + ",Note",
    )
    yield case(
        "headers-again",
        [line for i, row in enumerate(rows) for line in ([_HEAD, row] if i and i % 12 == 0 else [row])],
        _want(signal, ("not-a-number",)),
    )
    yield case(
        "page-breaks",
        [
            line
            for i, row in enumerate(rows)
            for line in (["\f", "Page 2", _HEAD, row] if i and i % 16 == 0 else [row])
        ],
        _want(signal, ("not-a-number",)),
    )
    yield case(
        "blank-rows",
        [line for i, row in enumerate(rows) for line in (["", row] if i % 5 == 0 else [row])],
        _want(signal),
    )
    without = Signal(np.delete(signal.time, 20), np.delete(signal.load, 20), np.delete(signal.air, 20))
    torn = _want(without, ("not-a-number", "gap"))
    yield case("row-cut", [*rows[:20], rows[20][:8], *rows[21:]], torn)
    yield case(
        "row-too-long",
        [*rows[:20], rows[20] + ",9.99", *rows[21:]],
        _want(
            Signal(np.delete(signal.time, 20), np.delete(signal.load, 20), np.delete(signal.air, 20)),
            ("not-a-number", "gap"),
        ),
    )
    yield case(
        "two-rows-in-one-line",
        [*rows[:20], rows[20] + rows[21], *rows[22:]],
        _want(
            Signal(
                np.delete(signal.time, [20, 21]),
                np.delete(signal.load, [20, 21]),
                np.delete(signal.air, [20, 21]),
            ),
            ("not-a-number", "gap"),
        ),
    )
    gap = np.r_[0:20, 30:48]
    short = Signal(signal.time[gap], signal.load[gap], signal.air[gap])
    yield case("gap", [rows[i] for i in gap], _want(short, ("gap",)))
    twice = np.r_[0:20, 19, 20:48]
    again = Signal(signal.time[twice], signal.load[twice], signal.air[twice])
    yield case("row-twice", [rows[i] for i in twice], _want(again, ("repeated-time",)))
    swapped = np.r_[0:20, 21, 20, 22:48]
    mixed = Signal(signal.time[swapped], signal.load[swapped], signal.air[swapped])
    yield case("rows-swapped", [rows[i] for i in swapped], _want(mixed, ("backward-time", "gap")))
    every = [f"{a},\n  {b},{c}" for a, b, c in (row.split(",") for row in rows)]
    yield case("every-row-wrapped", every, refused("row|line"))
    one = [*rows[:20], "2.000,", rows[20].split(",", 1)[1], *rows[21:]]
    yield case("one-row-wrapped", one, torn)
    tabs = [f'{t:.3f}\t"note\twith tab"\t{a:.2f}' for t, a in zip(signal.time, signal.load, strict=True)]
    yield case(
        "tabs-in-quotes",
        tabs,
        read([channel("Load", "kN", signal.load)], signal.time),
        "Time [s]\tNote\tLoad [kN]",
    )
    quoted = [
        f'"{t:.3f}","12"" socket, ""plain""","{a:.2f}"' for t, a in zip(signal.time, signal.load, strict=True)
    ]
    yield case(
        "quotes-in-quotes",
        quoted,
        read([channel("Load", "kN", signal.load)], signal.time),
        "Time [s],Note,Load [kN]",
    )
    breaks = [f'{t:.3f},"line one\nline two",{a:.2f}' for t, a in zip(signal.time, signal.load, strict=True)]
    yield case("line-ends-in-quotes", breaks, refused("row|line|quot"), "Time [s],Note,Load [kN]")


def empties() -> Cases:
    """Cells that hold no number: words for missing and for overload, codes, odd forms of numbers."""
    signal = make_signal(380)
    words = {
        "empty": "",
        "nan": "NaN",
        "dashes": "----",
        "null": "null",
        "not-available": "#N/A",
        "question": "?",
        "word": "error",
    }
    for name, word in words.items():
        cells = [word if i in (20, 21) else f"{a:.2f}" for i, a in enumerate(signal.load)]
        want = read(
            [channel("Load", "kN", misses(signal.load, 20, 21))], signal.time, findings=["not-a-number"]
        )
        yield Case(f"missing-cells/{name}.csv", _two(signal, cells), "by hand", want)
    over = {
        "ol": "OL",
        "over": "OVER",
        "stars": "******",
        "inf": "inf",
        "old-inf": "1.#INF",
        "over-range": "Over Range",
    }
    for name, word in over.items():
        cells = [word if i in (20, 21) else f"{a:.2f}" for i, a in enumerate(signal.load)]
        want = read(
            [channel("Load", "kN", misses(signal.load, 20, 21))], signal.time, findings=["overflow-code"]
        )
        yield Case(f"overloads/{name}.csv", _two(signal, cells), "by hand", want)
    for name, code in (("code-nines", 99999.0), ("code-largest", 9.91e37)):
        values = signal.load.copy()
        values[[20, 21]] = code
        want = read([channel("Load", "kN", values)], signal.time, findings=["overflow-code"])
        yield Case(f"overloads/{name}.csv", _two(signal, [f"{a:.9g}" for a in values]), "by hand", want)
    most = ["----" if i % 3 else f"{a:.2f}" for i, a in enumerate(signal.load)]
    yield Case(
        "missing-cells/most.csv", _two(signal, most), "by hand", refused("cannot be read|no number|empty")
    )


def _two(signal: Signal, cells: list[str], head: str = "Time [s],Load [kN]") -> bytes:
    return lines(head, [f"{t:.3f},{a}" for t, a in zip(signal.time, cells, strict=True)]).encode()


def numerals() -> Cases:
    """Numbers as other programs write them."""
    signal = make_signal(390)
    forms = {
        "plus": [f"{a:+.2f}" for a in signal.load],
        "padded": [f"{a:012.4f}" for a in signal.load],
        "exponent": [f"{a:.6E}" for a in signal.load],
        "exponent-three-digits": [f"{a:.6E}".replace("E+", "E+0").replace("E-", "E-0") for a in signal.load],
        "exponent-fortran": [f"{a:.6E}".replace("E", "D") for a in signal.load],
        "exponent-raised": [f"{a:.4f}×10^0" for a in signal.load],
        "true-minus": [f"{a:.2f}".replace("-", "\u2212") for a in signal.load],
        "long-dash": [f"{a:.2f}".replace("-", "\u2013") for a in signal.load],
        "minus-behind": [f"{-a:.2f}-" if a < 0 else f"{a:.2f}" for a in signal.load],
        "brackets": [f"({-a:.2f})" if a < 0 else f"{a:.2f}" for a in signal.load],
        "blank-after-minus": [f"- {-a:.2f}" if a < 0 else f"{a:.2f}" for a in signal.load],
        "no-zero": [f"{a:.2f}".replace("-0.", "-.") if abs(a) < 1 else f"{a:.2f}" for a in signal.load],
        "unit-behind": [f"{a:.2f} kN" for a in signal.load],
        "unit-close": [f"{a:.2f}kN" for a in signal.load],
        "wide-digits": [
            "".join(chr(ord(c) + 0xFEE0) if c.isdigit() else c for c in f"{a:.2f}") for a in signal.load
        ],
    }
    for name, cells in forms.items():
        own = signal.load
        want = read([channel("Load", "kN", own)], signal.time)
        if name in ("exponent-raised", "wide-digits"):
            want = refused("number|cannot be read")
        folder = "exponents" if "exponent" in name else "numerals"
        yield Case(f"{folder}/{name}.csv", _two(signal, cells), "by hand", want)
    suffix = [f"{a * 1000:.0f}m" for a in signal.load]
    yield Case("numerals/milli-behind.csv", _two(signal, suffix), "by hand", refused("number|unit"))
    raw = [f"0x{int(abs(a) * 100):04X}" for a in signal.load]
    yield Case("numerals/hexadecimal.csv", _two(signal, raw), "by hand", refused("number|cannot"))
    comma = lines(
        "Zeit [s];Kraft [kN]",
        [f"{t:.4E};{a:.6E}".replace(".", ",") for t, a in zip(signal.time, signal.load, strict=True)],
    )
    yield Case(
        "exponents/exponent-comma.csv",
        comma.encode(),
        "by hand",
        read([channel("Kraft", "kN", signal.load)], signal.time),
    )


WRITERS = (preambles, rates, footers, between, empties, numerals)
