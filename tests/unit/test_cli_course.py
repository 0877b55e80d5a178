"""Progress of a command: lines are rare off a terminal, and its phases share one bar on one."""

from __future__ import annotations

import io
import sys

import pytest

from strikeproof.cli.course import Course, begin_command, progress


class Clock:
    """Seconds that go on when a test says so."""

    now = 0.0

    def __call__(self) -> float:
        return self.now


class Terminal(io.StringIO):
    """Standard error of a person at a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def clock() -> Clock:
    return Clock()


def test_off_a_terminal_lines_come_every_ten_seconds_and_at_the_end(
    clock: Clock, capsys: pytest.CaptureFixture[str]
) -> None:
    """Thousands of named steps once printed hundreds of lines."""
    course = Course(clock)
    with progress("designing", course=course) as step:
        for done in range(1, 2782):
            clock.now += 1 / 64
            step(done, 2781, "looking closely")
    lines = capsys.readouterr().err.splitlines()
    assert lines == [f"designing {done}/2781 looking closely" for done in (640, 1280, 1920, 2560, 2781)]


def test_phases_share_the_ten_seconds(clock: Clock, capsys: pytest.CaptureFixture[str]) -> None:
    course = Course(clock)
    for title in ("loading", "examining"):
        with progress(title, course=course) as step:
            clock.now += 6.0
            step(1, 2)
            step(2, 2)
    assert capsys.readouterr().err.splitlines() == ["loading 2/2", "examining 1/2", "examining 2/2"]


def test_the_phases_of_a_command_find_its_course(clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    begun = Course(clock)
    monkeypatch.setattr("strikeproof.cli.course.Course", lambda: begun)
    begin_command()
    for part in ((0.0, 0.5), (0.5, 1.0)):
        with progress("loading", part) as step:
            step(1, 2)
    assert begun.fraction == 0.75


def test_a_phase_without_steps_and_one_that_fails_say_nothing_at_the_end(
    clock: Clock, capsys: pytest.CaptureFixture[str]
) -> None:
    with progress("fitting", course=Course(clock)):
        pass
    fails = progress("fitting", course=Course(clock))
    fails.__enter__()(1, 2)
    assert not fails.__exit__(ValueError, ValueError("broken"), None)
    assert capsys.readouterr().err == ""


def test_the_whole_of_a_command_has_one_time_that_is_left(clock: Clock) -> None:
    course = Course(clock)
    assert course.remaining is None
    clock.now = 30.0
    course.advance(1, 2, (0.0, 0.5))
    assert (course.fraction, course.remaining) == (0.25, 90.0)
    course.advance(0, 9, (0.0, 0.5))
    assert course.fraction == 0.25, "a phase that counts again does not go back"
    course.advance(0, 0, (0.5, 1.0))
    assert course.fraction == 0.5


def test_on_a_terminal_the_bar_goes_on_where_the_phase_before_ended(
    clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stderr", Terminal())
    monkeypatch.setenv("TERM", "xterm")
    course = Course(clock)
    for title, part in (("fitting", (0.0, 0.5)), ("designing", (0.5, 1.0))):
        with progress(title, part, course=course) as step:
            clock.now += 60.0
            step(1, 2, "[bold]one")
    said = sys.stderr.getvalue()  # type: ignore[attr-defined]
    assert "fitting [bold]one" in said and "designing [bold]one" in said
    assert "25 %" in said and "1:00, 3:00 left" in said
    assert "75 %" in said and "2:00, 0:40 left" in said
