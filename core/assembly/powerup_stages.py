"""The stages of the first power-up of a design, with what the model expects at each."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from core.assembly.parts import PartsList, parts_list
from core.assembly.powerup import Expectation, PowerupPlan, Stage, expectation
from core.bench.readings import Column
from core.design.document import Design, with_values
from core.evaluate import evaluate
from core.evaluate.evaluation import table_for
from core.evaluate.results import Results
from core.interrupter.resolve import resolved_interrupter
from core.units import shown

LOW_SUPPLY: Final = 0.3
MIDDLE_SUPPLY: Final = 0.6
"""Supply of the first stages with the coil, over the design's."""
LOW_DUTY: Final = 0.1
_TABLE_LOW: Final = (0.85, 1.0)
_STOP: Final = (
    "Switch off at once at smoke, smell, a reading outside its band, a heat sink above its limit, "
    "or a noise that you do not know."
)


def powerup_plan(results: Results, parts: PartsList | None = None) -> PowerupPlan:
    """Plan of a design from bare resistance checks up to its own operating point.

    Parameters
    ----------
    results : Results
        Evaluated design; its own carrier table serves the stages above `MIDDLE_SUPPLY`.
    parts : PartsList, optional
        Its parts; made here if not given.
    """
    parts = parts or parts_list(results)
    stages = [_before_power(results, parts)]
    if any(role in parts.by_role for role in ("low_supply", "regulator", "zener")):
        stages.append(_low_voltage(results, parts))
    if results.design.drive.kind == "gated":
        stages.append(_driver(results))
    else:
        stages.append(_gate_bias(results, parts))
    stages += [_with_coil(results, *point) for point in _points(results.design)]
    return PowerupPlan(tuple(stages))


def _points(design: Design) -> list[tuple[str, float, float | None]]:
    """Names, shares of the supply, and duties of the stages with the coil."""
    if not design.interrupter.enabled:
        return [("low", LOW_SUPPLY, None), ("middle", MIDDLE_SUPPLY, None), ("full", 1.0, None)]
    full = resolved_interrupter(design).duty
    low = min(LOW_DUTY, full)
    points = [
        ("low", LOW_SUPPLY, low),
        ("middle", MIDDLE_SUPPLY, low),
        ("middle-duty", MIDDLE_SUPPLY, full),
        ("full", 1.0, full),
    ]
    return [point for number, point in enumerate(points) if point[1:] != points[number - 1][1:]]


def _before_power(results: Results, parts: PartsList) -> Stage:
    bleed = parts.by_role["bleed"]
    assert bleed.value is not None
    settles = shown(5 * bleed.value * results.design.supply.bus_capacitance, "s", digits=2)
    held = "bulk" if "bulk" in parts.by_role else "film"
    return Stage(
        "before-power",
        "Before any power",
        (
            "Compare every joint with the circuit drawing; look for solder bridges and reversed "
            "electrolytics.",
            f"{held.capitalize()} capacitor empty: measure from MAIN + to 0 V until the reading "
            f"stands still (some {settles}).",
        ),
        (
            expectation(
                "bus_resistance",
                "Resistance from MAIN + to 0 V",
                bleed.value,
                "Ω",
                if_low="Something shorts the bus: transistor, a clamp, or a reversed electrolytic.",
                if_high=f"{bleed.reference} is missing or open: the {held} capacitor would stay "
                "charged after switching off.",
            ),
        ),
        "Go on when the resistance is right.",
        "Do not connect any supply before it is.",
    )


