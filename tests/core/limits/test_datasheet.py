"""Datasheet figures: fits, energy capacitance, plausibility, classes."""

from __future__ import annotations

import numpy as np
import pytest

from burstwise.core.burst.foster import transient_impedance
from burstwise.core.design.device import Device, ImpedancePoint, SafePoint
from burstwise.core.errors import InputError
from burstwise.core.limits.datasheet import fitted_network, plausibility
from burstwise.core.limits.derating import junction_network
from burstwise.core.limits.device_classes import device_classes, devices_by_name


def changed(**values) -> Device:
    return Device.model_validate(Device().model_dump() | values)


@pytest.mark.parametrize("name", [item.name for item in device_classes()][::3])
def test_fitted_network_gives_the_curve_back(name):
    network = junction_network(devices_by_name()[name])
    times = np.geomspace(1e-5, 5.0, 20)
    points = [
        ImpedancePoint(time=float(t), impedance=float(z))
        for t, z in zip(times, transient_impedance(network, times), strict=True)
    ]
    found = fitted_network(points)
    device = changed(thermal_network=[part.model_dump() for part in found])
    between = np.geomspace(1.5e-5, 4.0, 50)
    again = transient_impedance(junction_network(device), between)
    assert again == pytest.approx(transient_impedance(network, between), rel=0.02)


def test_too_few_points():
    with pytest.raises(InputError, match="at least three"):
        fitted_network([ImpedancePoint(time=1e-3, impedance=0.1)])


@pytest.mark.parametrize(
    ("values", "code"),
    [
        ({"gate_charge": 2.2e-10}, "gate-charge-odd"),
        ({"power_rating": 350.0}, "thermal-odd"),
        ({"hot_resistance_ratio": 1.0}, "hot-resistance-low"),
        ({"continuous_current": 0.4, "pulsed_current": 2.0}, "current-odd"),
        ({"avalanche_voltage": 1000.0}, "avalanche-high"),
        ({"repetitive_avalanche_energy": 0.5}, "avalanche-order"),
        ({"transconductance": 0.06}, "transconductance-low"),
    ],
)
def test_slips_are_found(values, code):
    assert code in {finding.code for finding in plausibility(changed(**values))}


def test_curves_that_bend_the_wrong_way():
    falling = [{"time": t, "impedance": z} for t, z in ((1e-4, 0.2), (1e-3, 0.1), (1e-2, 0.5))]
    rising = [{"voltage": v, "capacitance": c} for v, c in ((0, 1e-10), (100, 2e-10))]
    area = [
        SafePoint(pulse_length=1e-3, voltage=v, current=i).model_dump()
        for v, i in ((10, 5), (100, 60))
    ]
    codes = {
        finding.code
        for finding in plausibility(
            changed(impedance_curve=falling, capacitance_curve=rising, safe_area=area)
        )
    }
    assert codes == {"impedance-falls", "capacitance-rises", "safe-area-rises",
                     "safe-area-above-pulse"}  # fmt: skip


def test_classes():
    classes = device_classes()
    assert len(classes) >= 12
    assert classes[0].device.drain_voltage_rating == 60
    assert classes[-1].device.drain_voltage_rating == 1200
    assert {"planar", "superjunction", "silicon carbide"} <= {item.technology for item in classes}
    assert {"full-pack", "non-isolated tab"} <= {item.package for item in classes}
    for item in classes:
        assert plausibility(item.device) == (), item.name
        assert "from memory" in item.provenance
