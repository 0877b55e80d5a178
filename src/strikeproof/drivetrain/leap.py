"""The blow map: a run without scatter from a few simulated blows, error-controlled.

A blow depends on the one before through clamp load, rebound and the twist the shank holds. Along a run all
three change slowly, and the growth of F² per blow is nearly a straight line over F² (the
clamp law F_n = F∞ √(1 − exp(−n k_T/k_e)) makes it exactly one). So the map is tabulated where the run
passes: from the last four nodes it is carried on for some blows, a blow is simulated where it lands, and
the blows in between are done again with the new node in the table. Where the two differ by more than the
tolerance the leap shrinks, down to every blow simulated; where they agree it grows.

Growth is not smooth everywhere: it jumps where one contact more or less is met in a blow, and near a stall
blows may take turns, one that turns the bolt and one that only winds it. So

- no leap starts from a blow that the table did not predict;
- a landing whose rebound or remaining twist the table did not predict is followed by the next blow itself;
- where growth jumps after a leap, both sides are tried again with F² moved by what the leaps may be off;
- where that moves the jump to another blow, and where blows take turns, a small difference would decide how
  the run ends: the map gives up, and the caller simulates every blow from the start.
"""

from __future__ import annotations

import math

import numpy as np

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
from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray

__all__ = ["GAVE_UP", "hammer_by_map"]

# a node: F² before, growth of F², rebound over speed, twist per load after, head peak, pulse width
SQUARE, GROWTH, RATIO, TWIST, PEAK, WIDTH = range(6)
# the blow simulated last: F² and speed before, twist per load before, growth
OMEGA, TWIST_BEFORE, GREW = 1, 2, 3
STEEP = 0.03  # growth of F² per blow beyond which every blow is simulated
LONGEST_LEAP = 200
POINTS = 4  # of the table that growth is read from; all else by a line through two
ORDER = 0.4  # a cubic carried on errs with the fourth power of the leap; a little more is safer
UNLIKE = 2e-3  # of rebound or remaining twist at a landing, relative: the next blow is simulated as well
STRANGE = 3e-1  # of remaining twist, beyond which the landing does not count
JUMP = 1e-3  # of growth from one blow to the next, of F²
WORTH, MOST_SPENT = 0.7, 25.0  # a blow carried on saves so much of one simulated; lost blows until giving up
TRUE_SHARE = 0.3  # of a leap's corrected error that may be left after the correction, all of it if unlike
GAVE_UP = -1


@kernel(nogil=True, error_model="numpy")
def _fit(nodes: FloatArray, count: int, cubics: FloatArray) -> int:
    """Newton's divided differences over F² through the last nodes, four at most; how many they are.

    `cubics` (4, 6) takes them by order and entry, the last node's first. Nodes that fall together end the
    table.
    """
    used = 0
    while used < min(count, POINTS):
        node = nodes[count - 1 - used]
        cubics[used] = node
        for lower in range(used):
            apart = node[SQUARE] - nodes[count - 1 - lower, SQUARE]
            if abs(apart) < 1e-9 * node[SQUARE]:
                return used
            for entry in range(GROWTH, WIDTH + 1):
                cubics[used, entry] = (cubics[used, entry] - cubics[lower, entry]) / apart
        used += 1
    return used


@kernel(nogil=True, error_model="numpy")
def _read(nodes: FloatArray, count: int, cubics: FloatArray, used: int, square: float, entry: int) -> float:
    """An entry at F² = `square`; no farther from the last node than four times its step from the one before.

    Growth is at most twice what the last two nodes grew or fell.
    """
    used = used if entry == GROWTH else min(used, 2)
    value = cubics[used - 1, entry]
    for order in range(used - 2, -1, -1):
        value = cubics[order, entry] + (square - nodes[count - 1 - order, SQUARE]) * value
    last, before = nodes[count - 1, entry], nodes[max(count - 2, 0), entry]
    if entry == GROWTH:
        return float(min(max(value, 2.0 * min(last, before, 0.0)), 2.0 * max(last, before, 0.0)))
    span = 4.0 * abs(last - before)
    return float(min(max(value, last - span), last + span))


