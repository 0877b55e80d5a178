"""The pressure that an air hose leaves, against worked examples and the usual formula of the trade."""

from __future__ import annotations

import math

import pytest

from strikeproof.desk.safety.hose import describe_hose
from strikeproof.errors import BadInput
from strikeproof.parts.hose import Hose, darcy_friction, isothermal_end, pressure_left


def test_isothermal_flow_of_a_worked_example() -> None:
    """Textbook of fluid flow for chemical engineers, chapter 2, "Pipe flow of gases", example 2.1, page 27
    (title not seen, figures from a published listing of its solutions): 2.35 kg/s of methane at 297 K through
    68.5 m of 84 mm, friction factor R/ρu² = 0.0032, leave 560 kPa of 960.069 kPa. It takes π as 3.1428."""
    flux = 2.35 / (math.pi / 4 * 0.084**2)
    end = isothermal_end(960.069e3, flux, 8.314 / 16.04e-3 * 297.0, 8 * 0.0032 * 68.5 / 0.084)
    assert end == pytest.approx(560e3, rel=1e-3)


@pytest.mark.parametrize(
    ("reynolds", "roughness", "friction"),
    [(1e5, 0.001, 0.0222), (1e4, 0.0, 0.0309), (1e6, 0.0, 0.0116), (1000.0, 0.001, 0.064)],
)
def test_friction_factors_of_the_chart(reynolds: float, roughness: float, friction: float) -> None:
    """Moody's chart as printed in White, *Fluid Mechanics*, figure 6.13 and its table of smooth pipes (from
    memory)."""
    assert darcy_friction(reynolds, roughness) == pytest.approx(friction, rel=0.01)


@pytest.mark.parametrize(("flow", "length", "bore"), [(0.5, 10.0, 10.0), (1.0, 15.0, 13.0), (0.3, 5.0, 8.0)])
def test_the_formula_of_the_trade_agrees(flow: float, length: float, bore: float) -> None:
    """dp = 7.57e4 q^1.85 L / (d^5 p), in kgf/cm², m³/min of free air, m, mm: an empirical formula for
    pipes of steel, as tables of compressed-air pressure drop print it. A hose is smoother and loses less."""
    bar = 0.980665
    start = 6.3 + 1.013
    theirs = bar * 7.57e4 * flow**1.85 * length / (bore**5 * start / bar)
    ours = start - pressure_left(Hose(length, bore / 1000), start * 1e5, flow / 60).pressure / 1e5
    assert ours == pytest.approx(theirs, rel=0.25)


def test_what_a_person_types_is_read_and_a_hose_that_is_too_thin_refused() -> None:
    facts = describe_hose("90 psi", "18 cfm", "33 ft", "3/8 in")
    assert 0.0 < facts.left_uncertainty_bar < 0.2 * facts.drop_bar
    assert facts.left_bar + facts.drop_bar == pytest.approx(6.205, abs=0.001)
    with pytest.raises(BadInput, match="speed of sound"):
        describe_hose("90 psi", "200 cfm", "50 ft", "1/4 in")
