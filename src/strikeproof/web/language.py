"""The language that a browser is answered in: as chosen there, else the server's, else its own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from strikeproof.language import LANGUAGES, preferred_language

__all__ = ["COMMA", "COOKIE", "comma_of", "language_of"]

COOKIE: Final = "strikeproof_language"
COMMA: Final = "strikeproof_comma"


def language_of(cookies: Mapping[str, str], headers: Mapping[str, str], served: str | None) -> str:
    """The code of the language.

    Parameters
    ----------
    cookies, headers
        Of the request; a choice that was made in the browser is in its cookie.
    served
        The language that the server was started with, or None.
    """
    chosen = cookies.get(COOKIE, "")
    if chosen in LANGUAGES:
        return chosen
    return served or preferred_language(headers.get("accept-language", ""))


def comma_of(cookies: Mapping[str, str]) -> bool:
    """Whether a person has chosen a decimal comma for files that spreadsheets open."""
    return cookies.get(COMMA) == "yes"
