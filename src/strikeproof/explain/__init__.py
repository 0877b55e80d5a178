"""Which property makes the difference: candidate explanations fitted to a campaign and set against each
other."""

from strikeproof.explain.asking import Change, predict_article, rank_next, split_gain, split_gain_of, what_if
from strikeproof.explain.crew import Arrays, Keep
from strikeproof.explain.explaining import explain_campaign
from strikeproof.explain.explanation import Explanation
from strikeproof.explain.gains import Gathered, gather_gains, join_gains
from strikeproof.explain.growth import Clues, gather_clues
from strikeproof.explain.kinds import EXPLANATIONS, RIVALS
from strikeproof.explain.records import (
    ArticleFacts,
    Candidate,
    Clue,
    Evidence,
    Gain,
    Level,
    Reading,
    RivalName,
    Setting,
    ToolFacts,
)
from strikeproof.explain.results import (
    UNLEARNED,
    ArticleRow,
    Convergence,
    Diagnostics,
    NextTest,
    OwnPart,
    ParameterRow,
    Prediction,
    RivalRow,
    Split,
    Unexplained,
    WhatIf,
)

__all__ = [
    "EXPLANATIONS",
    "RIVALS",
    "UNLEARNED",
    "Arrays",
    "ArticleFacts",
    "ArticleRow",
    "Candidate",
    "Change",
    "Clue",
    "Clues",
    "Convergence",
    "Diagnostics",
    "Evidence",
    "Explanation",
    "Gain",
    "Gathered",
    "Keep",
    "Level",
    "NextTest",
    "OwnPart",
    "ParameterRow",
    "Prediction",
    "Reading",
    "RivalName",
    "RivalRow",
    "Setting",
    "Split",
    "ToolFacts",
    "Unexplained",
    "WhatIf",
    "explain_campaign",
    "gather_clues",
    "gather_gains",
    "join_gains",
    "predict_article",
    "rank_next",
    "split_gain",
    "split_gain_of",
    "what_if",
]
