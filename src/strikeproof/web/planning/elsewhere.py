"""Campaigns whose folder does not lie in the workspace: where they are planned, since it is not here."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from strikeproof.desk.workspace.opening import is_simulated
from strikeproof.web.elements import link, simulated_mark, tag
from strikeproof.web.frame import View

__all__ = ["show_elsewhere"]


def show_elsewhere(view: View, campaigns: Mapping[str, Path]) -> None:
    """One card each, with the folder whose campaign.toml holds its plan and its articles."""
    for name, folder in campaigns.items():
        with tag("article", classes="card"):
            tag("h2", name)
            if is_simulated(view.site.workspace, name):
                simulated_mark()
            tag(
                "p", f"It was loaded from {folder}, and its plan and its articles are in campaign.toml there."
            )
            tag("p", "Change them in that file, then load the folder again.", "quiet")
            with tag("div", classes="bar tail"):
                address = view.to("/runs", campaign=name)
                link("Look at its runs", address, "button small", aria_label=f"Runs of {name}")
