"""The look: the published page's colours as style variables, light, dark or as the device says.

The choice is in a cookie that the server reads, so that no page is first drawn in another light.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Final

__all__ = [
    "COOKIE",
    "LOOKS",
    "MORE",
    "PALETTE",
    "asset",
    "look_of",
    "shell_markup",
    "style_markup",
]

COOKIE: Final = "strikeproof_look"
LOOKS: Final = {"auto": "As the device", "light": "Light", "dark": "Dark"}

_ASSETS = Path(__file__).with_name("assets")

# The published page's own roles, light and dark; a test holds them alike. Importing them would wake the
# plotting library in the server's process.
PALETTE: Final = {
    "ink": ("#18242b", "#e4ebec"),
    "soft": ("#53636c", "#a4b3b8"),
    "rule": ("#cfd9da", "#37464d"),
    "panel": ("#eef3f2", "#1b262b"),
    "paper": ("#fcfdfc", "#11191d"),
    "accent": ("#0b665e", "#58c3b3"),
    "higher": ("#1a5fbe", "#82b6f5"),
    "lower": ("#ad4a12", "#f29a5e"),
    "same": ("#343c40", "#c2cdd0"),
    "unknown": ("#74838b", "#8e9ca2"),
    "band": ("#dbe5e3", "#2a393e"),
}

# What the published page has no need of: fills that carry text, fields, and the states of the recorder, which
# share no colour with a verdict.
MORE: Final = {
    "on-accent": ("#ffffff", "#0c1614"),
    "field": ("#ffffff", "#0c1317"),
    "alarm": ("#a3261d", "#ff9d8f"),
    "alarm-ground": ("#fbeeec", "#2c1816"),
    "edge": ("#7b898f", "#71828a"),
    "due": ("#6a3d8f", "#c9a5ea"),
    "live": ("#18242b", "#e4ebec"),
}


def look_of(cookies: Mapping[str, str]) -> str:
    """The light that a browser has asked for."""
    chosen = cookies.get(COOKIE, "auto")
    return chosen if chosen in LOOKS else "auto"


def shell_markup() -> str:
    """Colours, style sheet and scripts of every page in the frame."""
    scripts = "".join(
        f'<script defer src="{asset(f"{name}.js")}"></script>' for name in ("shell", "fill", "tray")
    )
    return f"{style_markup()}{scripts}"


def style_markup() -> str:
    """Colours and style sheet alone, for a page without the frame."""
    return f'<style>{_colours()}</style><link rel="stylesheet" href="{asset("look.css")}">'


@cache
def _colours() -> str:
    roles = {**PALETTE, **MORE}
    bright = "".join(f"--{role}:{pair[0]};" for role, pair in roles.items())
    night = "".join(f"--{role}:{pair[1]};" for role, pair in roles.items())
    dark = f"{{color-scheme:dark;{night}}}"
    return (
        f":root{{color-scheme:light;{bright}}}"
        f"@media screen and (prefers-color-scheme:dark){{:root:not([data-look=light]){dark}}}"
        f"@media screen{{:root[data-look=dark]{dark}}}"
    )


def asset(name: str) -> str:
    """The address of a style sheet or script, another one once it has changed."""
    return f"/assets/{name}?{_version()}"


@cache
def _version() -> str:
    """Changes with the assets, so that a browser never keeps an old one."""
    return str(max(int(path.stat().st_mtime) for path in _ASSETS.glob("*.*")))
