"""What a score changes by from run to run, in words."""

from __future__ import annotations

from collections.abc import Sequence

from strikeproof.judge.questions.ageing import WANTED_PERCENT, Ageing
from strikeproof.publish.texts import count, given
from strikeproof.publish.verdicts import SIGNS, Sign
from strikeproof.quantity import write_percent

__all__ = ["ageing_notes", "ageing_said"]


def ageing_said(found: Sequence[Ageing], article: str) -> tuple[tuple[Sign, str], ...]:
    """How the score of one article changes from run to run, a sentence or two a tool."""
    return tuple((SIGNS[each.verdict], _said(each, article)) for each in found)


def ageing_notes(found: Sequence[Ageing], article: str) -> tuple[str, ...]:
    """What the units are, and what runs of one article cannot tell apart."""
    return (
        f"Each block counts once. The interval holds with {100 * found[0].confidence:.4g} % for each tool.",
        f"The tool, {article} itself, bolts and grease, the rig and its calibration may each have changed: "
        f"runs of {article} alone cannot tell these apart. What changes with one tool only is not the rig's.",
    )


def _said(found: Ageing, article: str) -> str:
    where = f"With {found.tool}"
    if found.percent is None or found.low_percent is None or found.high_percent is None:
        return (
            f"{where}: cannot tell whether {article} changes with the runs: "
            f"{count(found.blocks, 'block')} with it, and three that scatter are needed."
        )
    seen = (
        f"{write_percent(found.percent, decimals=3)} a run "
        f"({_bare(found.low_percent)} to {write_percent(found.high_percent, decimals=3)})"
    )
    over = f"over {count(found.blocks, 'block')}, runs {found.first} to {found.last}"
    if found.verdict == "cannot tell":
        cannot = f"{where}: cannot tell whether {article} changes with the runs"
        return f"{cannot}. Seen {over}: {seen}. {_power(found)}"
    how = "rises" if found.percent > 0.0 else "falls"
    return f"{where} the score of {article} {how} with the runs: {seen}, {over}."


def _bare(percent: float) -> str:
    return write_percent(percent, decimals=3).removesuffix(" %")


def _power(found: Ageing) -> str:
    assert found.found_percent is not None
    size = write_percent(found.found_percent, sign=False, decimals=2)
    said = f"So many blocks would show {size} a run four times in five"
    wanted = f"{given(WANTED_PERCENT)} % a run"
    if found.blocks_wanted is None:
        return f"{said}; no 500 blocks would show {wanted} so often."
    return f"{said}; {count(found.blocks_wanted, 'block')} spaced like these would show {wanted} so often."
