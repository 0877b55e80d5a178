"""What a recomputation says, in lines for a person."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from strikeproof.desk.publishing.bundle.recomputing import RecomputeOutcome
from strikeproof.publish.data.agreement import Agreement, Difference
from strikeproof.publish.texts import count
from strikeproof.quantity import write_number

__all__ = ["agreement_lines"]

_SHOWN: Final = 10
_PAGES: Final = {
    "same": "page.html  comes out the same, byte for byte",
    "same but why": "page.html  comes out the same but for its explanation, which is not computed again",
    "differs": "page.html  DIFFERS from the page that these logs give",
    "not compared": "page.html  not compared: it was made by other versions of the program or its libraries",
}


def agreement_lines(outcome: RecomputeOutcome) -> Iterator[str]:
    """Files, tables, page, and the end of it."""
    about = outcome.about
    simulated = "SIMULATED runs of " if about.simulated else ""
    yield f"{outcome.bundle.name}: {simulated}{about.campaign!r}, {about.runs} runs, made {about.made}"
    for note in outcome.notes:
        yield f"note: {note}"
    yield f"files  {outcome.files} as listed, {len(outcome.problems)} not"
    for problem in outcome.problems:
        yield f"  {problem.file} {problem.problem}"
    width = max(len(each.table) for each in outcome.tables)
    before: tuple[Difference, ...] = ()
    for each in outcome.tables:
        is_told = bool(each.differences) and each.differences == before  # the CSV file of a JSON file
        before = each.differences
        yield f"{each.table:<{width}}  {_table_words(each)}{', as above' if is_told else ''}"
        if is_told:
            continue
        for difference in each.differences[:_SHOWN]:
            yield f"  {difference_words(difference)}"
        if len(each.differences) > _SHOWN:
            yield f"  and {len(each.differences) - _SHOWN} more"
    yield _PAGES[outcome.page]
    yield from _chart_lines(outcome)
    end = "all that was computed again agrees" if outcome.agrees else "NOT everything agrees"
    left = ", ".join(_not_compared(outcome))
    yield f"{end}; not compared: {left}" if left else end


def _chart_lines(outcome: RecomputeOutcome) -> Iterator[str]:
    wrong = [place for place, is_same in outcome.charts.items() if not is_same]
    if same := len(outcome.charts) - len(wrong):
        yield f"charts as SVG  {same} come out the same, byte for byte"
    for place in wrong:
        yield f"{place}  DIFFERS from the chart that these logs give"


def _not_compared(outcome: RecomputeOutcome) -> Iterator[str]:
    """What nothing was set against, and in what was compared the parts that were not."""
    if outcome.page == "same but why":
        yield 'the part "Why" of page.html'
    for place, files in outcome.not_compared:
        yield f"{place} ({files} {'file' if files == 1 else 'files'})" if place.endswith("/") else place
    yield "authors and licence in bundle.json"


def _table_words(found: Agreement) -> str:
    if found.problem:
        return f"NOT COMPARED: {found.problem}"
    many = f"{count(found.rows, 'row')}, {count(found.numbers, 'number')}"
    if found.differences:
        return f"{many}: {len(found.differences)} DIFFER"
    if found.largest == 0.0:
        return f"{many}: the same in every digit"
    return f"{many}: agree, the farthest apart by {write_number(found.largest, 2)} of itself"


def difference_words(found: Difference) -> str:
    """One difference: whose, and the digits that agree before a bar."""
    if not found.column:
        return f"{found.row}: stated {found.stated}, here {found.found}"
    stated, here = _written(found.stated), _written(found.found)
    digits = "" if found.digits is None else f" ({found.digits} digits agree)"
    return f"{found.row}, {found.column}: stated {stated}, here {here}{digits}"


def _written(value: Any) -> str:
    return "nothing" if value is None else f"{value!r:.80}"
