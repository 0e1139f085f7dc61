"""Heat sink that a design needs: worked examples, and the junction's course as a Fourier sum."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.assembly.heat_sink import HeatSinkNeed, heat_sink_need
from burstwise.core.evaluate.results import Results

Evaluated = Callable[[str], Results]


def need_at(results: Results, *, heat: float, junction: float) -> HeatSinkNeed:
    """Need of the classroom stage, 25 °C ambient and 2.5 K/W to air, with other temperatures."""
    point = replace(
        results.operation,
        device_power=heat,
        junction_peak=junction,
    )
    return heat_sink_need(replace(results, operation=point))


@pytest.mark.parametrize(
    ("heat", "junction", "for_sink", "for_junction", "largest"),
    [
        # Sink of 85 °C: 60 K at 10 W, 6 K/W. Junction of 150 °C: 45 K more, 4.5 K/W on top of 2.5.
        (10.0, 105.0, 6.0, 7.0, 6.0),
        # 20 K more at 10 W: 2 K/W on top of 2.5.
        (10.0, 130.0, 6.0, 4.5, 4.5),
        # 10 K too hot at 10 W: 1 K/W less than now.
        (10.0, 160.0, 6.0, 1.5, 1.5),
        # 60 K too hot at 20 W: 3 K/W less than the 2.5 that there are, which is no heat sink.
        (20.0, 210.0, 3.0, -0.5, 0.0),
        (20.0, np.inf, 3.0, 0.0, 0.0),
    ],
)
def test_need_worked_out(
    evaluated: Evaluated,
    heat: float,
    junction: float,
    for_sink: float,
    for_junction: float,
    largest: float,
) -> None:
    need = need_at(evaluated("classroom-gated-interrupted"), heat=heat, junction=junction)
    assert need.heat == heat
    assert need.designed == 2.5
    assert need.for_sink == pytest.approx(for_sink)
    assert need.for_junction == pytest.approx(for_junction)
    assert need.largest == pytest.approx(largest)


def test_junction_on_the_needed_sink_peaks_at_its_limit(evaluated: Evaluated) -> None:
    """Bursts of 30 % at 150 Hz as 20 000 harmonics through the thermal network of the example."""
    results = evaluated("classroom-gated-interrupted")
    need = heat_sink_need(results)
    period, duty = 1 / 150.0, 0.3
    heat = need.heat / duty
    omega = 2 * np.pi * np.arange(1, 20_001) / period

    def peak(sink: float) -> float:
        inner = [(0.08, 1.2e-4), (0.4, 2.5e-3), (1.0, 0.04), (2.3, 1.0), (0.5, 0.5 * 1.5)]
        ways = [*inner, (sink, sink * 150.0)]
        steady = sum(resistance for resistance, _ in ways)
        swing = sum(resistance / (1 + 1j * omega * tau) for resistance, tau in ways)
        # A pulse from 0 to duty*period has the harmonics (1 - exp(-j omega t)) / (j omega T), each
        # twice for both signs of the frequency; the junction peaks where the pulse ends.
        end = np.exp(1j * omega * duty * period)
        pulse = (1 - 1 / end) / (1j * omega * period)
        return 25.0 + heat * float(steady * duty + 2 * np.sum((swing * pulse * end).real))

    assert peak(2.5) == pytest.approx(results.junction_peak, abs=0.05)
    assert peak(need.for_junction) == pytest.approx(150.0, abs=0.1)
    assert peak(need.for_junction - 2.5) < 148.0
