"""What enamel and gaps stand, from film thicknesses by hand."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from burstwise.core.coil.breakout import uneven_gap_voltage, uniform_gap_voltage
from burstwise.core.coil.resolve import resolved_coil, secondary_geometry
from burstwise.core.coil.wire import EnamelGrade, enamelled_wire
from burstwise.core.design.document import with_values
from burstwise.core.limits.insulation import insulation
from burstwise.core.storage import load

RING = "strike_ring_height"
EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"


@pytest.fixture(scope="module")
def coil_of():
    """Coil section of the classroom example with changes, and its insulation."""
    design = load(EXAMPLES / "classroom-gated-interrupted.burstwise")

    def made(**changes):
        coil = with_values(
            design,
            {
                f"coil.geometry.{name if '.' in name or name == RING else 'secondary.' + name}": it
                for name, it in changes.items()
            },
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


def test_a_long_gap_stands_less_than_a_uniform_field() -> None:
    """Needle gaps stand some 11 kV at 1 cm, 28 kV at 2.5 cm and 141 kV at 24 cm (from memory of
    tables for spark gaps), peak values; the law must stay below all of them.
    """
    for gap, volts in ((0.01, 11e3), (0.0254, 28e3), (0.24, 141e3)):
        assert 0.4 * volts < uneven_gap_voltage(gap) < volts
        assert uneven_gap_voltage(gap) < uniform_gap_voltage(gap)
    assert uneven_gap_voltage(0.1, density=0.8) == pytest.approx(0.8 * uneven_gap_voltage(0.1))


def test_the_gap_of_a_large_coil_is_not_a_uniform_field() -> None:
    """104 mm at 5 kV/cm are 52 kV, not the 271 kV of a uniform field."""
    design = load(EXAMPLES / "demonstration-gated-large.burstwise")
    coil = resolved_coil(design.coil, temperature_c=20.0)
    found = insulation(design.coil.geometry, coil, temperature=20.0)
    assert found is not None
    assert found.gap == pytest.approx(0.104, abs=0.002)
    assert found.gap_withstand == pytest.approx(5e5 * found.gap, rel=0.02)


def test_strike_counts_the_way_from_the_top_load_to_the_primary(coil_of) -> None:
    """By hand: the ball of 40 mm stands 30 mm over the winding, the primary around its foot."""
    geometry, found = coil_of()
    high = secondary_geometry(geometry).length + 0.03
    part = geometry.primary
    wire = 0.5 * part.conductor.diameter
    highest = part.start_height + (part.turns - 1) * part.pitch
    way = math.hypot(part.inner_radius, high - highest) - 0.02 - wire
    assert found.strike_distance == pytest.approx(way, abs=0.6 * part.pitch)
    assert found.strike_withstand == pytest.approx(2e5 * found.strike_distance, rel=0.02)


def test_without_a_top_load_the_winding_s_end_strikes(coil_of) -> None:
    _, ball = coil_of()
    _, bare = coil_of(**{"top_load.kind": "none"})
    assert 0.0 < bare.strike_distance < ball.strike_distance + 0.05


def test_a_strike_ring_takes_the_strike_and_has_a_gap_of_its_own(coil_of) -> None:
    geometry, plain = coil_of()
    _, ringed = coil_of(strike_ring_height=0.04)
    assert math.isinf(ringed.strike_withstand)
    assert ringed.strike_distance == plain.strike_distance
    # Higher up the winding there is more voltage across the same gap.
    assert ringed.gap_stress / ringed.gap_withstand > plain.gap_stress / plain.gap_withstand
    assert ringed.gap == pytest.approx(
        geometry.primary.inner_radius - 0.5 * secondary_geometry(geometry).mean_diameter, abs=5e-4
    )
