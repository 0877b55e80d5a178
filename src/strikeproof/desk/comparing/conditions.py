"""What varied from run to run beside the article, set against what the comparison leaves unexplained.

Nothing is fitted: a covariate costs degrees of freedom, and one that goes with the article explains nothing.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from statistics import fmean

import numpy as np

from strikeproof.campaign.conditions import CONDITIONS, Condition, read_condition
from strikeproof.desk.runs.judged import JudgedCampaign, JudgedRun
from strikeproof.errors import BadInput, NotFound
from strikeproof.language import say, write_figures

__all__ = ["find_asked", "say_conditions"]

_FEWEST = 6  # runs for which it is said how what is left goes with a condition
_NAMED = 4

_Value = tuple[float, str] | str


def find_asked(judged: JudgedCampaign, names: Sequence[str]) -> dict[int, tuple[tuple[str, float], ...]]:
    """The conditions that a person wants fitted, of each run by its key, as numbers.

    Words become one number for each but the commonest: 1 where a run has it.

    Raises
    ------
    NotFound
        If there is no such condition.
    BadInput
        If a run with a score does not say it, or its numbers have different units.
    """
    runs = [run for run in judged.runs if run.score is not None or run.not_reached_s is not None]
    asked: dict[int, tuple[tuple[str, float], ...]] = {run.stored.key: () for run in judged.runs}
    for name in dict.fromkeys(names):
        known = [each.name for each in CONDITIONS]
        if name not in known:
            raise NotFound("condition", name, known)
        condition = CONDITIONS[known.index(name)]
        read = {run.stored.key: _value(condition, _cell(condition, run) or "") or None for run in runs}
        without = [run.stored.row.run for run in runs if read[run.stored.key] is None]
        if without:
            more = f" and {len(without) - 6} more" if len(without) > 6 else ""
            raise BadInput(
                f"{name} is not given for {', '.join(without[:6])}{more}",
                where="--adjust",
                allowed="a condition of every run",
                fix=f"fill in the column {name} of the run sheet and load it, or compare without it",
            )
        for key, columns in _as_numbers(condition, read).items():
            asked[key] += columns
    return asked


def _as_numbers(
    condition: Condition, read: Mapping[int, _Value | None]
) -> dict[int, tuple[tuple[str, float], ...]]:
    values = [value for value in read.values() if value is not None]
    if condition.is_number:
        if not _one_unit(values):
            units = sorted({each[1] for each in values if isinstance(each, tuple)})
            raise BadInput(
                f"{condition.name} is given in {' and in '.join(units)}",
                where="--adjust",
                allowed="one unit",
                fix="write it in one unit for all runs, or compare without it",
            )
        return {
            key: ((f"{condition.label} [{value[1]}]", value[0]),)
            for key, value in read.items()
            if isinstance(value, tuple)
        }
    words = [word for word, _count in Counter(map(str, values)).most_common()]
    return {
        key: tuple((f"{condition.label}: {word}", float(value == word)) for word in words[1:])
        for key, value in read.items()
    }


def say_conditions(
    judged: JudgedCampaign, degrees_of_freedom: int, fitted: Sequence[str] = ()
) -> Iterator[str]:
    """One line for each condition that differs between runs that count, and is not `fitted` as asked."""
    runs = [run for run in judged.runs if run.stored.set_aside is None and run.score is not None]
    left = _left(judged, runs)
    for condition in CONDITIONS:
        if condition.name in fitted:
            continue
        read = [(run, _value(condition, text)) for run in runs if (text := _cell(condition, run))]
        given = [(run, value) for run, value in read if value is not None]
        values = [value for _run, value in given]
        if len(set(values)) < 2:
            continue
        spent = 1 if condition.is_number and _one_unit(values) else len(set(values)) - 1
        known = (
            say(" in {given} of {runs} runs", given=len(given), runs=len(runs))
            if len(given) < len(runs)
            else ""
        )
        price = (
            say(
                "fitting it would cost {spent} of the {degrees_of_freedom} degrees of freedom",
                spent=spent,
                degrees_of_freedom=degrees_of_freedom,
            )
            if spent < degrees_of_freedom
            else say("there are too few runs to fit it")
        )
        yield (
            say(
                "{label} differs between runs{known}: {range}. It is not fitted; {price}{what_goes_with}",
                label=condition.label,
                known=known,
                range=_range(condition, values),
                price=price,
                what_goes_with=_what_goes_with(condition, given, left),
            )
        )


def _cell(condition: Condition, run: JudgedRun) -> str | None:
    return run.stored.row.conditions.get(condition.name)


def _value(condition: Condition, text: str) -> _Value | None:
    """To as many digits as are shown; None of what cannot be read, as is said when the sheet is loaded."""
    try:
        found = read_condition(condition, text)
    except BadInput:
        return None
    return text.casefold() if found is None else (float(f"{found[0]:.4g}"), found[1])


def _one_unit(values: Sequence[_Value]) -> bool:
    return len({each[1] for each in values if isinstance(each, tuple)}) == 1


def _range(condition: Condition, values: Sequence[_Value]) -> str:
    numbers = [each for each in values if isinstance(each, tuple)]
    if numbers and _one_unit(values):
        only = [number for number, _unit in numbers]
        return say(
            "{min} to {max} {numbers}",
            min=write_figures(f"{min(only):.4g}"),
            max=write_figures(f"{max(only):.4g}"),
            numbers=numbers[0][1],
        )
    words = sorted({f"{each[0]:.4g} {each[1]}" if isinstance(each, tuple) else each for each in values})
    more = say(" and {more} more", more=len(words) - _NAMED) if len(words) > _NAMED else ""
    return ", ".join(words[:_NAMED]) + more


def _what_goes_with(
    condition: Condition,
    given: Sequence[tuple[JudgedRun, _Value]],
    left: dict[int, float],
) -> str:
    """Whether it rises and falls with the article, else how what is left goes with it."""
    of_article = defaultdict(set)
    values = [value for _run, value in given]
    for run, value in given:
        of_article[run.stored.row.article].add(value)
    if len(of_article) > 1 and all(len(each) == 1 for each in of_article.values()):
        return say(". Each article has a value of its own, so the two cannot be separated")
    pairs = [
        (value[0], left[run.stored.key])
        for run, value in given
        if isinstance(value, tuple) and run.stored.key in left
    ]
    if not condition.is_number or not _one_unit(values) or len(pairs) < _FEWEST:
        return ""
    numbers, rest = (np.asarray(each, dtype=np.float64) for each in zip(*pairs, strict=True))
    if not numbers.std() or not rest.std():
        return ""
    r = float(np.corrcoef(numbers, rest)[0, 1])
    return say(
        ". What is left of a run beside its article and block goes with it by r = {r}",
        r=write_figures(f"{r:+.2f}"),
    )


def _left(judged: JudgedCampaign, runs: Sequence[JudgedRun]) -> dict[int, float]:
    """By run: the logarithm of its score without what its article, and then its block, have on average."""
    logs = {run.stored.key: math.log(run.score) for run in runs if run.score is not None and run.score > 0}
    for of in ("article", "block"):
        groups = defaultdict(list)
        for run in runs:
            if run.stored.key in logs:
                row = run.stored.row
                groups[run.series, judged.campaign.rig_of(row), getattr(row, of)].append(run.stored.key)
        for keys in groups.values():
            mean = fmean(logs[key] for key in keys)
            for key in keys:
                logs[key] -= mean
    return logs
