"""A field of a campaign on the page: its label with the unit chosen, what it means, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nicegui.element import Element

from strikeproof.campaign_words import Fault
from strikeproof.desk.set_up_edits import Place, set_value, value_at
from strikeproof.desk.set_up_fields import Field, read_typed, show_value, tell_fault
from strikeproof.quantity import unit_label
from strikeproof.web.elements import on_value, tag
from strikeproof.web.planning.editor import Editor
from strikeproof.web.units import CHOICES, Units

__all__ = ["Box", "draw_box", "edit_field", "edit_fields"]
