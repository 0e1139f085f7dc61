"""Engine with straight pieces of charge against CVODE with the smooth law itself.

Two usual laws in the example designs: a planar junction with the design's capacitance at 25 V, a
superjunction whose capacitance falls 80 times around 15 V. The capacitance that the engine takes is
that of `bending_laws.segments`; the second model knows nothing of pieces.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray

from core.coil.resolve import resolved_coil
from core.stage.build import stage_circuit
from core.stage.carrier import Carrier, carrier
from core.stage.charge import ChargeSegments
from core.stage.circuit import StageCircuit
from core.storage import load

Array = NDArray[np.float64]

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
GATED, DIRECT = "classroom-gated-interrupted", "classroom-direct-continuous"
SUPERJUNCTION = {GATED: (4240e-12, 53e-12), DIRECT: (2880e-12, 36e-12)}
"""Capacitance at zero volts and far above, whose energy is that of a device of this size [F]."""
PLANAR_VOLTS = 25.0
CYCLES = 88
WINDOW = 24
POINTS = 1500
"""Points of a cycle at which the second model is read, for its peaks."""
CASES = [(name, law) for name in (GATED, DIRECT) for law in ("planar", "superjunction")]


@cache
def _circuit(name: str) -> StageCircuit:
    design = load(EXAMPLES / f"{name}.burstwise")
    circuit = stage_circuit(design, resolved_coil(design.coil))
    constant = ChargeSegments.constant(
        design.device.output_capacitance - design.device.reverse_capacitance
    )
    return circuit.with_drain_source(constant)


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


def _true_figures(nodal: ModuleType, circuit: StageCircuit, terms: Array) -> dict[str, float]:
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
    name: str, law: str, nodal, bending_laws, terms_of, figure
) -> None:
    circuit, terms = _circuit(name), terms_of(name, law)
    true = _true_figures(nodal, circuit, terms)
    found = _figures(carrier(circuit.with_drain_source(_pieces(bending_laws, terms, 16))))
    for what, value in true.items():
        error = abs(found[what] / value - 1.0)
        figure(
            f"{what} with a {law} law in 16 pieces, {name}",
            error,
            limit="0.01",
            source="second model by hand with the smooth law; CVODE of scikit-sundae, rtol 1e-8",
        )
        assert error < 0.01, (what, found[what], value)


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
            f"drain peak in {count} pieces of a {law} law, {name}",
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