@kernel(nogil=True, error_model="numpy")
def _carry_on(
    nodes: FloatArray,
    count: int,
    drive: FloatArray,
    start: FloatArray,
    blows: int,
    duration: float,
    rows: FloatArray,
) -> tuple[int, float]:
    """Blows read off the table from (F², speed, time) in `start` on, which moves along; logged in rows.

    Their number, and the twist per load that they keep.
    """
    cubics = np.empty((4, 6))
    used = _fit(nodes, count, cubics)
    done = 0
    while done < blows and start[2] <= duration:
        square = start[0]
        after = max(square + _read(nodes, count, cubics, used, square, GROWTH), 0.0)
        back = _read(nodes, count, cubics, used, square, RATIO) * start[1]
        rows[done, TIME], rows[done, LOAD], rows[done, SPEED] = start[2], math.sqrt(after), start[1]
        rows[done, BACK] = back
        rows[done, HEAD_PEAK] = _read(nodes, count, cubics, used, square, PEAK)
        rows[done, PULSE] = _read(nodes, count, cubics, used, square, WIDTH)
        twist = _read(nodes, count, cubics, used, square, TWIST)
        speed, pause = recover(drive, back)
        start[0], start[1], start[2] = after, speed, start[2] + pause
        done += 1
    return done, twist if done > 0 else 0.0


@kernel(nogil=True, error_model="numpy")
def _surprises(nodes: FloatArray, count: int) -> tuple[float, float, float]:
    """How far node `count` is from what the nodes before it predict.

    Growth, of F²; rebound over speed; remaining twist, relative.
    """
    if count < 3:
        return math.inf, math.inf, math.inf
    cubics = np.empty((4, 6))
    used = _fit(nodes, count, cubics)
    node, square = nodes[count], nodes[count, SQUARE]
    growth = abs(node[GROWTH] - _read(nodes, count, cubics, used, square, GROWTH))
    ratio = abs(node[RATIO] - _read(nodes, count, cubics, used, square, RATIO))
    twist = abs(node[TWIST] - _read(nodes, count, cubics, used, square, TWIST))
    largest = max(abs(node[TWIST]), abs(nodes[count - 1, TWIST]), abs(nodes[count - 2, TWIST]))
    return growth / square, ratio, twist / largest if largest > 0.0 else 0.0


@kernel(nogil=True, error_model="numpy")
def _takes_turns(nodes: FloatArray, count: int) -> bool:
    """Whether growth went up and down, or down and up, over the last three nodes up to `count`."""
    if count < 2:
        return False
    least = JUMP * nodes[count, SQUARE]
    one = nodes[count - 1, GROWTH] - nodes[count - 2, GROWTH]
    other = nodes[count, GROWTH] - nodes[count - 1, GROWTH]
    return bool(one * other < 0.0 and min(abs(one), abs(other)) > least)


@kernel(nogil=True, error_model="numpy")
def _is_sure(
    bench: Bench, openness: float, last: FloatArray, now: FloatArray, doubt: float, twist_doubt: float
) -> bool:
    """Whether growth jumps between these two blows even if F² and the twist that remains are off so much,
    relative."""
    scratch = np.zeros(bench.joints.size)
    for blow, other, change in ((last, now, doubt), (now, last, -doubt)):
        square = blow[SQUARE] * (1.0 + change)
        load = math.sqrt(square)
        for sign in (-1.0, 1.0):
            set_twist(bench, blow[TWIST_BEFORE] * (1.0 + sign * twist_doubt), load)
            deliver(bench, openness, load, blow[OMEGA], scratch)
            grew = bench.state[2 * bench.brakes.size] ** 2 - square
            if abs(grew - blow[GREW]) > abs(grew - other[GREW]):
                return False
    return True


@kernel(nogil=True, error_model="numpy")
def _note(bench: Bench, square: float, row: FloatArray, node: FloatArray) -> None:
    """Make a node of the blow just logged."""
    node[SQUARE] = square
    node[GROWTH] = row[LOAD] ** 2 - square
    node[RATIO] = row[BACK] / row[SPEED]
    node[TWIST] = kept_twist(bench, row[LOAD])
    node[PEAK], node[WIDTH] = row[HEAD_PEAK], row[PULSE]


