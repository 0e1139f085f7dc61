"""Heat of a clamp's two diodes, against quadrature and against the engine's books.

Who checks whom: mean and mean square of half a sine by quadrature; the sum of both diodes against
the energy books of an engine run, which know nothing of sines.
"""

from __future__ import annotations

import math

import pytest
from scipy.integrate import quad

from burstwise.core.limits.clamp_heat import base_current, clamp_heat


@pytest.mark.parametrize(
    ("high", "low", "ohms"), [(5.6, 0.6, 2.0), (12.0, 12.0, 3.0), (12, 0.7, 0)]
)
def test_each_diode_has_the_heat_of_its_half_of_the_sine(
    high: float, low: float, ohms: float
) -> None:
    peak = 0.98

    def half(volts: float) -> float:
        def power(angle: float) -> float:
            amps = peak * math.sin(angle)
            return (volts + ohms * amps) * amps

        return quad(power, 0.0, math.pi)[0] / (2 * math.pi)

    whole = half(high) + half(low)
    found = clamp_heat(whole, current=peak, high=high, low=low, resistance=ohms)
    assert found.high == pytest.approx(half(high), rel=1e-9)
    assert found.low == pytest.approx(half(low), rel=1e-9)


def test_without_current_both_have_half() -> None:
    found = clamp_heat(0.2, current=0.0, high=5.6, low=0.6, resistance=2.0)
    assert found.high == found.low == 0.1


def test_base_current_is_that_of_a_capacitor() -> None:
    """|I| = |V| / |Z| with Z = 1/(j w C)."""
    impedance = abs(1 / (2j * math.pi * 275e3 * 11.7e-12))
    assert base_current(11.7e-12, 49.6e3, frequency=275e3) == pytest.approx(49.6e3 / impedance)
    assert base_current(1e-12, 1e3, frequency=1e6, ratio=0.9) == pytest.approx(
        0.9 * base_current(1e-12, 1e3, frequency=1e6)
    )
