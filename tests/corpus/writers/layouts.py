"""Files of another shape: many runs, parts of one run, columns on several clocks, text of other kinds."""

from __future__ import annotations

import io
import json

import numpy as np
from tests.corpus.writers.cases import Case, Cases, channel, lines, make_signal, read, refused

__all__ = ["WRITERS"]


def many_runs() -> Cases:
    """Several runs one after another in one file."""
    runs = [make_signal(400 + i, count=30) for i in range(3)]
    head = "Time [s],Load [kN]"
    bodies = [[f"{t:.3f},{a:.2f}" for t, a in zip(each.time, each.load, strict=True)] for each in runs]
    many = refused("3 runs")
    yield Case("many-runs/time-begins-again.csv", lines(head, *bodies).encode(), "by hand", many)
    yield Case(
        "many-runs/header-again.csv",
        lines(*[line for body in bodies for line in (head, body)]).encode(),
        "by hand",
        many,
    )
    yield Case(
        "many-runs/blank-line-between.csv",
        lines(*[line for body in bodies for line in (head, body, "")]).encode(),
        "by hand",
        many,
    )
    titled = [line for i, body in enumerate(bodies, 1) for line in (f"Run {i}", head, body, "")]
    yield Case("many-runs/titled.csv", lines(*titled).encode(), "by hand", many)
    numbered = [f"{i},{row}" for i, body in enumerate(bodies, 1) for row in body]
    yield Case("many-runs/run-column.csv", lines("Run," + head, numbered).encode(), "by hand", many)
    beside = [",".join([bodies[0][i], *(body[i].split(",")[1] for body in bodies[1:])]) for i in range(30)]
    both = [channel(f"Run {i + 1}", "kN", each.load) for i, each in enumerate(runs)]
    text = lines("Time [s],Run 1 [kN],Run 2 [kN],Run 3 [kN]", beside)
    yield Case("many-runs/side-by-side.csv", text.encode(), "by hand", read(both, runs[0].time))
    pause = np.concatenate([each.time + 300.0 * i for i, each in enumerate(runs)])
    loads = np.concatenate([each.load for each in runs])
    text = lines(head, [f"{t:.3f},{a:.2f}" for t, a in zip(pause, loads, strict=True)])
    yield Case(
        "many-runs/long-pauses.csv",
        text.encode(),
        "by hand",
        read([channel("Load", "kN", loads)], pause, findings=["gap"]),
    )


def parts() -> Cases:
    """One run over several files: each is read with its own beginning, the second without a header."""
    signal = make_signal(410, count=90)
    for i in range(3):
        at = slice(30 * i, 30 * i + 30)
        rows = [f"{t:.3f};{a:.2f}" for t, a in zip(signal.time[at], signal.load[at], strict=True)]
        want = read([channel("Load", "kN", signal.load[at])], signal.time[at])
        yield Case(
            f"parts/run-12-part-{i + 1}.csv", lines("Time [s];Load [kN]", rows).encode(), "by hand", want
        )
        names = want | {"channels": [channel("column 2", None, signal.load[at])], "findings": ["assumed"]}
        yield Case(f"parts/bare-part-{i + 1}.csv", lines(rows).encode(), "by hand", names)


def sideways() -> Cases:
    """A row a channel."""
    signal = make_signal(420, count=200)
    for name, separator in (("comma", ","), ("semicolon", ";"), ("tab", "\t")):
        rows = [
            separator.join(["Time [s]", *(f"{t:.2f}" for t in signal.time)]),
            separator.join(["Load [kN]", *(f"{a:.2f}" for a in signal.load)]),
            separator.join(["Air [bar]", *(f"{b:.3f}" for b in signal.air)]),
        ]
        both = [channel("Load", "kN", signal.load), channel("Air", "bar", signal.air)]
        yield Case(f"sideways/{name}.csv", lines(rows).encode(), "by hand", read(both, signal.time))
    yield Case(
        "sideways/two-rows-bare.csv",
        lines(
            [",".join(f"{t:.2f}" for t in signal.time), ",".join(f"{a:.2f}" for a in signal.load)]
        ).encode(),
        "by hand",
        refused("row|column|sample"),
    )


