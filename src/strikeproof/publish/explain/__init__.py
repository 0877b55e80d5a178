"""Why one article beats another, as charts and as a section of the page."""

from strikeproof.publish.explain.section import why_charts, why_section
from strikeproof.publish.explain.why import BlowView, InertiaCurve, Why
from strikeproof.publish.explain.words import say_share, tell_caveats, tell_parameter, tell_sentences

__all__ = [
    "BlowView",
    "InertiaCurve",
    "Why",
    "say_share",
    "tell_caveats",
    "tell_parameter",
    "tell_sentences",
    "why_charts",
    "why_section",
]
