"""What the recorder says to a rig: one line before each run, which a rig may ignore.

Names are percent-encoded as in a web address (RFC 3986, section 2.1), so that they hold no blank and nothing
but ASCII however a person has called things; plain names stay as they are.
"""

from __future__ import annotations

import string
from collections.abc import Mapping
from urllib.parse import quote, unquote

__all__ = ["announce_run", "read_announcement"]

_PLAIN = string.punctuation.replace("%", "")


def announce_run(run: str, **named: str) -> str:
    """The line that announces a run, with what it is made with, such as `tool="air"`."""
    pairs = [("run", run), *named.items()]
    return "# " + " ".join(f"{key} {quote(name, safe=_PLAIN, errors='replace')}" for key, name in pairs)


def read_announcement(line: str) -> Mapping[str, str] | None:
    """What such a line says, by name; None where it is another line."""
    words = line.split()
    if words[:2] != ["#", "run"]:
        return None
    return {key: unquote(name) for key, name in zip(words[1::2], words[2::2], strict=False)}
