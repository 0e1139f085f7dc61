"""Stages of the first power-up without the main supply."""

from __future__ import annotations

import math
from typing import Final

from burstwise.core.assembly.bias_parts import TrimmedBias, bias_divider, gate_trimmer
from burstwise.core.assembly.fuse_words import fuse_words
from burstwise.core.assembly.hookup import ZERO, Hookup
from burstwise.core.assembly.low_voltage_parts import low_rail, made_from_main
from burstwise.core.assembly.parts import PartsList
from burstwise.core.assembly.powerup import Expectation, FaultReadings, Stage, expectation
from burstwise.core.assembly.powerup_faults import COMMON, with_effect
from burstwise.core.bench.faults import Fault, with_fault
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.interrupter.safety import first_on_time
from burstwise.core.series import value_above
from burstwise.core.stage.circuit import CoilValues
from burstwise.core.units import shown

STOP: Final = (
    "Switch off at once at smoke, smell, a reading outside its band, a heat sink above its limit, "
    "or a noise that you do not know."
)
EMPTY: Final = 1.0
"""Voltage below which a bulk capacitor counts as empty [V]; common practice, no source."""
_BLEED_OPEN: Final = 10.0
"""Voltage above which it is emptied by hand after the bleed's time [V]; common practice."""
_DISCHARGE_TIME: Final = 1.0
"""Time constant of the discharge resistor, about [s]; common practice, no source."""
_METER: Final = "multimeter, ohms"
_VOLTS: Final = "multimeter, d.c. volts"


def discharge_resistor(results: Results) -> float:
    """Resistor to empty the bus by hand: about 1 s of time constant, 100 ohm at least [ohm]."""
    wanted = max(_DISCHARGE_TIME / results.design.supply.bus_capacitance, 100.0)
    return value_above(min(wanted, 10e3), series="E6")


def empties_in(results: Results, parts: PartsList) -> float:
    """Time in which the bleed resistor brings the bus down to `EMPTY` [s]."""
    bleed = parts.by_role["bleed"].value
    assert bleed is not None
    supply = results.design.supply
    return bleed * supply.bus_capacitance * math.log(max(supply.voltage / EMPTY, 1.0))


def switch_off_words(results: Results, parts: PartsList) -> str:
    """How to switch off and wait, in sentences."""
    return (
        "Main supply off first; wait until a meter across the bus reads below "
        f"{shown(EMPTY, 'V')} (some {shown(empties_in(results, parts), 's', digits=2)}). If it "
        f"still reads above {shown(_BLEED_OPEN, 'V')} then, {parts.by_role['bleed'].reference} is "
        f"open: hold the discharge resistor across it. Low voltage off last."
    )


def before_power(results: Results, parts: PartsList) -> Stage:
    """Resistances, with everything off.

    Parameters
    ----------
    results : Results
        Evaluated design.
    parts : PartsList
        Its parts.
    """
    bleed = parts.by_role["bleed"]
    assert bleed.value is not None
    settles = shown(5 * bleed.value * results.design.supply.bus_capacitance, "s", digits=2)
    held = "bulk" if "bulk" in parts.by_role else "film"
    wanted = [
        expectation(
            "bus_resistance",
            "Resistance from MAIN + to 0 V",
            bleed.value,
            "Ω",
            hookup=Hookup("MAIN + (red lead)", ZERO, _METER),
            if_low="Something shorts the bus: transistor, a clamp, or "
            + ("a reversed electrolytic." if held == "bulk" else "the film capacitor itself."),
            if_high=f"{bleed.reference} is missing or open: the {held} capacitor would stay "
            "charged after switching off.",
        ),
        *_gate_to_source(results, parts),
        *_feedback_path(results),
    ]
    open_wire = FaultReadings(Fault.OPEN_FEEDBACK, 1.0, {"feedback_path": math.inf})
    return Stage(
        "before-power",
        "Before any power",
        (
            _emergency_off(),
            _discharge_words(results),
            "Compare every joint with the circuit drawing; look for solder bridges"
            + (" and reversed electrolytics." if held == "bulk" else "."),
            *([_link_open(parts)] if made_from_main(parts.by_role) else []),
            *([fuse_words(results)] if "fuse" in parts.by_role else []),
            f"Volts before ohms: a meter on d.c. volts from MAIN + to 0 V must read below "
            f"{shown(EMPTY, 'V')}, else hold the discharge resistor across it until it does. Only "
            "then turn the meter to ohms.",
            f"Measure from MAIN + to 0 V until the reading stands still (some {settles}: the meter "
            f"charges the {held} capacitor).",
        ),
        tuple(wanted),
        "Go on when the readings are right.",
        "Do not connect any supply before they are.",
        faults=(open_wire,)
        if any(one.name == "feedback_path" for one in wanted)
        and not results.design.drive.past_input
        else (),
    )


