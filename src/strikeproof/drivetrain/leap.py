"""The blow map: a run without scatter from a few simulated blows, error-controlled.

A blow depends on the one before through clamp load, rebound and the twist the shank kept. Along a run all
three change slowly, and the growth of F² per blow is nearly a straight line over F² (the
clamp law F_n = F∞ √(1 − exp(−n k_T/k_e)) makes it exactly one). So the map is tabulated where the run
passes: from the last three nodes it is carried on for some blows, a blow is simulated where it lands, and
the blows in between are done again with the new node in the table. Where the two differ by more than the
tolerance the leap shrinks, down to every blow simulated; where they agree it grows.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from strikeproof.drivetrain.bench import (
    BACK,
    HEAD_PEAK,
    LOAD,
    PULSE,
    SPEED,
    TIME,
    Bench,
    deliver,
    kept_twist,
    log_blow,
    set_twist,
)
from strikeproof.drivetrain.exact import RAN_FREE
from strikeproof.drivetrain.mechanism import recover
from strikeproof.quantity import FloatArray

__all__ = ["hammer_by_map"]

# a node: F² before, growth of F², rebound over speed, twist per load after, head peak, pulse width
SQUARE, GROWTH, RATIO, TWIST, PEAK, WIDTH = range(6)
STEEP = 0.12  # growth of F² per blow beyond which every blow is simulated
LONGEST_LEAP = 200
ORDER = 0.4  # a parabola carried on errs with the third power of the leap; a little more is safer


@njit(cache=True, nogil=True)
def _newton(x0: float, y0: float, x1: float, y1: float, x2: float, y2: float, x: float) -> float:
    """Parabola through three points, the line through the last two where they fall together."""
    if x1 == x2:
        return y2
    d12 = (y2 - y1) / (x2 - x1)
    value = y2 + d12 * (x - x2)
    if x0 < x1:
        d01 = (y1 - y0) / (x1 - x0)
        value += (d12 - d01) / (x2 - x0) * (x - x2) * (x - x1)
    return value


@njit(cache=True, nogil=True)
def _read(nodes: FloatArray, count: int, square: float, entry: int) -> float:
    """Growth by a parabola through the last three nodes, never backward; all else by the line through two."""
    a, b, c = nodes[count - 3], nodes[count - 2], nodes[count - 1]
    if entry == GROWTH:
        value = _newton(a[SQUARE], a[GROWTH], b[SQUARE], b[GROWTH], c[SQUARE], c[GROWTH], square)
        return float(min(max(value, 0.0), 2.0 * max(b[GROWTH], c[GROWTH])))
    if b[SQUARE] == c[SQUARE]:
        return float(c[entry])
    share = (square - c[SQUARE]) / (c[SQUARE] - b[SQUARE])
    return float(c[entry] + min(max(share, -1.0), 1.0) * (c[entry] - b[entry]))


@njit(cache=True, nogil=True)
def _carry_on(
    nodes: FloatArray,
    count: int,
    drive: FloatArray,
    start: FloatArray,
    blows: int,
    duration: float,
    rows: FloatArray,
) -> int:
    """Blows read off the table from (F², speed, time) in `start` on, which moves along; logged in rows."""
    done = 0
    while done < blows and start[2] <= duration:
        square = start[0]
        after = square + _read(nodes, count, square, GROWTH)
        back = _read(nodes, count, square, RATIO) * start[1]
        rows[done, TIME], rows[done, LOAD], rows[done, SPEED] = start[2], math.sqrt(after), start[1]
        rows[done, BACK] = back
        rows[done, HEAD_PEAK] = _read(nodes, count, square, PEAK)
        rows[done, PULSE] = _read(nodes, count, square, WIDTH)
        speed, pause = recover(drive, back)
        start[0], start[1], start[2] = after, speed, start[2] + pause
        done += 1
    return done


@njit(cache=True, nogil=True)
def _note(bench: Bench, square: float, row: FloatArray, node: FloatArray) -> None:
    """Make a node of the blow just logged."""
    node[SQUARE] = square
    node[GROWTH] = row[LOAD] ** 2 - square
    node[RATIO] = row[BACK] / row[SPEED]
    node[TWIST] = kept_twist(bench, row[LOAD])
    node[PEAK], node[WIDTH] = row[HEAD_PEAK], row[PULSE]


@njit(cache=True, nogil=True)
def hammer_by_map(
    bench: Bench,
    openness: float,
    speed: float,
    load: float,
    duration: float,
    tolerance: float,
    log: FloatArray,
    peaks: FloatArray,
) -> tuple[int, int, int]:
    """Blow after blow into `log`; number of blows, of simulated ones, and how the last simulated one ended.

    Parameters
    ----------
    tolerance
        Largest difference of F², relative, between a leap carried on and done again.
    """
    nodes = np.empty((log.shape[0] + 8, 6))
    count, row, simulated, leap, ending = 0, 0, 0, 0, 0
    here, there = np.empty(3), np.empty(3)
    _speed, pause = recover(bench.drive, 0.0)
    here[0], here[1], here[2] = load * load, speed, pause
    bench.windup[:] = 0.0
    twist = 0.0
    while row < log.shape[0] and here[2] <= duration:
        done = 0
        there[:] = here
        if leap > 0:
            done = _carry_on(
                nodes, count, bench.drive, there, min(leap, log.shape[0] - row), duration, log[row:]
            )
            twist = _read(nodes, count, there[0], TWIST)
            if there[2] > duration or row + done >= log.shape[0]:  # end on a simulated blow
                done -= 1
                there[:] = here
                _carry_on(nodes, count, bench.drive, there, done, duration, log[row:])
        elif count > 0:
            twist = nodes[count - 1, TWIST]
        landed = log[row + done]
        set_twist(bench, twist, math.sqrt(there[0]))
        ending = deliver(bench, openness, math.sqrt(there[0]), there[1], peaks)
        simulated += 1
        log_blow(bench, there[2], there[1], landed)
        _note(bench, there[0], landed, nodes[count])
        if done > 0:
            square, omega = there[0], there[1]
            there[:] = here
            _carry_on(nodes, count + 1, bench.drive, there, done, duration, log[row:])
            error = abs(there[0] / square - 1.0) + 0.5 * abs(there[1] / omega - 1.0)
            ahead = 0.8 * done * (tolerance / max(error, 1e-12)) ** ORDER
            if error > tolerance:
                leap = min(int(ahead), done - 1)
                continue
            landed = log[row + done]
            landed[TIME], landed[SPEED] = there[2], there[1]
            landed[LOAD] = math.sqrt(there[0] + nodes[count, GROWTH])
            leap = int(min(max(ahead, 1.0), 3.0 * done, LONGEST_LEAP))
        elif count >= 2 and nodes[count, GROWTH] < STEEP * nodes[count, SQUARE]:
            leap = 1
        count += 1
        row += done + 1
        speed, pause = recover(bench.drive, nodes[count - 1, RATIO] * there[1])
        here[0], here[1], here[2] = landed[LOAD] ** 2, speed, there[2] + pause
        if ending >= RAN_FREE:
            break
    return row, simulated, ending
