"""What is said of a change that waits for an answer, can never be, or was made."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from strikeproof.desk.setting_up.editor import Change

__all__ = ["said_of"]


def said_of(made: Change, words: Mapping[str, str]) -> dict[str, Any]:
    """For `assets/changes.js`: the question, why it is never done, or what a person must do now."""
    never = [each.says for each in made.effects if each.kind == "never"]
    if never:
        return {"never": never}
    if not made.done:
        says = [each.says for each in made.effects]
        return {
            "ask": {
                "title": "Runs were made already",
                "says": says,
                "yes": "Go on",
                "no": "Leave it as it was",
            }
        }
    said = {"undo": "Undone", "redo": "Done again"}.get(words.get("do", ""))
    told = f"{said}: {made.says}." if said and made.says else ""
    return {"notes": list(made.notes), "told": told}
