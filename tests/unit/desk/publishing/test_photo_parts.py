"""Parts of a photo's file that its pixels do not need: each must be found, and none in a plain picture."""

from __future__ import annotations

import zlib
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from strikeproof.desk.publishing.bundle.photo import _read_photo

TEXT = b"Someone, 1 Some Street"


def _packed(kind: str, **more: object) -> bytes:
    out = BytesIO()
    Image.new("RGB", (16, 16), (200, 90, 20)).save(out, kind, **more)
    return out.getvalue()


def _says(folder: Path, kind: str, content: bytes) -> tuple[str, ...]:
    path = folder / f"photo.{kind.lower()}"
    path.write_bytes(content)
    return _read_photo(path, False)[1]


def _segment(number: int) -> bytes:
    packed = _packed("JPEG")
    return packed[:2] + bytes([0xFF, 0xE0 + number]) + (len(TEXT) + 2).to_bytes(2) + TEXT + packed[2:]


def _chunk() -> bytes:
    packed = _packed("PNG")
    body = b"prVt" + TEXT
    return packed[:33] + len(TEXT).to_bytes(4) + body + zlib.crc32(body).to_bytes(4) + packed[33:]


def _riff() -> bytes:
    packed = _packed("WEBP") + b"abcd" + len(TEXT).to_bytes(4, "little") + TEXT
    return packed[:4] + (len(packed) - 8).to_bytes(4, "little") + packed[8:]


HIDDEN = {
    "behind the end of a JPEG": ("JPEG", _packed("JPEG") + TEXT),
    "behind the end of a PNG": ("PNG", _packed("PNG") + TEXT),
    "behind the end of a WebP": ("WEBP", _packed("WEBP") + TEXT),
    "APP5": ("JPEG", _segment(5)),
    "APP11": ("JPEG", _segment(11)),
    "APP12": ("JPEG", _segment(12)),
    "a private chunk": ("PNG", _chunk()),
    "an unknown chunk": ("WEBP", _riff()),
    "profile of a JPEG": ("JPEG", _packed("JPEG", icc_profile=TEXT)),
    "profile of a PNG": ("PNG", _packed("PNG", icc_profile=TEXT)),
    "profile of a WebP": ("WEBP", _packed("WEBP", icc_profile=TEXT)),
}


@pytest.mark.parametrize("where", HIDDEN)
def test_hidden_text_is_found(tmp_path: Path, where: str) -> None:
    assert any(each.startswith("other metadata") for each in _says(tmp_path, *HIDDEN[where]))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("more", [{}, {"progressive": True, "dpi": (72, 72), "lossless": True}])
def test_a_plain_picture_holds_nothing_else(tmp_path: Path, kind: str, more: dict[str, object]) -> None:
    assert _says(tmp_path, kind, _packed(kind, **more)) == ()
