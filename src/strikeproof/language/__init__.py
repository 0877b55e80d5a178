"""What is said in another language than English: sentences that remember how they were made, and numbers."""

from strikeproof.language.speech import (
    LANGUAGES,
    Figures,
    Said,
    comma_in_files,
    language_now,
    listed,
    mark_decimals,
    preferred_language,
    retold,
    retold_all,
    say,
    say_many,
    speaking,
    translations,
    write_figures,
)

__all__ = [
    "LANGUAGES",
    "Figures",
    "Said",
    "comma_in_files",
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
    "write_figures",
]
