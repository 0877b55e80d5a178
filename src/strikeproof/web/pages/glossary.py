"""What the words of the tables mean."""

from __future__ import annotations

from strikeproof.web.glossary import read_glossary
from strikeproof.web.plain import plain_page
from strikeproof.web.site import Site

__all__ = ["register"]


def register(site: Site) -> None:
    """Make the page."""
    plain_page(site, "/glossary", "Glossary", facts=lambda _view: {"words": read_glossary()})