def _emergency_off() -> str:
    return (
        "One switch, outside the barrier and in a second person's reach, cuts the main supply: "
        "try it. That person stays at it from the first stage with the coil on."
    )


def _discharge_words(results: Results) -> str:
    supply = results.design.supply
    stored = 0.5 * supply.bus_capacitance * supply.voltage**2
    resistor = discharge_resistor(results)
    return (
        f"Make a discharge tool: {shown(resistor, 'Ω')}, wirewound, good for "
        f"{shown(max(stored, 0.1), 'J', digits=2)} in one go and a peak of "
        f"{shown(supply.voltage**2 / resistor, 'W', digits=2)}, on an insulated handle, one end "
        "clipped to 0 V."
    )


def _link_open(parts: PartsList) -> str:
    first = "regulator" if "regulator" in parts.by_role else "zener_resistor"
    return (
        f"Leave the link from MAIN + to {parts.by_role[first].reference} open until the last "
        "stage; until then a bench supply feeds the low voltage there."
    )


def _gate_to_source(results: Results, parts: PartsList) -> list[Expectation]:
    """Resistor that empties the gate; nothing where none is fitted."""
    part = parts.by_role.get("gate_source_resistor")
    if part is None or part.value is None:
        return []
    return [
        expectation(
            "gate_to_source",
            "Resistance from gate to 0 V",
            part.value,
            "Ω",
            hookup=Hookup("gate (red lead)", ZERO, _METER),
            if_low="The transistor's gate is damaged, or the driver's output loads it while it has "
            "no supply: read again with the driver's end of the gate lead off.",
            if_high=f"{part.reference} is missing or open: a gate with a loose driver would keep "
            "its charge and leave the transistor on.",
        )
    ]


def _feedback_path(results: Results) -> list[Expectation]:
    """Winding from top to drive; nothing where its resistance is not known."""
    constants = results.coil.constants
    if constants is None:
        return []
    drive = results.design.drive
    at = "the driver's input" if drive.kind == "gated" else "the gate"
    if drive.past_input:
        at = ZERO
    return [
        expectation(
            "feedback_path",
            f"Resistance from the top load's end of the winding to {at}",
            constants.secondary_resistance_dc,
            "Ω",
            band=0.15,
            least=1.0,
            hookup=Hookup("upper end of the secondary", at, _METER),
            if_low="Thicker or less wire than planned, or turns shorted.",
            if_high="A bad joint or thinner wire; where the meter shows an open circuit (write "
            "open), the feedback is open.",
        )
    ]


