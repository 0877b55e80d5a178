"""One steady time from stamps, sample clocks or arrival; jumps and gaps are told apart."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from tests.unit.capture.rig_bytes import frames, lines

from strikeproof.capture.rig_clock import Placed
from strikeproof.capture.rig_feed import RigFeed
from strikeproof.capture.rig_frames import pack_frame
from strikeproof.capture.rig_port import Arrived

READINGS = np.sin(np.arange(6000) / 9.0)


def play(feed: RigFeed, data: bytes, *, begin: float = 0.0, seconds: float, pieces: int = 100) -> Placed:
    """Bytes that arrive evenly over some seconds, placed."""
    cuts = np.linspace(0, len(data), pieces + 1).astype(int)
    placed = [
        feed.hear(Arrived(begin + seconds * (k + 1) / pieces, data[a:b]))
        for k, (a, b) in enumerate(itertools.pairwise(cuts))
    ]
    filled = [each for each in placed if len(each.time)]
    return Placed(
        filled[0].first,
        np.concatenate([each.time for each in filled]),
        np.concatenate([each.values for each in filled]),
        tuple(odd for each in placed for odd in each.line_flags),
    )


def kinds(placed: Placed) -> list[tuple[str, int, int]]:
    return [(each.kind, each.at, each.count) for each in placed.line_flags]


def test_frames_are_placed_by_their_sample_clock() -> None:
    placed = play(RigFeed(), frames(READINGS), seconds=6.0)
    assert np.allclose(np.diff(placed.time), 1e-3, atol=1e-9)
    assert placed.line_flags == ()


def test_lost_frames_leave_a_gap_in_time() -> None:
    placed = play(RigFeed(), frames(READINGS, lost=(50, 51, 52)), seconds=6.0)
    assert kinds(placed) == [("gap", 1000, 60)]
    assert placed.time[1000] - placed.time[999] == pytest.approx(0.061)


def test_a_rig_that_lost_samples_itself_is_told_too() -> None:
    """Its frames go on counting, its sample clock does not."""
    data = frames(READINGS[:2000]) + b"".join(
        pack_frame(100 + k, 2300 + 20 * k, READINGS[:20, None], rate_hz=1000.0, payload="float32")
        for k in range(50)
    )
    placed = play(RigFeed(), data, seconds=3.3)
    assert kinds(placed) == [("gap", 2000, 300)]


@pytest.mark.parametrize("jump", [-3600.0, -0.5, 40.0])
def test_a_clock_that_jumps_is_told_and_does_not_bend_time(jump: float) -> None:
    rows = [f"{i + (1000 * jump if i >= 3000 else 0):.0f};{READINGS[i]:.3f}" for i in range(6000)]
    placed = play(RigFeed(), lines(["t [ms];load [kN]", *rows]), seconds=6.0)
    assert kinds(placed) == [("clock-jump", 3000, 1)]
    assert np.allclose(np.diff(placed.time), 1e-3, atol=1e-9)


def test_stamps_without_a_unit_are_told_by_their_arrival() -> None:
    for factor, name in ((1.0, "seconds"), (1e3, "milliseconds"), (1e6, "microseconds")):
        rows = [f"{i * 1e-3 * factor:.3f}\t{READINGS[i]:.3f}" for i in range(4000)]
        placed = play(RigFeed(), lines(rows), seconds=4.0)
        assert np.allclose(np.diff(placed.time), 1e-3, atol=1e-6)
        assert [each.kind for each in placed.line_flags] == ["assumed"]
        assert name in placed.line_flags[0].detail


def test_coarse_stamps_are_no_gaps() -> None:
    """Ten samples share each stamp of a clock that counts in hundredths."""
    rows = [f"{i // 10 * 10};{READINGS[i]:.3f}" for i in range(4000)]
    placed = play(RigFeed(), lines(["t [ms];load [kN]", *rows]), seconds=4.0)
    assert placed.line_flags == ()
    assert placed.time[-1] == pytest.approx(3.99, abs=0.02)


def test_without_a_clock_the_rate_is_counted_on_arrival() -> None:
    feed = RigFeed()
    placed = play(feed, lines([f"{value:.3f}" for value in READINGS[:4000]]), seconds=8.0)
    assert feed.rate_hz == pytest.approx(500.0, rel=0.02)
    assert placed.time[-1] - placed.time[0] == pytest.approx(8.0, rel=0.02)
    assert [each.kind for each in placed.line_flags] == ["assumed"]


def test_a_rate_that_is_known_wins_over_arrival() -> None:
    placed = play(RigFeed(1000.0), lines([f"{value:.3f}" for value in READINGS[:2000]]), seconds=9.0)
    assert np.diff(placed.time)[:50] == pytest.approx(1e-3)


def test_silence_of_a_rig_without_a_clock_is_a_gap() -> None:
    feed = RigFeed(1000.0)
    play(feed, lines([f"{value:.3f}" for value in READINGS[:2000]]), seconds=2.0)
    later = play(feed, lines([f"{value:.3f}" for value in READINGS[:500]]), begin=6.0, seconds=0.5)
    assert later.line_flags[0].kind == "gap"
    assert later.time[0] == pytest.approx(6.0, abs=0.1)


def test_unplugging_is_told_and_time_goes_on_by_the_wait() -> None:
    feed = RigFeed()
    before = play(feed, frames(READINGS[:2000]), seconds=2.0)
    feed.hear(Arrived(2.5, b"", "unplugged", "gone"))
    feed.hear(Arrived(5.0, b"", "plugged", "back"))
    after = play(feed, frames(READINGS[:1000]), begin=5.0, seconds=1.0)
    assert kinds(after)[0] == ("unplugged", 2000, 1)
    assert after.first == 2000
    assert after.time[0] - before.time[-1] == pytest.approx(3.0, abs=0.1)


def test_a_rig_that_comes_back_with_fewer_channels_keeps_the_columns() -> None:
    feed = RigFeed()
    two = b"".join(
        pack_frame(k, 10 * k, np.ones((10, 2)), rate_hz=1000.0, payload="float32") for k in range(30)
    )
    assert play(feed, two, seconds=0.3).values.shape == (300, 2)
    feed.hear(Arrived(0.4, b"", "unplugged", ""))
    feed.hear(Arrived(0.5, b"", "plugged", ""))
    after = play(feed, frames(READINGS[:500]), begin=0.5, seconds=0.5)
    assert after.values.shape == (500, 2)
    assert np.isnan(after.values[:, 1]).all()


def stamped(stamps: list[str]) -> bytes:
    return lines(["time [ms];load [kN]", *(f"{stamp};{k % 7}.5" for k, stamp in enumerate(stamps))])


def test_two_stamps_beyond_all_numbers_cost_no_time() -> None:
    good = [str(10 * k) for k in range(300)]
    data = stamped([*good[:150], "1e400", "1e400", "-1e308", "1e308", *good[150:]])
    placed = play(RigFeed(), data, seconds=3.0)
    assert np.isfinite(placed.time).all() and (np.diff(placed.time) >= 0).all()
    assert placed.time[-1] - placed.time[0] == pytest.approx(3.0, abs=0.3)
    assert {"garbage", "clock-jump"} <= {kind for kind, *_ in kinds(placed)}


def test_stamps_that_no_clock_makes_are_left_alone_and_said() -> None:
    placed = play(RigFeed(), stamped([f"{k + 1}e300" for k in range(300)]), seconds=3.0)
    assert placed.time[-1] - placed.time[0] == pytest.approx(3.0, rel=0.1)
    assert any("make no sense" in each.detail for each in placed.line_flags)


def test_garbage_before_the_first_of_two_channels_costs_no_sample() -> None:
    """More than the reader holds back for a protocol that it does not know yet."""
    junk = bytes(range(128, 256)) * 600
    rows = lines([f"{k % 5}.25;{-k}.5" for k in range(40)])
    feed = RigFeed(100.0)
    placed = play(feed, junk + b"\n" + rows, seconds=1.0, pieces=1)
    assert placed.values.shape[1] == 2 and len(placed.values) >= 30
    assert "garbage" in {kind for kind, *_ in kinds(placed)}
