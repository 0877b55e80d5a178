"""From a file on disk to its text, whatever packed or encoded it.

Raw bytes and their encoding are offered apart from the text, since a reader of long logs hands
the bytes on to a parser and never makes one huge string of them.
"""

from __future__ import annotations

import errno
import os
import re
import stat
import zlib
from pathlib import Path

from strikeproof.errors import BadFile, Problem, nearest

__all__ = [
    "LARGEST_BYTES",
    "LARGEST_SHEET_BYTES",
    "bad_file",
    "decode",
    "find_encoding",
    "read_bytes",
    "read_file",
    "read_text",
    "read_text_of",
    "unpack",
]

LARGEST_BYTES = 1 << 30  # ten minutes at 50 kS/s in two columns take about 0.6 GB of text
LARGEST_SHEET_BYTES = 1 << 25  # of what people write by hand: a hundred thousand lines of it

_GZIP = b"\x1f\x8b"
_BOMS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
_FOREIGN = (
    (b"PK\x03\x04", "a workbook or zip archive"),
    (b"PAR1", "a Parquet file"),
    (b"\xd0\xcf\x11\xe0", "an old workbook"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"TDSm", "a binary measurement file"),
    (b"\x89HDF", "a binary measurement file"),
    (b"RIFF", "a sound file"),
)
# What no text holds: control codes other than tab, line ends, form feed and the old end-of-file mark.
_CONTROL = re.compile(rb"[\x00-\x08\x0e-\x19\x1b-\x1f\x7f]")
_SAMPLE = 1 << 16


def bad_file(path: Path, problem: str, fix: str, line: int | None = None) -> BadFile:
    """The error for a file with one thing wrong."""
    return BadFile([Problem(str(path), line, problem, fix)])


def read_bytes(path: Path) -> bytes:
    """The whole content of a regular file, unpacked where it is gzip.

    Raises
    ------
    BadFile
        As `read_file` and `unpack`.
    """
    return unpack(path, read_file(path))


def read_file(path: Path, most: int = LARGEST_BYTES) -> bytes:
    """The content of a regular file as it is when it is opened; what is added meanwhile is not read.

    Parameters
    ----------
    most
        Bytes that it may hold.

    Raises
    ------
    BadFile
        If it is missing, a folder, a pipe, a device, unreadable or too large.
    """
    try:
        # A pipe or a device could hold up the opening itself, and be read for ever.
        handle = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK | os.O_NOCTTY)
        try:
            found = os.fstat(handle)
            _refuse_odd(path, found, most)
            with os.fdopen(handle, "rb", closefd=False) as stream:
                return stream.read(found.st_size)
        finally:
            os.close(handle)
    except (FileNotFoundError, NotADirectoryError) as cause:
        raise bad_file(path, "there is no such file", _missing_fix(path)) from cause
    except PermissionError as cause:
        raise bad_file(path, "reading it is not allowed", "give yourself the right to read it") from cause
    except (OSError, ValueError) as cause:  # ValueError: a NUL inside the path
        if isinstance(cause, OSError) and cause.errno == errno.ENXIO:  # a socket cannot be opened
            raise _no_file(path) from cause
        raise bad_file(path, f"cannot be read ({cause})", "check the name and the disk") from cause


def _refuse_odd(path: Path, found: os.stat_result, most: int) -> None:
    if stat.S_ISDIR(found.st_mode):
        raise bad_file(path, "is a folder, not a file", "name the file inside it")
    if not stat.S_ISREG(found.st_mode):
        raise _no_file(path)
    if found.st_size > most:
        raise bad_file(path, *_too_large(most))


def _no_file(path: Path) -> BadFile:
    return bad_file(path, "is not a regular file", "copy its content into a file")


def unpack(path: Path, raw: bytes, most: int = LARGEST_BYTES) -> bytes:
    """The bytes of a file, unpacked where they are gzip.

    Raises
    ------
    BadFile
        If there are none, they unpack to more than `most`, or are a damaged gzip.
    """
    if raw.startswith(_GZIP):
        raw = _unpack(path, raw, most)
    if not raw:
        raise bad_file(path, "is empty", "record or export it again, or take it off the sheet")
    return raw


def _missing_fix(path: Path) -> str:
    if not path.parent.is_dir():
        return f"check the name; the folder {path.parent} is not there either"
    near = nearest(path.name, (each.name for each in path.parent.iterdir()))
    return f"did you mean {near!r}?" if near else "check the name and the folder"


def _too_large(most: int) -> tuple[str, str]:
    fix = "split it, one run a file, or save it as Parquet"
    return f"holds more than {most >> 20} MiB", fix if most == LARGEST_BYTES else "check what file it is"


