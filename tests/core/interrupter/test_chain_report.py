"""Chain of a whole design: every finding by a case of its own, loads and sizes by hand."""

import math

import pytest

from burstwise.core.design.document import design_from, with_values
from burstwise.core.interrupter.chain_report import chain_report, turned
from burstwise.core.interrupter.feed import StageFigures

MEASURED = {
    "primary_inductance": 2.5e-6, "primary_resistance": 0.05, "secondary_inductance": 12e-3,
    "secondary_capacitance": 9e-12, "quality_factor": 150.0, "coupling": 0.2,
    "breakout_voltage": 20e3,
}  # fmt: skip
STAGE = StageFigures(
    ring_up=20e-6, carrier=500e3, drain_current_peak=2.0, supply_current=1.5, bus_low=35.0
)
PARTS = {"interrupter.given_by": "parts"}
REGULATOR = {"supply.voltage": 24.0, "supply.low_voltage": {}}


@pytest.fixture
def report():
    start = design_from({"coil": {"measured": MEASURED}})

    def made(values=(), stage=STAGE):
        return chain_report(with_values(start, dict(values)), stage)

    return made


def codes(found):
    return {finding.code for finding in found.findings if finding.severity != "note"}


def test_a_plain_design_says_nothing(report):
    found = report()
    assert found.findings == ()
    assert found.buffer is found.indicator is found.low_supply is found.safety is None
    assert found.polarity.on_when_high


def test_an_antenna_turns_the_sense_once_more(report):
    antenna = {"drive.gated.feedback": "antenna"}
    assert report({**antenna, "drive.feedback_sense": "reversed"}).findings == ()
    assert report({**antenna, "drive.gated.inverting": True}).findings == ()
    assert report({"drive.gated.feedback": "current transformer"}).findings == ()


@pytest.mark.parametrize(
    ("values", "code"),
    [
        ({"interrupter.chain.buffer": {}}, "chain-inverted"),
        ({"interrupter.chain.active_level": "low"}, "chain-inverted"),
        ({**PARTS, "drive.kind": "direct"}, "chain-inverted"),
        ({"drive.feedback_sense": "reversed"}, "winding-sense"),
        ({"drive.gated.inverting": True}, "winding-sense"),
        ({"drive.gated.feedback": "antenna"}, "winding-sense"),
        (
            {
                "drive.gated.feedback": "antenna", "drive.gated.inverting": True,
                "drive.feedback_sense": "reversed",
            },
            "winding-sense",
        ),
        ({"interrupter.chain.gating": "supply"}, "gating-slow"),
        ({"interrupter.chain.decoupling": 10e-9}, "decoupling-small"),
        ({"drive.gated.undervoltage_lockout": 11.5}, "lockout-margin"),
        ({**REGULATOR, "drive.gated.driver_supply": 15.0}, "low-voltage-differs"),
        ({**REGULATOR, **PARTS, "interrupter.parts.supply": 9.0}, "low-voltage-differs"),
        ({"supply.low_voltage": {"kind": "zener"}, "supply.voltage": 12.4}, "low-supply-input"),
        ({"supply.low_voltage": {"kind": "separate", "current_limit": 0.01}},
         "low-supply-current"),
        ({**PARTS, "drive.gated.undervoltage_lockout": 3.0}, "brown-out-linear"),
        ({**PARTS, "interrupter.parts.supply": 5.0, "interrupter.parts.timer": "bipolar",
          "interrupter.chain.indicator": {"forward_voltage": 4.9}}, "chain-part"),
    ],
)  # fmt: skip
def test_each_fault_has_its_finding(report, values, code):
    assert code in codes(report(values))


@pytest.mark.parametrize(
    "values",
    [
        {"interrupter.chain.buffer": {}, "interrupter.chain.active_level": "low"},
        {**PARTS, "drive.kind": "direct", "interrupter.chain.buffer": {}},
        {"drive.gated.inverting": True, "drive.feedback_sense": "reversed"},
        {**REGULATOR, "interrupter.chain.indicator": {"current": 2e-3}},
    ],
)
def test_faults_that_are_put_right_say_nothing(report, values):
    assert codes(report(values)) <= {"no-on-time-cap"}


