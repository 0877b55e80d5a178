"""Units and uncertain numbers at the edges; inside the other rooms all is plain SI floats and arrays."""

from strikeproof.quantity.arrays import BoolArray, FloatArray, IntArray
from strikeproof.quantity.numbers import parse_number, split_number
from strikeproof.quantity.units import (
    KINDS,
    Ending,
    Kind,
    LoadKind,
    ending_of,
    from_si,
    is_arbitrary,
    is_known_unit,
    kind_of_unit,
    parse_in_unit,
    parse_quantity,
    same_unit,
    to_si,
    unit_label,
    unit_ratio,
)
from strikeproof.quantity.writing import (
    write_duration,
    write_freedom,
    write_number,
    write_percent,
    write_uncertain,
)

__all__ = [
    "KINDS",
    "BoolArray",
    "Ending",
    "FloatArray",
    "IntArray",
    "Kind",
    "LoadKind",
    "ending_of",
    "from_si",
    "is_arbitrary",
    "is_known_unit",
    "kind_of_unit",
    "parse_in_unit",
    "parse_number",
    "parse_quantity",
    "same_unit",
    "split_number",
    "to_si",
    "unit_label",
    "unit_ratio",
    "write_duration",
    "write_freedom",
    "write_number",
    "write_percent",
    "write_uncertain",
]
