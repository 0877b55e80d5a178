import pytest

from strikeproof.publish.texts import clip, count, file_word, given, join_words, plain, sentence, tie


def test_plain_takes_out_what_a_line_cannot_hold() -> None:
    assert plain("a\nb\x00c\u202ed") == "a b c d"


def test_clip_cuts_with_an_ellipsis_and_never_longer_than_asked() -> None:
    assert clip("long-24 with adapter", 10) == "long-24 w…"
    assert clip("short", 10) == "short"


@pytest.mark.parametrize(("text", "word"), [("Air A / 2", "air-a-2"), ("../..", "unnamed"), ("Öl", "l")])
def test_file_word_is_safe_in_a_path(text: str, word: str) -> None:
    assert file_word(text) == word


def test_given_numbers_are_written_as_given() -> None:
    assert [given(10.0), given(12.7), given(-3.0)] == ["10", "12.7", "−3"]


def test_words_are_joined_and_counted() -> None:
    assert join_words(["a", "b", "c"]) == "a, b and c" and join_words(["a"]) == "a" and join_words([]) == ""
    assert count(1, "run") == "1 run" and count(2, "run") == "2 runs"


def test_a_sentence_starts_with_a_capital_and_ends_once() -> None:
    assert sentence("no calibration") == "No calibration."
    assert sentence("Done.") == "Done."


def test_tie_keeps_the_percent_sign_with_its_number_and_leaves_the_rest() -> None:
    assert tie("by 3 % (1 to 5 %)") == "by 3\u00a0% (1 to 5\u00a0%)"
    assert tie(7) == 7
