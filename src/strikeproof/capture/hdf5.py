"""HDF5 files: datasets anywhere in the tree, also as netCDF 4 and numerical programs write them.

Scale, offset, fill value and units of time are read as the CF conventions 1.11, sections 4.4 and 8.1, say.
"""

from __future__ import annotations

import io
import re
from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from strikeproof.campaign.run_sheet import parse_started
from strikeproof.capture.columns import Columns
from strikeproof.capture.heading import find_sample_rate, split_name
from strikeproof.capture.tracks import Track, TrackGroup, import_library, read_tracks, told_as_damaged

__all__ = ["is_hdf5", "read_hdf5"]

_KIND = "an HDF5 file"
_MAGIC = b"\x89HDF\r\n\x1a\n"
_MOST_COLUMNS = 1000  # of one table; a picture has more
_NAME_KEYS = ("columns", "column_names", "channel_names", "names", "channels")
_SINCE = re.compile(r"(\w+) since (.+)", re.IGNORECASE)


def is_hdf5(raw: bytes) -> bool:
    """Whether the bytes are an HDF5 file, which may begin with a block of someone else's."""
    return any(raw.startswith(_MAGIC, at) for at in (0, 512, 1024, 2048))


def read_hdf5(path: Path, raw: bytes, channel: str | None) -> Columns:
    """The datasets on the clock of `channel`: a dimension scale, or a dataset of times beside it.

    Data that lie in other files are not followed.

    Raises
    ------
    BadFile
        If the library is missing, the file is damaged or packed in an unknown way, or the channel is
        not there.
    """
    h5py = import_library(path, _KIND, "h5py")
    with told_as_damaged(path, _KIND), h5py.File(io.BytesIO(raw), "r") as file:
        datasets: list[Any] = []
        file.visititems(lambda _name, each: datasets.append(each) if hasattr(each, "shape") else None)
        return read_tracks(path, len(raw), _groups([each for each in datasets if _is_table(each)]), channel)


def _is_table(dataset: Any) -> bool:
    if dataset.shape is None or dataset.ndim not in (1, 2) or not dataset.size:
        return False
    is_words = _text(dataset.attrs, "MATLAB_class") in ("char", "cell")
    return not (is_words or dataset.external or dataset.is_virtual)


def _groups(datasets: list[Any]) -> list[TrackGroup]:
    of_clock: dict[tuple[str, str, float | None], list[Track]] = defaultdict(list)
    epochs: dict[tuple[str, str, float | None], datetime] = {}
    for each in datasets:
        parent = each.name.rsplit("/", 1)[0].strip("/")
        key = (parent, _scale(each), _rate(each))
        for track, epoch in _tracks(each):
            of_clock[key].append(track)
            if epoch is not None:
                epochs[key] = epoch
    return [TrackGroup(key[0], tuple(tracks), key[2], epochs.get(key)) for key, tracks in of_clock.items()]


def _scale(dataset: Any) -> str:
    """The dataset that holds the times of this one, itself if it is such a one; empty where none is given."""
    if dataset.is_scale:
        return str(dataset.name)
    scales = dataset.dims[_long_axis(dataset)]
    return str(scales[0].name) if len(scales) else ""


def _long_axis(dataset: Any) -> int:
    return 1 if dataset.ndim == 2 and dataset.shape[1] > dataset.shape[0] else 0


def _rate(dataset: Any) -> float | None:
    """Sampling rate that the dataset, or else a group above it, states. [Hz]"""
    place = dataset
    while True:
        lines = [f"{key.replace('_', ' ')}: {_text(place.attrs, key)}" for key in place.attrs]
        rate = find_sample_rate(lines)
        if rate or place.name == "/":
            return rate
        place = place.parent


def _tracks(dataset: Any) -> Iterator[tuple[Track, datetime | None]]:
    name = dataset.name.rsplit("/", 1)[1]
    length = int(dataset.shape[_long_axis(dataset)])
    if dataset.dtype.names:
        if dataset.ndim == 1:
            for field in dataset.dtype.names:
                if dataset.dtype[field].kind in "iufb" and not dataset.dtype[field].shape:
                    yield _track(dataset, f"{name}/{field}", length, partial(dataset.__getitem__, field))
    elif dataset.dtype.kind in "iufb":
        width = dataset.size // length
        if dataset.ndim == 1 or width == 1:
            yield _track(dataset, name, length, lambda: np.ravel(dataset[()]))
        elif width <= _MOST_COLUMNS:
            for i, column in enumerate(_column_names(dataset, name, width)):
                yield _track(dataset, column, length, _column_reader(dataset, i))


def _column_reader(dataset: Any, i: int) -> Callable[[], Any]:
    return lambda: dataset[i, :] if _long_axis(dataset) else dataset[:, i]


def _column_names(dataset: Any, name: str, width: int) -> list[str]:
    for key in _NAME_KEYS:
        given = np.atleast_1d(dataset.attrs[key]) if key in dataset.attrs else ()
        if len(given) == width:
            return [f"{name}/{_plain(each)}" for each in given]
    return [f"{name} {i + 1}" for i in range(width)]


def _track(dataset: Any, heading: str, length: int, read: Callable[[], Any]) -> tuple[Track, datetime | None]:
    front, _, last = heading.rpartition("/")
    short, own = split_name(last)
    unit = _text(dataset.attrs, "units") or _text(dataset.attrs, "unit") or own
    since = _SINCE.fullmatch(unit) if unit else None
    epoch = parse_started(since[2].strip()) if since else None
    name = f"{front}/{short}" if front else short
    track = Track(
        name, since[1] if since else unit, length, lambda: _scaled(dataset, read), is_time=since is not None
    )
    return track, epoch


def _scaled(dataset: Any, read: Callable[[], Any]) -> Any:
    """What the stored numbers stand for."""
    _refuse_unknown_packing(dataset)
    stored, attributes = read(), dataset.attrs
    values = np.array(stored, dtype=np.float64)
    if "_FillValue" in attributes:
        values[np.asarray(stored) == np.ravel(attributes["_FillValue"])[0]] = np.nan
    factor, offset = _number(attributes, "scale_factor", 1.0), _number(attributes, "add_offset", 0.0)
    return values if (factor, offset) == (1.0, 0.0) else values * factor + offset


def _refuse_unknown_packing(dataset: Any) -> None:
    import h5py

    settings = dataset.id.get_create_plist()
    for code in (settings.get_filter(i)[0] for i in range(settings.get_nfilters())):
        if not h5py.h5z.filter_avail(code):
            raise OSError(f"{dataset.name} is packed by filter {code}, which is not installed")


def _number(attributes: Any, key: str, otherwise: float) -> float:
    return float(np.ravel(attributes[key])[0]) if key in attributes else otherwise


def _text(attributes: Any, key: str) -> str:
    """An attribute as words, empty where there is none or it is a long table."""
    value = attributes.get(key)
    if value is None or np.size(value) != 1:
        return ""
    return _plain(np.ravel(value)[0])


def _plain(value: Any) -> str:
    return value.decode("utf-8", "replace") if isinstance(value, bytes) else str(value)