def _low_voltage(results: Results, parts: PartsList) -> Stage:
    design = results.design
    role = next(r for r in ("low_supply", "regulator", "zener") if r in parts.by_role)
    rail = parts.by_role[role].value
    assert rail is not None
    wanted = [
        expectation(
            "low_rail", "Voltage of LOW +", rail, "V", band=0.05,
            if_low="The rail is overloaded or its supply too low: look for a reversed part.",
            if_high="It does not regulate: wrong part, or its common pin is open.",
        )
    ]  # fmt: skip
    if design.interrupter.enabled:
        loose = 0.25 if design.interrupter.given_by == "parts" else 0.05
        wanted.append(
            expectation(
                "interrupter_frequency", "Frequency at PULSES", results.frequency, "Hz", band=loose,
                if_low="Timing capacitor or resistors too large, or the wrong potentiometer.",
                if_high="Timing capacitor or resistors too small, or a joint is open.",
            )
        )  # fmt: skip
        if results.duty > 0:
            wanted.append(
                expectation(
                    "interrupter_duty", "Duty at PULSES, high over period", results.duty, "%",
                    band=loose,
                    if_low="On-time too short: knob, steering diode or charge resistor.",
                    if_high="On-time too long: knob, or a steering diode the wrong way round. Do "
                    "not go on: the stage would overheat.",
                )
            )  # fmt: skip
    return Stage(
        "low-voltage",
        "Low-voltage chain alone",
        (
            "Main supply disconnected, coil disconnected.",
            f"Feed the low voltage from a supply limited to "
            f"{'100 mA' if role != 'zener' else '50 mA'}.",
        ),
        tuple(wanted),
        "Go on when all readings pass and nothing warms up.",
        _STOP,
    )


def _driver(results: Results) -> Stage:
    part = results.design.drive.gated
    rest = min(part.input_bias, part.input_clamp_high)
    high = (rest > part.input_threshold_high) is not part.inverting
    level = part.driver_supply if high else 0.0
    return Stage(
        "driver",
        "Driver without the coil",
        (
            "Main supply still disconnected; the transistor's gate is connected, the coil is not.",
            "Hold the driver enabled.",
        ),
        (
            expectation(
                "input_rest", "Voltage at the driver's input", rest, "V", band=0.15, least=0.1,
                if_low="Bias or clamp is wrong; the loop may not start.",
                if_high="The clamp is open: the base current would destroy the input.",
            ),
            expectation(
                "gate_rest", "Voltage at the gate", level, "V", band=0.08, least=0.2,
                if_low="The driver is not enabled, is locked out, or inverts where it should not.",
                if_high="The output is high where it should rest low: check enable and polarity.",
            ),
            Expectation(
                "driver_current", "Current into the driver's supply pin", part.quiescent_current,
                0.0, 3.0 * part.quiescent_current + 1e-3, "A", "",
                "The driver oscillates or is damaged; look at its output with an oscilloscope.",
            ),
        ),
        "Go on when the gate follows the enable by hand.",
        _STOP,
    )  # fmt: skip


def _gate_bias(results: Results, parts: PartsList) -> Stage:
    from core.assembly.drive_parts import bias_divider, low_rail

    part = results.design.drive.direct
    made = bias_divider(
        low_rail(results.design), part.bias_voltage, resistance=part.bias_resistance
    )
    threshold = results.design.device.threshold_voltage
    rest = min(made.voltage, part.clamp_high) if part.clamp_fitted else made.voltage
    return Stage(
        "gate-bias",
        "Gate bias without the coil",
        ("Main supply still disconnected; the transistor is in place, the coil is not.",),
        (
            expectation(
                "gate_bias", "Voltage from gate to source", rest, "V",
                band=0.08, least=0.1,
                if_low=f"Below the threshold of {shown(threshold, 'V')} the stage does not start.",
                if_high="The transistor would conduct hard before it oscillates: correct the "
                "divider first.",
            ),
        ),
        "Go on when the bias passes.",
        _STOP,
    )  # fmt: skip


def stage_design(design: Design, share: float, duty: float | None) -> Design:
    """Design at a share of its supply and at a duty."""
    values: dict[str, object] = {"supply.voltage": round(share * design.supply.voltage, 3)}
    if duty is not None:
        values["interrupter.given_by"] = "numbers"
        values["interrupter.frequency"] = resolved_interrupter(design).frequency
        values["interrupter.duty"] = duty
    return with_values(design, values)


def stage_results(results: Results, share: float, duty: float | None) -> Results:
    """Evaluation of a stage with the coil; the design's own point is not run again."""
    design = results.design
    if share == 1.0 and (duty is None or duty == results.duty):
        return results
    at = stage_design(design, share, duty)
    table = results.table
    if share * design.supply.voltage < 0.9 * float(table.voltages[0]):
        table = table_for(at, results.coil, [part * at.supply.voltage for part in _TABLE_LOW])
    return evaluate(at, table=table, verify=False)


