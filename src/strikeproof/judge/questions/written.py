"""A combination of articles as a person writes it: `mean(ring-27, ring-33) - plain`.

    sum    := [-] term { (+ | -) term }
    term   := factor { (* | /) factor }
    factor := number | article | mean( sum { , sum } ) | ( sum )

A hyphen inside a word belongs to the name; a minus begins a word. Names with spaces or signs go in quotes,
and so do names that are numbers.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass, field

from strikeproof.errors import BadInput, NotFound

__all__ = ["Asked", "ask_pair", "read_asked"]

LONGEST = 500
DEEPEST = 20
HEAVIEST = 100.0
EVEN = 1e-9
"""How far the weights may be from adding up to nothing."""
MEAN = "mean"
WHERE = "difference"
FORM = "articles with + and -, mean(...), numbers as weights, such as mean(ring-27, ring-33) - plain"
TOKEN = re.compile(
    r"""\s*(?:
    "(?P<double>[^"]+)" | '(?P<single>[^']+)'
    | (?P<number>\d+(?:\.\d+)?|\.\d+)(?=[\s()+*/,]|$)
    | (?P<sign>[-−–+*/(),])
    | (?P<name>[^\s"'()+*/,−–][^\s"'()+*/,−–]*)
    )""",
    re.VERBOSE,
)


@dataclass(frozen=True, slots=True)
class Asked:
    """A combination of log scores: how it reads, and the weight of each article, which add up to nothing.

    `pair` are its two articles where it is one less another.
    """

    text: str
    weights: tuple[tuple[str, float], ...]
    pair: tuple[str, str] | None = None

    @property
    def side(self) -> float:
        """What each side weighs in all."""
        return sum(weight for _, weight in self.weights if weight > 0)

    @property
    def is_ratio(self) -> bool:
        """Whether each side weighs 1, so that its percentage is that of one score over another."""
        return abs(self.side - 1.0) < EVEN


def ask_pair(first: str, second: str) -> Asked:
    """One article less another."""
    return Asked(f"{first} – {second}", ((first, 1.0), (second, -1.0)), (first, second))


def read_asked(text: str, articles: Collection[str]) -> Asked:
    """Read a combination of articles.

    Raises
    ------
    NotFound
        If it names an article that is not there.
    BadInput
        If it cannot be read, a weight is above 100, or its weights do not add up to nothing, so that it would
        hang on the unit.
    """
    if len(text) > LONGEST:
        raise _bad(f"{len(text)} letters", allowed=f"up to {LONGEST}")
    reader = _Reader(text, articles)
    found = reader.read()
    quote = reader.in_quotes()
    if not all(abs(size) <= HEAVIEST for size in (found.number, *found.weights.values())):
        raise _bad(
            f"{text!r}: a weight is too large",
            allowed=f"weights up to {HEAVIEST:g}",
            fix="divide all weights by the same number",
        )
    weights = {name: weight for name, weight in found.weights.items() if abs(weight) > EVEN}
    total = sum(weights.values())
    if abs(found.number) > EVEN:
        raise _bad(f"{text!r}: a number is by itself", fix=quote or "a number only multiplies or divides")
    if not weights:
        raise _bad(f"{text!r}: nothing is left of it", fix=quote or "compare different articles")
    if abs(total) > EVEN:
        raise _bad(
            f"{text!r}: the weights add up to {total:.4g}",
            allowed="weights that add up to 0",
            fix=quote
            or "what is subtracted must weigh as much as what it is subtracted from; mean(...) helps",
        )
    ordered = sorted(weights.items(), key=lambda each: -each[1])
    plain = len(ordered) == 2 and abs(ordered[0][1] - 1.0) < EVEN
    return Asked(text.strip(), tuple(weights.items()), (ordered[0][0], ordered[1][0]) if plain else None)


def _bad(what: str, *, allowed: str = FORM, fix: str = "correct it") -> BadInput:
    return BadInput(what, where=WHERE, allowed=allowed, fix=fix)


def _apart(name: str, articles: Collection[str]) -> str:
    """Two articles with a minus between, where that is what a word with a hyphen means; else empty."""
    marks = [i for i, letter in enumerate(name) if letter == "-"]
    found = ((name[:i], name[i + 1 :]) for i in marks)
    return next(
        (
            f"{_as_written(one)} - {_as_written(other)}"
            for one, other in found
            if one in articles and other in articles
        ),
        "",
    )


def _as_written(name: str) -> str:
    """An article's name as a text has it, in quotes where it is a number."""
    found = TOKEN.fullmatch(name)
    return f"'{name}'" if found and found.lastgroup == "number" else name


@dataclass(slots=True)
class _Value:
    """A number plus weighted articles."""

    number: float = 0.0
    weights: dict[str, float] = field(default_factory=dict)

    def add(self, other: _Value, times: float) -> None:
        self.number += times * other.number
        for name, weight in other.weights.items():
            self.weights[name] = self.weights.get(name, 0.0) + times * weight

    def times(self, factor: float) -> _Value:
        return _Value(self.number * factor, {name: weight * factor for name, weight in self.weights.items()})


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str


class _Reader:
    """Reads tokens from left to right."""

    def __init__(self, text: str, articles: Collection[str]) -> None:
        self._text = text
        self._articles = articles
        self._tokens = self._split()
        self._at = 0
        self._depth = 0

    def read(self) -> _Value:
        if not self._tokens:
            raise _bad("nothing is written", fix="write a difference")
        value = self._sum()
        if self._at < len(self._tokens):
            raise self._odd()
        return value

    def in_quotes(self) -> str:
        """How to write the article that was read as a number, where there is one; else empty."""
        name = next((t.text for t in self._tokens if t.kind == "number" and t.text in self._articles), "")
        return name and f"an article that is called by a number goes in quotes: '{name}'"

    def _split(self) -> list[_Token]:
        tokens, at, end = [], 0, len(self._text.rstrip())
        while at < end:
            found = TOKEN.match(self._text, at)
            if found is None:
                raise _bad(f"{self._text!r}: cannot be read from {self._text[at : at + 20]!r} on")
            kind = found.lastgroup or ""
            text = found[kind]
            tokens.append(_Token("name" if kind in ("double", "single") else kind, text))
            if kind == "sign":
                tokens[-1] = _Token("sign", "-" if text in "−–" else text)
            if kind == "name" and text == MEAN and self._text[found.end() :].lstrip().startswith("("):
                tokens[-1] = _Token("mean", text)
            at = found.end()
        return tokens

    def _sum(self) -> _Value:
        total = _Value()
        sign = -1.0 if self._take("-") else 1.0
        while True:
            total.add(self._term(), sign)
            if self._take("+"):
                sign = 1.0
            elif self._take("-"):
                sign = -1.0
            else:
                return total

    def _term(self) -> _Value:
        value = self._factor()
        while True:
            if self._take("*"):
                value = self._product(value, self._factor())
            elif self._take("/"):
                other = self._factor()
                if other.weights or other.number == 0.0:
                    raise _bad(f"{self._text!r}: divides by something that is no number above 0")
                value = value.times(1.0 / other.number)
            else:
                return value

    def _product(self, one: _Value, other: _Value) -> _Value:
        if one.weights and other.weights:
            raise _bad(f"{self._text!r}: multiplies articles with each other", fix="multiply by numbers only")
        return one.times(other.number) if not other.weights else other.times(one.number)

    def _factor(self) -> _Value:
        if self._at == len(self._tokens):
            raise _bad(f"{self._text!r}: it ends too early")
        token = self._tokens[self._at]
        if token.kind == "number":
            self._at += 1
            return _Value(float(token.text))
        if token.kind == "name":
            self._at += 1
            return self._article(token.text)
        if token.kind == "mean":
            self._at += 1
            parts = self._inside()
            value = _Value()
            for part in parts:
                value.add(part, 1.0 / len(parts))
            return value
        if token.text == "(":
            parts = self._inside()
            if len(parts) == 1:
                return parts[0]
        raise self._odd()

    def _inside(self) -> list[_Value]:
        """What is between brackets, apart by commas."""
        self._depth += 1
        if self._depth > DEEPEST:
            raise _bad(f"{self._text!r}: brackets inside brackets", allowed=f"up to {DEEPEST} deep")
        self._expect("(")
        parts = [self._sum()]
        while self._take(","):
            parts.append(self._sum())
        self._expect(")")
        self._depth -= 1
        return parts

    def _article(self, name: str) -> _Value:
        if name not in self._articles:
            if apart := _apart(name, self._articles):
                fix = f"for a minus write blanks around it: {apart}"
                raise _bad(f"no article is called {name!r}", fix=fix)
            raise NotFound("article", name, self._articles)
        return _Value(0.0, {name: 1.0})

    def _take(self, sign: str) -> bool:
        here = self._at < len(self._tokens) and self._tokens[self._at] == _Token("sign", sign)
        self._at += here
        return here

    def _expect(self, sign: str) -> None:
        if not self._take(sign):
            raise self._odd() if self._at < len(self._tokens) else _bad(f"{self._text!r}: {sign} is missing")

    def _odd(self) -> BadInput:
        token = self._tokens[min(self._at, len(self._tokens) - 1)]
        return _bad(f"{self._text!r}: {token.text!r} is not expected there")
