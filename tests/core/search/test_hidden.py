"""Free fields that a measured value hides are told, and only those."""

from __future__ import annotations

from pathlib import Path

import pytest

from burstwise.core.design.document import Design, with_values
from burstwise.core.search.hidden import hidden_findings
from burstwise.core.search.space import Free, free_from_text
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
TURNS = "coil.geometry.primary.turns"
FORMER = "coil.geometry.secondary.former_diameter"


@pytest.fixture(scope="module")
def design() -> Design:
    return load(EXAMPLES / "classroom-gated-interrupted.burstwise")


@pytest.fixture(scope="module")
def free(design: Design) -> tuple[Free, ...]:
    texts = (f"{TURNS}=4:9", f"{FORMER}=40mm:60mm", "supply.voltage=12:60")
    return tuple(free_from_text(design, text) for text in texts)


def told(design: Design, free: tuple[Free, ...]) -> dict[str, str]:
    found = hidden_findings(design, free)
    assert all(item.code == "hidden-by-measured" for item in found)
    assert all(item.severity.value == "caution" for item in found)
    return {item.field: item.text for item in found}


def test_a_measured_primary_hides_its_turns(design: Design, free: tuple[Free, ...]) -> None:
    assert told(design, free) == {}
    measured = with_values(design, {"coil.measured.primary_inductance": "1.2 µH"})
    assert set(told(measured, free)) == {TURNS}
    assert "primary inductance" in told(measured, free)[TURNS]
    # A secondary inductance does not hang on the primary's turns, but on the former.
    measured = with_values(design, {"coil.measured.secondary_inductance": "9 mH"})
    assert set(told(measured, free)) == {FORMER}
    aside = with_values(measured, {"coil.not_used": ["secondary_inductance"]})
    assert told(aside, free) == {}


def test_a_fitted_value_hides_as_well(design: Design, free: tuple[Free, ...]) -> None:
    fitted = with_values(design, {"calibration": {"coupling": 0.3}})
    assert TURNS in told(fitted, free)
    assert "fitted" in told(fitted, free)[TURNS]
    off = with_values(fitted, {"calibration.active": False})
    assert told(off, free) == {}


def test_a_coil_given_by_measured_values_has_no_geometry_to_move(
    design: Design, free: tuple[Free, ...]
) -> None:
    values = {
        "primary_inductance": 1.2e-6,
        "primary_resistance": 0.05,
        "secondary_inductance": 9e-3,
        "secondary_capacitance": 9e-12,
        "quality_factor": 150.0,
        "coupling": 0.3,
        "breakout_voltage": 15e3,
    }
    measured = with_values(design, {"coil": {"given_by": "measured", "measured": values}})
    assert set(told(measured, free)) == {TURNS, FORMER}
