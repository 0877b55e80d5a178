"""An explanation as plain JSON, and back: what was answered, and the draws that further questions start from.

The draws of each fitted chain are thinned and stored; the emulators and particles that led to them are not,
as no later question asks them.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from threading import Lock
from typing import Any, Final, get_type_hints

import numpy as np
from pydantic import TypeAdapter
from pydantic_core import to_jsonable_python

from strikeproof.campaign.store import Store
from strikeproof.explain import (
    Arrays,
    Convergence,
    Diagnostics,
    Evidence,
    Explanation,
)
from strikeproof.explain.fits import Fits, make_table, usable
from strikeproof.explain.kinds import KEPT
from strikeproof.explain.obstacles import drop_contradictions
from strikeproof.explain.parameters import list_parameters
from strikeproof.explain.particles import Particles
from strikeproof.explain.physical import Physical
from strikeproof.explain.sampling import Chains
from strikeproof.explain.surrogate import Runs, Surrogate, plan_jobs
from strikeproof.language import Said, from_saved, to_saved
from strikeproof.quantity import FloatArray

__all__ = ["KeptPieces", "pack_explanation", "unpack_explanation"]

_DRAWS = 1500
_SAVED: Final[dict[str, Any]] = {
    name: kind for name, kind in get_type_hints(Explanation).items() if name not in ("evidence", "fits")
}


def pack_explanation(explanation: Explanation) -> dict[str, Any]:
    """The answer and the draws as plain JSON."""
    fits = explanation.fits
    draws = None if fits is None else {each.name: _pack_draws(each) for each in fits.physical}
    rows: dict[str, Any] = to_jsonable_python({name: getattr(explanation, name) for name in _SAVED})
    said = {str(each): to_saved(each) for each in _sentences(explanation) if isinstance(each, Said)}
    return rows | {"draws": draws, "said": said}


def unpack_explanation(packed: Mapping[str, Any], evidence: Evidence) -> Explanation:
    """The explanation again, with the evidence that it was made from."""
    known = {name: TypeAdapter(kind).validate_python(packed[name]) for name, kind in _SAVED.items()}
    draws, found = packed["draws"], known["diagnostics"]
    fits = None if draws is None else _unpack_fits(draws, found, evidence)
    said = {text: from_saved(each) for text, each in packed["said"].items()}
    return _say_again(Explanation(**known, evidence=evidence, fits=fits), said)


def _sentences(explanation: Explanation) -> tuple[str, ...]:
    """All that is said in it; what an explanation is called and claims is said by its code."""
    found = explanation.diagnostics
    tests = tuple(each.setup for each in explanation.next)
    return (*explanation.because, *tests, *found.surprises, *found.missing, *found.caveats)


def _say_again(explanation: Explanation, said: Mapping[str, str]) -> Explanation:
    """The explanation with its sentences as ones that can be said in every language."""

    def again(texts: Iterable[str]) -> tuple[str, ...]:
        return tuple(said.get(each, each) for each in texts)

    found = explanation.diagnostics
    return replace(
        explanation,
        because=again(explanation.because),
        next=tuple(replace(each, setup=said.get(each.setup, each.setup)) for each in explanation.next),
        diagnostics=replace(
            found,
            surprises=again(found.surprises),
            missing=again(found.missing),
            caveats=again(found.caveats),
        ),
    )


def _pack_draws(fit: Physical) -> dict[str, Any]:
    """Evenly thinned draws (k, d), own parts beside them, as base64 of little-endian 32-bit floats."""
    flat = np.column_stack([fit.chains.flat, fit.own])
    kept = flat[np.linspace(0, len(flat) - 1, min(_DRAWS, len(flat))).astype(np.int64)]
    return {"shape": list(kept.shape), "data": base64.b64encode(kept.astype("<f4").tobytes()).decode()}


def _unpack_draws(packed: Mapping[str, Any]) -> FloatArray:
    raw = np.frombuffer(base64.b64decode(packed["data"]), dtype="<f4")
    return np.asarray(raw.reshape(packed["shape"]), dtype=np.float64)


def _unpack_fits(draws: Mapping[str, Any], diagnostics: Diagnostics, evidence: Evidence) -> Fits:
    reduced, _left = usable(drop_contradictions(evidence)[0])
    met = {each.rival: each for each in diagnostics.convergence}
    physical = tuple(
        _unpack_rival(reduced, met[name], _unpack_draws(draws[name])) for name in KEPT if name in draws
    )
    table = make_table(reduced)
    return Fits(reduced, table, physical, tuple(each.particles for each in physical))


def _unpack_rival(evidence: Evidence, met: Convergence, draws: FloatArray) -> Physical:
    name, count = met.rival, len(evidence.gains)
    parameters = list_parameters(evidence, bonds=KEPT[name].bond)
    nothing = np.zeros((0, len(parameters)))
    return Physical(
        name,
        parameters,
        plan_jobs(evidence, KEPT[name]),
        Runs(nothing, np.zeros((0, 3)), np.zeros((0, 0)), np.zeros((0, 0, 0))),
        Surrogate((), count, count, np.zeros((3, count))),
        Chains(draws[None, :, : len(parameters)], met.r_hat, met.middle_size, met.end_size),
        Particles(name, np.zeros(0), np.zeros((0, count)), np.zeros((0, count, count)), nothing),
        draws[:, len(parameters) :],
    )


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
        """The piece of that name, as it was stored or worked out and stored now."""
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
        """Forget all pieces, once the whole is stored."""
        self._store.drop_facts(self._keys)


def _pack(array: FloatArray) -> dict[str, Any]:
    return {"shape": list(array.shape), "data": base64.b64encode(array.astype("<f8").tobytes()).decode()}


def _unpack(kept: dict[str, Any]) -> FloatArray:
    raw = np.frombuffer(base64.b64decode(kept["data"]), dtype="<f8")
    return np.array(raw.reshape(kept["shape"]), dtype=np.float64)
