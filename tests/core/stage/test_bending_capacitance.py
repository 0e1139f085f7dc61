"""Engine with straight pieces of charge against CVODE with the smooth law itself.

Two usual laws in two stages: a planar junction with the constant's capacitance at 25 V, a
superjunction whose capacitance falls 80 times around 15 V. The capacitance that the engine takes is
that of `bending_laws.segments`; the second model knows nothing of pieces.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray

from burstwise.core.stage.capacitance_law import CapacitanceLaw, JunctionLaw, KneeLaw
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.charge_fit import fitted_segments
from burstwise.core.stage.circuit import (
    ClampValues,
    CoilValues,
    DirectFeed,
    GatedFeed,
    StageCircuit,
    SwitchValues,
)
from burstwise.core.stage.device_charges import OUTPUT_PIECES

constant = ChargeSegments.constant

Array = NDArray[np.float64]

GATED, DIRECT = "gated", "direct"
SUPERJUNCTION = {GATED: (4240e-12, 53e-12), DIRECT: (2880e-12, 36e-12)}
"""Capacitance at zero volts and far above, whose energy is that of a device of this size [F]."""
AVALANCHE = {GATED: 720.0, DIRECT: 690.0}
"""Voltage that the pieces are fitted up to [V]."""
PLANAR_VOLTS = 25.0
CYCLES = 88
WINDOW = 24
POINTS = 1500
"""Points of a cycle at which the second model is read, for its peaks."""
CASES = [(name, law) for name in (GATED, DIRECT) for law in ("planar", "superjunction")]


def _circuit(name: str) -> StageCircuit:
    """Stage at 940 kHz with a device of 650 V, 13 A behind a driver, or of 600 V, 4 A by itself."""
    coil = CoilValues(
        primary_inductance=3.5063293e-6,
        secondary_inductance=7.53865953e-3,
        coupling=0.32009242,
        primary_resistance=0.11391458,
        secondary_resistance=143.58339,
        secondary_capacitance=4.0812036e-12,
        breakout_voltage=9e3,
        breakout_resistance=300e3,
        base_current_ratio=1.0875166,
    )
    if name == DIRECT:
        return StageCircuit(
            20.0,
            coil,
            SwitchValues(1.8, 3.5, 2.5, 632e-12, constant(8e-12), constant(72e-12)),
            DirectFeed(3.9, 2200.0, 12.0, 0.7, 3.0, 5.0),
            shunt_resistance=0.1,
        )
    return StageCircuit(
        36.0,
        coil,
        SwitchValues(
            0.28, 3.2, 9.0, 896e-12, constant(4e-12), constant(106e-12), diode_resistance=0.05
        ),
        GatedFeed(12.0, 9.7, 9.2, 40e-9, False, 2.1, 1.2, 30e-12, 5.6, 0.6, 2.0, 5.0, 10e3),
        shunt_resistance=0.1,
        clamps=ClampValues(snubber_resistance=22.0, snubber_capacitance=330e-12),
    )


@pytest.fixture(scope="module")
def terms_of(bending_laws: ModuleType) -> Callable[[str, str], Array]:
    def made(name: str, law: str) -> Array:
        if law == "superjunction":
            return bending_laws.superjunction(*SUPERJUNCTION[name])
        farad = _circuit(name).switch.drain_source_capacitance.farads[0]
        return bending_laws.planar(farad, PLANAR_VOLTS)

    return made


def _pieces(laws: ModuleType, terms: Array, count: int) -> ChargeSegments:
    knots = tuple(np.geomspace(0.7, 310.0, count - 2))
    return laws.segments(terms, knots, 420.0)


def _figures(run: Carrier) -> dict[str, float]:
    return {
        "frequency": run.frequency,
        "power": run.input_power,
        "drain peak": run.drain_voltage_peak,
        "current peak": run.drain_current_peak,
        "top peak": run.top_voltage_peak,
    }


@pytest.fixture(scope="module")
def true_figures(nodal: ModuleType, terms_of) -> Callable[[str, str], dict[str, float]]:
    """Steady state of the second model with a smooth law."""
    return cache(lambda name, law: _steady(nodal, _circuit(name), terms_of(name, law)))


def _steady(nodal: ModuleType, circuit: StageCircuit, terms: Array) -> dict[str, float]:
    """Steady state of the second model; the snubber takes its current past the device."""
    period = 1.0 / circuit.coil.resonance
    start, end = CYCLES * period, (CYCLES + WINDOW) * period
    times = np.append(start - 1e-12, np.linspace(start, end, WINDOW * POINTS))
    rows = nodal.Reference(circuit, "cvode", rtol=1e-8, drain_source=terms).run(times)
    top = rows[:, 2]
    rising = np.flatnonzero((top[:-1] < 0.0) & (top[1:] >= 0.0))
    zeros = times[rising] - top[rising] * np.diff(times)[rising] / np.diff(top)[rising]
    supplied = np.interp(zeros[[0, -1]], times, rows[:, nodal.STATES])
    span = zeros[-1] - zeros[0]
    drain, snubber = rows[:, 3], rows[:, 6]
    bypass = (drain - snubber) / circuit.clamps.snubber_resistance if circuit.snubbed else 0.0
    return {
        "frequency": (len(zeros) - 1) / span,
        "power": (supplied[1] - supplied[0]) / span,
        "drain peak": drain.max(),
        "current peak": (rows[:, 0] - bypass).max(),
        "top peak": np.abs(top).max(),
    }


@pytest.mark.parametrize(("name", "law"), CASES)
def test_steady_state_is_that_of_the_smooth_law(
    name: str, law: str, true_figures, bending_laws, terms_of, figure
) -> None:
    circuit, terms, true = _circuit(name), terms_of(name, law), true_figures(name, law)
    found = _figures(carrier(circuit.with_drain_source(_pieces(bending_laws, terms, 16))))
    for what, value in true.items():
        error = abs(found[what] / value - 1.0)
        figure(
            f"{what} with a {law} law in 16 pieces, {name} stage",
            error,
            limit="0.01",
            source="second model by hand with the smooth law; CVODE of scikit-sundae, rtol 1e-8",
        )
        assert error < 0.01, (what, found[what], value)


@pytest.mark.parametrize(("name", "law"), CASES)
def test_pieces_as_the_program_fits_them_are_close_enough(
    name: str, law: str, true_figures, figure
) -> None:
    """As many pieces as a device is given, up to its avalanche."""
    circuit = _circuit(name)
    smooth: CapacitanceLaw
    if law == "superjunction":
        smooth = KneeLaw(*SUPERJUNCTION[name], knee=15.0)
    else:
        farad = circuit.switch.drain_source_capacitance.farads[0]
        smooth = JunctionLaw(farad * (1.0 + PLANAR_VOLTS / 0.7) ** 0.5, grading=0.5, built_in=0.7)
    pieces = fitted_segments(smooth, AVALANCHE[name], OUTPUT_PIECES)
    found = _figures(carrier(circuit.with_drain_source(pieces)))
    for what, value in true_figures(name, law).items():
        error = abs(found[what] / value - 1.0)
        figure(
            f"{what} with a {law} law as fitted, {name} stage",
            error,
            limit="0.02",
            source="second model by hand with the smooth law; CVODE of scikit-sundae, rtol 1e-8",
        )
        assert error < 0.02, (what, found[what], value)


@pytest.mark.parametrize(("name", "law"), CASES)
def test_a_constant_is_no_substitute(name: str, law: str, bending_laws, terms_of) -> None:
    """The peak with the law is higher than with the constant that the data sheet gives at 25 V."""
    circuit, terms = _circuit(name), terms_of(name, law)
    constant = carrier(circuit).drain_voltage_peak
    bent = carrier(circuit.with_drain_source(_pieces(bending_laws, terms, 16)))
    assert bent.drain_voltage_peak > {"planar": 1.02, "superjunction": 1.5}[law] * constant
    assert bent.trusted


@pytest.mark.parametrize(("name", "law"), CASES)
def test_more_pieces_come_closer(name: str, law: str, bending_laws, terms_of, figure) -> None:
    circuit, terms = _circuit(name), terms_of(name, law)
    peaks = [
        carrier(circuit.with_drain_source(_pieces(bending_laws, terms, count))).drain_voltage_peak
        for count in (4, 8, 16, 32)
    ]
    errors = [abs(peak / peaks[-1] - 1.0) for peak in peaks[:-1]]
    for count, error in zip((4, 8, 16), errors, strict=True):
        figure(
            f"drain peak in {count} pieces of a {law} law, {name} stage",
            error,
            limit="0.01 with 16",
            source="the same law in 32 pieces",
        )
    assert errors[2] < 0.01
    assert errors[2] < errors[0]


def test_pieces_meet_the_smooth_law_in_charge(bending_laws) -> None:
    for terms in (bending_laws.planar(72e-12, 25.0), bending_laws.superjunction(2880e-12, 36e-12)):
        law = _pieces(bending_laws, terms, 16)
        volts = np.array([0.0, *law.knots[1:], 420.0])
        assert law.charge(volts) == pytest.approx(bending_laws.charge(volts, terms), rel=1e-9)


def test_closed_charge_is_the_integral_of_the_second_models_capacitance(
    nodal, bending_laws
) -> None:
    volts = np.linspace(0.0, 300.0, 60_001)
    for terms in (bending_laws.planar(72e-12, 25.0), bending_laws.superjunction(2880e-12, 36e-12)):
        farads = np.array([nodal.capacitance(v, terms) for v in volts])
        assert np.trapezoid(farads, volts) == pytest.approx(
            float(bending_laws.charge(volts[-1:], terms)[0]), rel=1e-6
        )
    pieces = ChargeSegments((5.0, 20.0), (1e-9, 3e-10, 5e-11))
    farads = np.array([nodal.capacitance(v, nodal.terms_of(pieces)) for v in volts])
    assert farads == pytest.approx(pieces.capacitance(volts))
