"""What may be pressed at the rig, and what each command must and may be given; light to import."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from strikeproof.errors import BadInput, NotFound
from strikeproof.language import say
from strikeproof.plain_text import TextKind, accept_text

__all__ = ["COMMANDS", "Command", "check_command"]


@dataclass(frozen=True, slots=True)
class Command:
    """What a command must be given, and what it may be given after that; every one a text."""

    needs: tuple[str, ...] = ()
    may: tuple[str, ...] = ()


COMMANDS: Final[Mapping[str, Command]] = {
    "connect": Command(("port",), ("baud rate",)),
    "simulate": Command(),
    "disconnect": Command(),
    "mishap": Command(("mishap",)),
    "arm": Command((), ("screen",)),
    "disarm": Command(),
    "stop": Command(),
    "repeat": Command((), ("reason",)),
    "accept": Command(),
    "take zero": Command(),
    "set aside": Command(("run", "reason")),
    "put back": Command(("run",)),
    "note": Command(("run", "note")),
    "undo": Command(),
    "bolt": Command((), ("bolt",)),
    "leave out": Command(("reason",)),
    "add block": Command(),
    "recover": Command(),
}


_KINDS: Final = {"run": TextKind.NOTE, "reason": TextKind.NOTE, "note": TextKind.NOTE, "port": TextKind.FILE}
_LONGEST_SAID: Final = 200


def check_command(name: str, given: Sequence[Any]) -> None:
    """See that a command is given what it needs.

    Raises
    ------
    NotFound
        If there is no such command.
    BadInput
        If something is lacking, too much or no text, too long or holds what no text may hold; it is named.
    """
    if name not in COMMANDS:
        raise NotFound("command", name, COMMANDS)
    command = COMMANDS[name]
    known = (*command.needs, *command.may)
    lacks = command.needs[len(given) :]
    if lacks:
        raise _wrong(name, say("lacks its {listed}", listed=" and its ".join(lacks)), known)
    if len(given) > len(known):
        raise _wrong(
            name, say("does not take {listed}", listed=", ".join(map(repr, given[len(known) :]))), known
        )
    for what, value in zip(known, given, strict=False):
        if not isinstance(value, str):
            raise _wrong(name, f"needs its {what} as text, not {value!r}"[:_LONGEST_SAID], known)
        accept_text(value, _KINDS.get(what, TextKind.NAME), what)


def _wrong(name: str, what: str, known: Sequence[str]) -> BadInput:
    return BadInput(f"{name} {what}", where="recorder", allowed=", ".join(known) or say("nothing beside it"))
