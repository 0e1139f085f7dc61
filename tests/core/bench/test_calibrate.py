"""Calibration: parameters behind synthetic readings and a capture are found again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from burstwise.core import storage
from burstwise.core.bench.burst_waveform import BurstTiming, Signal, burst_capture
from burstwise.core.bench.calibrate import calibrate
from burstwise.core.bench.capture import Capture, Channel
from burstwise.core.bench.capture_figures import CaptureFigures, capture_figures, reading_of_capture
from burstwise.core.bench.capture_measure import capture_measures
from burstwise.core.bench.derived import BenchSetup
from burstwise.core.bench.fit_parameters import Parameter, prior_values, with_parameters
from burstwise.core.bench.identify import correlation_matrix, identified
from burstwise.core.bench.instruments import Shunt
from burstwise.core.bench.readings import Reading
from burstwise.core.coil.resolve import coil_of, resolved_coil
from burstwise.core.design.calibrated import calibrated
from burstwise.core.design.document import Design, with_values
from burstwise.core.errors import InputError
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.circuit import StageCircuit

_EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
_SUPPLIES = {
    "classroom-gated-interrupted": (10.0, 14.0, 18.0, 24.0, 30.0, 36.0),
    "demonstration-gated-large": (12.0, 20.0, 28.0, 36.0, 44.0, 52.0),
}


def _design(name: str) -> Design:
    """Example of a measured coil, so that nothing but the stage is computed."""
    design = storage.load(_EXAMPLES / f"{name}.burstwise")
    return with_values(design, {"interrupter.enabled": False})


@dataclass(frozen=True)
class Build:
    """A build that differs from its design, and the instruments it is measured with."""

    design: Design
    values: Mapping[Parameter, float]
    prior: Mapping[Parameter, float]
    random: np.random.Generator

    def circuit(self, supply: float, junction: float) -> StageCircuit:
        coil = resolved_coil(self.design.coil)
        return with_parameters(
            stage_circuit(self.design, coil, supply_voltage=supply, junction_c=junction),
            self.values,
            prior=self.prior,
            reverse_capacitance=self.design.device.reverse_capacitance,
        )

    def readings(self, supplies: tuple[float, ...]) -> list[Reading]:
        """Half a per cent of meter error per column and of scatter per row, 1 % at the drain."""
        shunt = self.design.drive.shunt_resistance * (1 + self.random.uniform(-0.01, 0.01))
        gains = 1.0 + self.random.uniform(-0.005, 0.005, 4)
        inner = self.design.device.junction_to_case + self.design.cooling.interface_resistance
        rows = []
        for supply in supplies:
            run, sink = carrier(self.circuit(supply, 25.0)), 25.0
            for _ in range(2):
                sink = 25.0 + 4.0 * run.device_power
                run = carrier(self.circuit(supply, min(sink + inner * run.device_power, 120.0)))
            scatter = gains * (1.0 + self.random.standard_normal(4) * [0.005, 0.005, 0.005, 0.01])
            rows.append(
                Reading(
                    supply=supply * scatter[0],
                    shunt_rms=run.supply_current_rms * shunt * scatter[1],
                    shunt_mean=run.supply_current_mean * shunt * scatter[2],
                    drain_peak=run.drain_voltage_peak * scatter[3],
                    heat_sink_temperature=sink,
                )
            )
        return rows

    def capture(self, signal: Signal, supply: float) -> CaptureFigures:
        """Eight-bit scope with 0.4 % of noise, 37 samples per carrier period."""
        circuit = self.circuit(supply, 60.0)
        period = 1.0 / circuit.coil.resonance
        timing = BurstTiming(20 * period, 200 * period, 300 * period, period / 37.3)
        clean = burst_capture(circuit, signal, timing)
        values = clean.channels[0].values
        size = float(np.ptp(values))
        noisy = values + 0.004 * size * self.random.standard_normal(len(values))
        seen = np.round(noisy / (size / 256)) * size / 256
        taken = Capture(clean.start, clean.step, (Channel("CH1", "V", seen),))
        measures = capture_measures(taken, "CH1")
        return capture_figures(measures, signal=signal, supply=supply)


def _build(name: str, seed: int) -> Build:
    design = _design(name)
    prior = prior_values(design, resolved_coil(design.coil))
    random = np.random.default_rng(seed)
    spread = {
        Parameter.COUPLING: (-0.25, 0.2),
        Parameter.QUALITY_FACTOR: (-0.7, 0.3),
        Parameter.SECONDARY_CAPACITANCE: (-0.03, 0.03),
        Parameter.BREAKOUT_VOLTAGE: (-0.15, 0.15),
        Parameter.ON_RESISTANCE: (-0.2, 0.2),
        Parameter.OUTPUT_CAPACITANCE: (-0.2, 0.2),
    }
    values = {name: prior[name] * np.exp(random.uniform(*ends)) for name, ends in spread.items()}
    return Build(design, values, prior, random)


def _setup(design: Design) -> BenchSetup:
    return BenchSetup(Shunt(design.drive.shunt_resistance, 0.01), design.device.on_resistance)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "seed", "supply"),
    [("classroom-gated-interrupted", 100, 24.0), ("demonstration-gated-large", 102, 30.0)],
)
def test_six_readings_and_one_capture_give_coupling_and_quality_back(
    name: str, seed: int, supply: float, figure: Callable[..., None]
) -> None:
    build = _build(name, seed)
    rows = build.readings(_SUPPLIES[name])
    capture = build.capture(Signal.TOP, supply)
    shares: list[float] = []
    got = calibrate(
        build.design, rows, _setup(build.design), capture=capture, progress=shares.append
    )
    found = {item.parameter: item for item in got.parameters}
    errors = {
        item: found[item].value / build.values[item] - 1.0 for item in found if found[item].fitted
    }
    source = "engine output plus instrument noise"
    figure(f"coupling found, {name}", errors[Parameter.COUPLING], limit="0 ± 3 %", source=source)
    figure(f"Q found, {name}", errors[Parameter.QUALITY_FACTOR], limit="0 ± 10 %", source=source)
    assert abs(errors[Parameter.COUPLING]) < 0.03
    assert abs(errors[Parameter.QUALITY_FACTOR]) < 0.10
    assert abs(errors[Parameter.SECONDARY_CAPACITANCE]) < 0.005
    assert abs(errors[Parameter.BREAKOUT_VOLTAGE]) < 0.05
    for item, error in errors.items():
        assert abs(error) < 4.0 * found[item].uncertainty, item
    assert got.misfit_after < 1.5 < got.misfit_before
    assert got.correlation.shape == (len(got.fitted), len(got.fitted))
    assert shares == sorted(shares)
    assert 0.0 < shares[0] < shares[-1] < 1.0

    layer = got.layer("six rows")
    used = with_values(build.design, {"calibration": layer})
    assert coil_of(used).coupling == pytest.approx(found[Parameter.COUPLING].value, 1e-4)
    assert (layer.misfit, layer.at_bound) == (pytest.approx(got.misfit_after, 0.01), ())
    off = with_values(used, {"calibration.active": False})
    assert calibrated(off) == off


def test_what_the_readings_do_not_tell_keeps_its_prior_value() -> None:
    """Rows far below breakout and no capture: the breakout voltage cannot be known."""
    build = _build("demonstration-gated-large", 7)
    rows = build.readings((10.0, 14.0, 18.0))
    wanted = (Parameter.QUALITY_FACTOR, Parameter.BREAKOUT_VOLTAGE)
    got = calibrate(build.design, rows, _setup(build.design), parameters=wanted)
    kept = {item.parameter: item for item in got.parameters}[Parameter.BREAKOUT_VOLTAGE]
    assert not kept.fitted
    assert kept.value == kept.prior
    assert "nothing measured depends on it" in kept.reason
    assert got.layer().breakout_voltage is None
    codes = {finding.code for finding in got.findings}
    assert "calibration-kept-prior" in codes


def test_a_fit_can_be_stopped() -> None:
    class StopAskedError(Exception):
        pass

    def refuse(share: float) -> None:
        if share > 0.03:
            raise StopAskedError

    build = _build("demonstration-gated-large", 7)
    rows = [Reading(supply=12.0, shunt_rms=0.1), Reading(supply=20.0, shunt_rms=0.2)]
    with pytest.raises(StopAskedError):
        calibrate(build.design, rows, _setup(build.design), progress=refuse)


def test_nothing_measured_is_refused() -> None:
    build = _build("demonstration-gated-large", 7)
    with pytest.raises(InputError, match="shunt RMS"):
        calibrate(build.design, [Reading(supply=12.0)], _setup(build.design))


def test_correlation_agrees_with_that_of_repeated_fits() -> None:
    """Second method: least squares of 4000 redrawn data sets."""
    random = np.random.default_rng(3)
    jacobian = random.standard_normal((9, 3)) @ np.array([[1.0, 0.9, 0], [0, 0.4, 0.3], [0, 0, 2]])
    noise = random.standard_normal((9, 4000))
    fitted = np.linalg.lstsq(jacobian, noise)[0]
    np.testing.assert_allclose(correlation_matrix(jacobian), np.corrcoef(fitted), atol=0.05)
    with pytest.raises(InputError, match="zeros"):
        correlation_matrix(np.zeros((3, 1)))


def test_identification_drops_what_is_weak_or_alike() -> None:
    random = np.random.default_rng(5)
    strong = 50.0 * random.standard_normal((8, 2))
    weak = 0.1 * random.standard_normal((8, 1))
    twin = strong[:, :1] * (1.0 + 1e-6)
    test = identified(np.hstack([strong, weak, twin]), [1.0] * 4)
    assert test.kept == (0, 1)
    assert set(test.dropped) == {2, 3}
    nothing = identified(np.zeros((8, 2)), [1.0, 1.0])
    assert nothing.kept == ()
    assert np.isinf(nothing.left).all()


def test_capture_of_a_continuous_shunt_becomes_a_row() -> None:
    build = _build("demonstration-gated-large", 7)
    circuit = build.circuit(24.0, 60.0)
    run = carrier(circuit)
    period = 1.0 / circuit.coil.resonance
    timing = BurstTiming(0.0, 900 * period, 0.0, period / 96)
    whole = burst_capture(circuit, Signal.SHUNT, timing)
    steady = replace(
        whole, channels=(replace(whole.channels[0], values=whole.channels[0].values[-20_000:]),)
    )
    row = reading_of_capture(
        capture_measures(steady, "shunt"), signal=Signal.SHUNT, supply=24.0, note="scope"
    )
    shunt = circuit.shunt_resistance
    assert row.duty is None
    # 96 samples a period of a current with the steep edges of a bending capacitance.
    assert row.shunt_mean == pytest.approx(run.supply_current_mean * shunt, rel=0.02)
    assert row.shunt_rms == pytest.approx(run.supply_current_rms * shunt, rel=0.03)
    assert row.note == "scope"
    with pytest.raises(InputError, match="signal"):
        reading_of_capture(capture_measures(steady, "shunt"), signal=Signal.GATE, supply=24.0)
