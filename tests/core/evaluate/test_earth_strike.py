"""A strike to earth is a stage whose coil breaks out at the arc's own voltage."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from corner_designs import measured

from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.earth_strike import earth_strike_findings
from burstwise.core.evaluate.results import Results
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import carrier

GATED = "classroom-gated-interrupted"


@pytest.fixture(scope="module")
def struck(example: Callable[[str], Design]) -> Results:
    return evaluate(measured(example(GATED)), verify=False)


def test_it_is_a_stage_that_breaks_out_at_the_arc_s_voltage(struck: Results) -> None:
    # The other way round: an arc typed in as a breakout, run at the same supply and heat.
    design, found = struck.design, struck.earth_strike
    assert found is not None
    volts, bus = design.coil.measured.breakout_voltage, found.run.circuit.supply_voltage
    arc = with_values(
        design,
        {"coil.measured.breakout_voltage": 0.05 * volts, "coil.breakout_resistance": 1e3},
    )
    typed = stage_circuit(arc, coil_of(arc), supply_voltage=bus)
    wanted = carrier(typed.with_on_resistance(struck.carrier.circuit.switch.on_resistance))
    assert bus == pytest.approx(1.05 * struck.carrier.circuit.supply_voltage)
    assert found.drain_voltage == pytest.approx(wanted.drain_voltage_worst, rel=0.01)
    assert found.drain_current == pytest.approx(wanted.drain_current_worst, rel=0.01)
    # The arc holds the top: its voltage, and what its current adds in 1 kohm.
    assert 0.05 * volts < found.run.top_voltage_peak < 0.15 * volts


def test_it_is_told_where_the_device_may_not_survive_it_and_judges_no_rating(
    struck: Results,
) -> None:
    told = {item.code: item for item in struck.findings}
    assert struck.earth_strike is not None
    assert struck.earth_strike.drain_voltage > struck.design.device.drain_voltage_rating
    assert told["earth-strike"].severity.value == "caution"
    words = told["earth-strike"].text.replace("\N{NO-BREAK SPACE}", " ")
    assert "740 V and 30 A to the transistor" in words
    assert "which is rated 650 V at the drain." in words
    assert "The trip at 15 A ends it" in words
    assert len(words) < 320
    assert all(item.value < struck.earth_strike.drain_voltage for item in struck.limits
               if item.rating == "drain_voltage")  # fmt: skip


def test_a_device_that_survives_it_gets_no_finding(example: Callable[[str], Design]) -> None:
    results = evaluate(example("demonstration-gated-large"), verify=False)
    device, found = results.design.device, results.earth_strike
    assert found is not None
    assert found.drain_voltage < device.drain_voltage_rating
    assert found.drain_current < device.pulsed_current
    assert "earth-strike" not in {item.code for item in results.findings}


def test_a_derated_use_of_the_device_makes_no_caution_of_it(struck: Results) -> None:
    # 744 V and 30 A, by the test above: within ratings of 750 V and 38 A, whatever part is used.
    stronger = with_values(
        struck.design,
        {
            "device.drain_voltage_rating": 750.0,
            "device.avalanche_voltage": 800.0,
            "device.voltage_use": 0.5,
        },
    )
    assert struck.earth_strike is not None
    found = struck.earth_strike
    assert not list(earth_strike_findings(stronger, found))
    weaker = with_values(stronger, {"device.pulsed_current": 20.0})
    assert "rated 20 A pulsed." in next(earth_strike_findings(weaker, found)).text.replace(
        "\N{NO-BREAK SPACE}", " "
    )


def test_without_a_discharge_there_is_no_strike(struck: Results) -> None:
    quiet = with_values(struck.design, {"coil.measured.breakout_voltage": 3e5})
    assert evaluate(quiet, verify=False).earth_strike is None
