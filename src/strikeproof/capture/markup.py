"""Text that is no table of cells: web pages, XML and JSON are named and refused, never half understood."""

from __future__ import annotations

import json
import re
from pathlib import Path

from strikeproof.campaign.text import bad_file

__all__ = ["refuse_markup"]

_PAGE = re.compile(rb"<(?:\?xml|!doctype|!--|[a-z][\w:.-]*[\s/>])", re.IGNORECASE)
_CLOSED = re.compile(rb"</|/>")  # <Time> alone is a name in angle brackets
_HEAD = 1 << 14
_MOST_BYTES = 1 << 20


def refuse_markup(path: Path, raw: bytes) -> None:
    """Let nobody read the numbers of a page, or of nested objects, as rows.

    Raises
    ------
    BadFile
        If the text is a web page, XML or JSON.
    """
    head = raw[:200].lstrip()
    if _PAGE.match(head) and (_CLOSED.search(raw[:_HEAD]) or head[1:2] in (b"?", b"!")):
        kind = "a web page" if re.search(rb"<(?:html|table|!doctype)", raw[:2000], re.IGNORECASE) else "XML"
        raise bad_file(path, f"is {kind}, not a table of cells", "export it as CSV or XLSX", 1)
    if head[:1] in (b"{", b"[") and (_is_json(raw.lstrip().split(b"\n", 1)[0]) or _is_json(raw)):
        raise bad_file(path, "is JSON, not a table of cells", "export it as CSV, XLSX or Parquet", 1)


def _is_json(raw: bytes) -> bool:
    """Whether it is one object or list; of a long one the beginning must do."""
    if len(raw) > _MOST_BYTES:
        return re.match(rb'\s*(?:\{\s*"[^"]*"\s*:|\[\s*\{\s*"[^"]*"\s*:)', raw[:2000]) is not None
    try:
        found = json.loads(raw)
    except (ValueError, RecursionError):
        return False
    return isinstance(found, dict) or (
        isinstance(found, list) and any(isinstance(x, dict | list) for x in found)
    )