def clocks_apart() -> Cases:
    """Each channel beside a time of its own."""
    fast, slow = make_signal(430), make_signal(431, count=24, rate=5.0)
    rows = [
        f"{t:.3f},{a:.2f},{u:.3f},{b:.3f}"
        for t, a, u, b in zip(fast.time[:24], fast.load[:24], slow.time, slow.air, strict=True)
    ]
    tail = [f"{t:.3f},{a:.2f},," for t, a in zip(fast.time[24:], fast.load[24:], strict=True)]
    text = lines("Time [s],Load [kN],Time [s],Air [bar]", rows, tail)
    yield Case("clocks-apart/two-rates.csv", text.encode(), "by hand", refused("clock|time column"))
    same = [
        f"{t:.3f},{a:.2f},{t:.3f},{b:.3f}" for t, a, b in zip(fast.time, fast.load, fast.air, strict=True)
    ]
    want = read([channel("Load", "kN", fast.load), channel("Air", "bar", fast.air)], fast.time)
    yield Case(
        "clocks-apart/same-clock-twice.csv",
        lines("Time 1 [s],Load [kN],Time 2 [s],Air [bar]", same).encode(),
        "by hand",
        want,
    )
    doubled = [f"{t:.3f},{a:.2f},{a / 2:.3f}" for t, a in zip(fast.time, fast.load, strict=True)]
    want = read(
        [channel("Load", "kN", fast.load), channel("Load (2)", "kN", np.round(fast.load / 2, 3))], fast.time
    )
    yield Case(
        "clocks-apart/one-name-twice.csv",
        lines("Time [s],Load [kN],Load [kN]", doubled).encode(),
        "by hand",
        want,
    )


_UNITS = {
    "pounds": ("Load (lbs)", "Load", "lbs"),
    "pounds-force": ("Load_lbf", "Load", "lbf"),
    "foot-pounds": ("Torque, ft-lb", "Torque", "ft-lb"),
    "pound-feet": ("Torque [lb·ft]", "Torque", "lb·ft"),
    "newton-metres": ("Torque (N·m)", "Torque", "N·m"),
    "newton-metres-dash": ("Torque in N-m", "Torque", "N-m"),
    "kilograms": ("Kraft/kg", "Kraft", "kg"),
    "decanewtons": ("Force [daN]", "Force", "daN"),
    "kips": ("Clamp <kip>", "Clamp", "kip"),
    "tens-of-newtons": ("Load [x10 N]", "Load", "x10 N"),
    "divisions": ("Gauge [div]", "Gauge", "div"),
    "bridge": ("Bridge [mV/V]", "Bridge", "mV/V"),
    "curly": ("Load {kN}", "Load", "kN"),
    "name-then-unit-word": ("Load unit kN", "Load unit", "kN"),
    "no-unit": ("Load", "Load", None),
    "channel-number": ("CH1: Load [kN]", "CH1: Load", "kN"),
    "unit-first": ("[kN] Load", "[kN] Load", None),
    "newtons-thousand": ("Load [10^3 N]", "Load", "10^3 N"),
}


def units() -> Cases:
    """Units as they stand in names: the known ones found, the unknown ones kept as they are written."""
    for at, (name, (heading, plain, unit)) in enumerate(_UNITS.items()):
        signal = make_signal(440 + at)
        rows = [f"{t:.3f}\t{a:.2f}" for t, a in zip(signal.time, signal.load, strict=True)]
        want = read([channel(plain, unit, signal.load)], signal.time)
        yield Case(f"units/{name}.txt", lines(f"Time [s]\t{heading}", rows).encode(), "by hand", want)


def matrices() -> Cases:
    """What numpy writes as text."""
    signal = make_signal(460)
    table = np.column_stack([signal.time, signal.load, signal.air])
    both = [channel("Load", "kN", signal.load), channel("Air", "bar", signal.air)]
    for name, options in {
        "blanks": {"header": "Time[s] Load[kN] Air[bar]"},
        "commas": {"header": "Time [s],Load [kN],Air [bar]", "delimiter": ","},
        "fixed": {"header": "Time [s];Load [kN];Air [bar]", "delimiter": ";", "fmt": "%.3f"},
        "no-mark": {"header": "Time [s]\tLoad [kN]\tAir [bar]", "delimiter": "\t", "comments": ""},
    }.items():
        text = io.StringIO()
        np.savetxt(text, table, **options)  # type: ignore[arg-type]
        yield Case(f"matrices/{name}.txt", text.getvalue().encode(), "numpy", read(both, signal.time))
    packed = io.BytesIO()
    np.save(packed, table)
    yield Case("matrices/array.npy", packed.getvalue(), "numpy", refused("binary|NumPy"))
    text = io.StringIO()
    np.savetxt(text, table)
    bare = [channel("column 2", None, signal.load), channel("column 3", None, signal.air)]
    yield Case(
        "matrices/no-names.txt",
        text.getvalue().encode(),
        "numpy",
        read(bare, signal.time, findings=["assumed"]),
    )


