"""Explanations of the figures while the stage is on and steady."""

from __future__ import annotations

import math

from burstwise.core.evaluate.feedback import input_share, input_swing
from burstwise.core.evaluate.results import Results
from burstwise.core.explain.build import (
    ENGINE,
    ENGINE_VALIDITY,
    Explainer,
    Reason,
    table_influences,
)
from burstwise.core.explain.device_numbers import DEVICE_NUMBERS
from burstwise.core.explain.explanation import Term
from burstwise.core.stage.circuit import GatedFeed
from burstwise.core.units import percent, shown

_LEAST = 1e-9


def _voltage(results: Results) -> Term:
    return Term("V", "bus voltage", results.carrier.circuit.supply_voltage, "V")


def _frequency(results: Results) -> Reason:
    run, coil = results.carrier, results.coil
    shift = run.frequency / coil.resonance - 1.0
    return Reason(
        "f_0*(1 + s)",
        (
            Term("f_0", "resonance of the secondary", coil.resonance, "Hz"),
            Term("s", "departure, by coupling, drive and delay", shift, "%"),
        ),
        words="The loop runs where its phase closes; that is near, not at, the resonance.",
        source=ENGINE, validity=ENGINE_VALIDITY,
    )  # fmt: skip


def _bus(results: Results) -> Reason:
    voltage = results.carrier.circuit.supply_voltage
    supply = results.design.supply.voltage
    return Reason(
        "V_s - d",
        (
            Term("V_s", "supply voltage", supply, "V"),
            Term("d", "mean sag while on", supply - voltage, "V"),
        ),
        words="Mean of the bus over the on-time; the sag is that of source resistance and bulk "
        "capacitor.",
        source="First-order circuit of source resistance, bulk capacitor and its series "
        "resistance.", validity="Current constant over the on-time.",
    )  # fmt: skip


def _current_mean(results: Results) -> Reason:
    run = results.carrier
    voltage = _voltage(results)
    return Reason(
        "P/V", (Term("P", "input power", run.input_power, "W"), voltage),
        words="Net of all that returns to the bus, by the body diode and by a reservoir clamp's "
        "resistor. Only the mean counts for power: the bus voltage is constant over a cycle.",
        source="Charge drawn from the bus, booked by the solver.", validity=ENGINE_VALIDITY,
        influences=table_influences(results, "supply_current_mean"),
    )  # fmt: skip


def _current_rms(results: Results) -> Reason:
    run = results.carrier
    ripple = math.sqrt(max(run.supply_current_rms**2 - run.supply_current_mean**2, 0.0))
    return Reason(
        "sqrt(I_m**2 + I_r**2)",
        (
            Term("I_m", "mean supply current", run.supply_current_mean, "A"),
            Term("I_r", "RMS of what the current has beside that mean", ripple, "A"),
        ),
        words="Gross: of the current into the primary; what a reservoir clamp's resistor gives "
        "back to the bus goes another way and is not taken off. The alternating part heats wires "
        "and capacitors and carries no power from the supply; taking the RMS for the mean "
        "overstates the power.",
        source="Parseval's theorem.", validity="Always.",
    )  # fmt: skip


def _input_power(results: Results) -> Reason:
    run = results.carrier
    voltage = _voltage(results)
    terms = (voltage, Term("I", "mean supply current, net", run.supply_current_mean, "A"))
    whole = sum(run.losses.values()) or 1.0
    largest = sorted(run.losses.items(), key=lambda item: -item[1])[:4]
    shares = ", ".join(
        f"{name.replace('_', ' ')} {percent(power / whole)}" for name, power in largest
    )
    return Reason(
        "V*I", terms,
        words=f"Where it goes: {shares}.", source="Energy from the bus, booked by the solver.",
        validity=ENGINE_VALIDITY, influences=table_influences(results, "input_power"),
    )  # fmt: skip


