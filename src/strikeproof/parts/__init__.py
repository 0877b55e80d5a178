"""Articles from their geometry: mass, inertia, stiffness, gaps, strength, price and drawing."""

from strikeproof.parts.article import Article, Cut, Given, Part
from strikeproof.parts.bonds import Bond, BondPlan
from strikeproof.parts.drawing import draw_article, write_svg
from strikeproof.parts.handling import (
    is_weldable,
    tell_heat,
    tell_holding,
    tell_hollows,
    tell_relief,
    temper_of,
)
from strikeproof.parts.life import Spectrum, read_spectrum
from strikeproof.parts.margins import Margin, enough_blows, least_margins, limit_uncertainty, margins_at
from strikeproof.parts.materials import Material, find_material, material_names, read_materials
from strikeproof.parts.measured import Difference, Measured, Swing, inertia_from_swing
from strikeproof.parts.prices import EXAMPLE_PRICES, EXAMPLE_PRICES_CSV, PriceTable, read_prices
from strikeproof.parts.properties import (
    ArticleProperties,
    Check,
    CutLine,
    Link,
    Lump,
    PartProperties,
    RiderProperties,
    Section,
    WeldLine,
)
from strikeproof.parts.reading import read_article
from strikeproof.parts.sheet import Sheet, Stroke, Words
from strikeproof.parts.stock import StockItem, find_stock, stock_names
from strikeproof.parts.swallowed import tell_swallowed
from strikeproof.parts.working import work_out

__all__ = [
    "EXAMPLE_PRICES",
    "EXAMPLE_PRICES_CSV",
    "Article",
    "ArticleProperties",
    "Bond",
    "BondPlan",
    "Check",
    "Cut",
    "CutLine",
    "Difference",
    "Given",
    "Link",
    "Lump",
    "Margin",
    "Material",
    "Measured",
    "Part",
    "PartProperties",
    "PriceTable",
    "RiderProperties",
    "Section",
    "Sheet",
    "Spectrum",
    "StockItem",
    "Stroke",
    "Swing",
    "WeldLine",
    "Words",
    "draw_article",
    "enough_blows",
    "find_material",
    "find_stock",
    "inertia_from_swing",
    "is_weldable",
    "least_margins",
    "limit_uncertainty",
    "margins_at",
    "material_names",
    "read_article",
    "read_materials",
    "read_prices",
    "read_spectrum",
    "stock_names",
    "tell_heat",
    "tell_holding",
    "tell_hollows",
    "tell_relief",
    "tell_swallowed",
    "temper_of",
    "work_out",
    "write_svg",
]
