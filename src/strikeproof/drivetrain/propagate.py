"""Exact steps of a linear system: exponentials of dyadic steps, made once per contact state and stored."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from strikeproof.drivetrain.system import System, fill_matrix
from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["Memory", "advance", "fill_exponentials", "find_slot", "make_memory"]

SLOTS = 48


class Memory(NamedTuple):
    """Exponentials by contact state.

    keys : (slots,) code of the contact state, -1 when empty.
    used : (1,) number of contact states met so far; beyond `slots` the oldest is overwritten.
    exponentials : (slots, levels + 1, N, N) transposed; level l steps by step / 2^l.
    """

    keys: IntArray
    used: IntArray
    exponentials: FloatArray


@kernel(nogil=True, error_model="numpy")
def make_memory(size: int, levels: int) -> Memory:
    """Room for the exponentials of a chain with `size` states."""
    return Memory(
        np.full(SLOTS, -1, dtype=np.int64),
        np.zeros(1, dtype=np.int64),
        np.empty((SLOTS, levels + 1, size, size)),
    )


@kernel(nogil=True, error_model="numpy")
def fill_exponentials(matrix: FloatArray, step: float, exponentials: FloatArray) -> None:
    """Fill exp(A step/2^l) for every level l, transposed.

    The smallest step by its Taylor series, the others by squaring (Moler & Van Loan, "Nineteen dubious
    ways to compute the exponential of a matrix, twenty-five years later", SIAM Review 45, 2003, method 3).
    E - I is what is squared, so that no digit of the small steps is lost against the 1.

    Parameters
    ----------
    matrix : (N, N)
        A of x' = A x.
    step
        Of level 0. [s]
    exponentials : (levels + 1, N, N)
        Written to.
    """
    levels, size = exponentials.shape[0] - 1, matrix.shape[0]
    small = matrix.T * (step / 2.0**levels)
    term = small.copy()
    change = small.copy()
    for order in range(2, 7):
        product = np.zeros((size, size))
        _multiply_add(small, term, product)
        term = product / order
        change += term
    for level in range(levels, -1, -1):
        target = exponentials[level]
        target[:] = change
        for row in range(size):
            target[row, row] += 1.0
        if level > 0:
            twice = 2.0 * change
            _multiply_add(change, change, twice)
            change = twice


@kernel(nogil=True, error_model="numpy", fastmath=True)
def _multiply_add(left: FloatArray, right: FloatArray, out: FloatArray) -> None:
    size = left.shape[0]
    for row in range(size):
        for middle in range(size):
            factor = left[row, middle]
            if factor != 0.0:
                for column in range(size):
                    out[row, column] += factor * right[middle, column]


@kernel(nogil=True, error_model="numpy")
def find_slot(memory: Memory, system: System, joints: IntArray, brakes: IntArray, step: float) -> int:
    """Where the exponentials of this contact state lie; they are made when it is met for the first time.

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
        Of level 0, the same in every call. [s]
    """
    key = np.int64(0)
    for joint in range(joints.size):
        key = key * 5 + joints[joint]
    for body in range(brakes.size):
        if system.bodies[body, 1] > 0.0 or system.bodies[body, 2] > 0.0:
            key = key * 3 + brakes[body]
    slots = memory.keys.size
    for slot in range(min(memory.used[0], slots)):
        if memory.keys[slot] == key:
            return int(slot)
    slot = memory.used[0] % slots
    memory.used[0] += 1
    memory.keys[slot] = key
    size = memory.exponentials.shape[2]
    matrix = np.zeros((size, size))
    fill_matrix(system, joints, brakes, matrix)
    fill_exponentials(matrix, step, memory.exponentials[slot])
    return int(slot)


@kernel(nogil=True, error_model="numpy", fastmath=True)
def advance(exponentials: FloatArray, slot: int, level: int, x: FloatArray, y: FloatArray) -> None:
    """One exact step: y = exp(A step/2^level) x.

    Parameters
    ----------
    exponentials : (slots, levels + 1, N, N)
        As of `Memory`, transposed.
    slot, level
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
            y[row] += exponentials[slot, level, column, row] * factor