def terminals() -> Cases:
    """What a terminal catches from a board: keys before values, stamps and arrows before lines."""
    signal = make_signal(470)
    at = list(zip(signal.time, signal.load, strict=True))
    texts = {
        "keys-equals": [f"t={t:.3f} load={a:.2f}" for t, a in at],
        "keys-colon": [f"t:{t:.3f},load:{a:.2f}" for t, a in at],
        "arrow": [f"08:30:{t:06.3f} -> {a:.2f}" for t, a in at],
        "brackets": [f"[08:30:{t:06.3f}] {a:.2f} kN" for t, a in at],
        "sentence": [f"$LOAD,{t:.3f},{a:.2f}*5A" for t, a in at],
        "json-lines": [json.dumps({"t": round(float(t), 3), "load": float(a)}) for t, a in at],
        "tagged": [f"D,{t:.3f},{a:.2f}" for t, a in at],
    }
    for name, body in texts.items():
        expected = refused("JSON" if name == "json-lines" else "no rows of numbers|no column of numbers")
        if name in ("arrow", "tagged"):
            findings = ["assumed"] if name == "tagged" else []
            expected = read([channel("column 3", None, signal.load)], signal.time, findings=findings)
        yield Case(f"terminals/{name}.txt", lines(body).encode(), "by hand", expected)


def other_texts() -> Cases:
    """Text that is no table of cells: each is refused, never half understood."""
    signal = make_signal(480)
    at = list(zip(signal.time, signal.load, strict=True))
    cells = "".join(f"<tr><td>{t:.3f}</td><td>{a:.2f}</td></tr>\n" for t, a in at)
    page = (
        f"<html><body><table>\n<tr><th>Time [s]</th><th>Load [kN]</th></tr>\n{cells}</table></body></html>\n"
    )
    yield Case(
        "pages-and-objects/table-of-a-page.xls", page.encode(), "by hand", refused("web page|HTML|rows")
    )
    xml = "<run>\n" + "".join(f'<sample t="{t:.3f}" load="{a:.2f}"/>\n' for t, a in at) + "</run>\n"
    yield Case("pages-and-objects/samples.xml", xml.encode(), "by hand", refused("XML|rows"))
    markdown = lines(
        "| Time [s] | Load [kN] |", "|---------:|----------:|", [f"| {t:.3f} | {a:.2f} |" for t, a in at]
    )
    want = read([channel("Load", "kN", signal.load)], signal.time)
    yield Case("other-texts/table-with-bars.md", markdown.encode(), "by hand", want)
    latex = lines(r"Time [s] & Load [kN] \\", [rf"{t:.3f} & {a:.2f} \\" for t, a in at])
    yield Case("other-texts/table.tex", latex.encode(), "by hand", want)
    blocks = lines(
        "    -1",
        "    58",
        "simulated run",
        [" ".join(f"{a:12.5E}" for a in signal.load[i : i + 6]) for i in range(0, 48, 6)],
        "    -1",
    )
    yield Case("other-texts/blocks-of-six.txt", blocks.encode(), "by hand", refused("time|rows"))
    data = json.dumps({"time_s": list(map(float, signal.time)), "load_kN": list(map(float, signal.load))})
    yield Case("pages-and-objects/one-line.json", data.encode(), "json", refused("JSON"))
    yield Case(
        "pages-and-objects/indented.json",
        json.dumps(json.loads(data), indent=1).encode(),
        "json",
        refused("JSON"),
    )
    text = "The run was good. It took 10 seconds.\n" * 20
    yield Case("other-texts/prose.txt", text.encode(), "by hand", refused("rows"))
    yield Case("other-texts/header-only.csv", b"Time [s],Load [kN]\n", "by hand", refused("rows|samples"))
    yield Case(
        "other-texts/one-row.csv", b"Time [s],Load [kN]\n0.000,1.25\n", "by hand", refused("two samples")
    )
    yield Case("other-texts/empty.csv", b"", "by hand", refused("empty"))


WRITERS = (many_runs, parts, sideways, clocks_apart, units, matrices, terminals, other_texts)