def _gate_time_constant(results: Results) -> Reason:
    circuit = results.carrier.circuit
    switch = circuit.switch
    return Reason(
        "(R_o + R_i)*C_i + g_m*L_s",
        (
            Term("R_o", "driver with gate resistor, mean of both ways", circuit.gate_resistance,
                 "Ω"),
            Term("R_i", "gate resistance on the die", switch.internal_gate_resistance, "Ω"),
            Term("C_i", "input capacitance", circuit.input_capacitance, "F"),
            Term("g_m", "transconductance", switch.transconductance, "S"),
            Term("L_s", "common-source inductance", circuit.source_inductance, "H"),
        ),
        words="While the channel is saturated the drain current's rise takes voltage from the gate "
        "in the common-source inductance, which counts like a larger gate resistance. In a direct "
        "stage the base current drives the gate and there is no R_o.",
        source="First-order part of the gate loop's equation, see docs/theory_stage.md.",
        validity="Drain voltage at rest; while it moves, the gate-drain capacitance adds to it.",
    )  # fmt: skip


def _driver_delay(results: Results) -> Reason:
    run = results.carrier
    feed = run.circuit.feed
    first = second = share = 0.0
    if isinstance(feed, GatedFeed):
        first, second = feed.delay, max(feed.slow_delay, feed.delay)
        share = (run.driver_delay - first) / (second - first) if feed.slew_counts else 0.0
    return Reason(
        "t_1 + s*(t_2 - t_1)",
        (
            Term("t_1", "delay at the fast slew", first, "s"),
            Term("t_2", "delay at the slow slew", second, "s"),
            Term("s", "way between both, by the time per volt at the threshold", share, "%"),
        ),
        words="The longer of both edges in the steady state. A direct stage has none.",
        source="Linear in the time per volt: Sakurai and Newton, IEEE J. Solid-State Circuits 25 "
        "(1990) 584, from memory.",
        validity="Between the two slews entered; held beyond them.",
    )  # fmt: skip


def _current_peak(results: Results) -> Reason:
    run = results.carrier
    crest = run.drain_current_peak / max(run.drain_current_rms, _LEAST)
    return Reason(
        "c*I_d",
        (
            Term("c", "crest factor of the waveform", crest, ""),
            Term("I_d", "RMS drain current", run.drain_current_rms, "A"),
        ),
        words="The peak does not follow the duty: a burst of full length has the peak of a "
        "continuous stage.",
        source=ENGINE, validity=ENGINE_VALIDITY,
        influences=table_influences(results, "drain_current_peak"),
    )  # fmt: skip


def _drain_rms(results: Results) -> Reason:
    run = results.carrier
    rate = run.frequency if run.oscillates else 1.0
    return Reason(
        "sqrt(f*q)",
        (
            Term("f", "carrier frequency", rate, "Hz"),
            Term("q", "integral of the squared current per cycle", run.drain_current_rms**2 / rate,
                 ""),
        ),
        words="Heats the channel by its on-resistance and the shunt.",
        source=ENGINE, validity=ENGINE_VALIDITY,
        influences=table_influences(results, "drain_current_rms"),
    )  # fmt: skip


def _drain_peak(results: Results) -> Reason:
    run = results.carrier
    voltage = _voltage(results)
    return Reason(
        "V + v_p",
        (
            voltage,
            Term("v_p", "voltage across the primary at that moment",
                 run.drain_voltage_peak - voltage.value, "V"),
        ),
        words=f"{run.drain_voltage_peak / voltage.value:.1f} times the bus: the primary's energy "
        "swings into the drain's capacitance, snubber and clamps.",
        source="Kirchhoff's law round supply, primary and drain; waveform from the solver.",
        validity=f"{ENGINE_VALIDITY} Inductance between drain and clamp adds to it.",
        influences=table_influences(results, "drain_voltage_peak"),
    )  # fmt: skip


def _top(results: Results) -> Reason:
    run, coil = results.carrier, results.coil
    energy = 0.5 * coil.secondary_capacitance * run.top_voltage_peak**2
    return Reason(
        "sqrt(2*W/C_2)",
        (
            Term("W", "energy in the top's capacitance at the peak", energy, "J"),
            Term("C_2", "secondary capacitance", coil.secondary_capacitance, "F"),
        ),
        words="Grows until losses and breakout take as much as the drive gives.",
        source=ENGINE, validity=ENGINE_VALIDITY,
        influences=table_influences(results, "top_voltage_peak"),
    )  # fmt: skip


