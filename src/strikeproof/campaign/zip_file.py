"""What the standard library raises for a damaged ZIP file, in whichever of its parts the damage is."""

from __future__ import annotations

import lzma
import struct
import zipfile
import zlib
from typing import Final

__all__ = ["DAMAGED_ZIP"]

DAMAGED_ZIP: Final = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    struct.error,
    EOFError,
    OSError,  # of bzip2, and of an offset before the beginning
    ValueError,
    IndexError,
    KeyError,
    RuntimeError,  # a password
    NotImplementedError,  # a way of packing, or a version, that is not known
)
