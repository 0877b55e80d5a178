"""Dimensions of what is bought, in millimetres as the standards print them."""

from __future__ import annotations

from typing import Final

__all__ = ["LONG_NUTS", "NUTS", "OLD_NUTS", "PIPES", "PITCHES", "SQUARES", "TUBES", "WASHERS"]

PIPES: Final = {  # ASME B36.10M. NPS: outside diameter, wall of schedule 40, 80, 160
    "1/2": (21.3, 2.77, 3.73, 4.78),
    "3/4": (26.7, 2.87, 3.91, 5.56),
    "1": (33.4, 3.38, 4.55, 6.35),
    "1 1/4": (42.2, 3.56, 4.85, 6.35),
    "1 1/2": (48.3, 3.68, 5.08, 7.14),
    "2": (60.3, 3.91, 5.54, 8.74),
    "2 1/2": (73.0, 5.16, 7.01, 9.53),
    "3": (88.9, 5.49, 7.62, 11.13),
}

TUBES: Final = {  # EN 10255 (walls as BS 1387). DN: outside diameter (from memory), wall medium, heavy
    "15": (21.3, 2.6, 3.2),
    "20": (26.9, 2.6, 3.2),
    "25": (33.7, 3.2, 4.0),
    "32": (42.4, 3.2, 4.0),
    "40": (48.3, 3.2, 4.0),
    "50": (60.3, 3.6, 4.5),
    "65": (76.1, 3.6, 4.5),
    "80": (88.9, 4.0, 5.0),
}

PITCHES: Final = {  # ISO 261 coarse, from memory
    "M10": 1.5, "M12": 1.75, "M14": 2.0, "M16": 2.0, "M20": 2.5,
    "M22": 2.5, "M24": 3.0, "M30": 3.5, "M36": 4.0,
}  # fmt: skip

NUTS: Final = {  # ISO 4032. Across flats, largest height
    "M12": (18.0, 10.8),
    "M16": (24.0, 14.8),
    "M20": (30.0, 18.0),
    "M24": (36.0, 21.5),
    "M30": (46.0, 25.6),
    "M36": (55.0, 31.0),
}

OLD_NUTS: Final = {  # DIN 934 where it differs from ISO 4032. Across flats; height from memory
    "M10": (17.0, 8.0),
    "M12": (19.0, 10.0),
    "M14": (22.0, 11.0),
    "M22": (32.0, 18.0),
}

LONG_NUTS: Final = {  # DIN 6334, length 3 d (from memory). Across flats, length
    "M12": (18.0, 36.0),
    "M16": (24.0, 48.0),
    "M20": (30.0, 60.0),
    "M24": (36.0, 72.0),
    "M30": (46.0, 90.0),
    "M36": (55.0, 108.0),
}

WASHERS: Final = {  # ISO 7089. Hole, outside diameter, thickness
    "M12": (13.0, 24.0, 2.5),
    "M16": (17.0, 30.0, 3.0),
    "M20": (21.0, 37.0, 3.0),
    "M24": (25.0, 44.0, 4.0),
    "M30": (31.0, 56.0, 4.0),
    "M36": (37.0, 66.0, 5.0),
}

SQUARES: Final = {  # ISO 1174-1 (from memory). Nominal: external max, min; internal min, max
    "6.3": (6.35, 6.26, 6.41, 6.63),
    "10": (9.53, 9.44, 9.58, 9.80),
    "12.5": (12.70, 12.59, 12.76, 13.03),
    "20": (19.05, 18.92, 19.11, 19.44),
    "25": (25.40, 25.27, 25.46, 25.79),
    "40": (38.10, 37.94, 38.16, 38.55),
}
