"""What a picture of a simulated run says above itself, and how its file follows light and dark."""

from __future__ import annotations

import re
import textwrap

from strikeproof.publish.colours import COLOURS
from strikeproof.publish.drawing import WIDE, Chart, Sheet, render_png, render_svg

__all__ = ["follow_scheme", "head_lines", "number_ids", "picture_png", "picture_svg"]


def head_lines(chart: Chart, whose: str, sheet: Sheet) -> tuple[str, ...]:
    """Title, that it is simulated and of what, and the key, each cut into lines that fit the sheet."""
    letters = int(sheet.width / (0.56 * sheet.letters))
    texts = (chart.title, f"SIMULATED: {whose}", chart.key)
    return tuple(line for text in texts if text for line in textwrap.wrap(text, letters))


def picture_svg(chart: Chart, whose: str, sheet: Sheet = WIDE) -> str:
    """The chart as a file that needs nothing else, light or dark as its reader's screen."""
    svg = number_ids(render_svg(chart, sheet, heading=head_lines(chart, whose, sheet)), f"{chart.name}-")
    return follow_scheme(svg, chart.says)


def picture_png(chart: Chart, whose: str, sheet: Sheet = WIDE) -> bytes:
    """The chart as a picture, light."""
    return render_png(chart, sheet, heading=head_lines(chart, whose, sheet))


def number_ids(svg: str, prefix: str) -> str:
    """The drawing with its ids numbered, which otherwise hang on the last bit of the layout's arithmetic."""
    found = re.findall(r' id="([^"]+)"', svg)
    numbers = {name: f"{prefix}{place}" for place, name in enumerate(dict.fromkeys(found), start=1)}
    return re.sub(
        r'( id="|url\(#|href="#)([^")]+)', lambda part: part[1] + numbers.get(part[2], part[2]), svg
    )


def follow_scheme(svg: str, says: str = "") -> str:
    """The drawing with rules that turn each colour into its dark twin on a dark screen.

    Where such rules are not understood the drawing stays as it was. `says` becomes its description.
    """
    rules = "".join(
        f'[style*="{kind}: {each.light}"],[{kind}="{each.light}"]{{{kind}:{each.dark}!important}}'
        for each in COLOURS.values()
        for kind in ("fill", "stroke")
    )
    night = f"<style>@media screen and (prefers-color-scheme:dark){{{rules}}}</style>"
    words = says.replace("&", "&amp;").replace("<", "&lt;")
    said = f"<desc>{words}</desc>" if says else ""
    end = svg.index(">", svg.index("<svg")) + 1
    return svg[:end] + said + night + svg[end:]
