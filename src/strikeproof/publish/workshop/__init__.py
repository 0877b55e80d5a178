"""What goes to the workshop: drawing, cut list, weld list, steps, on a sheet that can be printed."""

from strikeproof.publish.workshop.drawing import Title, at_full_size, draw_workshop_sheet

__all__ = ["Title", "at_full_size", "draw_workshop_sheet"]