def _input_current(results: Results) -> Reason:
    run, coil, design = results.carrier, results.coil, results.design
    share, swing = input_share(design, coil), input_swing(design, coil, run)
    told = (
        "The foot's current itself; clamps carry nearly all of it."
        if swing is None
        else f"Without clamps it would bring {shown(swing.free, 'V', digits=3)} to either side of "
        f"the input's bias; the thresholds need {shown(swing.needed, 'V', digits=2)}."
    )
    return Reason(
        "s*2*pi*f*C_2*V_t*r",
        (
            Term("s", "part of the foot's current", share, ""),
            Term("f", "carrier frequency", run.frequency, "Hz"),
            Term("C_2", "secondary capacitance", coil.secondary_capacitance, "F"),
            Term("V_t", "peak top voltage", run.top_voltage_peak, "V"),
            Term("r", "current at the foot over the lumped one", coil.base_current_ratio, ""),
        ),
        words=told,
        source="Current of a capacitance; a transformer divides it by its turns, an antenna takes "
        "the part that its capacitance is of the coil's. See docs/theory_stage.md.",
        validity="Sine current; a transformer without leakage.",
    )  # fmt: skip


def _device_power(results: Results) -> Reason:
    losses = results.carrier.losses
    return Reason(
        "P_c + P_d + P_a + P_g",
        (
            Term("P_c", "channel", losses.get("channel", 0.0), "W"),
            Term("P_d", "body diode", losses.get("body_diode", 0.0), "W"),
            Term("P_a", "avalanche", losses.get("avalanche", 0.0), "W"),
            Term("P_g", "gate resistance on the die", losses.get("internal_gate", 0.0), "W"),
        ),
        source="Energies booked by the solver.", validity=ENGINE_VALIDITY,
    )  # fmt: skip


def _cycles(results: Results) -> Reason:
    run = results.carrier
    count, time = run.cycles_to_90_percent, run.time_to_90_percent
    return Reason(
        "t_90*f_u",
        (
            Term("t_90", "time to 90 %", time, "s"),
            Term("f_u", "mean frequency on the way up", count / time if time > 0 else 0.0, "Hz"),
        ),
        words="Counted on the solved envelope from rest.", source=ENGINE, validity=ENGINE_VALIDITY,
    )  # fmt: skip


def _time_up(results: Results) -> Reason:
    run = results.carrier
    count, time = run.cycles_to_90_percent, run.time_to_90_percent
    return Reason(
        "n/f_u",
        (
            Term("n", "cycles to 90 %", count, ""),
            Term("f_u", "mean frequency on the way up", count / time if time > 0 else 0.0, "Hz"),
        ),
        words="An on-time shorter than some three of these loses top voltage.",
        source=ENGINE, validity=ENGINE_VALIDITY,
    )  # fmt: skip


CARRIER_NUMBERS: tuple[tuple[str, Explainer], ...] = (
    ("carrier.frequency_Hz", _frequency),
    ("carrier.supply_voltage_V", _bus),
    ("carrier.supply_current_mean_A", _current_mean),
    ("carrier.supply_current_rms_A", _current_rms),
    ("carrier.input_power_W", _input_power),
    ("carrier.gate_time_constant_s", _gate_time_constant),
    ("carrier.driver_delay_s", _driver_delay),
    ("carrier.drain_current_peak_A", _current_peak),
    ("carrier.drain_current_rms_A", _drain_rms),
    ("carrier.drain_voltage_peak_V", _drain_peak),
    ("carrier.top_voltage_peak_V", _top),
    ("carrier.input_current_peak_A", _input_current),
    ("carrier.device_power_W", _device_power),
    *DEVICE_NUMBERS,
    ("carrier.cycles_to_90_percent", _cycles),
    ("carrier.time_to_90_percent_s", _time_up),
)
