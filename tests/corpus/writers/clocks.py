"""Every way in which a log says when a sample was taken."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import numpy as np
from tests.corpus.writers.cases import Case, Cases, Signal, channel, lines, make_signal, read, refused

__all__ = ["WRITERS"]

_START = datetime.datetime(2026, 3, 17, 8, 30, 0)
_LATE = datetime.datetime(2026, 3, 17, 23, 59, 58, 500_000)


def _moments(signal: Signal, start: datetime.datetime = _START) -> list[datetime.datetime]:
    return [start + datetime.timedelta(microseconds=round(each * 1e6)) for each in signal.time]


def _log(signal: Signal, stamps: list[str], head: str = "Time;Load [kN]") -> bytes:
    rows = [f"{stamp};{load:.2f}" for stamp, load in zip(stamps, signal.load, strict=True)]
    return lines(head, rows).encode()


def _want(signal: Signal, started: str | None = None, findings: tuple[str, ...] = ()) -> dict:
    return read([channel("Load", "kN", signal.load)], signal.time, started=started, findings=findings)


def _ms(moment: datetime.datetime) -> str:
    return f"{moment.microsecond // 1000:03d}"


_CLOCKS: dict[str, Callable[[datetime.datetime], str]] = {
    "clock": lambda m: m.strftime("%H:%M:%S.") + _ms(m),
    "clock-comma": lambda m: m.strftime("%H:%M:%S,") + _ms(m),
    "clock-colon-ms": lambda m: m.strftime("%H:%M:%S:") + _ms(m),
    "clock-no-leading-zero": lambda m: f"{m.hour}:{m.minute:02d}:{m.second:02d}.{_ms(m)}",
    "half-days": lambda m: m.strftime("%I:%M:%S.") + _ms(m) + m.strftime(" %p"),
    "half-days-close": lambda m: m.strftime("%I:%M:%S.") + _ms(m) + m.strftime("%p").lower(),
    "half-days-points": lambda m: m.strftime("%I:%M:%S.") + _ms(m) + (" a.m." if m.hour < 12 else " p.m."),
    "half-days-first": lambda m: m.strftime("%p %I:%M:%S.") + _ms(m),
    "zone-z": lambda m: m.strftime("%H:%M:%S.") + _ms(m) + "Z",
}


def clocks() -> Cases:
    """Clock times without a date; each again across midnight."""
    for at, (name, write) in enumerate(_CLOCKS.items()):
        for word, start in (("", _START), ("-midnight", _LATE)):
            signal = make_signal(200 + at)
            folder = "clocks-12-hours" if name.startswith("half") else "clocks-24-hours"
            yield Case(
                f"{folder}/{name}{word}.csv",
                _log(signal, [write(m) for m in _moments(signal, start)]),
                "datetime",
                _want(signal),
            )
    noon = make_signal(215)
    start = datetime.datetime(2026, 3, 17, 11, 59, 58)
    yield Case(
        "clocks-12-hours/half-days-noon.csv",
        _log(noon, [_CLOCKS["half-days"](m) for m in _moments(noon, start)]),
        "datetime",
        _want(noon),
    )
    unmarked = [
        m.strftime("%I:%M:%S.") + _ms(m) for m in _moments(noon, datetime.datetime(2026, 3, 17, 12, 59, 58))
    ]
    yield Case("clocks-12-hours/half-days-unmarked.csv", _log(noon, unmarked), "datetime", _want(noon))
    whole = make_signal(216, count=60)
    stamps = [m.strftime("%H:%M:%S") for m in _moments(whole)]
    yield Case(
        "clocks-24-hours/whole-seconds.csv",
        _log(whole, stamps),
        "datetime",
        _want(whole, findings=("repeated-time",)),
    )


_DATES: dict[str, tuple[Callable[[datetime.datetime], str], str | None]] = {
    "iso": (lambda m: m.isoformat(timespec="milliseconds"), "2026-03-17T08:30:00"),
    "iso-blank": (lambda m: m.isoformat(" ", "milliseconds"), "2026-03-17T08:30:00"),
    "iso-z": (lambda m: m.isoformat(timespec="milliseconds") + "Z", "2026-03-17T08:30:00+00:00"),
    "iso-zone": (lambda m: m.isoformat(timespec="microseconds") + "+01:00", "2026-03-17T08:30:00+01:00"),
    "iso-short-zone": (lambda m: m.isoformat(timespec="milliseconds") + "+01", "2026-03-17T08:30:00+01:00"),
    "iso-comma": (lambda m: m.isoformat(timespec="milliseconds").replace(".", ","), "2026-03-17T08:30:00"),
    "iso-nanoseconds": (lambda m: m.isoformat(timespec="microseconds") + "000", "2026-03-17T08:30:00"),
    "basic": (lambda m: m.strftime("%Y%m%dT%H%M%S.") + _ms(m), "2026-03-17T08:30:00"),
    "points": (lambda m: m.strftime("%d.%m.%Y %H:%M:%S,") + _ms(m), "2026-03-17T08:30:00"),
    "points-short-year": (lambda m: m.strftime("%d.%m.%y %H:%M:%S,") + _ms(m), "2026-03-17T08:30:00"),
    "strokes-day-first": (lambda m: m.strftime("%d/%m/%Y %H:%M:%S.") + _ms(m), "2026-03-17T08:30:00"),
    "strokes-month-first": (
        lambda m: m.strftime("%m/%d/%Y %I:%M:%S.") + _ms(m) + m.strftime(" %p"),
        "2026-03-17T08:30:00",
    ),
    "year-first-strokes": (lambda m: m.strftime("%Y/%m/%d %H:%M:%S.") + _ms(m), "2026-03-17T08:30:00"),
    "comma-between": (lambda m: m.strftime("%d.%m.%Y, %H:%M:%S.") + _ms(m), "2026-03-17T08:30:00"),
    "month-name": (lambda m: m.strftime("%d-%b-%Y %H:%M:%S.") + _ms(m), "2026-03-17T08:30:00"),
    "month-name-first": (lambda m: m.strftime("%b %d %Y %H:%M:%S.") + _ms(m), "2026-03-17T08:30:00"),
    "month-name-comma": (
        lambda m: m.strftime("%b %d, %Y %I:%M:%S.") + _ms(m) + m.strftime(" %p"),
        "2026-03-17T08:30:00",
    ),
    "weekday": (
        lambda m: m.strftime("%a %b %d %H:%M:%S.") + _ms(m) + m.strftime(" %Y"),
        "2026-03-17T08:30:00",
    ),
    "day-of-year": (lambda m: m.strftime("%Y-%jT%H:%M:%S.") + _ms(m), "2026-03-17T08:30:00"),
}


def dates() -> Cases:
    """Dates with clock times, and dates in a column of their own."""
    for at, (name, (write, started)) in enumerate(_DATES.items()):
        signal = make_signal(220 + at)
        want = refused("no time column") if name == "day-of-year" else _want(signal, started)
        yield Case(f"dates/{name}.csv", _log(signal, [write(m) for m in _moments(signal)]), "datetime", want)
    signal = make_signal(245)
    open_day = [m.replace(day=4).strftime("%d/%m/%Y %H:%M:%S.") + _ms(m) for m in _moments(signal)]
    yield Case(
        "dates/day-or-month-open.csv", _log(signal, open_day), "datetime", _want(signal, None, ("assumed",))
    )
    own = [m.strftime("%d.%m.%Y;%H:%M:%S,") + _ms(m) for m in _moments(signal, _LATE)]
    late = "2026-03-17T23:59:58.500000"
    yield Case(
        "dates/date-column.csv", _log(signal, own, "Datum;Uhrzeit;Load [kN]"), "datetime", _want(signal, late)
    )
    behind = lines(
        "Load [kN];Time;Date",
        [
            f"{a:.2f};{m.strftime('%H:%M:%S.')}{_ms(m)};{m.date()}"
            for a, m in zip(signal.load, _moments(signal, _LATE), strict=True)
        ],
    )
    yield Case("dates/time-columns-last.csv", behind.encode(), "datetime", _want(signal, late))
    parts = [m.strftime("%Y;%m;%d;%H;%M;%S;") + _ms(m) for m in _moments(signal)]
    head = "Year;Month;Day;Hour;Minute;Second;ms;Load [kN]"
    yield Case("dates/one-column-a-part.csv", _log(signal, parts, head), "datetime", refused("time|part"))
    only_day = [m.strftime("%d.%m.%Y") for m in _moments(signal)]
    yield Case("dates/day-only.csv", _log(signal, only_day), "datetime", refused("coarse"))
    minutes = [m.strftime("%d.%m.%Y %H:%M") for m in _moments(signal)]
    yield Case("dates/minutes-only.csv", _log(signal, minutes), "datetime", refused("coarse"))


def epochs() -> Cases:
    """Seconds since 1970 in every unit, serial dates of sheets, seconds of the day, running counters."""
    base = int(datetime.datetime(2026, 3, 17, 8, 30, tzinfo=datetime.UTC).timestamp())
    utc = "2026-03-17T08:30:00+00:00"
    for at, (name, factor, head) in enumerate(
        (
            ("s", 1, "timestamp"),
            ("ms", 1e3, "timestamp"),
            ("us", 1e6, "timestamp"),
            ("ns", 1e9, "timestamp"),
            ("ms-named", 1e3, "time [ms]"),
            ("ns-named", 1e9, "time_ns"),
            ("us-named", 1e6, "Timestamp (µs)"),
        )
    ):
        signal = make_signal(250 + at)
        stamps = [
            f"{base * int(factor) + round(t * factor)}" if factor > 1 else f"{base + t:.3f}"
            for t in signal.time
        ]
        yield Case(
            f"epochs/{name}.csv", _log(signal, stamps, f"{head};Load [kN]"), "by hand", _want(signal, utc)
        )
    signal = make_signal(260)
    days = [(m - datetime.datetime(1899, 12, 30)) / datetime.timedelta(days=1) for m in _moments(signal)]
    near = read([channel("Load", "kN", signal.load)], signal.time, started="2026-03-17T08:30:00")
    yield Case("serial-dates/serial-date.csv", _log(signal, [f"{d:.9f}" for d in days]), "by hand", near)
    yield Case(
        "serial-dates/serial-date-comma.csv",
        _log(signal, [f"{d:.9f}".replace(".", ",") for d in days], "Datum;Load [kN]"),
        "by hand",
        near,
    )
    yield Case(
        "serial-dates/serial-date-named.csv",
        _log(signal, [f"{d:.9f}" for d in days], "Time [d];Load [kN]"),
        "by hand",
        near,
    )
    fraction = [f"{d % 1:.10f}" for d in days]
    yield Case(
        "serial-dates/part-of-a-day.csv",
        _log(signal, fraction, "Time [d];Load [kN]"),
        "by hand",
        _want(signal),
    )
    day = 86400.0
    for name, head in (("seconds-of-day", "Time [s]"), ("seconds-of-day-unnamed", "Seconds of day")):
        of_day = [f"{(86398.5 + t) % day:.3f}" for t in signal.time]
        yield Case(
            f"seconds-of-the-day/{name}-midnight.csv",
            _log(signal, of_day, f"{head};Load [kN]"),
            "by hand",
            _want(signal, None, ("assumed",)),
        )
    ms_of_day = [f"{round((86398.5 + t) * 1e3) % 86400000}" for t in signal.time]
    yield Case(
        "seconds-of-the-day/milliseconds-of-day-midnight.csv",
        _log(signal, ms_of_day, "Time [ms];Load [kN]"),
        "by hand",
        _want(signal, None, ("assumed",)),
    )
    counter = [f"{(65000 + round(t * 1e3)) % 65536}" for t in signal.time]
    yield Case(
        "counters/counter-16-bit-wraps.csv",
        _log(signal, counter, "time [ms];Load [kN]"),
        "by hand",
        _want(signal, None, ("assumed",)),
    )
    counter = [f"{(4294967295 - 2000000 + round(t * 1e6)) % 4294967296}" for t in signal.time]
    yield Case(
        "counters/counter-32-bit-wraps.csv",
        _log(signal, counter, "time [us];Load [kN]"),
        "by hand",
        _want(signal, None, ("assumed",)),
    )
    for name, unit, factor in (("minutes", "min", 60.0), ("hours", "h", 3600.0)):
        yield Case(
            f"elapsed/{name}.csv",
            _log(signal, [f"{t / factor:.9f}" for t in signal.time], f"Time [{unit}];Load [kN]"),
            "by hand",
            _want(signal),
        )
    blows = np.where(np.arange(60) % 3, 45.0, 44.0)
    long = make_signal(261, count=60)
    rows = [f"{int(t)};{b:.0f};{a:.2f}" for t, b, a in zip(long.time, blows, long.load, strict=True)]
    both = [channel("Between blows", "ms", blows), channel("Load", "kN", long.load)]
    want = read(both, long.time, findings=["repeated-time"])
    text = lines("Time [s];Between blows [ms];Load [kN]", rows)
    yield Case("epochs/whole-seconds-beside-milliseconds.csv", text.encode(), "by hand", want)
    split = [f"{base + int(t)};{round(t % 1 * 1e9) % 1000000000}" for t in signal.time]
    yield Case(
        "epochs/seconds-and-nanoseconds.csv",
        _log(signal, split, "sec;nsec;Load [kN]"),
        "by hand",
        _want(signal, utc),
    )


def elapsed() -> Cases:
    """Time since the start as people and programs write it."""
    signal = make_signal(270)
    writes: dict[str, Callable[[float], str]] = {
        "hours-minutes-seconds": lambda t: f"0:00:{t:06.3f}",
        "minutes-seconds": lambda t: f"00:{t:06.3f}",
        "before-trigger": lambda t: f"{t - 1.0:.3f}",
        "late-start": lambda t: f"{t + 3601.2:.3f}",
        "letters": lambda t: f"0h00m{t:06.3f}s",
        "iso-duration": lambda t: f"PT{t:.3f}S",
        "unit-in-cell": lambda t: f"{t:.3f} s",
        "exponent": lambda t: f"{t:.6E}",
    }
    for name, write in writes.items():
        want = refused("no time column") if name in ("letters", "iso-duration") else _want(signal)
        text = _log(signal, [write(t) for t in signal.time], "Elapsed;Load [kN]")
        yield Case(f"elapsed/{name}.csv", text, "by hand", want)
    newest = lines(
        "Time [s];Load [kN]",
        [f"{t:.2f};{a:.2f}" for t, a in zip(signal.time[::-1], signal.load[::-1], strict=True)],
    )
    yield Case("elapsed/newest-first.csv", newest.encode(), "by hand", refused("backward"))
    both = lines(
        "Time;Elapsed [s];Load [kN]",
        [
            f"{m.strftime('%d.%m.%Y %H:%M:%S')};{t:.3f};{a:.2f}"
            for m, t, a in zip(_moments(signal), signal.time, signal.load, strict=True)
        ],
    )
    yield Case("elapsed/date-beside.csv", both.encode(), "datetime", _want(signal, "2026-03-17T08:30:00"))
    step = np.full(48, 0.1)
    deltas = lines("dt [s];Load [kN]", [f"{d:.3f};{a:.2f}" for d, a in zip(step, signal.load, strict=True)])
    yield Case("elapsed/steps-not-times.csv", deltas.encode(), "by hand", refused("coarse|time"))


WRITERS = (clocks, dates, epochs, elapsed)
