"""Sentences in the language of the person who reads them.

English is the language of the source: a sentence is its own key. Where a sentence is made and who reads it
may be known at different places, as at the rig, where one recorder serves several screens. So a sentence
remembers its template and its facts, and is said again at the edge in the language of that screen. Nothing
else reads it: programs go by codes.
"""

from __future__ import annotations

import gettext
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, reduce
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final, Literal, Self, TypeVar

__all__ = [
    "LANGUAGES",
    "Figures",
    "Opening",
    "Said",
    "comma_in_files",
    "find_language",
    "joined",
    "language_now",
    "listed",
    "mark_decimals",
    "preferred_language",
    "retold",
    "retold_all",
    "say",
    "say_many",
    "speaking",
    "translations",
    "with_capital",
    "write_figures",
]

SOURCE: Final = "en"
LANGUAGES: Final[Mapping[str, str]] = MappingProxyType({SOURCE: "English", "de": "Deutsch", "es": "Español"})
"""By code (ISO 639-1), each as its own speakers call it."""

_COMMA: ContextVar[bool] = ContextVar("comma", default=False)
_BEHIND: Final = re.compile(r"[-_.@]")
"""What comes after a language in a tag or the name of a locale begins with one of these."""
_DECIMAL: Final = {"de": ",", "es": ","}
Text = TypeVar("Text")
_NOW: ContextVar[str] = ContextVar("language", default=SOURCE)


def language_now() -> str:
    """The code of the language that is spoken here and now."""
    return _NOW.get()


@contextmanager
def speaking(language: str, *, decimal_comma: bool = False) -> Iterator[None]:
    """Speak a language of `LANGUAGES` inside; one that is not there is English.

    `decimal_comma` says that files for spreadsheets have one, too: nothing but a person's choice does that.
    """
    before, written = _NOW.set(language if language in LANGUAGES else SOURCE), _COMMA.set(decimal_comma)
    try:
        yield
    finally:
        _NOW.reset(before)
        _COMMA.reset(written)


def comma_in_files() -> bool:
    """Whether files for spreadsheets are to have a decimal comma."""
    return _COMMA.get()


def find_language(given: str) -> str | None:
    """The code of a language that is there, however it is written: `DE`, `de-AT`, `de_DE.UTF-8`.

    Parameters
    ----------
    given
        A code of ISO 639-1 alone, as a tag of RFC 5646, or as the name of a POSIX locale; None comes back
        where it is of another language, or nothing of that form.
    """
    code = _BEHIND.split(given.strip(), maxsplit=1)[0].lower()
    return code if code in LANGUAGES else None


def preferred_language(accepted: str) -> str:
    """The first language that a browser asks for and that is there; English otherwise.

    Parameters
    ----------
    accepted
        A header such as "de-AT,de;q=0.9,en;q=0.8" (RFC 9110, 12.5.4). What is not of that form counts for
        nothing.
    """
    weighed = []
    for place, part in enumerate(accepted[:400].split(",")):
        tag, _, weight = part.strip().partition(";q=")
        code = tag.strip().partition("-")[0].lower()
        try:
            weighed.append((-float(weight or 1), place, code))
        except ValueError:
            continue
    wanted = [code for weight, _, code in sorted(weighed) if code in LANGUAGES and weight < 0]
    return wanted[0] if wanted else SOURCE


@cache
def translations(language: str) -> gettext.NullTranslations:
    """The catalogue of a language; that of English says every sentence as it is."""
    if language == SOURCE:
        return gettext.NullTranslations()
    with files("strikeproof.language").joinpath("catalogues", f"{language}.mo").open("rb") as file:
        return gettext.GNUTranslations(file)


