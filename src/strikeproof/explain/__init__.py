"""Which property makes the difference: rival explanations fitted to a campaign and set against each other."""

from strikeproof.explain.explanation import Explanation
from strikeproof.explain.records import (
    RIVALS,
    ArticleFacts,
    Candidate,
    Evidence,
    Gain,
    Level,
    RivalName,
    Setting,
    ToolFacts,
)
from strikeproof.explain.results import (
    ArticleRow,
    Convergence,
    Diagnostics,
    NextTest,
    ParameterRow,
    Prediction,
    RivalRow,
    Split,
    WhatIf,
)

__all__ = [
    "RIVALS",
    "ArticleFacts",
    "ArticleRow",
    "Candidate",
    "Convergence",
    "Diagnostics",
    "Evidence",
    "Explanation",
    "Gain",
    "Level",
    "NextTest",
    "ParameterRow",
    "Prediction",
    "RivalName",
    "RivalRow",
    "Setting",
    "Split",
    "ToolFacts",
    "WhatIf",
]
