"""Every key of campaign.toml in a person's words: what a form calls it, and what the file says beside it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

__all__ = ["LISTED", "MEANINGS"]

Words = tuple[str, str]
"""Label, and meaning as a comment."""

LISTED: Final = (("bolt", "class"), ("tool", "mechanism"))
"""Of these the meaning only lists the words to choose from."""

MEANINGS: Final[Mapping[str, Mapping[str, Words]]] = {
    "campaign": {
        "name": ("Name", "what the page calls it"),
        "reference": ("Reference article", "all others are compared with it"),
        "margin_percent": ("Margin of same", "differences inside it count as the same"),
        "currency": ("Currency", "of all prices"),
        "simulated": ("Simulated", "the runs are invented; the page says so"),
        "note": ("Note", "what this is about, shown on the page"),
        "id": (
            "Identity",
            "separates it from another of the same name; leave it, also when the folder moves",
        ),
    },
    "protocol": {
        "duration": ("Length of a run", "of hammering, from the first blow"),
        "direction": ("Direction", '"tighten" or "loosen": what happens to the bolt'),
        "rotation": ("Rotation of the tool", '"forward" or "reverse"; the direction follows from it'),
        "score": ("Score", '"end", "peak", "at 5 s", "time to 400 N m"'),
        "supply": ("Supply", "what all tools run on"),
        "cool_down": ("Cool-down", "pause between runs"),
        "repeats": ("Repeats", "runs of each article with each tool"),
        "looks": (
            "Looks",
            "how often results are looked at, evenly over the runs, without a larger risk of a false "
            "difference",
        ),
        "seed": ("Seed of the order", "the same seed gives the same order"),
        "smallest_difference_percent": ("Smallest difference to show", "the plan finds the repeats from it"),
    },
    "rig": {
        "name": ("Name of the rig", "of the bench"),
        "channel": (
            "Judged channel",
            "the log's column that is judged; of several with | the first there is",
        ),
        "unit": ("Unit of the channel", '"reading" when it is arbitrary'),
        "own_unit": ("Unit is a name of your own", "such as the divisions of a gauge; nothing is converted"),
        "sample_rate_hz": ("Sample rate", "only of logs without times"),
        "clamp_stiffness_n_per_m": ("Stiffness of the clamped parts", "bolt and joint in series"),
        "resolution": ("Step of the readings", "in the channel's unit"),
        "full_scale": ("Full scale", "reading at which the recorder saturates"),
        "zero": ("Own zero of the cell", "reading with the bolt loose; else that of the calibration, or 0"),
        "repeatability_percent": ("Repeatability", "standard deviation of repeated runs, of the score"),
    },
    "bolt": {
        "thread": ("Thread", 'such as "M20x2.5"; the coarse pitch when left out'),
        "class": ("Property class", '"8.8", "10.9", "12.9", "grade 5", "grade 8"'),
        "proof_stress_mpa": ("Proof stress", "of a bolt of your own, in place of a class"),
        "tensile_strength_mpa": ("Tensile strength", "of a bolt of your own, with the proof stress"),
        "yield_strength_mpa": ("Yield strength", "of a bolt of your own; the proof stress when left out"),
        "shank_diameter_mm": ("Thinnest part of the shank", "where it is turned down below the thread"),
        "head_across_flats_mm": ("Head across flats", "where the head is not the usual one of the thread"),
        "bearing_face_mm": ("Face under the head", "outer diameter of head, flange or washer"),
        "hand": ("Hand of the thread", '"right" or "left"; LH in the thread says it too'),
        "friction": ("Friction, total", "one coefficient for thread and head"),
        "thread_friction": ("Friction in the thread", "in place of friction, with head_friction"),
        "head_friction": ("Friction under the head", "in place of friction, with thread_friction"),
        "friction_uncertainty_percent": ("Uncertainty of friction", "how well it is known"),
        "runs_per_bolt": ("Runs on one bolt", "after so many a new bolt is taken"),
        "largest_proof_share": ("Largest share of proof load", "clamp load allowed to the bolt"),
        "name": ("Name of the bolt", "when one bolt serves all runs"),
    },
    "calibration": {
        "sheet": ("Sheet", "columns: applied, reading, direction (up or down), repeat"),
        "applied_unit": ("Unit of the applied values", "of the reference instrument"),
        "reference_uncertainty_percent": ("Uncertainty of the reference instrument", "expanded, k = 2"),
        "degree": ("Degree of the curve", "1, 2 or 3; chosen by a test when left out"),
        "rig": ("Made on the rig", "if it must be this one"),
        "bolt": ("Made on the bolt", "if it must be this one"),
    },
    "tool": {
        "name": ("Name", "as the run sheet calls it"),
        "mechanism": ("Mechanism", '"air", "spring-and-cam", "oil-pulse"'),
        "drive_mm": ("Square drive", "millimetres; 12.7 is half an inch"),
        "supply": ("Supply", "what this tool runs on"),
        "rated_supply": ("Rated supply", "at which the values below hold"),
        "hammer_inertia_kg_m2": ("Inertia of the hammer", "about the axis"),
        "blow_speed_rad_s": ("Speed at the blow", "of the hammer just before it"),
        "blow_energy_j": ("Energy of a blow", "of one blow"),
        "blow_rate_hz": ("Blow rate", "usual blows a second"),
        "anvil_stiffness_n_m_per_rad": ("Stiffness of the anvil", "torsion of its shank"),
        "anvil_inertia_kg_m2": ("Inertia of the anvil", "about the axis"),
        "restitution": ("Restitution", "of hammer on anvil, 0 to 1"),
    },
    "article": {
        "name": ("Name", "as the run sheet calls it"),
        "price": ("Price", "in the campaign's currency"),
        "mass_kg": ("Mass", "as weighed"),
        "polar_inertia_kg_m2": ("Polar inertia", "about the axis, measured or given"),
        "stiffness_n_m_per_rad": ("Stiffness", "torsion from drive to bolt, measured or given"),
        "hexagon_gap_deg": ("Play on the bolt's head", "degrees"),
        "square_gap_deg": ("Play on the drive", "degrees"),
        "note": ("Note", "anything else"),
        "bolt_across_flats_mm": ("Bolt's head, across flats", "as measured"),
        "drive_across_flats_mm": ("Tool's square, across flats", "as measured"),
        "dimension_uncertainty_mm": ("Uncertainty of dimensions", "standard"),
        "measured": ("Measured", "weighed, swung or twisted; wins over geometry"),
        "part": ("Parts", "from the drive to the bolt, then what rides on them"),
    },
    "runs": {
        "sheet": ("Run sheet", "or .xlsx"),
        "logs": ("Folder of logs", "one file a run"),
    },
}
