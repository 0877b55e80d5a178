"""A file of the workspace is named by its content, is there whole or not at all, and once."""

import contextlib
import io
import os
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from strikeproof.campaign.files import hash_file, keep_bytes, read_original, read_trace, trace_bytes
from strikeproof.errors import StoreError


def test_the_name_is_the_sha_256_of_the_content(tmp_path: Path) -> None:
    # FIPS 180-4, example of a one-block message: the digest of "abc".
    abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert keep_bytes(tmp_path, b"abc", ".parquet") == abc
    assert [path.name for path in tmp_path.iterdir()] == [f"{abc}.parquet"]
    assert hash_file(tmp_path / f"{abc}.parquet") == abc


def test_the_same_bytes_twice_are_one_file(tmp_path: Path) -> None:
    first = keep_bytes(tmp_path, b"same", "")
    written = (tmp_path / first).stat().st_mtime_ns
    assert keep_bytes(tmp_path, b"same", "") == first
    assert (tmp_path / first).stat().st_mtime_ns == written
    assert len(list(tmp_path.iterdir())) == 1


@settings(deadline=None)  # the first example pays for imports
@given(
    hnp.arrays(
        np.float32, st.integers(0, 40), elements=st.floats(width=32, allow_nan=True, allow_infinity=True)
    )
)
def test_single_precision_comes_back_bit_for_bit(
    values: "np.ndarray[tuple[int], np.dtype[np.float32]]",
) -> None:
    import tempfile

    time = np.arange(len(values)) / 3.0
    with tempfile.TemporaryDirectory() as name:
        digest = keep_bytes(Path(name), trace_bytes(time, {"load": values.astype(float)}), ".parquet")
        found_time, found = read_trace(Path(name), digest, "load")
    np.testing.assert_array_equal(found_time, time)
    np.testing.assert_array_equal(found, values.astype(float))


def test_any_reading_comes_back_within_half_a_step_of_24_bits(tmp_path: Path) -> None:
    """IEEE 754-2019, binary32: 24 bits of precision, so rounding is off by 2^-24 of the value at most."""
    values = np.random.default_rng(5).uniform(-1e6, 1e6, 10_000)
    digest = keep_bytes(tmp_path, trace_bytes(np.arange(10_000.0), {"a": values}), ".parquet")
    _time, found = read_trace(tmp_path, digest, "a")
    assert np.max(np.abs(found / values - 1)) <= 2.0**-24
    counts = np.arange(2**24 - 1000, 2**24, dtype=float)  # every count of a 24-bit converter
    digest = keep_bytes(tmp_path, trace_bytes(counts, {"a": counts}), ".parquet")
    np.testing.assert_array_equal(read_trace(tmp_path, digest, "a")[1], counts)


def test_an_overload_code_beyond_single_precision_becomes_infinite(tmp_path: Path) -> None:
    values = np.array([1.0, 1.7976931348623157e308, -1.7976931348623157e308])
    digest = keep_bytes(tmp_path, trace_bytes(np.arange(3.0), {"a": values}), ".parquet")
    np.testing.assert_array_equal(read_trace(tmp_path, digest, "a")[1], [1.0, np.inf, -np.inf])


def test_a_trace_is_plain_parquet_that_anyone_can_read() -> None:
    content = trace_bytes(np.array([0.0, 0.1]), {"load": np.array([1.5, 2.5]), "temp": np.zeros(2)})
    table = pq.read_table(io.BytesIO(content))
    assert table.to_pydict() == {"time [s]": [0.0, 0.1], "load": [1.5, 2.5], "temp": [0.0, 0.0]}
    assert content == trace_bytes(
        np.array([0.0, 0.1]), {"load": np.array([1.5, 2.5]), "temp": np.zeros(2)}
    )  # the same samples are the same file


def test_a_write_that_fails_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match="No space left on device; free some disk space"):
        keep_bytes(tmp_path, b"lost", "")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="cannot be written"):
        keep_bytes(tmp_path / "gone", b"x", "")


def test_a_missing_trace_or_channel_is_told(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="missing or damaged"):
        read_trace(tmp_path, "0" * 64, "load")
    digest = keep_bytes(tmp_path, trace_bytes(np.arange(3.0), {"load": np.arange(3.0)}), ".parquet")
    with pytest.raises(StoreError, match="no channel 'lode'"):
        read_trace(tmp_path, digest, "lode")


def test_a_damaged_trace_is_never_read(tmp_path: Path) -> None:
    """Whichever bit it is, or wherever it was cut: the name is the SHA-256 of the bytes (FIPS 180-4)."""
    rng = np.random.default_rng(11)
    whole = trace_bytes(np.arange(300.0), {"load": rng.normal(size=300)})
    digest = keep_bytes(tmp_path, whole, ".parquet")
    path = tmp_path / f"{digest}.parquet"
    for number in range(200):
        content = bytearray(whole)
        if number % 4:
            content[rng.integers(len(content))] ^= 1 << rng.integers(8)
        else:
            del content[rng.integers(len(content)) :]
        path.write_bytes(content)
        with pytest.raises(StoreError, match=r"missing or damaged.*; load the campaign again"):
            read_trace(tmp_path, digest, "load")
    path.write_bytes(whole)
    assert len(read_trace(tmp_path, digest, "load")[0]) == 300


def test_what_has_its_right_name_and_is_no_trace_is_a_readable_error_too(tmp_path: Path) -> None:
    rng = np.random.default_rng(12)
    whole = trace_bytes(np.arange(300.0), {"load": rng.normal(size=300)})
    for _ in range(50):
        content = bytearray(whole)
        content[rng.integers(len(content))] ^= 1 << rng.integers(8)
        digest = keep_bytes(tmp_path, bytes(content), ".parquet")
        with contextlib.suppress(StoreError):
            read_trace(tmp_path, digest, "load")


def test_an_original_is_verified_when_it_is_read(tmp_path: Path) -> None:
    digest = keep_bytes(tmp_path, b"time,load\n0,1\n", "")
    assert read_original(tmp_path, digest, "1.csv") == b"time,load\n0,1\n"
    (tmp_path / digest).write_bytes(b"time,load\n0,2\n")
    with pytest.raises(StoreError, match=r"do not match its name; .* again with its '1\.csv'"):
        read_original(tmp_path, digest, "1.csv")
    (tmp_path / digest).unlink()
    with pytest.raises(StoreError, match="No such file"):
        read_original(tmp_path, digest, "1.csv")
