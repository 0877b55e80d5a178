"""What the reader made of one file of the corpus, beside what must come out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from strikeproof.capture.log import Log
from strikeproof.capture.reading import read_log
from strikeproof.errors import BadFile

__all__ = ["find_differences"]


def find_differences(path: Path, expected: dict[str, Any]) -> list[str]:
    """What differs, as text; nothing where the file is read rightly, or refused rightly."""
    try:
        log = read_log(path, channel=expected.get("judged"))
    except BadFile as refusal:
        if "refused" not in expected:
            return [f"refused wrongly: {refusal}"]
        return [] if _says(str(refusal), expected["refused"]) else [f"refused with: {refusal}"]
    if "refused" in expected:
        return [f"misread: {[(each.name, each.unit, each.values[:3]) for each in log.channels]}"]
    return _compare(log, expected)


def _says(text: str, pattern: str) -> bool:
    import re

    return re.search(pattern, text) is not None


def _compare(log: Log, expected: dict[str, Any]) -> list[str]:
    found: list[str] = []

    def check(what: str, have: object, want: object) -> None:
        if have != want:
            found.append(f"{what}: {have} instead of {want}")

    check("channels", [each.name for each in log.channels], [each["name"] for each in expected["channels"]])
    for have, want in zip(log.channels, expected["channels"], strict=False):
        name, values = want["name"], have.values
        known = values[np.isfinite(values)]
        ends = [None if np.isnan(each) else float(each) for each in values[[0, -1]]]
        check(f"{name} unit", have.unit, want["unit"])
        check(f"{name} counts", [len(values), len(values) - len(known)], [want["count"], want["missing"]])
        check(f"{name} ends", ends, [_near(each) for each in (want["first"], want["last"])])
        check(f"{name} sum", float(known.sum()), _near(want["sum"]))
    check("rate", log.sample_rate_hz, pytest.approx(expected["rate_hz"], rel=1e-3))
    tolerance = 2e-3 / expected["rate_hz"]
    check("last time", float(log.time[-1]), pytest.approx(expected["time_last"], rel=1e-7, abs=tolerance))
    check(
        "times",
        float(log.time.sum()),
        pytest.approx(expected["time_sum"], rel=1e-5, abs=tolerance * len(log.time)),
    )
    check("start", log.started, expected["started"])
    check("findings", sorted(each.kind for each in log.findings), expected["findings"])
    return found


def _near(value: float | None) -> object:
    return value if value is None else pytest.approx(value, rel=1e-8, abs=1e-9)
