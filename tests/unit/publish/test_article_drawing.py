from __future__ import annotations

import importlib.util
import io

import pytest
from tests.unit.parts.examples import article, ring, socket

from strikeproof.errors import BadInput, StrikeproofError
from strikeproof.parts import draw_article, work_out, write_svg
from strikeproof.publish.article_drawing import write_drawing, write_dxf, write_pdf


@pytest.fixture(scope="module")
def sheet():
    made = article(socket(), ring())
    return draw_article(made, work_out(made))


def test_pdf_is_one_page_at_full_size_and_always_the_same(sheet):
    content = write_pdf(sheet)
    assert (
        content.startswith(b"%PDF") and content.count(b"/Type /Page\n") + content.count(b"/Type /Page ") == 1
    )
    width = sheet.size[0] / 25.4 * 72
    assert f"/MediaBox [ 0 0 {width:.2f}"[:20].encode() in content
    assert content == write_pdf(sheet)


def test_the_ending_chooses_the_format(sheet, tmp_path):
    write_drawing(sheet, tmp_path / "a.svg")
    write_drawing(sheet, tmp_path / "a.PDF")
    assert (tmp_path / "a.svg").read_text(encoding="utf-8") == write_svg(sheet)
    assert (tmp_path / "a.PDF").read_bytes().startswith(b"%PDF")
    with pytest.raises(BadInput, match=r"\.svg, \.dxf, \.pdf"):
        write_drawing(sheet, tmp_path / "a.png")


def test_a_folder_that_is_not_there_is_told(sheet, tmp_path):
    with pytest.raises(StrikeproofError, match="cannot be written"):
        write_drawing(sheet, tmp_path / "nowhere" / "a.svg")


@pytest.mark.skipif(importlib.util.find_spec("ezdxf") is not None, reason="the DXF writer is installed")
def test_without_its_writer_a_dxf_says_what_to_install(sheet, tmp_path):
    with pytest.raises(StrikeproofError, match="ezdxf"):
        write_drawing(sheet, tmp_path / "a.dxf")


def test_dxf_opens_without_an_error_and_is_in_millimetres(sheet):
    ezdxf = pytest.importorskip("ezdxf")
    document = ezdxf.read(io.StringIO(write_dxf(sheet)))
    assert not document.audit().errors
    assert document.units == 4
    space = document.modelspace()
    assert len(space.query('LWPOLYLINE[layer=="outline"]')) == sum(
        s.style == "outline" for s in sheet.strokes
    )
    assert {text.dxf.text for text in space.query("TEXT")} == {words.text for words in sheet.words}
    longest = max(
        max(p[0] for p in line.get_points()) for line in space.query('LWPOLYLINE[layer=="outline"]')
    )
    assert longest == pytest.approx(80.0)