def test_drop_out_and_lock_out_follow_the_sagging_bus(report):
    sagging = StageFigures(20e-6, 500e3, 2.0, 1.5, bus_low=9.5)
    found = report({**REGULATOR, "supply.voltage": 14.0}, sagging)
    assert {"regulator-dropout", "lockout-margin"} <= codes(found)
    assert found.low_supply.output_low == pytest.approx(9.5 - 2.0)


def test_a_small_output_sags_under_base_and_led(report):
    values = {"interrupter.chain.buffer": {"collector_resistor": 200.0}, **PARTS}
    assert "timer-output-load" not in codes(report(values))
    lamp = {"interrupter.chain.indicator": {"current": 6e-3}}
    assert "timer-output-load" in codes(report(values | lamp))


def test_loads_add_up(report):
    values = {
        "interrupter.duty": 0.4, "interrupter.chain.buffer": {}, "device.gate_charge": 22e-9,
        "interrupter.chain.indicator": {}, "interrupter.chain.active_level": "low",
    }  # fmt: skip
    found = report(values)
    collector = (12 - 0.15) / 1000
    base = (12 - 0.7) / found.buffer.base_resistor
    lamp = (12 - 2) / found.indicator.resistor
    # The gate is high in half of a burst, and 10 kohm lie across it then.
    gate = 22e-9 * 500e3 + 0.5 * 12 / 10e3
    steady = 0.4e-3 + 2e-3
    assert found.low_load_burst == pytest.approx(steady + collector + base + lamp + gate)
    assert found.low_load == pytest.approx(steady + 0.4 * (collector + base + lamp + gate))


def test_gate_figures_are_those_of_the_design(report):
    gate = report().gate
    total = (2.0 + 1.5) / 2 + 2.0 + 4.7
    assert gate.peak_current == pytest.approx(12 / total)
    assert gate.rise_time == pytest.approx(math.log(9) * total * 22e-9 / 12)


def test_shortest_on_time_stands_against_the_ring_up(report):
    slow = StageFigures(5e-3, 500e3, 2.0, 1.5, 35.0)
    found = report(PARTS, slow)
    assert "on-time-below-ring-up" in codes(found)
    assert found.safety.ring_up_ratio < 1


def test_a_stage_that_may_not_run_on_says_when_a_stuck_timer_kills_it(report):
    frail = StageFigures(20e-6, 500e3, 2.0, 1.5, 35.0, longest_on_time=40e-3)
    assert {"no-on-time-cap", "on-time-above-limit"} <= codes(report(PARTS, frail))
    assert codes(report(PARTS)) == set()
    capped = PARTS | {"interrupter.parts.circuit": "astable-capped-output"}
    assert "no-on-time-cap" not in codes(report(capped, frail))


def test_a_stage_that_does_not_oscillate_still_gets_a_report(report):
    dead = StageFigures(math.inf, 0.0, 0.1, 0.2, 35.0)
    found = report(PARTS, dead)
    assert found.gate is found.safety is None


@pytest.mark.parametrize("kind", ["gated", "direct"])
@pytest.mark.parametrize("buffer", [None, {}])
@pytest.mark.parametrize("level", ["high", "low"])
@pytest.mark.parametrize("gating", ["enable", "supply"])
def test_the_advice_turns_the_chain_round(report, kind, buffer, level, gating):
    # Truth table by hand: each inverting link turns the sense once; the pull-down of a direct
    # drive inverts, a supply switch does not, an enable does where it is active low.
    values = {
        "drive.kind": kind,
        "interrupter.given_by": "parts",
        "interrupter.chain.buffer": buffer,
        "interrupter.chain.gating": gating,
        "interrupter.chain.active_level": level,
    }
    last = kind == "direct" or (gating == "enable" and level == "low")
    inverted = ((buffer is not None) + last) % 2 == 1
    told = report(values)
    assert ("chain-inverted" in codes(told)) == inverted
    stuck = {item.output: item.consequence for item in told.safety.failures}
    assert ("without a pause" in stuck["stays low"]) == inverted
    assert ("without a pause" in stuck["stays high"]) == (not inverted)
    if not inverted:
        return
    text = next(item.text for item in told.findings if item.code == "chain-inverted")
    assert ("enable" in text.split("timer is off.")[1]) == (kind == "gated" and gating == "enable")
    start = design_from({"coil": {"measured": MEASURED}})
    edits = turned(with_values(start, values))[1]
    assert "chain-inverted" not in codes(report({**values, **edits}))
