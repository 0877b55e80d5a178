"""What the templates of one article say: its form, what is wrong with it, and what it comes to."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from strikeproof.desk.articles.draft import draft_article
from strikeproof.desk.setting_up.editor import Fault, SetUp
from strikeproof.desk.setting_up.edits import Place, Tables, clean, set_value
from strikeproof.desk.setting_up.fields import read_typed
from strikeproof.errors import end_sentence
from strikeproof.web.frame import View
from strikeproof.web.planning.article_figures import figures_of, read_peak, state_of
from strikeproof.web.planning.article_form import ArticleForm, article_form, with_bonds
from strikeproof.web.planning.boxes import BoxMaker, chosen_unit, place_words

__all__ = ["article_facts", "fields_in", "with_typed"]


def fields_in(view: View, article: Tables) -> BoxMaker:
    """The fields that the form of an article has, by their places."""
    maker = BoxMaker(with_bonds(article), view.units, lambda _place: None)
    article_form(maker)
    return maker


def with_typed(view: View, article: Tables, typed: Mapping[str, str]) -> Tables:
    """The article as it would be with what is in some of its fields; places that it does not have are left
    alone."""
    known = fields_in(view, article)
    for at, text in typed.items():
        if at in known.made:
            place, field = known.made[at]
            article = set_value(place, read_typed(field, text, chosen_unit(field, view.units)))(
                with_bonds(article)
            )
    return article


def article_facts(
    view: View, set_up: SetUp, number: int, *, peak: str | None = None, typed: Mapping[str, str] | None = None
) -> dict[str, Any]:
    """All that the template of one article says.

    Parameters
    ----------
    number
        Of the article, from 0; one that is there no more is said to be deleted.
    peak
        What was typed as the peak torque; None for nothing yet.
    typed
        What is in fields and is not saved yet.
    """
    word = set_up.folder.name
    facts: dict[str, Any] = {
        "mark": set_up.mark,
        "can_undo": set_up.can_undo,
        "can_redo": set_up.can_redo,
        "changes": view.to("/articles/change", set_up=word, article=number + 1),
        "judges": view.to("/articles/draft", set_up=word, article=number + 1),
        "all": view.to("/plan", set_up=word, step="articles"),
        "name": "deleted",
        "form": None,
    }
    articles = set_up.tables.get("article", [])
    if number >= len(articles):
        return facts
    article = with_bonds(with_typed(view, articles[number], typed or {}))
    given = read_peak(peak, view.units)
    draft = draft_article(clean(article), given.torque, folder=set_up.folder)
    of_file: dict[Place, Fault] = {
        fault.place[2:]: fault
        for fault in set_up.faults_in("article", number)
        if len(fault.place) == 3 and fault.place[2] != "part" and str(fault.place[2]) not in (typed or {})
    }
    faults: dict[Place, Fault] = {**of_file, **{fault.place: fault for fault in draft.faults}}
    maker = BoxMaker(article, view.units, faults.get)
    form = article_form(maker)
    around, elsewhere = _without_field(faults, maker, form)
    said, kind = state_of(draft, elsewhere, given, view.units)
    return {
        **facts,
        "name": str(article.get("name", "")),
        "form": form,
        "around": around,
        "state": said,
        "kind": kind,
        "draft": draft,
        "stale": draft.facts is None,
        "peak": given,
        "peak_shown": f"{view.units.from_si(given.torque, 'torque'):.4g}",
        "figures": None
        if draft.facts is None
        else figures_of(draft.facts, given, view.units, set_up.currency),
    }


def _without_field(
    faults: Mapping[Place, Fault], maker: BoxMaker, form: ArticleForm
) -> tuple[dict[str, str], list[str]]:
    """Faults that no field shows: by the nearest part or cut around them, and those around which there is
    none."""
    near: dict[str, list[str]] = {}
    for part in form.parts:
        near[part.at] = []
        near |= {cut.at: [] for cut in part.cuts or ()}
    left: list[str] = []
    for place, fault in faults.items():
        if place_words(place) in maker.made:
            continue
        said = end_sentence(f"{fault.beside or fault.problem}; {fault.fix}")
        around = (place_words(place[:count]) for count in range(len(place), 0, -1))
        nearest = next((each for each in around if each in near), None)
        (left if nearest is None else near[nearest]).append(said)
    return {at: " ".join(said) for at, said in near.items()}, left
