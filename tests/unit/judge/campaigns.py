"""Runs written by hand for the judge's tests."""

from strikeproof.judge.records import ScoredRun


def runs_of(text, *, tool="air"):
    """One block a line, one run a word: article=score; a leading ! sets the run aside."""
    runs = []
    for block, line in enumerate(text.strip().splitlines(), 1):
        for word in line.split():
            article, score = word.lstrip("!").split("=")
            number = len(runs) + 1
            name = f"{tool}-{number}"
            aside = word.startswith("!")
            runs.append(ScoredRun(name, article, tool, f"{block}", number, float(score), set_aside=aside))
    return runs


ORDINARY = """
ref=100 a=111 b=99 ref=102
ref=105 b=103 a=114 ref=104
ref=98 b=99 a=109 ref=99
"""

SHUFFLED = """
a=111 ref=100 b=99 ref=102
ref=105 b=103 a=114 ref=104
b=99 ref=98 ref=99 a=109
"""