def coil_alone(results: Results) -> Stage:
    """Resonance and bandwidth of the secondary, by a signal generator.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    coil = results.carrier.circuit.coil
    sound = _resonator(coil)
    pick_up = Hookup("a pick-up wire half a metre off", ZERO, "oscilloscope")
    wanted = (
        expectation(
            "resonance", "Frequency at which the pick-up is largest", sound["resonance"], "Hz",
            hookup=pick_up,
            if_low="More turns or capacitance than planned, or something stands near.",
            if_high="Fewer turns, shorted ones, or a smaller top load.",
        ),
        Expectation(
            "bandwidth",
            "Width between the two frequencies at which the pick-up is 0.71 of that",
            sound["bandwidth"], 0.5 * sound["bandwidth"], 1.6 * sound["bandwidth"], "Hz",
            "The pick-up is saturated: less drive.",
            "Losses: a shorted turn, a damp former, or a generator coupled too closely.",
            pick_up,
        ),
    )  # fmt: skip
    return Stage(
        "coil-alone",
        "Secondary alone",
        (
            "Everything off. Take one primary lead off; join the secondary's foot to 0 V and the "
            "earth plane below the coil; top load fitted, nobody within a metre.",
            "Signal generator of a few volts into one turn of wire around the foot, its clip at "
            "0 V; an oscilloscope's pick-up wire half a metre away.",
            "Afterwards take the other primary lead and the foot off as well: the coil stays off "
            "until its own first stage.",
        ),
        wanted,
        "Go on when both pass. Without a generator go on as well, but then a shorted turn may "
        "stay unseen.",
        STOP,
        faults=_seen_alone(results, sound),
    )


def _resonator(coil: CoilValues) -> dict[str, float]:
    return {"resonance": coil.resonance, "bandwidth": coil.resonance / coil.quality_factor}


def _seen_alone(results: Results, sound: dict[str, float]) -> tuple[FaultReadings, ...]:
    """Common faults that change the secondary itself."""
    circuit, found = results.carrier.circuit, []
    for fault in COMMON:
        for size in fault.sizes:
            changed = with_fault(circuit, fault, size)
            if changed is not None:
                found.append(FaultReadings(fault, size, _resonator(changed.coil)))
    return with_effect(found, sound)


def low_voltage(results: Results, parts: PartsList) -> Stage:
    """Low-voltage chain alone.

    Parameters
    ----------
    results : Results
        Evaluated design.
    parts : PartsList
        Its parts.
    """
    design = results.design
    wanted = [
        expectation(
            "low_rail", "Voltage of LOW +", low_rail(design), "V", band=0.05,
            hookup=Hookup("LOW +", ZERO, _VOLTS),
            if_low="The rail is overloaded or its supply too low: look for a reversed part.",
            if_high="It does not regulate: wrong part, or its common pin is open.",
        )
    ]  # fmt: skip
    if design.interrupter.enabled:
        wanted += _pulses(results)
    return Stage(
        "low-voltage",
        "Low-voltage chain alone",
        (
            "Main supply disconnected, coil disconnected.",
            _fed_from(results, parts),
            *_knob(results),
        ),
        tuple(wanted),
        "Go on when all readings pass and nothing warms up. From here on the low voltage is "
        "switched on first and off last: without it nothing holds the gate against a fast drain.",
        STOP,
    )


def _fed_from(results: Results, parts: PartsList) -> str:
    if not made_from_main(parts.by_role):
        return "Feed the low voltage from its supply, limited to 100 mA."
    limit = "100 mA" if "regulator" in parts.by_role else "50 mA"
    return (
        f"Feed the open link to the low-voltage supply from a bench supply of "
        f"{shown(results.design.supply.voltage, 'V')}, limited to {limit}."
    )


def _knob(results: Results) -> list[str]:
    """Where the knob stands, and what the first burst is, for a timer made of parts."""
    chosen = resolved_interrupter(results.design).chosen
    if chosen is None:
        return []
    return [
        "Set the knobs so that frequency and duty read as below, mark the place, then turn the "
        "duty knob to its low stop: every stage begins there.",
        first_burst_words(results),
    ]


def first_burst_words(results: Results) -> str:
    """The first burst after the timer is switched on, in a sentence; empty without parts."""
    chosen = resolved_interrupter(results.design).chosen
    if chosen is None:
        return ""
    first = first_on_time(chosen)
    return (
        f"The first burst after the timer gets its supply lasts up to "
        f"{shown(first, 's', digits=4)}, for its capacitor starts empty: let the timer run for a "
        "few seconds before the main supply comes on."
    )


def _pulses(results: Results) -> list[Expectation]:
    loose = 0.25 if results.design.interrupter.given_by == "parts" else 0.05
    scope = Hookup("PULSES", ZERO, "oscilloscope or frequency counter")
    if results.design.interrupter.given_by == "numbers":
        slow = fast = "The pulse source is set wrongly or loaded by what follows."
        short, long = "On-time too short", "On-time too long"
    else:
        slow = "Timing capacitor or resistors too large, or the wrong potentiometer."
        fast = "Timing capacitor or resistors too small, or a joint is open."
        short = "On-time too short: knob, steering diode or charge resistor"
        long = "On-time too long: knob, or a steering diode the wrong way round"
    wanted = [
        expectation(
            "interrupter_frequency", "Frequency at PULSES", results.frequency, "Hz", band=loose,
            hookup=scope,
            if_low=slow,
            if_high=fast,
        )
    ]  # fmt: skip
    if results.duty > 0:
        wanted.append(
            expectation(
                "interrupter_duty", "Duty at PULSES, high over period", results.duty, "%",
                band=loose, hookup=scope,
                if_low=f"{short}.",
                if_high=f"{long}. Do not go on: the stage would overheat.",
            )
        )  # fmt: skip
    return wanted


def _held_enabled(results: Results) -> str:
    """How the driver is held enabled without the interrupter, in a sentence."""
    part = results.design.interrupter
    if not part.enabled:
        return "The driver is always enabled: it has no interrupter."
    if part.chain.gating == "supply":
        return (
            "Hold the driver enabled: bridge the switch in its supply with a wire, for this stage "
            "only. Take the wire off to disable it."
        )
    level = "LOW +" if part.chain.active_level == "high" else ZERO
    return (
        f"Hold the driver enabled: take the wire off its enable pin and tie the pin to {level}, "
        f"for this stage only. To disable it tie it to {ZERO if level != ZERO else 'LOW +'}."
    )


def _trip_tried(results: Results) -> list[str]:
    """How a trip is tried before anything relies on it; nothing without one."""
    trip = results.design.protection.trip
    if trip is None:
        return []
    if trip.kind == "time-out":
        return [
            f"Try the trip: without the coil it must bring the gate down {shown(trip.delay, 's')} "
            "after the drive is enabled, and keep it down until it is reset. Hold it reset for "
            "the readings below."
        ]
    level = shown(trip.current * results.design.drive.shunt_resistance, "V", digits=3)
    return [
        f"Try the trip: take its input off the shunt and bring a little more than {level} to it "
        "from a bench supply through 1 kΩ. The gate must fall and stay down until the trip is "
        "reset. Put the input back and reset it."
    ]


def driver(results: Results) -> Stage:
    """Gate driver at rest, without the coil.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    part = results.design.drive.gated
    rest = min(part.input_bias, part.input_clamp_high)
    high = (rest > part.input_threshold_high) is not part.inverting
    level = part.driver_supply if high else 0.0
    return Stage(
        "driver",
        "Driver without the coil",
        (
            "Main supply still disconnected; the transistor's gate is connected, the coil is not.",
            _held_enabled(results),
            *_trip_tried(results),
        ),
        (
            expectation(
                "input_rest", "Voltage at the driver's input", rest, "V", band=0.15, least=0.1,
                hookup=Hookup("driver's input pin", ZERO, _VOLTS),
                if_low="Bias or clamp is wrong; the loop may not start.",
                if_high="The clamp is open: the base current would destroy the input.",
            ),
            expectation(
                "gate_rest", "Voltage at the gate", level, "V", band=0.08, least=0.2,
                hookup=Hookup("gate", ZERO, _VOLTS),
                if_low="The driver is not enabled, is locked out, or inverts where it should not.",
                if_high="The output is high where it should rest low: check enable and polarity.",
            ),
            Expectation(
                "driver_current", "Current into the driver's supply pin", part.quiescent_current,
                0.0, 3.0 * part.quiescent_current + 1e-3, "A", "",
                "The driver oscillates or is damaged; look at its output with an oscilloscope.",
                Hookup("LOW +", "the driver's supply pin", "milliammeter in the lead"),
            ),
        ),
        "Go on when the gate follows the enable by hand, and falls below 1 V with it off.",
        STOP,
    )  # fmt: skip


