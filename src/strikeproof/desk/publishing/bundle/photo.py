"""A photo on its way into a bundle; imports little: readers of foreign files load it."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator, Mapping
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.bounds import uncounted
from strikeproof.campaign.gate import read_bounded
from strikeproof.desk.publishing.bundle.photo_parts import BEHIND, other_parts
from strikeproof.errors import BadInput
from strikeproof.plain_text import clean_text

__all__ = ["read_photo"]

_KINDS: Final = {".jpg": "JPEG", ".jpeg": "JPEG", ".png": "PNG", ".webp": "WEBP"}
"""Kinds of photo by the ending of the file."""
# EXIF 2.32, tables 4 to 17 (from memory): the directories, and what in them says something of a person.
_EXIF, _GPS, _SMALL = 0x8769, 0x8825, 1
_PACKED: Final = ("xmp", "photoshop", "xml:com.adobe.xmp")
_FILM: Final = re.compile(rb"\xff\xd9.{0,64}?\0\0\0.ftyp", re.DOTALL)
_TAGS: Final[Mapping[int, str]] = {
    0x010E: "description",
    0x0131: "program",
    0x013C: "computer",
    0x010F: "maker of the camera",
    0x0110: "model of the camera",
    0x0132: "when it was changed",
    0x013B: "artist",
    0x8298: "copyright",
    0x9003: "when it was taken",
    0x9286: "comment",
    0x927C: "the maker's own notes",
    0x9C9C: "comment",
    0x9C9B: "title",
    0x9C9D: "author",
    0x9C9E: "keywords",
    0x9C9F: "subject",
    0xA420: "number of the picture",
    0xA430: "owner of the camera",
    0xA431: "serial number of the camera",
    0xA435: "serial number of the lens",
    0xC62F: "serial number of the camera",
}
_MOST_PIXELS: Final = 200_000_000
_QUALITY: Final = 95


def read_photo(path: Path, *, strip: bool) -> tuple[bytes, tuple[str, ...]]:
    """A photo's bytes, and what its metadata say of a person; read in a process with bounds.

    Stripped, it is only its pixels, upright, packed again.

    Raises
    ------
    BadInput, BadFile
        If it is no JPEG, PNG or WebP picture, or takes too much memory or time.
    """
    found: tuple[bytes, tuple[str, ...]] = read_bounded(path, _read_photo, path, strip)
    return found


def _read_photo(path: Path, strip: bool) -> tuple[bytes, tuple[str, ...]]:
    with uncounted():
        from PIL import Image, ImageOps, UnidentifiedImageError

    kind = _KINDS.get(path.suffix.lower())
    try:
        if kind is None:
            raise ValueError("another kind")
        content = path.read_bytes()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(BytesIO(content), formats=[kind]) as picture:
                if picture.width * picture.height > _MOST_PIXELS:
                    raise ValueError("too many pixels")
                says = tuple(_says(picture))
                film = _has_film(content, kind)
                if film:
                    says = (*says, "a film behind the picture, which may hold voices")
                says = (
                    *says,
                    *(each for each in other_parts(content, kind) if not (film and each == BEHIND)),
                )
                if not strip:
                    with Image.open(BytesIO(content), formats=[kind]) as unread:
                        unread.verify()  # a PNG can be verified only before anything of it was read
                    return content, says
                upright = ImageOps.exif_transpose(picture)
                return _bare(upright, kind), says
    except (OSError, ValueError, SyntaxError, UnidentifiedImageError) as cause:
        raise BadInput(
            f"{path.name} cannot be read as a photo ({str(cause)[:80] or type(cause).__name__})",
            where="photo",
            allowed="JPEG, PNG or WebP, up to 200 million pixels",
            fix="save it as one of these",
        ) from cause


def _bare(picture: Any, kind: str) -> bytes:
    """The pixels alone: made from them, so that nothing else can come along."""
    from PIL import Image

    plain = picture if picture.mode in ("RGB", "RGBA", "L") else picture.convert("RGB")
    plain = plain.convert("RGB") if kind == "JPEG" and plain.mode == "RGBA" else plain
    bare = Image.frombytes(plain.mode, plain.size, plain.tobytes())
    out = BytesIO()
    bare.save(out, kind, **({} if kind == "PNG" else {"quality": _QUALITY}))
    return out.getvalue()


def _says(picture: Any) -> Iterator[str]:
    exif = picture.getexif()
    if exif.get_ifd(_GPS):
        yield "where it was taken (GPS)"
    tags = {**dict(exif), **exif.get_ifd(_EXIF)}
    for tag, name in _TAGS.items():
        if tags.get(tag):
            value = tags[tag]
            yield name if isinstance(value, bytes) else f"{name}: {clean_text(str(value))[:80]}"
    if exif.get_ifd(_SMALL):
        yield "a small copy of the picture, perhaps from before it was cut"
    if getattr(picture, "n_frames", 1) > 1:
        yield "more pictures in the same file"
    for key, value in sorted((str(key), value) for key, value in picture.info.items()):
        if key.lower() in _PACKED:
            yield f"other metadata ({key})"
        elif key.lower() == "comment" or key in getattr(picture, "text", {}):
            yield f"other metadata ({clean_text(key)[:40]}: {_word(value)})"


def _word(value: object) -> str:
    text = value.decode("utf-8", "replace") if isinstance(value, bytes) else str(value)
    return clean_text(text)[:80]


def _has_film(content: bytes, kind: str) -> bool:
    """Whether a film follows the picture in the same file, as some phones write it: ISO 14496-12, 4.3."""
    return kind == "JPEG" and _FILM.search(content) is not None
