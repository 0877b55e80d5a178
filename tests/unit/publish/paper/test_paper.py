"""Documents as PDF: tagged, letters embedded, no word obeyed, nothing parted from its heading."""

from __future__ import annotations

import re
import zlib
from dataclasses import replace
from functools import cache

import pytest
from tests.unit.publish.sample import sample_report

from strikeproof.campaign.records import RunRow
from strikeproof.errors import BadInput
from strikeproof.publish.certificate import identification, write_certificate
from strikeproof.publish.paper import compiling
from strikeproof.publish.paper.compiling import write_pdf
from strikeproof.publish.paper.drawings import stand_alone
from strikeproof.publish.paper.formulas import set_formula
from strikeproof.publish.paper.typesetting import typeset
from strikeproof.publish.run_sheet import PaperRun, PaperSheet, write_run_sheet_page


def document(body: str) -> str:
    return f"<html><head><title>A title</title></head><body><h1>Top</h1>{body}</body></html>"


@cache
def objects(pdf: bytes) -> str:
    """All that is in a PDF, its packed streams unpacked."""
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL)
    unpacked = [pdf]
    for each in streams:
        try:
            unpacked.append(zlib.decompress(each))
        except zlib.error:
            continue
    return b"\n".join(unpacked).decode("latin-1")


def count_pages(pdf: bytes) -> int:
    """As the root of its page tree says: ISO 32000-1, 7.7.3.2 (from memory)."""
    counts = re.findall(r"/Type\s*/Pages\b.*?/Count\s+(\d+)", objects(pdf), re.DOTALL)
    return max(map(int, counts))


report = cache(sample_report)


@cache
def certificate() -> tuple[str, bytes]:
    html = write_certificate(report())
    return html, write_pdf(html)


def test_a_certificate_is_two_tagged_pages_with_its_letters_in_it() -> None:
    """ISO 14289-1 (PDF/UA-1; from memory): marked, a structure tree, a language, a title shown, its own part
    number; every font embedded."""
    _html, pdf = certificate()
    says = objects(pdf)
    assert count_pages(pdf) == 2
    for wanted in ("/StructTreeRoot", "/MarkInfo", "/Marked true", "/Lang", "/DisplayDocTitle true"):
        assert wanted in says
    assert re.search(r"pdfuaid:part>\s*1|pdfuaid:part=\"1\"", says)
    assert says.count("/FontFile") == says.count("/Type/FontDescriptor") > 1
    for kind in ("/H1", "/H2", "/Table", "/TH", "/TD", "/L", "/P"):
        assert re.search(rf"/S\s*{kind}\b", says)
    assert write_pdf(certificate()[0]) == pdf  # the same bytes


def test_a_certificate_says_what_a_report_of_results_must() -> None:
    """ISO/IEC 17025, 7.8.2.1 (from memory): title, unique identification, method, items, dates, results with
    units, that they hold for the items tested, who authorises."""
    html, _pdf = certificate()
    sample = report()
    assert html.count(identification(sample)) >= 3 and re.fullmatch(
        r"([0-9A-F]{4} ?){4}", identification(sample)
    )
    for wanted in ("Results certificate", "How it was measured", "Signature", "Place and date", sample.made):
        assert wanted in html
    assert all(each.name in html for each in sample.campaign.articles)
    assert "hold for the articles that were tested" in html and "no calibration certificate" in html
    assert "SIMULATED" in html and f"with {sample.tools[0]}" in html.replace("With", "with")


def test_another_result_or_log_has_another_identification() -> None:
    sample = report()
    other = replace(sample, hashes=(("r001.csv", "0" * 64), *sample.hashes[1:]))
    better = replace(sample.comparison.results[0], gain_percent=1.0)
    results = (better, *sample.comparison.results[1:])
    found = [sample, other, replace(sample, comparison=replace(sample.comparison, results=results))]
    assert len({identification(each) for each in found}) == 3


@pytest.mark.parametrize("words", ['#panic("x")', "$x", "= no heading", '"#', "\\", "*b* _i_ `c` <l> @r //c"])
def test_no_word_of_a_campaign_is_obeyed(words: str) -> None:
    escaped = words.replace("&", "&amp;").replace("<", "&lt;")
    source = typeset(document(f"<p>{escaped}</p><table><tr><th>{escaped}</th><td>1</td></tr></table>"))
    quoted = words.replace("\\", "\\\\").replace('"', '\\"')
    assert source.count(f'#"{quoted}"') == 2
    assert write_pdf(document(f"<p>{escaped}</p>")).startswith(b"%PDF")


def test_what_is_only_for_a_screen_stays_there() -> None:
    body = (
        '<nav>N1</nav><a class="skip">S2</a><div hidden>H3</div><script>J4</script><p class="screen">C5</p>'
    )
    source = typeset(document(f"{body}<p>there</p>"))
    assert '"there"' in source and not re.search("N1|S2|H3|J4|C5", source)


def test_a_drawing_has_its_words_and_colours_of_paper() -> None:
    svg = '<svg viewBox="0 0 9 9"><path d="M0 0H9" style="stroke: var(--higher)"/></svg>'
    drawn = f'<div class="wideonly" aria-label="Says so">{svg}</div>'
    figure = f"<figure><figcaption><b>T</b></figcaption>{drawn}</figure>"
    source = typeset(document(figure))
    assert '#drawing("T", "Says so", ' in source and "#1a5fbe" in source and "var(" not in source
    assert stand_alone(svg).startswith('<svg xmlns="http://www.w3.org/2000/svg"')
    assert "/Alt" in objects(write_pdf(document(figure)))


def test_a_heading_is_never_the_last_of_its_page() -> None:
    """Whatever fills the page above it: by the pages that the structure tree gives for both."""
    pages = set()
    for lines in range(50, 55):
        says = objects(write_pdf(document("<p>line</p>" * lines + "<h2>Head</h2><p>below</p>")))
        elements = re.findall(r"/S/(H2|Span)/.*?/Pg (\d+)", says)
        place = [kind for kind, _page in elements].index("H2")
        assert elements[place][1] == elements[place + 1][1]
        pages.add(count_pages(says.encode("latin-1")))
    assert pages == {1, 2}


def test_the_head_of_a_block_of_runs_stays_with_its_runs() -> None:
    runs = tuple(
        PaperRun(RunRow(f"r{block}{place}", "ring", "air", str(block)), place == 1, done=False)
        for block in range(1, 9)
        for place in range(1, 9)
    )
    html = write_run_sheet_page(PaperSheet("rings", None, False, runs, (), ("Do it",), ("Stop",), (), "made"))
    source, pdf = typeset(html), write_pdf(html)
    assert source.count("table.header(level: 2, ") == 8 and source.count("#tick(") == 64 + 1
    assert count_pages(pdf) == 3 and len(re.findall("/S/TH/", objects(pdf))) == 6 + 8


def test_formulas_become_formulas() -> None:
    fraction = "<math><mfrac><mi>a</mi><mrow><mi>b</mi><mo>,</mo><mtext>words</mtext></mrow></mfrac></math>"
    assert (
        set_formula(fraction) == '#math.equation(block: false, alt: "ab,words", $frac(a, b comma #"words")$)'
    )
    over = "<math display='block'><mover><mi>z</mi><mo>¯</mo></mover></math>"
    assert "block: true" in set_formula(over) and "overline(z)" in set_formula(over)


def test_without_the_typesetter_it_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "typst", None)
    with pytest.raises(BadInput, match="typesetter is not installed"):
        compiling.write_pdf(document("<p>x</p>"))
