"""The desk's heavy tasks by name: only a work process imports what is behind them.

Importing the drivetrain, the plots and the statistics takes seconds and memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any, Final, Generic, TypeVar

from strikeproof.desk.designing.views import DesignView, FitView, Refusal
from strikeproof.desk.publishing.views import (
    AgreementView,
    AnswerPanel,
    BundleView,
    ComparisonView,
    ExplanationView,
    FilmView,
    PaperView,
    ReplicationPlanView,
    ReplicationView,
    ShelfView,
)

__all__ = [
    "ASK",
    "BUNDLE",
    "CHANGE",
    "CHART",
    "COMPARE",
    "DESIGN",
    "DESIGN_CHART",
    "ELSEWHERE",
    "ENOUGH",
    "EXPLAIN",
    "FILM",
    "FIT",
    "FIT_NAMES",
    "FOOTAGE",
    "KEPT_DESIGN",
    "KEPT_EXPLANATION",
    "LOAD",
    "LOAD_UPLOAD",
    "PAGE",
    "PAPER",
    "RECOMPUTE",
    "REPLICATE",
    "REPLICATION",
    "SHELF",
    "TOOL_SHEET",
    "TRIAL",
    "Task",
]

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Task(Generic[T]):
    """A function of the desk that gives a T.

    `keeps` says that it takes `cancelled`, and gives what it has found when that turns true.
    """

    module: str
    name: str
    keeps: bool = False

    def find(self) -> Callable[..., T]:
        """The function itself; imports its module."""
        found: Callable[..., T] = getattr(import_module(f"strikeproof.desk.{self.module}"), self.name)
        return found


CHANGE: Final[Task[AnswerPanel]] = Task("publishing.parts", "change_to_show")
ELSEWHERE: Final[Task[AnswerPanel]] = Task("publishing.parts", "elsewhere_to_show")
ASK: Final[Task[AnswerPanel]] = Task("publishing.parts", "ask_to_show")
COMPARE: Final[Task[ComparisonView]] = Task("publishing.parts", "compare_to_show")
ENOUGH: Final[Task[AnswerPanel]] = Task("publishing.parts", "enough_to_show")
TOOL_SHEET: Final[Task[AnswerPanel]] = Task("publishing.parts", "tool_to_show")
EXPLAIN: Final[Task[ExplanationView]] = Task("publishing.parts", "explain_to_show")
KEPT_EXPLANATION: Final[Task[ExplanationView | None]] = Task("publishing.parts", "kept_explanation_to_show")
CHART: Final[Task[bytes]] = Task("publishing.parts", "chart_file")
PAGE: Final[Task[str]] = Task("publishing.page", "page_to_show")
FILM: Final[Task[str]] = Task("publishing.page", "film_to_show")
BUNDLE: Final[Task[BundleView]] = Task("publishing.bundle.shown", "bundle_to_show")
FOOTAGE: Final[Task[FilmView]] = Task("publishing.film.shown", "film_to_make")
RECOMPUTE: Final[Task[AgreementView]] = Task("publishing.bundle.shown", "recompute_to_show")
PAPER: Final[Task[PaperView]] = Task("publishing.shown", "paper_to_show")
SHELF: Final[Task[ShelfView]] = Task("publishing.shown", "shelf_to_show")
REPLICATE: Final[Task[ReplicationPlanView]] = Task("publishing.shown", "replication_plan_to_show")
REPLICATION: Final[Task[ReplicationView]] = Task("publishing.shown", "replication_to_show")
TRIAL: Final[Task[Path]] = Task("demo", "make_trial")
LOAD: Final[Task[Any]] = Task("loading.upload", "load_inside")
LOAD_UPLOAD: Final[Task[Any]] = Task("loading.upload", "load_upload")
DESIGN: Final[Task[DesignView | Refusal]] = Task("designing.show", "design_to_show", keeps=True)
KEPT_DESIGN: Final[Task[DesignView | None]] = Task("designing.show", "kept_design_to_show")
DESIGN_CHART: Final[Task[bytes]] = Task("designing.show", "design_chart_file")
FIT_NAMES: Final[Task[tuple[tuple[str, ...], tuple[str, ...]]]] = Task("designing.fit_check", "fit_names")
FIT: Final[Task[FitView]] = Task("designing.fit_check", "fit_to_show")
