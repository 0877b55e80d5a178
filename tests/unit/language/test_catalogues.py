"""Each catalogue is complete for record screen, run sheet and page, and what is not in it is noticed."""

from __future__ import annotations

import importlib.util
import re
import sys
from functools import cache
from pathlib import Path
from types import ModuleType

import pytest
from babel.messages.catalog import Catalog

ROOT = Path(__file__).parents[3]
SOURCE = ROOT / "src" / "strikeproof"
ON_PAPER = ("page", "answers", "calibration", "method", "parts", "runs", "why", "run-sheet")
IN_PYTHON = ("web/record_status.py", "web/record_words.py", "publish/summary.py", "publish/verdicts.py")


def _load(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, ROOT / "scripts" / f"{name}.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


catalogues, words = _load("catalogues"), _load("words")


@cache
def sentences() -> Catalog:
    return catalogues.find_sentences()


@pytest.mark.parametrize("language", catalogues.LANGUAGES)
def test_a_catalogue_is_complete_and_agrees_with_the_source(language: str) -> None:
    assert list(catalogues.find_problems(language, sentences())) == []
    assert catalogues.NOTE in (catalogues.PLACE / f"{language}.po").read_text("utf-8")


def test_what_is_missing_wrong_or_no_longer_said_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(catalogues, "PLACE", tmp_path)
    then, now = Catalog(locale="de"), Catalog(locale="de")
    for text, other in (("Run {run}.", "Lauf {lauf}."), ("Gone.", "Weg."), ("Open.", "")):
        then.add(text, other)
    for text in ("Run {run}.", "Open.", "New."):
        now.add(text)
    monkeypatch.setattr(catalogues, "read_catalogue", lambda _language: then)
    found = " ".join(catalogues.find_problems("de", now))
    for problem in ("not in the catalogue: 'New.'", "no longer said: 'Gone.'", "not translated: 'Open.'"):
        assert problem in found
    assert "has other places for facts in 'Lauf {lauf}.'" in found
    assert "de.mo is not made" in found


@pytest.mark.parametrize("name", ON_PAPER)
def test_no_words_of_a_document_stand_outside_the_catalogue(name: str) -> None:
    text = (SOURCE / "publish" / "templates" / f"{name}.html").read_text("utf-8")
    text = re.sub(r"\{\{.*?\}\}", "", text, flags=re.DOTALL)  # what it says is extracted
    said = [each.text.strip() for each in words.read_template(name, text)]
    assert [each for each in said if not re.fullmatch(r"(?:ISO|JCGM|[a-z]+=\S+).*", each)] == []


def test_no_words_of_the_record_screen_stand_outside_the_catalogue() -> None:
    text = (SOURCE / "web" / "assets" / "record_template.js").read_text("utf-8")
    text = re.sub(r"\bsay\(([\"']).+?\1", "say(", text)
    shown = [each.text for each in words.read_script("record_template.js", text) if each.kind != "comment"]
    plain = [each for each in shown if not re.search(r"said|=>|true|v-|\$\{|@click|viewBox|^{}", each)]
    codes = {"Space Enter", "leave out", "add block", "put back", "set aside", "take zero"}
    assert set(plain) <= codes


@pytest.mark.parametrize("name", IN_PYTHON)
def test_no_sentence_of_python_stands_outside_the_catalogue(name: str) -> None:
    known = {
        one for each in sentences() if each.id for one in ([each.id] if isinstance(each.id, str) else each.id)
    }
    said = words.read_python(name, (SOURCE / name).read_text("utf-8"))
    plain = [each.text for each in said if each.kind == "said" and each.text not in known]
    codes = {"no rig", "all done", "change bolt", "take zero", "show rig", "put back", "add block"}
    signs = {"cannot tell", "in control", "not in control", "cannot be judged"}
    assert [each for each in plain if each not in codes | signs and "{" not in each] == []
