"""Laws of bending capacitances, their straight pieces, and rings into them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from core.design.device import CapacitancePoint, Device
from core.errors import InputError
from core.limits.device_classes import device_classes
from core.stage.capacitance_law import (
    CurveLaw,
    JunctionLaw,
    KneeLaw,
    charge_related,
    energy_related,
)
from core.stage.charge import ChargeSegments
from core.stage.charge_fit import fitted_segments, ring_error
from core.stage.circuit import CoilValues, SwitchValues
from core.stage.device_charges import device_charges
from core.stage.elements import Monitor
from core.stage.engine import Engine
from core.stage.stamps import OFF

CLASSES = [item.device for item in device_classes()]


def law_of(row):
    first, second, third = (float(row[name]) for name in ("first", "second", "third"))
    if row["law"] == "knee":
        return KneeLaw(first, second, third)
    return JunctionLaw(first, second, third)


def test_charge_energy_and_equivalents(reference):
    """Figures of stage_bending.csv, worked out outside the project."""
    rows = [row for row in reference("bending") if row["energy_J"]]
    assert len(rows) == 8
    for row in rows:
        law, volts = law_of(row), float(row["voltage_V"])
        assert float(law.capacitance(volts)) == pytest.approx(float(row["capacitance_F"]), rel=1e-6)
        assert float(law.charge(volts)) == pytest.approx(float(row["charge_C"]), rel=1e-6)
        assert float(law.energy(volts)) == pytest.approx(float(row["energy_J"]), rel=1e-6)
        assert charge_related(law, volts) == pytest.approx(float(row["charge_related_F"]), rel=1e-6)
        assert energy_related(law, volts) == pytest.approx(float(row["energy_related_F"]), rel=1e-6)


def ring(short_base, state_of, charge, *, inductance, current, supply):
    """Peak of an inductor that rings from a supply into a capacitance, from zero volts [V]."""
    coil = CoilValues(inductance, 12e-3, 1e-7, 0.0, 300.0, 14e-12)
    switch = SwitchValues(1.0, 3.5, 50.0, 1e-12, ChargeSegments.constant(0.0), charge)
    circuit = short_base(coil, switch=switch, supply_voltage=max(supply, 1e-9))
    engine = Engine(circuit)
    network = engine.network
    segments = (1,) * len(network.elements) + (charge.segment(1e-9), 0)
    code = network.code(OFF, segments, 0)
    engine.set_state(state_of(engine, code, primary=current, drain=0.0), code)
    engine.run(4.0 * math.sqrt(inductance * max(charge.farads)), trace=True)
    return float(engine.trace().signal(Monitor.DRAIN).max()), engine


def test_ring_into_two_segments(short_base, state_of):
    """Closed form: L i^2/2 = C1 v1^2/2 + C2 (v^2 - v1^2)/2."""
    knot, low, high = 20.0, 1e-9, 1e-10
    inductance, current = 3.5e-6, 2.0
    charge = ChargeSegments((knot,), (low, high))
    energy = 0.5 * inductance * current**2 - 0.5 * low * knot**2
    expected = math.sqrt(knot**2 + 2.0 * energy / high)
    found, _ = ring(
        short_base, state_of, charge, inductance=inductance, current=current, supply=0.0
    )
    assert found == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize(("pieces", "within"), [(8, 0.03), (16, 0.01), (48, 8e-3)])
def test_rings_of_an_independent_computation(
    short_base, state_of, reference, figure, pieces, within
):
    worst = 0.0
    for row in reference("bending"):
        if not row["peak_V"]:
            continue
        law = law_of(row)
        charge = fitted_segments(law, 1.2 * float(row["peak_V"]), pieces)
        inductance, current = float(row["inductance_H"]), float(row["current_A"])
        supply = float(row["supply_V"])
        found, _ = ring(
            short_base, state_of, charge, inductance=inductance, current=current, supply=supply
        )
        worst = max(worst, abs(found / float(row["peak_V"]) - 1.0))
    figure(
        f"ring into a bending capacitance, {pieces} pieces, worst peak",
        worst,
        limit=f"{within:.1%}",
        source="energy balance by quadrature, mpmath",
    )
    assert worst < within


def test_more_pieces_fit_better():
    law = KneeLaw(4.24e-9, 5.3e-11)
    errors = [ring_error(fitted_segments(law, 700.0, count), law, 700.0) for count in (4, 8, 16)]
    assert errors[0] > errors[1] > errors[2]
    assert errors[2] < 0.011


def test_a_constant_law_is_one_piece():
    assert fitted_segments(ChargeSegments.constant(1e-10), 500.0, 8).farads == (1e-10,)


def test_curve_against_quadrature():
    points = ((0.0, 1.5e-9), (5.0, 6e-10), (25.0, 1.5e-10), (100.0, 6e-11), (400.0, 5e-11))
    law = CurveLaw(points)
    for volts in (3.0, 60.0, 380.0):
        kinks = [v for v, _ in points[1:] if v < volts] or None
        options = {"limit": 300, "points": kinks}
        charge, _ = quad(lambda v: float(law.capacitance(v)), 0.0, volts, **options)
        energy, _ = quad(lambda v: v * float(law.capacitance(v)), 0.0, volts, **options)
        assert float(law.charge(volts)) == pytest.approx(charge, rel=1e-4)
        assert float(law.energy(volts)) == pytest.approx(energy, rel=1e-4)
    assert float(law.charge(600.0) - law.charge(500.0)) == pytest.approx(100 * 5e-11, rel=1e-9)
    assert float(law.charge(-2.0)) == pytest.approx(-2 * 1.5e-9, rel=1e-9)


@pytest.mark.parametrize("device", CLASSES, ids=lambda device: device.name)
def test_every_class_has_its_figure_and_falls(device):
    charges = device_charges(device)
    volts = np.linspace(0.0, device.drain_voltage_rating, 50)
    assert (np.diff(charges.output.capacitance(volts)) <= 1e-18).all()
    if device.output_capacitance_is == "energy related":
        found = energy_related(charges.output, 0.8 * device.drain_voltage_rating)
    else:
        found = float(charges.output.capacitance(device.capacitance_voltage))
    assert found == pytest.approx(device.output_capacitance, rel=1e-9)
    at_test = float(charges.reverse.capacitance(device.capacitance_voltage))
    assert at_test == pytest.approx(device.reverse_capacitance, rel=1e-9)
    assert min(*charges.drain_source.farads, *charges.gate_drain.farads) > 0.0


def test_time_related_figure_bends_the_law():
    base = {"capacitance_law": "knee", "output_capacitance_is": "energy related",
            "output_capacitance": 1.2e-10, "effective_voltage": 400.0}  # fmt: skip
    for farad in (2.5e-10, 5e-10):
        device = Device(**base, time_related_capacitance=farad)
        law = device_charges(device).output
        assert charge_related(law, 400.0) == pytest.approx(farad, rel=1e-6)
        assert energy_related(law, 400.0) == pytest.approx(1.2e-10, rel=1e-9)
    with pytest.raises(InputError, match="time_related_capacitance must be between"):
        device_charges(Device(**base, time_related_capacitance=5e-11))


def test_reverse_capacitance_above_the_output_is_refused():
    points = [CapacitancePoint(voltage=v, capacitance=c) for v, c in ((0, 3e-10), (100, 5e-11))]
    high = [CapacitancePoint(voltage=v, capacitance=c) for v, c in ((0, 4e-10), (100, 1e-12))]
    device = Device(capacitance_law="curve", capacitance_curve=points, reverse_curve=high)
    with pytest.raises(InputError, match="below Coss"):
        device_charges(device)


def test_two_points_at_one_voltage_are_refused():
    points = [CapacitancePoint(voltage=v, capacitance=c) for v, c in ((0, 3e-10), (9, 1e-10))]
    twice = [*points, CapacitancePoint(voltage=9, capacitance=9e-11)]
    with pytest.raises(InputError, match="capacitance_curve must be one point per voltage"):
        device_charges(Device(capacitance_law="curve", capacitance_curve=twice))
