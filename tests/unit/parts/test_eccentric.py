from __future__ import annotations

import math

import pytest
from tests.unit.parts.examples import article, ring, socket

from strikeproof.parts import find_material, work_out


def test_the_bore_of_an_eccentric_ring_stays_on_the_axis_of_what_carries_it():
    """Solid disc at e less its bore at 0: moment m_disc·e, inertia ½m_disc R² + m_disc e² − ½m_bore r²."""
    plain, off = (work_out(article(socket(), ring(eccentric_mm=e))) for e in (0.0, 2.0))
    part = ring()
    wide, narrow = part["outer_diameter_mm"] / 2e3, socket()["outer_diameter_mm"] / 2e3
    density = find_material(part["material"]).density
    disc = density * math.pi * wide**2 * part["length_mm"] / 1e3
    assert off.off_balance == pytest.approx(disc * 2e-3, rel=1e-9)
    assert off.polar_inertia - plain.polar_inertia == pytest.approx(disc * 2e-3**2, rel=1e-6)
    assert off.mass == pytest.approx(plain.mass)
    assert narrow < wide
