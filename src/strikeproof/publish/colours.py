"""The page's colours by role, for light and for dark; charts are drawn in the light ones.

Two hues carry meaning (blue for higher, rust for lower), greys carry the rest, and every verdict
also has a shape and a word. Chosen so that they stay apart for readers who confuse red and green.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["COLOURS", "Colour", "light", "theme_css"]


@dataclass(frozen=True, slots=True)
class Colour:
    """One role with its colour on light and on dark ground."""

    role: str
    light: str
    dark: str
    says: str


COLOURS = {
    colour.role: colour
    for colour in (
        Colour("ink", "#18242b", "#e4ebec", "text, axes"),
        Colour("soft", "#53636c", "#a4b3b8", "second text, ordinary runs"),
        Colour("rule", "#cfd9da", "#37464d", "hairlines, grids"),
        Colour("panel", "#eef3f2", "#1b262b", "title block, table heads"),
        Colour("paper", "#fcfdfc", "#11191d", "ground"),
        Colour("accent", "#0b665e", "#58c3b3", "links, reference article, fitted lines"),
        Colour("higher", "#1a5fbe", "#82b6f5", "verdict higher"),
        Colour("lower", "#ad4a12", "#f29a5e", "verdict lower"),
        Colour("same", "#343c40", "#c2cdd0", "verdict same"),
        Colour("unknown", "#74838b", "#8e9ca2", "verdict cannot tell, drawn hollow"),
        Colour("band", "#dbe5e3", "#2a393e", "margin of same, spreads"),
    )
}


def light(role: str) -> str:
    """The colour of `role` on light ground, which is how charts are first drawn."""
    return COLOURS[role].light


def theme_css() -> str:
    """The style rules that give every role its colour, light by default and always in print."""
    bright = "".join(f"--{each.role}:{each.light};" for each in COLOURS.values())
    night = "".join(f"--{each.role}:{each.dark};" for each in COLOURS.values())
    return (
        f":root{{color-scheme:light dark;{bright}}}\n"
        f"@media screen and (prefers-color-scheme:dark){{:root{{{night}}}}}"
    )