def _with_coil(results: Results, name: str, share: float, duty: float | None) -> Stage:
    at = stage_results(results, share, duty)
    voltage = at.design.supply.voltage
    settings = {"supply.voltage": voltage, "interrupter.duty": at.duty}
    title = f"Coil at {shown(voltage, 'V', digits=3)}"
    if duty is not None:
        title += f", duty {shown(at.duty, '%', digits=3)}"
    actions = [
        "Clear the table; a fixed barrier at least 1 m away, and three times the discharge that is "
        "expected; everybody behind it, a second person at the switch.",
        f"Limit the supply's current to "
        f"{shown(max(1.5 * float(at.load.source_current_peak), 0.2), 'A', digits=2)}, set "
        f"{shown(voltage, 'V', digits=3)}"
        + (f" and a duty of {shown(at.duty, '%', digits=3)}." if duty is not None else "."),
        "Switch on for some seconds, read, switch off; touch nothing before the bus is empty.",
    ]
    return Stage(
        f"coil-{name}",
        title,
        tuple(actions),
        tuple(_coil_readings(at)),
        "Go on when all readings pass twice.",
        _STOP,
        MappingProxyType(settings) if duty is not None else _only_supply(voltage),
    )


def _only_supply(voltage: float) -> Mapping[str, float]:
    return MappingProxyType({"supply.voltage": voltage})


def _coil_readings(at: Results) -> list[Expectation]:
    run, load = at.carrier, at.load
    mean = float(load.supply_current_mean)
    wanted = [
        expectation(
            "supply_current", "Mean current from the main supply", mean, "A", least=0.01,
            if_low="It does not oscillate or is detuned: check winding sense, bias and base wire.",
            if_high="It conducts without oscillating, runs in a poor mode or breaks out early: "
            "swap the primary leads, look at the drain with an oscilloscope.",
        )
    ]  # fmt: skip
    if not run.oscillates:
        return wanted
    wanted += [
        expectation(
            "carrier_frequency", "Carrier frequency, pick-up wire at a distance", run.frequency,
            "Hz",
            if_low="More capacitance than planned (near walls, larger top load) or more turns.",
            if_high="Shorted turns, a smaller top load, or a higher mode.",
        ),
        expectation(
            "drain_peak", _drain_words(at), run.drain_voltage_peak, "V",
            column=Column.DRAIN_PEAK,
            if_low="Little oscillation: coupling or drive is weak.",
            if_high="Loose leads or a missing clamp or snubber: raise the supply no further.",
        ),
    ]  # fmt: skip
    shunt = at.design.drive.shunt_resistance
    if shunt > 0:
        wanted.append(
            expectation(
                "shunt_peak", _shunt_words(at), shunt * run.drain_current_peak, "V",
                column=Column.SHUNT_PEAK, band=0.35,
                if_low="Less current than planned: coupling, drive or supply.",
                if_high="More current than planned, or the spike of the shunt's own inductance.",
            )
        )  # fmt: skip
    sink = float(at.operation.heat_sink[0])
    ambient = at.design.cooling.ambient
    wanted.append(
        Expectation(
            "heat_sink", "Heat-sink temperature when it stands still", sink, ambient - 10.0,
            ambient + 1.5 * (sink - ambient) + 5.0, "°C",
            "The thermometer has no contact.",
            "More heat than planned: linear conduction, slow edges, or the interface lacks grease.",
            Column.HEAT_SINK_TEMPERATURE,
        )
    )  # fmt: skip
    return wanted


def _drain_words(at: Results) -> str:
    """What to read at the drain: the start of each burst goes higher than what follows."""
    if not at.design.interrupter.enabled:
        return "Highest drain voltage, spike included"
    start = shown(at.carrier.drain_voltage_worst, "V", digits=3)
    return f"Highest drain voltage late in a burst (its first cycles reach {start})"


def _shunt_words(at: Results) -> str:
    if not at.design.interrupter.enabled:
        return "Peak voltage at the shunt"
    return "Peak voltage at the shunt late in a burst"