class Said(str):
    """A sentence in the language that was spoken when it was made, which can be said again in another.

    Attributes
    ----------
    template, many
        In English, with `{name}` for each fact; `many` is the plural, empty where there is none.
    number
        Which of both is said.
    facts
        By name; those that are sentences or figures themselves are said again with it.
    language
        In which it is written.
    """

    template: str
    many: str
    number: int
    facts: Mapping[str, object]
    language: str

    def __new__(cls, text: str) -> Self:
        """Of another sentence the same one, as one of this class; of any text a sentence without facts."""
        made = super().__new__(cls, text)
        known = vars(text) if isinstance(text, Said) else {}
        vars(made).update({**_BARE, "template": str(text), "language": language_now(), **known})
        return made

    def again(self) -> Self:
        """The same in the language that is spoken now."""
        if self.language == language_now():
            return self
        made = type(self)(self._write())
        vars(made).update({**vars(self), "language": language_now()})
        return made

    def __format__(self, how: str) -> str:
        """Inside other text as in a sentence: in the language that is spoken now."""
        return format(str.__str__(self.again()), how)

    def __add__(self, end: str) -> Said:
        """Both as one sentence, which can be said again as a whole."""
        return _made(Said, template="{before}{end}", facts={"before": self, "end": end})

    def __radd__(self, before: str) -> Said:
        """The same of text before it."""
        return _made(Said, template="{before}{end}", facts={"before": before, "end": self})

    def _write(self) -> str:
        words = translations(language_now())
        if self.many:
            text = words.ngettext(self.template, self.many, self.number)
        else:
            text = words.gettext(self.template)
        if not self.facts:
            return text
        return text.format(**{name: retold(fact) for name, fact in self.facts.items()})


class Figures(Said):
    """A number in digits; only its decimal mark is of a language."""

    def _write(self) -> str:
        return mark_decimals(self.template)


class Opening(Said):
    """A sentence whose first letter is a capital in every language."""

    def _write(self) -> str:
        text = super()._write()
        return text[:1].upper() + text[1:]


_BARE: Final = {"many": "", "number": 1, "facts": {}}


def _made(kind: type[Said], **how: object) -> Said:
    made = kind("")
    vars(made).update(**(_BARE | how), language="")
    return made.again()


def say(template: str, /, **facts: object) -> str:
    """A sentence, or a part of one that is complete by itself, in the language that is spoken now.

    Parameters
    ----------
    template
        In English, with `{name}` for each fact. It is the key of the catalogues, so it is written here in
        full and never put together.
    facts
        What is filled in, as it is to be read.
    """
    return say_many(template, "", 1, **facts)


def say_many(one: str, many: str, number: int, /, **facts: object) -> str:
    """The same of a number of things; which plural that takes is for the language to say.

    Parameters
    ----------
    one, many
        In English; both have the same facts, and `{count}` is the number.
    """
    if isinstance(one, Said):  # one that waited for its facts in a table
        one = one.template
    known = {"count": number, **facts} if many else facts
    return _made(Said, template=one, many=many, number=number, facts=known)


def with_capital(text: str) -> str:
    """The same with a capital at its start."""
    return _made(Opening, template="{text}", facts={"text": text})


def listed(sentences: Sequence[str]) -> str:
    """Parts of a sentence in a row, each after a comma."""
    return reduce(lambda before, end: say("{before}, {end}", before=before, end=end), sentences or [""])


def joined(words: Sequence[str], last: Literal["and", "or"] = "and") -> str:
    """`a`, `a and b`, `a, b and c`."""
    if len(words) < 2:
        return retold(words[0]) if words else ""
    before, end = listed(words[:-1]), words[-1]
    if last == "or":
        return say("{before} or {end}", before=before, end=end)
    return say("{before} and {end}", before=before, end=end)


def write_figures(digits: str) -> str:
    """Digits with a decimal point as they are written in the language that is spoken now."""
    return _made(Figures, template=digits)


def mark_decimals(digits: str) -> str:
    """Digits with the decimal mark of the language that is spoken now."""
    mark = _DECIMAL.get(language_now())
    return digits if mark is None else digits.replace(".", mark)


def retold(text: Text) -> Text:
    """A sentence in the language that is spoken now; anything else as it is."""
    return text.again() if isinstance(text, Said) else text


def retold_all(words: Any) -> Any:
    """The same of all sentences in lists and mappings, as plain text."""
    if isinstance(words, Mapping):
        return {key: retold_all(each) for key, each in words.items()}
    if isinstance(words, list | tuple):
        return [retold_all(each) for each in words]
    return str(retold(words)) if isinstance(words, Said) else words
