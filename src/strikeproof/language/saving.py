"""Sentences as plain JSON, and back, so that a saved result can still be read in every language.

A sentence is saved as its template and its facts, text that is no sentence as it is; what an older program
saved as plain text comes back as plain text.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from strikeproof.language.speech import Figures, Opening, Said, say_many, with_capital, write_figures

__all__ = ["from_saved", "to_saved"]


def to_saved(text: Any) -> Any:
    """A sentence as what `json.dumps` takes; anything else as it is."""
    if isinstance(text, Figures):
        return {"figures": text.template}
    if isinstance(text, Opening):
        return {"opening": to_saved(text.facts["text"])}
    if not isinstance(text, Said):
        return text.item() if hasattr(text, "item") else text  # a number of an array
    facts = {name: to_saved(fact) for name, fact in text.facts.items()}
    return {"say": text.template, "many": text.many, "number": text.number, "facts": facts}


def from_saved(saved: Any) -> Any:
    """What `to_saved` was given, in the language that is spoken now."""
    if not isinstance(saved, Mapping):
        return saved
    if "figures" in saved:
        return write_figures(saved["figures"])
    if "opening" in saved:
        return with_capital(from_saved(saved["opening"]))
    facts = {name: from_saved(fact) for name, fact in saved["facts"].items() if name != "count"}
    return say_many(saved["say"], saved["many"], saved["number"], **facts)
