"""Layout notes name the loop that is fast, with its slope from the engine's own waveform.

Who checks whom: slopes of a ramp and of a sine against closed forms; the loops against the circuit
written down by hand in the engine, where clamp and snubber return to the source above the shunt.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import numpy as np
import pytest

from burstwise.core.assembly.layout_notes import layout_notes, steepest
from burstwise.core.assembly.parts import parts_list
from burstwise.core.evaluate.results import Results

Evaluated = Callable[[str], Results]
NO_BREAK = "\N{NO-BREAK SPACE}"


def notes(results: Results) -> tuple[str, ...]:
    return tuple(text.replace(NO_BREAK, " ") for text in layout_notes(results, parts_list(results)))


def test_slope_of_a_sine_and_of_a_ramp() -> None:
    time = np.linspace(0.0, 2e-6, 4001)
    sine = 5.0 * np.sin(2 * math.pi * 1e6 * time)
    # Over a stretch the mean slope of a sine is less by sin(x)/x with x = pi f span.
    x = math.pi * 1e6 * 10e-9
    assert steepest(time, sine) == pytest.approx(2 * math.pi * 5e6 * math.sin(x) / x, rel=1e-3)
    ramp = np.interp(time, [0.0, 1e-6, 1.02e-6, 2e-6], [0.0, 0.0, -6.0, -6.0])
    assert steepest(time, ramp) == pytest.approx(6.0 / 20e-9, rel=1e-3)
    assert steepest(time[:1], sine[:1]) == 0.0


def test_the_fast_loop_is_transistor_snubber_and_clamp(evaluated: Evaluated) -> None:
    results = evaluated("demonstration-gated-large")
    found = parts_list(results).by_role
    fast, slow = notes(results)[:2]
    for role in ("switch", "drain_clamp", "snubber_resistor", "snubber_capacitor"):
        assert found[role].reference in fast
    for role in ("primary", "bus_film", "shunt"):
        assert found[role].reference not in fast
        assert found[role].reference in slow
    slopes = [
        float(number) for text in (fast, slow) for number in re.findall(r"([\d.]+) A/µs", text)
    ]
    assert slopes[0] > 1000.0
    assert 30.0 < slopes[1] < 60.0


def test_the_gate_loop_has_the_shunt_in_it_where_one_is_fitted(evaluated: Evaluated) -> None:
    """The driver returns to 0 V, below the shunt, as it is drawn."""
    results = evaluated("classroom-gated-interrupted")
    shunt = parts_list(results).by_role["shunt"].reference
    (loop,) = (text for text in notes(results) if "gate loop" in text.lower())
    assert f"{shunt} included" in loop
    assert "chip resistors" in loop
    (bare,) = (text for text in notes(evaluated("bare")) if "gate loop" in text.lower())
    assert "returns to the source pin" in bare
    assert "shunt" not in bare
    assert "0 V at the source pin" in " ".join(notes(evaluated("bare")))
