"""The tray of long work says what runs, how long still, and what waits to be looked at."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.requests import Request

from strikeproof.errors import StoreError
from strikeproof.web.tray import Tray
from strikeproof.web.work import Cancelled, Job, Step


class Bench:
    """A tray with a clock of its own."""

    def __init__(self) -> None:
        self.now = 100.0
        self.tray = Tray(lambda: self.now)

    def put(self, job: Job, page: str = "http://bench/design?step=proposals") -> str:
        headers = [(b"referer", page.encode())]
        return self.tray.put(job, "Searching", Request({"type": "http", "headers": headers}))

    def look(self, after_s: float = 0.0) -> list[dict[str, Any]]:
        self.now += after_s
        return list(self.tray.look())


def test_the_time_left_is_said_once_it_can_be_and_not_while_nothing_moves() -> None:
    bench, job = Bench(), Job(("search",))
    word = bench.put(job)
    assert bench.put(job) == word, "all who wait share one"
    (early,) = bench.look(1.0)
    assert early["left_s"] is None and early["page"] == "/design?step=proposals"
    job.step = Step(25, 100, "articles")
    (later,) = bench.look(9.0)
    assert later["left_s"] == pytest.approx(30.0) and later["still_s"] is None  # 10 s for a quarter
    (stuck,) = bench.look(20.0)
    assert stuck["left_s"] is None and stuck["still_s"] == pytest.approx(20.0)


@pytest.mark.parametrize(
    ("error", "states"),
    [(None, ["ready"]), (Cancelled(), []), (StoreError("the disk is full", "x"), ["failed"])],
)
def test_what_ended_waits_to_be_seen_and_a_wanted_stop_is_gone(
    error: BaseException | None, states: list[str]
) -> None:
    bench, job = Bench(), Job(("search",))
    word = bench.put(job)
    job.error = error
    job.ended.set()
    assert [each["state"] for each in bench.look(5.0)] == states
    found = bench.tray.find(word)
    assert (found is job) is bool(states)
    bench.tray.take_out(job)
    assert bench.look() == []


def test_a_page_of_another_server_is_never_led_to() -> None:
    bench = Bench()
    bench.put(Job(("search",)), "http://bench//elsewhere.example/x")
    assert bench.look()[0]["page"] == "/"
