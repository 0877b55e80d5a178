"""Who is signed in, for how long, and how quickly a token may be guessed."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.errors import BadInput
from strikeproof.web.sessions import Door, Guesses, cookie_name
from strikeproof.web.site import open_site

HOUR = 3600.0


class Clock:
    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def test_each_sign_in_gives_a_word_of_its_own_that_is_not_the_token() -> None:
    door = Door("the token of all", clock=Clock())
    found = [door.sign_in("the token of all") for _ in range(2)]
    words = {word for each in found if each for word in each[:1]}
    assert len(words) == 2 and all(len(word) >= 32 and "token" not in word for word in words)
    assert door.sign_in("the token of al") is None and door.sign_in("\ud800") is None


def test_a_session_ends_unused_after_hours_and_used_after_days() -> None:
    clock = Clock()
    door = Door("the token of all", clock=clock)
    word, _ = door.sign_in("the token of all") or ("", None)
    clock.now += 11 * HOUR
    assert door.session(word) is not None
    clock.now += 13 * HOUR
    assert door.session(word) is None
    word, _ = door.sign_in("the token of all") or ("", None)
    for _ in range(16):
        clock.now += 11 * HOUR
        last = door.session(word)
    assert last is None


def test_signing_out_or_in_again_makes_the_old_word_worthless() -> None:
    door = Door("the token of all", clock=Clock())
    first, _ = door.sign_in("the token of all") or ("", None)
    second, _ = door.sign_in("the token of all", first) or ("", None)
    assert door.session(first) is None and door.session(second) is not None
    door.sign_out(second)
    assert door.session(second) is None


def test_sessions_are_bounded_and_the_one_unused_longest_goes() -> None:
    door = Door("the token of all", clock=Clock())
    words = [(door.sign_in("the token of all") or ("", None))[0] for _ in range(200)]
    assert door.session(words[0]) is not None
    door.sign_in("the token of all")
    assert door.session(words[0]) is not None and door.session(words[1]) is None


def test_the_looking_token_gives_the_right_to_look() -> None:
    door = Door("the token of all", "the token to look")
    rights = [(door.sign_in(f"the token {each}") or ("", None))[1] for each in ("of all", "to look")]
    assert [each and each.rights for each in rights] == ["all", "look"]


def test_a_guesser_waits_twice_as_long_each_time_and_others_do_not() -> None:
    clock = Clock()
    guesses = Guesses(clock)
    waits = []
    for _ in range(12):
        waits.append(guesses.wait_s("192.0.2.1"))
        clock.now += waits[-1]
        guesses.note_wrong("192.0.2.1")
    assert waits == [0, 0, 0, 1, 2, 4, 8, 16, 32, 64, 128, 256]
    assert guesses.wait_s("192.0.2.1") == 300 and guesses.wait_s("192.0.2.2") == 0
    guesses.note_right("192.0.2.1")
    assert guesses.wait_s("192.0.2.1") == 0


def test_an_ipv6_guesser_gains_nothing_by_the_addresses_of_its_own_net() -> None:
    guesses = Guesses(Clock())
    for number in range(4):
        guesses.note_wrong(f"2001:db8::{number}")
    assert guesses.wait_s("2001:db8::ffff") > 0 and guesses.wait_s("2001:db8:0:1::1") == 0
    for _ in range(4):
        guesses.note_wrong("::ffff:192.0.2.9")
    assert guesses.wait_s("192.0.2.9") > 0


def test_all_addresses_together_make_sixty_guesses_a_minute_and_little_memory() -> None:
    clock = Clock()
    guesses = Guesses(clock)
    for number in range(60):
        assert guesses.wait_s(f"10.0.0.{number}") == 0
        guesses.note_wrong(f"10.0.0.{number}")
    assert guesses.wait_s("192.0.2.1") == 60
    clock.now += 60.0
    assert guesses.wait_s("192.0.2.1") == 0
    for number in range(3000):
        guesses.note_wrong(f"10.1.{number // 250}.{number % 250}")
    assert len(guesses._wrong) == 1000


def test_the_cookie_carries_the_port() -> None:
    assert cookie_name(8000) != cookie_name(8001)


@pytest.mark.parametrize(
    "token", ["x" * 15, " sixteen letters ok", "sixteen letters\nand", "sixteen letters\x00"]
)
def test_a_token_that_keeps_nobody_out_or_cannot_be_typed_is_refused(token: str, tmp_path: Path) -> None:
    for words in ({"token": token}, {"token": None, "look_token": token}):
        with pytest.raises(BadInput) as wrong:
            open_site(tmp_path, "127.0.0.1", 0, **words)  # type: ignore[arg-type]  # by name
        assert wrong.value.fix


def test_two_tokens_must_differ_and_looking_alone_makes_a_token_for_the_rest(tmp_path: Path) -> None:
    with pytest.raises(BadInput):
        open_site(tmp_path, "127.0.0.1", 0, "x" * 16, look_token="x" * 16)
    assert open_site(tmp_path, "127.0.0.1", 0, None, look_token="x" * 16).token is not None
    assert open_site(tmp_path, "127.0.0.1", 0, None, ask=True).token is not None
    assert open_site(tmp_path, "127.0.0.1", 0, None).token is None
