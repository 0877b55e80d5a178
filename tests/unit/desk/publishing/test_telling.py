"""A film shows a winner only where nothing speaks against it, and says what does."""

from __future__ import annotations

from pathlib import Path

from PIL import Image
from tests.commands import strikeproof
from tests.unit.desk.publishing.plain_bundle import CAMPAIGN, rows

from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.publishing.film.telling import _results
from strikeproof.desk.runs.judged import judge_runs
from strikeproof.desk.workspace.opening import open_campaign


def test_no_winner_where_a_run_of_any_article_is_excluded(tmp_path: Path) -> None:
    (tmp_path / "campaign.toml").write_text(CAMPAIGN)
    (tmp_path / "runs.csv").write_text(rows({"ring": 0.1, "sleeve": 0.05}, seed=1))
    load_campaign(tmp_path, tmp_path / "lab")
    store, key, campaign = open_campaign(tmp_path / "lab", None)

    def told(*articles: str) -> tuple[tuple[str, ...], str | None]:
        judged = judge_runs(store, key, campaign)
        chosen = [run for run in judged.runs if run.stored.row.article in articles]
        return _results(judged, chosen)[1:]

    caveats, winner = told("plain", "ring")
    assert (caveats, winner) == ((), "ring")
    other = next(run for run in store.runs(key) if run.row.article == "sleeve")
    store.set_aside(other, "slipped")
    assert told("plain", "ring")[1] is None
    caveats, _winner = told("plain", "sleeve")
    assert caveats[0] == f"Excluded from the result: {other.row.run}."
    # A title picture says it too, and only where that article is shown.
    photo, out = tmp_path / "p.png", tmp_path / "t.png"
    Image.new("RGB", (60, 40)).save(photo)
    for article, is_said in (("sleeve", True), ("ring", False)):
        words = ("--photo", photo, "-o", out, "--article", article, "--size", 360, "--replace")
        strikeproof("still", "-w", tmp_path / "lab", *words)
        assert (caveats[0] in out.with_suffix(".txt").read_text()) == is_said
