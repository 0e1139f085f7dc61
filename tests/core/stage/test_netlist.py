"""Text of the netlist: the elements it uses, and that words of the user stay comment."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stage.engine import Engine
from burstwise.core.stage.netlist import netlist_of

LETTERS = "RCLKVBEFST"
"""What every general simulator knows; Berkeley SPICE 3 and its descendants, B included."""


def _parts(text: str) -> dict[str, list[str]]:
    lines = text.splitlines()
    assert lines[0].startswith("*")
    parts = [line.split() for line in lines if line and line[0] not in "*."]
    names = [words[0] for words in parts]
    assert len({name.lower() for name in names}) == len(names)
    return {words[0]: words[1:] for words in parts}


def _value(formula: str, volts: dict[str, float]) -> float:
    for name, value in volts.items():
        formula = formula.replace(name, f"({float(value)!r})")
    return eval(formula, {"min": min, "max": max, "__builtins__": {}})


def _everything(circuits) -> StageCircuit:
    gated = circuits.gated
    law = ChargeSegments((5.0, 20.0), (1e-9, 3e-10, 5e-11))
    return replace(
        gated,
        clamps=circuits.clamps,
        coil=replace(gated.coil, base_current_ratio=1.1),
        switch=replace(gated.switch, drain_source_capacitance=law),
    )


def _slow(circuits) -> StageCircuit:
    gated = circuits.gated
    feed = replace(gated.feed, slow_delay=90e-9)
    return replace(gated, feed=feed, source_inductance=1e-8)


def test_only_common_elements_with_names_of_their_own(circuits) -> None:
    for circuit in (*circuits.both, _everything(circuits), _slow(circuits)):
        parts = _parts(netlist_of(circuit, duration=1e-5, title="stage"))
        assert {name[0] for name in parts} <= set(LETTERS)


def test_every_node_has_two_parts_or_a_source(circuits) -> None:
    """A node with one part hangs in the air; controls draw no current and do not count."""
    for circuit in (*circuits.both, _everything(circuits), _slow(circuits)):
        parts = _parts(netlist_of(circuit, duration=1e-5, title="stage"))
        ends = [
            (name, node)
            for name, words in parts.items()
            if name[0] != "K"
            for node in words[: 4 if name[0] == "T" else 2]
        ]
        for name, node in ends:
            if sum(node == other for _, other in ends) < 2:
                source = name[0] in "VE" or parts[name][2].startswith("V=")
                assert source, (name, node)


def test_values_are_those_of_the_circuit(circuits) -> None:
    circuit = _everything(circuits)
    parts = _parts(netlist_of(circuit, duration=1e-5, title="stage"))
    values = {name: float(words[2]) for name, words in parts.items() if name[0] in "RLC"}
    assert values["Lprimary"] == circuit.coil.primary_inductance
    assert values["Rshunt"] == pytest.approx(circuit.shunt_resistance)
    assert values["Csnubber_source"] == circuit.clamps.snubber_capacitance
    assert values["Cdrain_source"] == 5e-11
    assert float(parts["Kcoil"][2]) == circuit.coil.coupling
    assert f"TD={circuit.feed.delay:.12g}" in parts["Tdelay"]


def test_rest_of_the_loop_has_its_place(circuits) -> None:
    """Leads in series with the winding, inductance under the die, resistance before the gate."""
    gated = circuits.gated
    whole = replace(
        gated,
        coil=replace(gated.coil, lead_inductance=3e-7),
        switch=replace(gated.switch, internal_gate_resistance=2.5),
        feed=replace(gated.feed, slow_delay=90e-9),
        source_inductance=7e-9,
    )
    parts = _parts(netlist_of(whole, duration=1e-5, title="stage"))
    first, second = (float(parts[name][2]) for name in ("Lprimary", "Lsecondary"))
    assert first == pytest.approx(gated.coil.primary_inductance + 3e-7)
    mutual = float(parts["Kcoil"][2]) * math.sqrt(first * second)
    assert mutual == pytest.approx(gated.coil.mutual_inductance, rel=1e-9)
    assert parts["Lsource"] == ["die", "source", "7e-09"]
    assert parts["Rinternal_gate"] == ["terminal", "gate", "2.5"]
    assert parts["Sgate_drive_high"][0] == "terminal"
    assert parts["Cgate_die"][:2] == ["gate", "die"]
    assert parts["Evgs"][2:4] == ["gate", "die"]
    assert "v(late)" in parts["Bwanted"][2]
    plain = _parts(netlist_of(gated, duration=1e-5, title="stage"))
    extra = {"Lsource", "Rinternal_gate", "Vfoot", "Blate"}
    assert extra <= set(parts)
    assert not extra & set(plain)


def test_ends_of_one_winding_are_swapped_for_the_other_sense(circuits) -> None:
    circuit = circuits.direct
    one = _parts(netlist_of(circuit, duration=1e-5, title="stage"))
    two = _parts(netlist_of(replace(circuit, reversed_sense=True), duration=1e-5, title="stage"))
    assert one["Lsecondary"][:2] == two["Lsecondary"][1::-1]
    assert {name for name in one if one[name] != two[name]} == {"Lsecondary"}


def test_charge_in_the_text_is_the_law(circuits) -> None:
    """The capacitor that is left and the charge that follows add up to the charge of the law."""
    law = ChargeSegments((-4.0, 5.0, 20.0), (2e-9, 1e-9, 3e-10, 5e-11))
    circuit = circuits.gated.with_drain_source(law)
    parts = _parts(netlist_of(circuit, duration=1e-5, title="stage"))
    formula = parts["Bq_drain_source"][2].removeprefix("V=")
    own, size = (float(parts[f"C{name}drain_source"][2]) for name in ("", "q_"))
    volts = np.linspace(-30.0, 60.0, 91)

    def charge(v: float) -> float:
        return own * v + size * _value(formula, {"v(device,source)": v})

    found = np.array([charge(float(v)) for v in volts]) - charge(0.0)
    assert found == pytest.approx(law.charge(volts), rel=1e-9, abs=1e-18)


def test_channel_in_the_text_is_the_law(circuits, nodal) -> None:
    """In all four segments, by the second model's law."""
    circuit = circuits.gated
    parts = _parts(netlist_of(circuit, duration=1e-5, title="stage"))
    formula = parts["Bchannel"][2].removeprefix("I=")
    law = nodal.values(circuit)
    for v_ds in np.linspace(-20.0, 60.0, 33):
        for v_gs in np.linspace(-15.0, 15.0, 31):
            volts = {
                "v(device,source)": v_ds,
                "v(gate,source)": v_gs,
                "v(gate,device)": v_gs - v_ds,
            }
            expected = nodal.channel_current(v_ds, v_gs, law)
            assert _value(formula, volts) == pytest.approx(expected, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize(
    ("bias", "clamp_high", "word"),
    [(1.7, 5.6, "ON"), (1.6, 5.6, "OFF"), (12.0, 1.0, "ON")],
)
def test_driver_input_starts_as_in_the_engine(circuits, bias, clamp_high, word) -> None:
    """Inside the hysteresis the nearer threshold counts; a clamp may hold the bias down."""
    feed = replace(
        circuits.gated.feed,
        bias_voltage=bias,
        bias_resistance=1e3,
        clamp_high=clamp_high,
        clamp_resistance=200.0,
    )
    circuit = replace(circuits.gated, feed=feed)
    parts = _parts(netlist_of(circuit, duration=1e-5, title="stage"))
    assert parts["Scompare"][-1] == word
    assert Engine(circuit).comparator == int(word == "ON")


def test_words_of_the_user_stay_comment(circuits) -> None:
    text = netlist_of(
        circuits.direct,
        duration=1e-5,
        title="two\nR1 0 1 1\r\n.end\u2028x",
        notes=("10 µF at 25 °C\n.control", "naïve Ω"),
    )
    head = text.split("\n\n")[0].splitlines()
    assert len(head) == 3
    assert all(line.startswith("* ") for line in head)
    assert text.isascii()
    assert head[1] == "* 10 uF at 25 deg C .control"


def test_a_burst_is_ended_by_the_enable(circuits) -> None:
    text = netlist_of(circuits.direct, duration=1e-2, on_time=5e-3, title="stage")
    times = [float(value) for value in re.search(r"PWL\((.*)\)", text)[1].split()[::2]]
    assert all(a < b for a, b in itertools.pairwise(times))
    assert times[-2] == 5e-3
    without = netlist_of(circuits.direct, duration=1e-2, on_time=math.inf, title="stage")
    assert len(re.search(r"PWL\((.*)\)", without)[1].split()) == 4
