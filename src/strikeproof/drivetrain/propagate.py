"""Exact steps of a linear system: one exponential for each contact state, made once and stored."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from strikeproof.drivetrain.system import System, fill_matrix
from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["Memory", "advance", "fill_exponential", "find_slot", "make_memory"]

SLOTS = 48
HALVINGS, ORDER = 5, 6  # of the exponential's series


class Memory(NamedTuple):
    """What moves a chain, by contact state.

    keys : (slots,) code of the contact state, -1 when empty.
    used : (1,) number of contact states met so far; beyond `slots` the oldest is overwritten.
    steps : (slots, N, N) exp(A step), transposed.
    room : (4, N, N) scratch.
    """

    keys: IntArray
    used: IntArray
    steps: FloatArray
    room: FloatArray


@kernel(nogil=True, error_model="numpy")
def make_memory(size: int) -> Memory:
    """Room for a chain with `size` states."""
    return Memory(
        np.full(SLOTS, -1, dtype=np.int64),
        np.zeros(1, dtype=np.int64),
        np.empty((SLOTS, size, size)),
        np.empty((4, size, size)),
    )


@kernel(nogil=True, _nrt=False, error_model="numpy")
def fill_exponential(  # noqa: PLR0912 - whole arrays would be allocated
    slope: FloatArray, exponential: FloatArray, room: FloatArray
) -> None:
    """Fill exp(A), A being `slope`, which is lost; `room` (2, N, N) is scratch.

    A small part of it by its Taylor series, the rest by squaring (Moler & Van Loan, "Nineteen dubious ways to
    compute the exponential of a matrix, twenty-five years later", SIAM Review 45, 2003, method 3). E - I is
    what is squared, so that no digit of the small part is lost against the 1.

    Parameters
    ----------
    slope : (N, N)
        A; lost.
    exponential : (N, N)
        Written to.
    room : (2, N, N)
        Scratch.
    """
    size, share = slope.shape[0], 1.0 / 2.0**HALVINGS
    term, product = room[0], room[1]
    for row in range(size):
        for column in range(size):
            slope[row, column] *= share
            term[row, column] = exponential[row, column] = slope[row, column]
    for order in range(2, ORDER + 1):
        for row in range(size):
            for column in range(size):
                product[row, column] = 0.0
        _multiply_add(slope, term, product)
        for row in range(size):
            for column in range(size):
                term[row, column] = product[row, column] / order
                exponential[row, column] += term[row, column]
    for _ in range(HALVINGS):
        for row in range(size):
            for column in range(size):
                product[row, column] = 2.0 * exponential[row, column]
        _multiply_add(exponential, exponential, product)
        for row in range(size):
            for column in range(size):
                exponential[row, column] = product[row, column]
    for row in range(size):
        exponential[row, row] += 1.0


@kernel(nogil=True, _nrt=False, error_model="numpy", fastmath=True)
def _multiply_add(left: FloatArray, right: FloatArray, out: FloatArray) -> None:
    size = left.shape[0]
    for row in range(size):
        for middle in range(size):
            factor = left[row, middle]
            if factor != 0.0:
                for column in range(size):
                    out[row, column] += factor * right[middle, column]


@kernel(nogil=True, _nrt=False, error_model="numpy")
def find_slot(memory: Memory, system: System, joints: IntArray, brakes: IntArray, step: float) -> int:
    """Where this contact state lies in the memory; it is made when it is met for the first time.

    Parameters
    ----------
    memory
        Grows; the oldest slot is overwritten when all are taken.
    system
        The chain.
    joints : (m,)
        States.
    brakes : (n,)
        States.
    step
        The same in every call. [s]
    """
    key = np.int64(0)
    for joint in range(joints.size):
        key = key * 5 + joints[joint]
    for body in range(brakes.size):
        if system.bodies[body, 1] > 0.0 or system.bodies[body, 2] > 0.0:
            key = key * 3 + brakes[body]
    slots, slot = memory.keys.size, 0
    known = min(memory.used[0], slots)
    while slot < known and memory.keys[slot] != key:
        slot += 1
    if slot == known:
        slot = memory.used[0] % slots
        memory.used[0] += 1
        memory.keys[slot] = key
        matrix, slope = memory.room[0], memory.room[1]
        fill_matrix(system, joints, brakes, matrix)
        for row in range(matrix.shape[0]):
            for column in range(matrix.shape[0]):
                slope[column, row] = matrix[row, column] * step
        fill_exponential(slope, memory.steps[slot], memory.room[2:])
    return int(slot)


@kernel(nogil=True, _nrt=False, forceinline=True, error_model="numpy", fastmath=True)
def advance(steps: FloatArray, slot: int, x: FloatArray, y: FloatArray) -> None:
    """One exact step: y = exp(A step) x.

    Parameters
    ----------
    steps : (slots, N, N)
        As of `Memory`, transposed.
    slot
        Which of them.
    x : (N,)
        State before.
    y : (N,)
        Written to; not x itself.
    """
    size = x.size
    for row in range(size):
        y[row] = 0.0
    for column in range(size):
        factor = x[column]
        for row in range(size):
            y[row] += steps[slot, column, row] * factor