def _unpack(path: Path, packed: bytes, most: int) -> bytes:
    """All members of a gzip, never more than `most` bytes of them."""
    pieces: list[bytes] = []
    room = most
    try:
        while packed.startswith(_GZIP):
            if room <= 0:  # no room would mean no limit
                raise bad_file(path, *_too_large(most))
            member = zlib.decompressobj(wbits=31)
            pieces.append(member.decompress(packed, room))
            room -= len(pieces[-1])
            if not member.eof:
                problem = ("is a gzip that ends too early", "copy it again from the logger")
                raise bad_file(path, *(problem if room > 0 else _too_large(most)))
            packed = member.unused_data
    except zlib.error as cause:
        raise bad_file(path, f"is a damaged gzip ({cause})", "copy it again from the logger") from cause
    return b"".join(pieces)


def find_encoding(path: Path, raw: bytes, *, is_sheet: bool = False) -> str:
    """The name of the encoding of `raw`: UTF-8/16/32 with or without mark, else cp1252 or Latin-1.

    Of a sheet that a person fills only the column names are looked at for what no text holds: one odd
    character in a note must not make all of it unreadable.

    Raises
    ------
    BadFile
        If the bytes are not text.
    """
    for mark, name in _BOMS:
        if raw.startswith(mark):
            return name
    for magic, kind in _FOREIGN:
        if raw.startswith(magic):
            raise bad_file(path, f"is {kind}, not text", "export it as CSV, XLSX or Parquet")
    wide = _wide_encoding(raw[:_SAMPLE])
    if wide:
        return wide
    _refuse_binary(path, _first_line(raw) if is_sheet else raw)
    return _narrow_encoding(raw)


def _wide_encoding(sample: bytes) -> str | None:
    """UTF-16 without a mark: of Western text every second byte is NUL."""
    pairs = len(sample) // 2
    if pairs == 0:
        return None
    even = sample[0 : 2 * pairs : 2].count(0) / pairs
    odd = sample[1 : 2 * pairs : 2].count(0) / pairs
    if odd > 0.7 and even < 0.1:
        return "utf-16-le"
    if even > 0.7 and odd < 0.1:
        return "utf-16-be"
    return None


def _first_line(raw: bytes) -> bytes:
    """The first line that is neither blank nor a comment."""
    end = 0
    for line in raw[:_SAMPLE].splitlines(keepends=True):
        end += len(line)
        if line.strip() and not line.startswith(b"#"):
            return raw[end - len(line) : end]
    return raw


def _refuse_binary(path: Path, raw: bytes) -> None:
    nul = raw.find(b"\x00")
    if nul >= 0:
        lines = raw.count(b"\n", 0, nul) + 1
        fix = "the logger lost power or the file is binary: cut it there, or export it as text again"
        raise bad_file(path, "holds NUL bytes, which no text does", fix, lines)
    sample = raw[:_SAMPLE]
    if len(_CONTROL.findall(sample)) > 0.005 * len(sample):
        raise bad_file(path, "is binary, not text", "export it as CSV, XLSX or Parquet")


def _narrow_encoding(raw: bytes) -> str:
    for name in ("ascii", "utf-8", "cp1252"):
        try:
            raw.decode(name)
        except UnicodeDecodeError:
            continue
        return name
    return "latin-1"


def decode(path: Path, raw: bytes, encoding: str, *, is_sheet: bool = False) -> str:
    """`raw` as text with every line ended by a line feed, without byte-order mark; a sheet may hold NUL.

    Raises
    ------
    BadFile
        If the bytes do not fit the encoding.
    """
    try:
        text = raw.decode(encoding)
    except UnicodeDecodeError as cause:
        line = raw.count(b"\n", 0, cause.start) + 1
        what = f"is marked as {encoding} but byte {cause.start + 1} does not fit it"
        raise bad_file(path, what, "save it as UTF-8", line) from cause
    if "\x00" in text and not is_sheet:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise bad_file(path, "holds NUL characters, which no text does", "export it as text again", line)
    return text.replace("\r\n", "\n").replace("\r", "\n").removeprefix("\ufeff").rstrip("\x1a")


def read_text(path: Path, *, is_sheet: bool = False) -> str:
    """The text of a file: gzip unpacked, encoding found, byte-order mark gone, lines ended by a line feed.

    A sheet may hold characters that no text holds; its cells are cleaned where they are read.

    Raises
    ------
    BadFile
        If there is no such file, or it is not text.
    """
    raw = unpack(path, read_file(path, LARGEST_SHEET_BYTES), LARGEST_SHEET_BYTES)
    return read_text_of(path, raw, is_sheet=is_sheet)


def read_text_of(path: Path, raw: bytes, *, is_sheet: bool = False) -> str:
    """The text of a file whose bytes are read already.

    Raises
    ------
    BadFile
        If they are not text.
    """
    return decode(path, raw, find_encoding(path, raw, is_sheet=is_sheet), is_sheet=is_sheet)
