"""What enamel and gaps stand, from film thicknesses by hand."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from core.coil.resolve import resolved_coil, secondary_geometry
from core.coil.wire import EnamelGrade, enamelled_wire
from core.design.document import with_values
from core.limits.insulation import insulation
from core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"


@pytest.fixture(scope="module")
def coil_of():
    """Coil section of the classroom example with changes, and its insulation."""
    design = load(EXAMPLES / "classroom-gated-interrupted.burstwise")

    def made(**changes):
        coil = with_values(
            design, {f"coil.geometry.secondary.{name}": value for name, value in changes.items()}
        ).coil
        found = insulation(coil.geometry, resolved_coil(coil, temperature_c=25.0), temperature=25.0)
        assert found is not None
        return coil.geometry, found

    return made


@pytest.mark.parametrize(
    ("grade", "film"),
    # 0.2 mm wire is 0.226 mm over grade 1 and 0.239 mm over grade 2 (IEC 60317-0-1, from memory):
    # each film has half the increase.
    [(1, 13.0e-6), (2, 19.5e-6)],
)
def test_turns_are_parted_by_two_films(coil_of, grade, film):
    _, found = coil_of(enamel_grade=grade)
    wire = enamelled_wire(0.2e-3, EnamelGrade(grade))
    assert wire.overall_diameter == pytest.approx(0.2e-3 + 2 * film, abs=0.5e-6)
    # 50 V per micrometre: 1300 V and 1950 V.
    assert found.turn_withstand == pytest.approx(2 * film * 50e6, rel=0.02)


def test_turns_with_a_gap_stand_films_and_gap(coil_of):
    _, close = coil_of()
    _, apart = coil_of(spacing=0.3e-3)
    # Air at 25 °C has (273.15 + 20)/(273.15 + 25) = 0.983 of its density at 20 °C. A uniform gap
    # of d centimetres stands 24.22 d + 6.08 sqrt(d) kV with the density in d: d = 0.0295 gives
    # 0.714 + 1.044 = 1.76 kV. Other pairs of constants are within 5 % (from memory).
    d = 0.03 * 293.15 / 298.15
    gap = 24.22e3 * d + 6.08e3 * math.sqrt(d)
    assert gap == pytest.approx(1.76e3, rel=0.01)
    assert apart.turn_withstand - close.turn_withstand == pytest.approx(gap, rel=0.05)


def test_turns_lie_a_whole_wire_apart(coil_of):
    """Copper to copper there are two films: 800 turns of 0.226 mm are 180.8 mm."""
    geometry, _ = coil_of()
    made = secondary_geometry(geometry)
    assert made.pitch == pytest.approx(0.226e-3, abs=0.5e-6)
    assert made.length == pytest.approx(180.8e-3, rel=0.003)
    # The middle of the wire lies half a wire over the former of 50 mm.
    assert made.mean_diameter == pytest.approx(50.226e-3, abs=1e-6)
    by_length, _ = coil_of(turns=None, winding_length=180.8e-3)
    assert secondary_geometry(by_length).turns == pytest.approx(800.0, rel=0.003)
