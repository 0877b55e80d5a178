"""Questions beside "article against the reference", answered in sentences and tables."""

from strikeproof.publish.answers.panel import AnswerTable, Panel, answer_panels, panels_of

__all__ = ["AnswerTable", "Panel", "answer_panels", "panels_of"]
