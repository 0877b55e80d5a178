"""Facts of the trade (common practice, no source), for a tool at the priors of a 1/2 in air wrench."""

from __future__ import annotations

import numpy as np
import pytest

from strikeproof.drivetrain import (
    Batch,
    Bench,
    BoltModel,
    RigModel,
    complete_tool,
    plain_article,
    simulate_batch,
    with_extension,
    with_ring,
)

BENCH = Bench(BoltModel(2.5e-3, 9.19e-3, 13e-3), RigModel())
AIR = complete_tool("air", "air", 0.0127).tool
COMPACT = complete_tool("compact", "spring-and-cam", 0.0095).tool
PLAIN = plain_article("plain", 6e-5)
RINGS = np.geomspace(8e-5, 6e-3, 24)


def scores(articles, tool, draws: int = 2):
    """Mean score of each article, blows scattering as the priors say."""
    batch: Batch = simulate_batch(articles, [tool], BENCH, draws=draws, seed=11)
    return batch.end_load.mean(axis=(1, 2))


@pytest.fixture(scope="module")
def gains():
    ends = scores([PLAIN, *(with_ring(PLAIN, ring - 6e-5) for ring in RINGS)], AIR)
    return ends[1:] / ends[0] - 1.0


def test_short_and_long_plain_socket_differ_by_less_than_five_percent() -> None:
    short, long = scores([plain_article("short", 2.5e-5), plain_article("long", 4e-5)], AIR, draws=4)
    assert abs(long / short - 1.0) < 0.05


def test_gain_of_inertia_peaks_where_the_trade_finds_it(gains) -> None:
    best = int(np.argmax(gains))
    assert 3e-4 <= RINGS[best] <= 8e-4
    assert 0.25 <= gains[best] <= 0.50


def test_gain_is_gone_well_above_a_thousandth(gains) -> None:
    assert gains[RINGS > 3.5e-3].max() <= 0.0
    assert gains[RINGS > 1.5e-3].max() < 0.15


def test_cutting_the_ring_off_brings_the_plain_result_back() -> None:
    ringed = with_ring(PLAIN, 4e-4)
    cut = with_ring(ringed, -4e-4)
    plain, ring, back = scores([PLAIN, ringed, cut], AIR)
    assert back == pytest.approx(plain, rel=0.03)
    assert ring > 1.2 * plain


def test_compact_spring_and_cam_gains_nothing() -> None:
    ends = scores([PLAIN, *(with_ring(PLAIN, ring) for ring in (3e-4, 5e-4, 8e-4))], COMPACT)
    assert (ends[1:] / ends[0]).max() < 1.02


def test_extension_loses_and_inertia_does_not_rescue_it() -> None:
    extended = [with_extension(PLAIN, 2e-5, 450.0 / length, lumps=2) for length in (0.075, 0.125, 0.25)]
    ringed = with_ring(extended[2], 4e-4)
    ends = scores([PLAIN, *extended, ringed], AIR)
    assert ends[0] > ends[1] > ends[2] > ends[3] * 0.98
    assert ends[4] < ends[0]
