"""What goes to the workshop: drawing, cut list, weld list, steps, on a sheet that can be printed."""

from strikeproof.publish.workshop.drawing import Title, at_full_size, draw_workshop_sheet
from strikeproof.publish.workshop.lists import Rows, cut_rows, part_rows, weld_rows, write_csv
from strikeproof.publish.workshop.raw import Raw, RawBook
from strikeproof.publish.workshop.solid import require_cad, write_step
from strikeproof.publish.workshop.steps import WorkshopJob, tell_steps, write_workshop_page

__all__ = [
    "Raw",
    "RawBook",
    "Rows",
    "Title",
    "WorkshopJob",
    "at_full_size",
    "cut_rows",
    "draw_workshop_sheet",
    "part_rows",
    "require_cad",
    "tell_steps",
    "weld_rows",
    "write_csv",
    "write_step",
    "write_workshop_page",
]
