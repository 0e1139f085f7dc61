"""Laws of bending capacitances, their straight pieces, and rings into them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from burstwise.core.design.device import CapacitancePoint, Device
from burstwise.core.errors import InputError
from burstwise.core.limits.datasheet import plausibility
from burstwise.core.limits.device_classes import device_classes
from burstwise.core.stage.capacitance_law import (
    CurveLaw,
    JunctionLaw,
    KneeLaw,
    charge_related,
    energy_related,
    lowest_ratio,
)
from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.charge_fit import fitted_segments, ring_error
from burstwise.core.stage.circuit import CoilValues, SwitchValues
from burstwise.core.stage.device_charges import device_charges, fitted_figures
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Engine
from burstwise.core.stage.stamps import OFF

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
    return crest(engine.trace()), engine


def crest(trace):
    """Highest drain voltage of a trace, by the parabola through its highest point's neighbours."""
    volts = trace.signal(Monitor.DRAIN)
    top = int(np.argmax(volts))
    around = slice(top - 1, top + 2)
    a, b, c = np.polyfit(trace.time[around] - trace.time[top], volts[around], 2)
    return float(c - b**2 / (4 * a))


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
    assert found == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(("pieces", "within"), [(8, 0.006), (16, 3e-3), (48, 3e-3)])
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


@pytest.mark.parametrize("device", CLASSES, ids=lambda device: device.name)
def test_rings_into_the_pieces_of_every_class(device):
    """Peaks of lossless rings by the energy of the smooth law; knees bend most."""
    charges, highest = device_charges(device), device.avalanche_voltage
    within = 0.013 if device.capacitance_law == "knee" else 0.008
    assert ring_error(charges.drain_source, charges.smooth, highest) < within
    assert ring_error(charges.gate_drain, charges.reverse, highest) < 0.055


@pytest.mark.parametrize("device", CLASSES, ids=lambda device: device.name)
def test_below_zero_the_pieces_are_the_law_itself(device):
    """The gate-drain voltage of a device that is on lies there."""
    charges = device_charges(device)
    for pieces, law in ((charges.drain_source, charges.smooth),
                        (charges.gate_drain, charges.reverse)):  # fmt: skip
        volts = np.array([-15.0, -1.0, -1e-3])
        assert pieces.charge(volts) == pytest.approx(law.charge(volts), rel=1e-9)
        assert pieces.energy(volts) == pytest.approx(law.energy(volts), rel=1e-9)


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


@pytest.mark.parametrize("kind", ["junction", "knee"])
def test_stored_energy_and_charge_are_kept(kind):
    """By quadrature of the fitted law; C_er = 2 E / V^2 and C_tr = Q / V say the same."""
    volts, energy, charge = 400.0, 6e-6, 6e-8
    base = {"capacitance_law": kind, "effective_voltage": volts, "reverse_capacitance": 2e-12}
    device = Device(**base, stored_energy=energy, stored_charge=charge)
    law = device_charges(device).output
    options = {"limit": 400, "points": [1.0, 5.0, 30.0, 100.0]}
    stored, _ = quad(lambda v: float(law.capacitance(v)), 0.0, volts, **options)
    work, _ = quad(lambda v: v * float(law.capacitance(v)), 0.0, volts, **options)
    assert (work, stored) == pytest.approx((energy, charge), rel=1e-6)
    same = Device(
        **base,
        output_capacitance=2.0 * energy / volts**2,
        output_capacitance_is="energy related",
        time_related_capacitance=charge / volts,
    )
    grid = np.linspace(0.0, 600.0, 50)
    assert device_charges(same).output.capacitance(grid) == pytest.approx(law.capacitance(grid))


def test_figures_that_do_not_go_together_are_shown_with_their_error():
    device = Device(stored_energy=6e-6, effective_voltage=400.0)
    found = {item.field: item for item in fitted_figures(device)}
    law = device_charges(device).output
    at_test = float(law.capacitance(25.0))
    assert found["device.stored_energy"].error == pytest.approx(0.0, abs=1e-9)
    assert found["device.output_capacitance"].error == pytest.approx(at_test / 80e-12 - 1.0)
    assert abs(found["device.output_capacitance"].error) > 0.3
    assert [f.code for f in plausibility(device)] == ["capacitance-apart"]
    assert "given: the figures do not go together" in plausibility(device)[0].text


def test_a_charge_out_of_reach_is_refused_with_its_reach():
    device = Device(stored_energy=6e-6, stored_charge=1e-9, effective_voltage=400.0)
    with pytest.raises(InputError, match=r"stored_charge must be between .* nC and .* nC"):
        device_charges(device)
    assert plausibility(device)[0].code == "capacitances-odd"


def test_charge_and_time_related_capacitance_are_not_given_both():
    with pytest.raises(ValueError, match="stored_charge must be 0 while the time-related"):
        Device(stored_charge=3e-8, time_related_capacitance=1e-10)


def curved(output, reverse):
    tables = {
        name: [CapacitancePoint(voltage=v, capacitance=c) for v, c in points]
        for name, points in (("capacitance_curve", output), ("reverse_curve", reverse))
    }
    return Device(capacitance_law="curve", **tables)


def test_a_narrow_crossing_between_all_points_is_seen():
    """Apart at every point of both curves, crossing between two; a fine search finds the same."""
    output = ((0, 1e-9), (10, 3e-10), (50, 2e-10), (51, 1e-10), (400, 5e-11))
    reverse = ((0, 5e-10), (10, 1.5e-10), (50, 1.55e-10), (50.4, 1.54e-10), (50.9, 6e-11),
               (60, 3e-11), (400, 1e-11))  # fmt: skip
    one, other = CurveLaw(output), CurveLaw(reverse)
    assert all(one.capacitance(v) > 1.01 * other.capacitance(v) for v, _ in (*output, *reverse))
    grid = np.linspace(50.0, 51.0, 1_000_001)
    ratios = one.capacitance(grid) / other.capacitance(grid)
    assert 0.0 < np.ptp(grid[ratios < 1.0]) < 0.2
    volts, ratio = lowest_ratio(one, other)
    assert ratio == pytest.approx(float(ratios.min()), rel=1e-9)
    assert volts == pytest.approx(float(grid[ratios.argmin()]), abs=2e-6)
    with pytest.raises(InputError, match="reverse_capacitance must be below Coss"):
        device_charges(curved(output, reverse))


def test_a_rising_output_capacitance_is_refused_and_a_reading_error_is_not():
    reverse = ((0, 1e-10), (100, 1e-11), (400, 2e-11))
    device_charges(curved(((0, 1e-9), (25, 1e-10), (100, 9e-11), (400, 9.3e-11)), reverse))
    with pytest.raises(InputError, match="at most 5 % above the 90 pF at a lower voltage"):
        device_charges(curved(((0, 1e-9), (25, 9e-11), (100, 9.3e-11), (400, 9.6e-11)), reverse))


def test_two_points_at_one_voltage_are_refused():
    points = [CapacitancePoint(voltage=v, capacitance=c) for v, c in ((0, 3e-10), (9, 1e-10))]
    twice = [*points, CapacitancePoint(voltage=9, capacitance=9e-11)]
    with pytest.raises(InputError, match="capacitance_curve must be one point per voltage"):
        device_charges(Device(capacitance_law="curve", capacitance_curve=twice))
