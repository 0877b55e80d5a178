"""Finished pieces of long work, kept in the workspace until the whole is there, so that it can go on."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable
from threading import Lock
from typing import Any

import numpy as np

from strikeproof.campaign.store import Store
from strikeproof.explain import Arrays
from strikeproof.quantity import FloatArray

__all__ = ["KeptPieces"]


class KeptPieces:
    """Keeps arrays to the last bit under the hash of the whole that they belong to; safe among threads.

    Parameters
    ----------
    task
        Hash of all that the whole depends on: a piece is only found again by the same work.
    going_on
        Called once when a piece of an earlier run is there.
    """

    def __init__(self, store: Store, task: str, going_on: Callable[[], None]) -> None:
        self._store, self._task, self._going_on = store, task, going_on
        self._lock = Lock()
        self._keys: set[str] = set()
        self.found = 0
        self.made = 0

    def __call__(self, name: str, work: Callable[[], Arrays]) -> Arrays:
        """The piece of that name, as it was kept or worked out and kept now."""
        key = hashlib.sha256(f"{self._task}/{name}".encode()).hexdigest()
        with self._lock:
            self._keys.add(key)
            kept = self._store.facts([key]).get(key)
            if kept is not None:
                self.found += 1
                if self.found == 1:
                    self._going_on()
                return tuple(_unpack(each) for each in kept)
        made = work()
        with self._lock:
            self._store.keep_facts({key: [_pack(each) for each in made]})
            self.made += 1
        return made

    def drop(self) -> None:
        """Forget all pieces, once the whole is kept."""
        self._store.drop_facts(self._keys)


def _pack(array: FloatArray) -> dict[str, Any]:
    return {"shape": list(array.shape), "data": base64.b64encode(array.astype("<f8").tobytes()).decode()}


def _unpack(kept: dict[str, Any]) -> FloatArray:
    raw = np.frombuffer(base64.b64decode(kept["data"]), dtype="<f8")
    return np.array(raw.reshape(kept["shape"]), dtype=np.float64)