@kernel(nogil=True, error_model="numpy")
def hammer_by_map(  # noqa: PLR0915 - one loop: leap, land, do it again, take or shrink
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

    The number of blows is `GAVE_UP` where only every blow simulated shows how the run ends.

    Parameters
    ----------
    bench
        Its state and windup are changed.
    openness
        How far the gaps stand open, 0 to 1.
    speed
        Of the first blow. [rad/s]
    load
        Clamp load before the first blow. [N]
    duration
        No blow begins later. [s]
    tolerance
        Of F², relative: between a leap carried on and done again, and what all leaps may be off at the end.
    log : (blows, 6)
        Written to, a row a blow as of `log_blow`.
    peaks : (m,)
        Raised. [N·m]

    References
    ----------
    Derived here; how far it is off is in docs/drivetrain.md, Measured.
    """
    nodes = np.empty((log.shape[0] + 8, 6))
    count, row, simulated, leap, later, ending, hold = 0, 0, 0, 0, 1, 0, 0
    here, there, last, now = np.empty(3), np.empty(3), np.zeros(4), np.zeros(4)
    _speed, pause = recover(bench.drive, 0.0)
    here[0], here[1], here[2] = load * load, speed, pause
    bench.windup[:] = 0.0
    kept = bench.windup.copy()
    doubt, twist_doubt, spent = 0.0, 0.0, 0.0
    while row < log.shape[0] and here[2] <= duration and ending < RAN_FREE:
        if spent > MOST_SPENT:
            return GAVE_UP, simulated, ending
        done, load, twist = 0, math.sqrt(here[0]), 0.0
        there[:] = here
        bench.windup[:] = kept
        if leap > 0:
            blows = min(leap, log.shape[0] - row)
            done, twist = _carry_on(nodes, count, bench.drive, there, blows, duration, log[row:])
            if there[2] > duration or row + done >= log.shape[0]:  # end on a simulated blow
                there[:] = here
                done, twist = _carry_on(nodes, count, bench.drive, there, done - 1, duration, log[row:])
            if done > 0:
                load = math.sqrt(there[0])
                set_twist(bench, twist, load)
        now[SQUARE], now[OMEGA], now[TWIST_BEFORE] = there[0], there[1], kept_twist(bench, load)
        ending = deliver(bench, openness, load, there[1], peaks)
        simulated += 1
        spent += doubt > 0.0
        landed, node = log[row + done], nodes[count]
        log_blow(bench, there[2], there[1], landed)
        _note(bench, there[0], landed, node)
        now[GREW] = node[GROWTH]
        growth_off, ratio_off, twist_off = _surprises(nodes, count)
        if done > 0:
            there[:] = here
            _carry_on(nodes, count + 1, bench.drive, there, done, duration, log[row:])
            error = abs(there[0] / now[SQUARE] - 1.0) + 0.5 * abs(there[1] / now[OMEGA] - 1.0) + growth_off
            ahead = 0.8 * done * (tolerance / max(error, 1e-12)) ** ORDER
            stalled = node[GROWTH] < JUMP * node[SQUARE]  # twist may gather until a later blow turns the bolt
            if error > tolerance or twist_off > (UNLIKE if stalled else STRANGE):
                leap = min(int(ahead), done - 1)
                hold = 2  # a leap that fails costs a blow: no second try at once
                continue
            landed[TIME], landed[SPEED] = there[2], there[1]
            landed[LOAD] = math.sqrt(max(there[0] + node[GROWTH], 0.0))
            least = done + 1.0 if error < 0.3 * tolerance else 1.0
            later = int(min(max(ahead, least), 3.0 * done, LONGEST_LEAP))
            alike = max(ratio_off, twist_off) < UNLIKE
            leap = later if alike else 0
            doubt, twist_doubt = doubt + (TRUE_SHARE if alike else 1.0) * error, twist_off
            count += 1
        else:
            calm = growth_off < 0.5 * tolerance and node[GROWTH] < STEEP * node[SQUARE]
            hold -= 1
            leap = later if calm and hold <= 0 else 0
            jumped = growth_off > JUMP and abs(now[GREW] - last[GREW]) > JUMP * now[SQUARE]
            if doubt > 0.0 and jumped:
                kept[:] = bench.windup
                simulated, spent = simulated + 4, spent + 4.0
                wakes = last[GREW] < JUMP * last[SQUARE] and now[GREW] > last[GREW]
                if (
                    wakes
                    or _takes_turns(nodes, count)
                    or not _is_sure(bench, openness, last, now, doubt, twist_doubt)
                ):
                    return GAVE_UP, simulated, ending
                bench.windup[:] = kept
            if not (calm and later > 1):  # what only confirms a long leap would crowd the table
                later = 1
                count += 1
        if 0.5 * last[GREW] < now[GREW] < last[GREW]:
            doubt *= now[GREW] / last[GREW]  # d F²(n + 1)/d F²(n), were growth a straight line
        last[:] = now
        kept[:] = bench.windup
        load = landed[LOAD]
        row += done + 1
        spent = max(spent - WORTH * (done + 1), 0.0)
        speed, pause = recover(bench.drive, node[RATIO] * there[1])
        here[0], here[1], here[2] = load * load, speed, there[2] + pause
    return GAVE_UP if doubt > tolerance else row, simulated, ending
