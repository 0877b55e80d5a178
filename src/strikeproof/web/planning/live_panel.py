"""What an article comes to while it is typed: its half-section, its figures, and whether it holds."""

from __future__ import annotations

from collections.abc import Sequence

from strikeproof.desk.articles.draft import ArticleDraft
from strikeproof.desk.articles.facts import ArticleFacts
from strikeproof.desk.articles.life_words import tell_life
from strikeproof.errors import StrikeproofError, end_sentence
from strikeproof.quantity import write_number, write_percent
from strikeproof.web.elements import facts, field, html, notes, on_value, table, tag
from strikeproof.web.units import Units

__all__ = ["LivePanel"]

_VERDICTS = {"holds": "● holds", "finite life": "▲ finite life", "stop": "■ STOP"}
_MOST_MARGINS = 6
_USUAL_PEAK = 600.0  # N·m, of a half-inch tool's hard blow (estimate); the person names their own


class LivePanel:
    """The right-hand side of the article's page."""

    def __init__(self, units: Units, currency: str, changed: object) -> None:
        self.units, self.currency = units, currency
        self.peak = _USUAL_PEAK
        self._changed = changed
        self._own_peak = self._bad_peak = False
        self.state = tag("p", "", "verdict-line", role="status")
        self.drawing = html("", classes="drawing")
        self.drawing.props["role"], self.drawing.props["tabindex"] = "img", 0
        label = f"Peak torque at the bolt ({units.label('torque')})"
        shown = f"{units.from_si(self.peak, 'torque'):.4g}"
        self.box = field(
            label,
            shown,
            hint="of the hardest blow, taken for every joint",
            inputmode="decimal",
            data_at="peak",
        )
        self.wrong = tag("p", "", "fault", role="alert")
        on_value(self.box, self._peak, "input", 0.15)
        self.figures = tag("div", classes="figures")

    def _peak(self, text: str) -> None:
        try:
            typed = self.units.read(text, "torque")
            said = "" if typed > 0 else "A torque above zero is needed."
            self.peak = typed if typed > 0 else self.peak
        except StrikeproofError as error:
            said = end_sentence(f"{error.problem.removeprefix('quantity: ')}; {error.fix}")
        self.wrong._text = said
        self.wrong.update()
        self._own_peak, self._bad_peak = True, bool(said)
        self._changed()  # type: ignore[operator]  # the page's own judging

    def show(self, draft: ArticleDraft, elsewhere: Sequence[str]) -> None:
        """Show what a draft comes to; what cannot be worked out leaves the last figures there, marked."""
        stale = draft.facts is None
        self.figures.classes(**({"add": "stale"} if stale else {"remove": "stale"}))
        self.drawing.classes(**({"add": "stale"} if stale else {"remove": "stale"}))
        self._state(draft, elsewhere)
        if draft.drawing is not None:
            self.drawing.set_content(draft.drawing)
            self.drawing.props["aria-label"] = draft.says
            self.drawing.update()
        if draft.facts is not None:
            if draft.drawing is None:
                self.drawing.set_content('<p class="quiet">Nothing to draw: it is known by its values.</p>')
            self.figures.clear()
            with self.figures:
                self._figures(draft.facts)

    def _state(self, draft: ArticleDraft, elsewhere: Sequence[str]) -> None:
        count = len(draft.faults)
        if count:
            more = f" {' '.join(elsewhere)}" if elsewhere else ""
            text, kind = f"{count} to fix; the figures are from before the last changes.{more}", "held"
        elif draft.facts is None:
            text, kind = (
                "Give its parts, its inertia or what was measured, and its figures appear here.",
                "held",
            )
        elif draft.facts.stop:
            text, kind = draft.facts.cautions[0], "stop"
        elif self._bad_peak:
            text, kind = "The peak torque cannot be read: the margins are for the one before.", "held"
        elif not self._own_peak:
            usual = self.units.write(self.peak, "torque", 3)
            text, kind = (
                f"It can be worked out. Its margins are at a usual {usual}, not at what your tools are "
                "expected to reach: the plan says that under Bolt and rig. Give your peak below.",
                "held",
            )
        elif finite := [each for each in draft.facts.margins if each.verdict == "finite life"]:
            shortest = min(finite, key=lambda each: each.blows_90 or 0.0)
            text, kind = (
                "It holds at this peak in every joint, with a finite life: "
                f"{tell_life(shortest)}. Look for cracks before every run.",
                "held",
            )
        else:
            text, kind = "It can be worked out, and holds at this peak in every joint.", "good"
        self.state._text = text
        self.state.classes(replace=f"verdict-line {kind}")
        self.state.update()

    def _figures(self, found: ArticleFacts) -> None:
        made, units = found.properties, self.units
        pairs = [
            ("Mass", units.write(made.mass or None, "mass", 4)),
            ("Polar inertia", f"{write_number(made.polar_inertia * 1e6, 4)} kg·mm²"),
            ("Stiffness", f"{write_number(made.stiffness / 1e3, 3)} kN·m/rad"),
        ]
        if made.length and made.outer_diameter:
            long, across = (units.write(each, "length", 4) for each in (made.length, made.outer_diameter))
            pairs.append(("Size", f"{long} long, {across} across"))
        if made.price is not None:
            pairs.append(("Price", f"{made.price:.2f} {self.currency}"))
        pairs += [(f"{each.name} alone", f"{write_number(each.frequency, 3)} Hz") for each in made.riders]
        facts(pairs)
        self._margins(found)
        if made.differences:
            notes(
                [
                    f"Measured {each.quantity}: {write_percent(each.percent)} from computed."
                    for each in made.differences
                ],
                "Measured against dimensions",
            )
        notes([f"{text[:1].upper()}{text[1:]}." for text in made.notes], "Taken, since it is not given")
        if len(made.parts) > 1:
            self._parts(found)
        with tag("details", classes="more"):
            tag("summary", "Cautions")
            for text in found.cautions:
                tag("p", text)

    def _margins(self, found: ArticleFacts) -> None:
        if not found.margins:
            return
        rows = [
            [
                f"{each.part}, {each.mode}",
                f"{write_number(each.static, 3)} times",
                f"{write_number(each.fatigue, 3)} times" if each.fatigue is not None else "–",
                tell_life(each),
                _VERDICTS[each.verdict],
            ]
            for each in found.margins[:_MOST_MARGINS]
        ]
        peak = self.units.write(self.peak, "torque", 3)
        table(
            ["Place", "Static limit", "Fatigue limit", "Life if every blow is as hard", ""],
            rows,
            caption=f"Margins at {peak} in every joint, smallest first",
            numbers=(1, 2),
        )

    def _parts(self, found: ArticleFacts) -> None:
        rows = [
            [
                each.name,
                self.units.write(each.mass, "mass", 3),
                f"{write_number(each.polar_inertia * 1e6, 3)} kg·mm²",
                each.material,
            ]
            for each in found.properties.parts
        ]
        table(["Part", "Mass", "Inertia", "Material"], rows, caption="Its parts", numbers=(1, 2))
