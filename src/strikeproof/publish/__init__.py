"""Charts and the page: what was found, for people, in files that need nothing else."""

from strikeproof.publish.gallery import draw_charts, write_charts
from strikeproof.publish.page import write_page
from strikeproof.publish.report import Report, ReportRun

__all__ = ["Report", "ReportRun", "draw_charts", "write_charts", "write_page"]
