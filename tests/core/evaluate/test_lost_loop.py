"""Enabled and not oscillating: what it asks of the parts, what ends it, and what is said."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.lost_loop import REACTION, TRIP_ROOM
from burstwise.core.evaluate.results import Results
from burstwise.core.studies.remedies import remedies

Example = Callable[[str], Design]
GATED = "classroom-gated-interrupted"


def results_of(design: Design, **values: object) -> Results:
    changed = {path.replace("__", "."): value for path, value in values.items()}
    return evaluate(with_values(design, changed), verify=False)


def said(results: Results) -> dict[str, str]:
    return {item.code: item.text for item in results.findings}


def rated(results: Results, name: str) -> float:
    return next(item.value for item in results.limits if item.rating == name)


@pytest.fixture(scope="module")
def bare(example: Example) -> Results:
    """The classroom stage without a trip."""
    return results_of(example(GATED), protection__trip=None)


def test_current_is_that_of_the_resistances_short_of_the_sagging_bus(bare: Results) -> None:
    # V/R, from Ohm's law; the inductance and the falling bus leave some of it.
    design = bare.design
    ohms = 0.28 + 0.1 + 0.03 + bare.coil.primary_resistance
    most = 1.05 * design.supply.voltage / ohms
    assert 0.9 * most < rated(bare, "lost_loop_current") < most
    assert bare.lost_loop is not None
    assert bare.lost_loop.stored == pytest.approx(0.5 * 4.7e-3 * 37.8**2)


def test_without_a_trip_it_breaks_the_device_and_says_what_to_do(bare: Results) -> None:
    assert {"exceeded-lost-loop-current", "exceeded-lost-loop-junction", "lost-loop"} <= set(
        said(bare)
    )
    for word in ("fast fuse between capacitor and stage", "disconnected or small", "trip"):
        assert word in said(bare)["lost-loop"]
    weights = {f.code: f.severity.value for f in bare.findings}
    assert weights["exceeded-lost-loop-current"] == "caution"  # a fault has to happen first
    assert {item.corner for item in bare.limits if item.rating.startswith("lost_loop")} == {
        "lost loop"
    }


def test_leads_slow_the_rise_and_add_to_the_energy_of_the_turn_off(
    example: Example, bare: Results
) -> None:
    """V/(L1 + Lx) is the slope at first; half of (L1 + Lx) I^2 is what a turn-off dumps."""
    own = bare.coil.primary_inductance
    led = results_of(example(GATED), protection__trip=None, coil__lead_inductance=own)
    slopes = []
    for results in (bare, led):
        assert results.lost_loop is not None
        course = results.lost_loop.course
        slopes.append(float(course.current[1] / course.time[1]))
    assert slopes[1] == pytest.approx(0.5 * slopes[0], rel=0.01)
    dumped = [rated(results, "turn_off_energy") for results in (bare, led)]
    peaks = [results.lost_loop.course.last for results in (bare, led) if results.lost_loop]
    assert dumped[1] / dumped[0] == pytest.approx(2.0 * (peaks[1] / peaks[0]) ** 2, rel=1e-3)


def test_a_trip_limits_current_and_heat(example: Example, bare: Results) -> None:
    fitted = results_of(example(GATED))
    slope = 37.8 / fitted.coil.primary_inductance
    # Ohm's drop takes some of the slope: between the trip current and the straight rise after it.
    assert 15.0 < rated(fitted, "lost_loop_current") < 15.0 + slope * 1e-6
    assert rated(fitted, "lost_loop_junction") < 40.0
    assert fitted.lost_loop is not None
    assert fitted.lost_loop.tripped
    assert "lost-loop" not in said(fitted)
    assert "lost-loop-tripped" in said(fitted)
    slow = results_of(example(GATED), protection__trip={"current": 15.0, "delay": 3e-6})
    assert rated(slow, "lost_loop_current") > rated(fitted, "lost_loop_current") + 10.0


def test_a_time_out_lets_the_current_rise_for_its_time(example: Example, bare: Results) -> None:
    timed = results_of(example(GATED), protection__trip={"kind": "time-out", "delay": 1e-6})
    assert timed.lost_loop is not None
    assert timed.lost_loop.course.end == pytest.approx(1e-6)
    late = results_of(example(GATED), protection__trip={"kind": "time-out", "delay": 1.0})
    assert rated(late, "lost_loop_current") == pytest.approx(rated(bare, "lost_loop_current"))


def test_a_trip_below_the_running_peak_is_told(example: Example) -> None:
    peak = max(float(c.load.drain_current_peak) for c in results_of(example(GATED)).corners)
    tight = results_of(
        example(GATED), protection__trip={"current": 0.95 * TRIP_ROOM * peak, "delay": 1e-6}
    )
    assert "trip-too-low" in said(tight)
    wide = results_of(
        example(GATED), protection__trip={"current": 1.05 * TRIP_ROOM * peak, "delay": 1e-6}
    )
    assert "trip-too-low" not in said(wide)


def test_a_trip_on_current_needs_a_shunt(example: Example) -> None:
    assert "trip-without-shunt" in said(results_of(example(GATED), drive__shunt_resistance=0.0))


def test_a_driver_that_rests_low_loses_nothing(example: Example) -> None:
    quiet = results_of(example(GATED), protection__trip=None, drive__gated__input_bias=0.0)
    assert rated(quiet, "lost_loop_current") < 1e-3


def test_a_direct_stage_stands_at_its_bias(example: Example) -> None:
    # g_m (V_bias - V_th), whatever the supply could give.
    stage = results_of(example("classroom-direct-continuous"))
    device, drive = stage.design.device, stage.design.drive.direct
    wanted = device.transconductance * (drive.bias_voltage - device.threshold_voltage)
    assert rated(stage, "lost_loop_current") == pytest.approx(wanted)
    assert stage.lost_loop is not None
    assert stage.lost_loop.course.end == REACTION


def test_what_is_left_at_turn_off_goes_into_the_avalanche_rating(bare: Results) -> None:
    row = next(item for item in bare.limits if item.rating == "turn_off_energy")
    assert bare.lost_loop is not None
    current = bare.lost_loop.course.last
    plain = 0.5 * bare.coil.primary_inductance * current**2
    running = max(float(c.load.turn_off_energy) for c in bare.corners)
    assert row.value == pytest.approx(max(plain * 720.0 / (720.0 - 37.8), running), rel=1e-6)


def test_the_trip_is_a_remedy_that_keeps_its_promise(bare: Results) -> None:
    found = next(item for item in remedies(bare) if item.kind == "trip")
    again = evaluate(with_values(bare.design, found.edits), verify=False)
    assert again.first_limit.margin == pytest.approx(found.smallest_margin, abs=1e-6)
    assert math.isfinite(found.margin)
    assert found.margin > 0.0
