"""What a photo's file holds that its pixels do not need, by its structure alone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from strikeproof.plain_text import clean_text

__all__ = ["BEHIND", "other_parts"]

BEHIND: Final = "other metadata (bytes behind the end of the picture)"
# ITU-T T.81 (1992), table B.1: frames, tables, restarts, scans; APP14 says how colours are packed (from
# memory).
_JPEG: Final = frozenset({*range(0xC0, 0xD0), 0xDA, 0xDB, 0xDC, 0xDD}) - {0xC8}
_ALONE: Final = frozenset({0x01, *range(0xD0, 0xD8)})
# W3C PNG (2003), 11; text and EXIF are read by name. RFC 9649, 2.7, of WebP.
_PNG: Final = frozenset(b"IHDR PLTE IDAT IEND tRNS gAMA cHRM sRGB sBIT bKGD pHYs tEXt zTXt iTXt eXIf".split())
_WEBP: Final = frozenset({b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ANIM", b"ANMF", b"EXIF", b"XMP "})


def other_parts(content: bytes, kind: str) -> tuple[str, ...]:
    """Name what is neither needed for the pixels nor read by name: unknown parts, and bytes behind the end.

    Parameters
    ----------
    content
        The whole file.
    kind
        "JPEG", "PNG" or "WEBP".
    """
    walk = {"JPEG": _jpeg, "PNG": _png, "WEBP": _webp}[kind]
    return tuple(dict.fromkeys(walk(content)))


def _jpeg(content: bytes) -> Iterator[str]:
    at, exif = 2, 0
    while at < len(content):
        start = at
        while content[at : at + 1] == b"\xff":
            at += 1
        if at == start or at >= len(content):
            yield BEHIND
            return
        marker = content[at]
        at += 1
        if marker == 0xD9:
            if at < len(content):
                yield BEHIND
            return
        if marker in _ALONE:
            continue
        size = int.from_bytes(content[at : at + 2])
        body = content[at + 2 : at + size]
        at += max(size, 2)
        is_exif = marker == 0xE1 and body.startswith(b"Exif\0\0")
        exif += is_exif
        if not (marker in _JPEG or _plain(marker, body) or (is_exif and exif == 1)):
            name = f"APP{marker - 0xE0}" if 0xE0 <= marker < 0xF0 else f"part {marker:02X}"
            yield f"other metadata ({name})"
        if marker == 0xDA:
            at = _behind_scan(content, at)


def _plain(marker: int, body: bytes) -> bool:
    """Whether it is the bare head of the file, or is read by name."""
    return (
        (marker == 0xE0 and body.startswith(b"JFIF\0") and len(body) == 14)
        or (marker == 0xEE and body.startswith(b"Adobe") and len(body) == 12)
        or (marker == 0xE1 and body.startswith(b"http://ns.adobe.com/xap/1.0/\0"))
        or (marker == 0xED and body.startswith(b"Photoshop 3.0\0"))
        or marker == 0xFE
    )


def _behind_scan(content: bytes, at: int) -> int:
    """Where the next marker starts that is no restart and no stuffed byte."""
    while True:
        at = content.find(b"\xff", at)
        if at < 0 or at + 1 >= len(content):
            return len(content)
        if content[at + 1] != 0 and content[at + 1] not in _ALONE:
            return at
        at += 2


def _png(content: bytes) -> Iterator[str]:
    at = 8
    while at + 8 <= len(content):
        size, name = int.from_bytes(content[at : at + 4]), content[at + 4 : at + 8]
        at += 12 + size
        if name not in _PNG:
            yield f"other metadata ({clean_text(name.decode('latin-1'))})"
        if name == b"IEND":
            if size:
                yield "other metadata (IEND)"
            break
    if at < len(content):
        yield BEHIND


def _webp(content: bytes) -> Iterator[str]:
    end = min(8 + int.from_bytes(content[4:8], "little"), len(content))
    at = 12
    while at + 8 <= end:
        name, size = content[at : at + 4], int.from_bytes(content[at + 4 : at + 8], "little")
        at += 8 + size + size % 2
        if name not in _WEBP:
            yield f"other metadata ({clean_text(name.decode('latin-1'))})"
    if at < end or end + end % 2 < len(content):
        yield BEHIND