def _trimmed_words(trimmed: TrimmedBias | None) -> list[str]:
    """How a trimmer is tried before it is set on the running stage; nothing without one."""
    if trimmed is None:
        return []
    return [
        f"Turn the trimmer from end to end: the bias must go from "
        f"{shown(trimmed.lowest, 'V', digits=2)} at its full resistance to "
        f"{shown(trimmed.highest, 'V', digits=2)}. Leave it at its full resistance, the low end; "
        "it is set in the first stage with the coil."
    ]


def gate_bias(results: Results) -> Stage:
    """Bias of a direct stage, without the coil.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    part = results.design.drive.direct
    trimmed = gate_trimmer(results.design)
    if trimmed is None:
        open_circuit = bias_divider(
            low_rail(results.design), part.bias_voltage, resistance=part.bias_resistance
        ).voltage
    else:
        open_circuit = trimmed.lowest
    threshold = results.design.device.threshold_voltage
    rest = min(open_circuit, part.clamp_high) if part.clamp_fitted else open_circuit
    at_rest = "" if trimmed is None else ", trimmer at its full resistance"
    return Stage(
        "gate-bias",
        "Gate bias without the coil",
        (
            "Main supply still disconnected; the transistor is in place, the coil is not.",
            *_trimmed_words(trimmed),
            *_trip_tried(results),
        ),
        (
            expectation(
                "gate_bias", f"Voltage from gate to source{at_rest}", rest, "V",
                band=0.08, least=0.1,
                hookup=Hookup("gate", f"{ZERO} (no current flows in the shunt yet)", _VOLTS),
                if_low=f"Below the threshold of {shown(threshold, 'V')} the stage does not start."
                if trimmed is None
                else "Wrong resistors, or a joint is open: the trimmer would not reach the bias.",
                if_high="The transistor would conduct hard before it oscillates: correct the "
                "divider first.",
            ),
        ),
        "Go on when the bias passes.",
        STOP,
    )  # fmt: skip
