"""Units and uncertain numbers at the edges; inside the other rooms all is plain SI floats and arrays."""

from strikeproof.quantity.arrays import BoolArray, FloatArray, IntArray
from strikeproof.quantity.units import (
    KINDS,
    Kind,
    LoadKind,
    from_si,
    kind_of_unit,
    parse_quantity,
    to_si,
    unit_label,
)
from strikeproof.quantity.writing import write_duration, write_number, write_percent, write_uncertain

__all__ = [
    "KINDS",
    "BoolArray",
    "FloatArray",
    "IntArray",
    "Kind",
    "LoadKind",
    "from_si",
    "kind_of_unit",
    "parse_quantity",
    "to_si",
    "unit_label",
    "write_duration",
    "write_number",
    "write_percent",
    "write_uncertain",
]
