"""Where a study puts its tables: between two marks of a page of the docs."""

from __future__ import annotations

from pathlib import Path

__all__ = ["put_between"]


def put_between(page: Path, marks: tuple[str, str], text: str) -> None:
    """Replace what stands between the marks; a page without them is a bug and shows itself."""
    before, rest = page.read_text(encoding="utf-8").split(marks[0])
    after = rest.split(marks[1])[1]
    page.write_text(f"{before}{marks[0]}\n{text}\n{marks[1]}{after}", encoding="utf-8")
