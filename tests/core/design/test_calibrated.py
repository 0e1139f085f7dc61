"""The calibration layer: on, off, and with what it was fitted for gone."""

from __future__ import annotations

import pytest

from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.calibrated import calibrated
from burstwise.core.design.document import Design, design_from, with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate import evaluate


@pytest.fixture
def design() -> Design:
    return design_from(
        {
            "coil": {"given_by": "geometry", "measured": {}, "not_used": ("coupling",)},
            "calibration": {
                "coupling": 0.21,
                "breakout_voltage": 15e3,
                "on_resistance": 2.2,
                "source": "six rows",
            },
        }
    )


def test_layer_overrides_a_geometry_and_the_device(design: Design) -> None:
    used = calibrated(design)
    assert coil_of(used, rings=30).coupling == 0.21
    assert coil_of(used, rings=30).breakout_voltage == 15e3
    assert used.device.on_resistance == 2.2
    assert used.device.output_capacitance == design.device.output_capacitance
    assert used.coil == design.coil
    assert calibrated(used) == used
    assert used.calibration == design.calibration


def test_a_fitted_output_capacitance_counts_beside_a_stored_energy(design: Design) -> None:
    design = with_values(
        design, {"device.stored_energy": 5e-6, "calibration.output_capacitance": 9e-11}
    )
    used = calibrated(design).device
    assert (used.output_capacitance, used.stored_energy) == (9e-11, 0.0)
    layer_off = with_values(design, {"calibration.active": False})
    assert calibrated(layer_off).device.stored_energy == 5e-6


def test_layer_switched_off_changes_nothing(design: Design) -> None:
    off = with_values(design, {"calibration.active": False})
    assert calibrated(off) is off
    without = with_values(design, {"calibration": None})
    assert calibrated(without) is without


def test_layer_that_no_longer_fits_the_device_is_refused(design: Design) -> None:
    small = with_values(design, {"calibration.output_capacitance": "20p"})
    with pytest.raises(InputError, match="capacitance"):
        calibrated(with_values(small, {"device.reverse_capacitance": "40p"}))


def test_evaluation_uses_the_layer(design: Design) -> None:
    results = evaluate(design, verify=False)
    assert results.coil.coupling == 0.21
    off = evaluate(with_values(design, {"calibration.active": False}), verify=False)
    assert off.coil.coupling != 0.21
    assert results.carrier.input_power != off.carrier.input_power
