"""The charts of a campaign, each able to draw itself on a wide sheet or a narrow one."""

from strikeproof.publish.charts.calibration import calibration_charts
from strikeproof.publish.charts.gain import gain_charts
from strikeproof.publish.charts.growth import growth_charts
from strikeproof.publish.charts.price import price_charts
from strikeproof.publish.charts.run_order import run_order_charts

__all__ = ["calibration_charts", "gain_charts", "growth_charts", "price_charts", "run_order_charts"]
