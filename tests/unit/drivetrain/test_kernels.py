"""The compiled kernels as plain Python: one source, two ways to run it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.linalg import expm

from strikeproof.drivetrain import (
    build_chain,
    complete_tool,
    contact,
    events,
    exact,
    leap,
    mechanism,
    plain_article,
    propagate,
    series,
    simulate_blow,
    stepper,
    system,
    tally,
)
from strikeproof.drivetrain.blow import start_blow
from strikeproof.drivetrain.chain import Body, Joint, link_chain
from strikeproof.drivetrain.records import BoltModel, RigModel
from strikeproof.drivetrain.system import (
    BACK,
    BOND,
    DOWN,
    DRIVE,
    FIT,
    JAW,
    OPEN,
    SLIP_DOWN,
    SLIP_UP,
    STUCK,
    UP,
)

BOLT = BoltModel(2.5e-3, 9.19e-3, 13e-3, shank_stiffness=1.2e4)
TOOL = complete_tool("a", "air", 0.0127).tool
CHAIN = build_chain(TOOL, plain_article("p", 6e-5), BOLT, RigModel())


@pytest.mark.parametrize("law", [contact.joint_law, contact.joint_law.py_func], ids=["compiled", "plain"])
@pytest.mark.parametrize(
    ("kind", "state", "twist", "rate", "slip", "wanted"),
    [
        (JAW, OPEN, 1e-3, 0.0, 0.0, DRIVE),
        (JAW, OPEN, -1e-3, 500.0, 0.0, OPEN),
        (JAW, OPEN, 1e-3, -500.0, 0.0, OPEN),  # closed, but the torque would pull
        (JAW, DRIVE, 1e-3, -500.0, 0.0, OPEN),
        (JAW, DRIVE, 1e-3, 0.0, 0.0, DRIVE),
        (JAW, OPEN, -0.1, -500.0, 0.0, OPEN),  # a jaw has no back side
        (FIT, OPEN, -0.06, -1.0, 0.0, BACK),
        (FIT, BACK, -0.06, 1500.0, 0.0, OPEN),
        (FIT, BACK, -0.06, 0.0, 0.0, BACK),
        (FIT, OPEN, -0.02, -1.0, 0.0, OPEN),
        (BOND, DRIVE, -1.0, -5.0, 0.0, DRIVE),
        (BOND, DRIVE, 0.02, 0.0, 100.0, SLIP_UP),
        (BOND, DRIVE, -0.02, 0.0, 100.0, SLIP_DOWN),
        (BOND, SLIP_UP, 0.02, 1.0, 100.0, SLIP_UP),
        (BOND, SLIP_UP, 0.02, -1.0, 100.0, DRIVE),
        (BOND, SLIP_DOWN, 0.0, 1.0, 100.0, DRIVE),
        # Less than a hair is the rounding of angles: parts at rest that touch would rattle with it.
        (JAW, DRIVE, 0.0, -5e-10, 0.0, DRIVE),
        (JAW, DRIVE, 0.0, -5e-9, 0.0, OPEN),
        (FIT, BACK, -0.05, 5e-10, 0.0, BACK),
        (FIT, BACK, -0.05, 5e-9, 0.0, OPEN),
        # Gripping leaves the slip torque, give or take its last digit: that asks for no new slip.
        (BOND, DRIVE, -0.01 - 1e-14, 5e-11, 100.0, DRIVE),
        (BOND, DRIVE, 0.01 + 1e-14, -5e-11, 100.0, DRIVE),
    ],
)
def test_joint_takes_the_state_its_twist_and_rate_ask_for(
    law, kind, state, twist, rate, slip, wanted
) -> None:
    assert law(kind, state, twist, rate, 1e4, 0.1, 0.05, slip) == wanted


@pytest.mark.parametrize("law", [contact.brake_law, contact.brake_law.py_func], ids=["compiled", "plain"])
@pytest.mark.parametrize(
    ("state", "speed", "net", "wanted"),
    [
        (STUCK, 0.0, 9.0, STUCK),
        (STUCK, 0.0, 11.0, UP),
        (STUCK, 0.0, -11.0, DOWN),
        (UP, 1.0, -50.0, UP),
        (UP, -1e-9, 0.0, STUCK),
        (UP, -1e-9, -50.0, DOWN),
        (DOWN, 1e-9, 50.0, UP),
        (UP, 0.0, 0.0, UP),
    ],
)
def test_brake_sticks_within_its_static_limit_only(law, state, speed, net, wanted) -> None:
    assert law(state, speed, net, 10.0) == wanted


@pytest.mark.parametrize("advance", [propagate.advance, propagate.advance.py_func])
@pytest.mark.parametrize("fill", [propagate.fill_exponential, propagate.fill_exponential.py_func])
def test_a_step_is_the_exponential_of_the_matrix(fill, advance) -> None:
    # scipy.linalg.expm: an independent Padé approximation
    rng = np.random.default_rng(3)
    matrix = rng.normal(size=(6, 6)) / 3.0
    found = np.empty((1, 6, 6))
    fill(matrix.T.copy(), found[0], np.empty((2, 6, 6)))
    x, y = rng.normal(size=6), np.empty(6)
    advance(found, 0, x, y)
    assert y == pytest.approx(expm(matrix) @ x, rel=1e-10, abs=1e-10)


@pytest.mark.parametrize("expand", [series.expand, series.expand.py_func])
def test_series_sums_to_the_exponential_step_in_every_state(expand) -> None:
    bodies, links, springs, clamp = CHAIN.system
    n, m, size, step = len(CHAIN.bodies), len(CHAIN.joints), CHAIN.size, CHAIN.pace.step
    braked = (bodies[:, 1] > 0) | (bodies[:, 2] > 0)
    rng = np.random.default_rng(4)
    x = np.concatenate([rng.normal(0, 0.02, n), rng.normal(0, 100, n), [9e4, 1.0]])
    terms, lines = np.zeros((series.TERMS + 1, size)), np.zeros((2 * m + 2, series.TERMS))
    for states, holds in (([1, 2, 1, 1], [1, 1, 1, 0, 0]), ([0, 1, 0, 1], [1, 1, 1, 1, 2])):
        joints, brakes, y = np.array(states), np.array(holds), np.empty(size)
        expand(
            bodies, links, springs, clamp, braked, 1.0 / bodies[:, 0], joints, brakes, step, x, terms, lines
        )
        matrix = np.empty((size, size))
        system.fill_matrix(CHAIN.system, joints, brakes, matrix)
        for share in (0.3, 1.0):
            series.sum_series(terms, share, y)
            assert y == pytest.approx(expm(matrix * step * share) @ x, rel=1e-11, abs=1e-11)


@pytest.mark.parametrize("find", [events._find_root, events._find_root.py_func])
def test_first_root_of_a_law_is_found_to_a_hair_beyond(find) -> None:
    # (s - 0.2)(s - 0.5)(s - 0.9) rises above zero at 0.2 and falls at 0.5
    lines = np.array([[-0.09, 0.73, -1.6, 1.0]])
    root = find(events.RISES, lines, 0, 0, 1.0, 0.0, 1.0)
    assert root == pytest.approx(0.2, abs=3 * events.CLOSE) and root > 0.2
    assert find(events.RISES, lines, 0, 0, 1.0, 0.0, 0.15) == events.NEVER


@pytest.mark.parametrize("find", [events._find_root, events._find_root.py_func])
@pytest.mark.parametrize("begun", [0.0048, 0.31, 0.70, 0.97])
def test_a_law_broken_for_a_hundredth_of_a_step_is_found(find, begun: float) -> None:
    # a head that has all but stopped is struck: its speed dips below zero and is high a step later
    dip = np.polynomial.Polynomial.fromroots([begun, begun + 0.0122])
    speed = dip * np.polynomial.Polynomial([49.0, -10.0, 60.0])
    root = find(events.FALLS, speed.coef[None, :].copy(), 0, 0, 1.0, 0.0, 1.0)
    assert root == pytest.approx(begun, abs=3 * events.CLOSE)


def test_matrix_is_the_same_compiled_and_plain() -> None:
    m, n = len(CHAIN.joints), len(CHAIN.bodies)
    for joints in ([1, 1, 2, 1], [0, 1, 0, 1]):
        for brakes in ([1, 1, 1, 0, 0], [1, 1, 1, 1, 2]):
            one, two = (np.empty((CHAIN.size, CHAIN.size)) for _ in range(2))
            for fill, out in ((system.fill_matrix, one), (system.fill_matrix.py_func, two)):
                fill(CHAIN.system, np.array(joints), np.array(brakes), out)
            assert m == 4 and n == 5
            assert np.array_equal(one, two)


def plain_strike(chain, speed: float, load: float):
    """A blow by the plain Python source of the engine."""
    n, m = len(chain.bodies), len(chain.joints)
    outcome = exact.make_outcome.py_func(n, m, 500, 0, chain.size)
    memory, room = propagate.make_memory.py_func(chain.size), exact.make_room.py_func(n, m, chain.size)
    joints, brakes, x = np.empty(m, np.int64), np.empty(n, np.int64), np.empty(chain.size)
    start_blow.py_func(chain.system, 0.3, np.zeros(m), load, speed, joints, brakes, x)
    exact.strike.py_func(chain.system, memory, chain.pace, m - 2, joints, brakes, x, outcome, room)
    return x, outcome


def test_engine_gives_the_same_blow_compiled_and_plain() -> None:
    x, outcome = plain_strike(CHAIN, 400.0, 8e4)
    blow = simulate_blow(CHAIN, speed=400.0, load=8e4, openness=0.3)
    assert x[2 * len(CHAIN.bodies)] == pytest.approx(blow.load_after, rel=1e-10)
    assert outcome.joints[0] == pytest.approx(blow.peaks, rel=1e-9)
    assert outcome.brakes[0] == pytest.approx(blow.heats, rel=1e-8)


def test_survey_and_tallies_are_the_same_compiled_and_plain() -> None:
    bodies, links, springs, clamp = CHAIN.system
    n, m = len(CHAIN.bodies), len(CHAIN.joints)
    rng = np.random.default_rng(5)
    x = np.concatenate([rng.normal(0, 0.02, n), rng.normal(0, 100, n), [9e4, 1.0]])
    y = x * (1 + rng.normal(0, 0.01, x.size))
    braked = (bodies[:, 1] > 0) | (bodies[:, 2] > 0)
    joints, brakes = np.array([1, 2, 1, 1]), np.array([1, 1, 1, 1, 0])
    answers = []
    for plain in (False, True):

        def pick(kernel, plain=plain):
            return kernel.py_func if plain else kernel

        old, new, net, pull = np.zeros((4, m)), np.zeros((4, m)), np.zeros(n), np.zeros(n)
        sums, rubs = np.zeros((4, m)), np.zeros((3, n))
        for ends, state in ((old, x), (new, y)):
            twist, rate, torque, slope = ends
            pick(contact.survey)(
                bodies, links, springs, braked, 1.0, joints, brakes, state, twist, rate, torque, net
            )
            pick(contact.find_rates)(bodies, braked, 1.0 / bodies[:, 0], brakes, 9e4, net, pull)
            pick(tally.find_slopes)(links, springs, joints, rate, pull, slope)
        pick(tally.count_joints)(links, springs, joints, old, new, pull, pull, 1e-6, sums)
        grazes = pick(tally.may_graze)(
            bodies, links, springs, braked, 1.0, joints, brakes, old, new, x, y, pull, pull, net, net, 1e-6
        )
        pick(tally.count_friction)(bodies, braked, clamp, brakes, x, y, net, pull, pull, 1e-6, rubs)
        vibration = pick(tally.vibration_energy)(bodies, links, springs, braked, joints, x)
        needed = pick(tally.energy_to_slip)(
            bodies, links, springs, braked, 1.0, np.array([1, 1, 1, 0, 0]), x, torque
        )
        answers.append(
            np.concatenate([torque, net, pull, sums.ravel(), rubs.ravel(), [vibration, needed, grazes]])
        )
    assert answers[0] == pytest.approx(answers[1], rel=1e-10)


def test_crest_of_a_cubic_is_its_largest_value() -> None:
    for t0, t1, d0, d1 in ((0.0, 0.0, 1.0, -1.0), (1.0, 0.5, 2.0, -3.0), (0.0, 1.0, 4.0, -0.5)):
        s = np.linspace(0, 1, 100001)
        a, b = 2 * (t0 - t1) + d0 + d1, 3 * (t1 - t0) - 2 * d0 - d1
        expected = (t0 + s * (d0 + s * (b + s * a))).max()
        for crest in (tally.find_crest, tally.find_crest.py_func):
            assert crest(t0, t1, d0, d1) == pytest.approx(expected, abs=1e-9)


def test_recovery_is_the_same_compiled_and_plain() -> None:
    drive = mechanism.pack_mechanism(TOOL)
    for rebound in (-30.0, 0.0, 200.0, 900.0):
        assert mechanism.recover(drive, rebound) == pytest.approx(
            mechanism.recover.py_func(drive, rebound), rel=1e-12
        )


def test_stepper_is_the_same_compiled_and_plain() -> None:
    chain_system = link_chain(
        [Body("a", 3e-4), Body("b", 1e-4), Body("c", 1.0, drag=math.inf)],
        [Joint(0, 1, "jaw", 9e3, 0.1), Joint(1, 2, "fit", 2e4, 0.1, gap=0.01)],
    )
    answers = []
    for march in (stepper.step_blow_arrays, stepper.step_blow_arrays.py_func):
        angles, speeds = np.zeros(3), np.array([300.0, 0.0, 0.0])
        _load, peaks = march(chain_system, angles, speeds, 0.0, 1e-6, 600, 0.0)
        answers.append(np.concatenate([angles, speeds, peaks]))
    assert answers[0] == pytest.approx(answers[1], rel=1e-12)


def test_map_reads_a_straight_line_exactly_compiled_and_plain() -> None:
    nodes = np.zeros((4, 6))
    nodes[:3, leap.SQUARE] = 1.0, 2.0, 4.0
    nodes[:3, leap.GROWTH] = 9.0, 8.0, 6.0
    nodes[:3, leap.RATIO] = 0.1, 0.2, 0.4
    for fit, read in ((leap._fit, leap._read), (leap._fit.py_func, leap._read.py_func)):
        cubics = np.empty((4, 6))
        used = fit(nodes, 3, cubics)
        assert used == 3
        assert read(nodes, 3, cubics, used, 5.0, leap.GROWTH) == pytest.approx(5.0)
        assert read(nodes, 3, cubics, used, 11.0, leap.GROWTH) == 0.0
        assert read(nodes, 3, cubics, used, 5.0, leap.RATIO) == pytest.approx(0.5)


def test_map_reads_a_cubic_exactly_and_lets_growth_fall_below_zero() -> None:
    nodes = np.zeros((5, 6))
    nodes[:4, leap.SQUARE] = 1.0, 2.0, 4.0, 5.0
    nodes[:4, leap.GROWTH] = 0.1 * (3.0 - nodes[:4, leap.SQUARE]) ** 3
    cubics = np.empty((4, 6))
    used = leap._fit(nodes, 4, cubics)
    assert used == 4
    assert leap._read(nodes, 4, cubics, used, 5.2, leap.GROWTH) == pytest.approx(0.1 * -(2.2**3))
    assert leap._read(nodes, 4, cubics, used, 9.0, leap.GROWTH) == pytest.approx(2.0 * -0.8)


def test_nodes_that_fall_together_end_the_table() -> None:
    nodes = np.zeros((3, 6))
    nodes[:3, leap.SQUARE] = 1.0, 2.0, 2.0
    assert leap._fit(nodes, 3, np.empty((4, 6))) == 1
