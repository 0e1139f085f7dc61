"""Explanations of bursts, temperatures and limits."""

from __future__ import annotations

import math

from burstwise.core.burst.foster import periodic_rise
from burstwise.core.evaluate.results import Results
from burstwise.core.explain.build import Explainer, Reason
from burstwise.core.explain.explanation import Explanation, Term
from burstwise.core.limits.ratings import AS_DESIGNED, RATINGS, Limit
from burstwise.core.units import percent, shown

_BURST = "Energy of a burst with ring-up and ring-down from the carrier table."
_BURST_VALIDITY = "Bus sag and on-resistance are those of the mean over the on-time."
_FOSTER = "Foster network under rectangular power pulses, in closed form."
_FOSTER_VALIDITY = "Steady state, warmed up; heat sink with a constant resistance."


def _continuous(results: Results) -> bool:
    return not math.isfinite(results.operation.on_time)


def _on_time_value(results: Results) -> float | None:
    value = results.operation.on_time
    return value if math.isfinite(value) else None


def _duty(results: Results) -> Reason:
    on = _on_time_value(results)
    if on is None:
        return Reason(
            "D",
            (Term("D", "duty, always on", results.duty, "%"),), source="design", validity="Always.",
        )  # fmt: skip
    return Reason(
        "t_on*f_i",
        (Term("t_on", "on-time", on, "s"),
         Term("f_i", "interrupter frequency", results.frequency, "Hz")),
        source="Definition.", validity="Always.",
    )  # fmt: skip


def _frequency(results: Results) -> Reason:
    return Reason(
        "1/T",
        (Term("T", "interrupter period", 1.0 / results.frequency, "s"),),
        words="From the design's numbers, or from its timer parts.", source="Definition.",
        validity="Always.",
    )  # fmt: skip


def _on_time(results: Results) -> Reason:
    return Reason(
        "D/f_i",
        (Term("D", "duty", results.duty, "%"),
         Term("f_i", "interrupter frequency", results.frequency, "Hz")),
        words="Without an interrupter the stage is never off." if _continuous(results) else "",
        source="Definition.", validity="Always.",
    )  # fmt: skip


def _energy(results: Results) -> Reason:
    return Reason(
        "P_a/f_i",
        (Term("P_a", "average power", results.average_power, "W"),
         Term("f_i", "interrupter frequency", results.frequency, "Hz")),
        source=_BURST, validity=_BURST_VALIDITY,
    )  # fmt: skip


def _average(results: Results) -> Reason:
    energy = results.operation.energy_per_burst
    if not math.isfinite(energy):
        voltage = results.operation.voltage
        return Reason(
            "V*I",
            (Term("V", "bus voltage", voltage, "V"),
             Term("I", "mean supply current", results.average_power / voltage, "A")),
            source="Carrier table.", validity=_BURST_VALIDITY,
        )  # fmt: skip
    plain = results.duty * results.carrier.input_power
    part = f" ({percent(results.average_power / plain, decimals=1)} of it)" if plain > 0 else ""
    return Reason(
        "W_b*f_i",
        (Term("W_b", "energy per burst", energy, "J"),
         Term("f_i", "interrupter frequency", results.frequency, "Hz")),
        words=f"Duty times the steady input power would be {shown(plain, 'W')}{part}; the "
        "difference is ring-up and ring-down.",
        source=_BURST, validity=_BURST_VALIDITY,
    )  # fmt: skip


def _heat(results: Results) -> float:
    return results.operation.device_power


def _heat_on(results: Results) -> float:
    return _heat(results) / results.duty if results.duty > 0 else 0.0


def _device_power(results: Results) -> Reason:
    return Reason(
        "D*P_on",
        (Term("D", "duty", results.duty, "%"),
         Term("P_on", "heat while on, ring-up and ring-down spread in", _heat_on(results), "W")),
        source=_BURST, validity=_BURST_VALIDITY,
    )  # fmt: skip


def _droop(results: Results) -> Reason:
    supply = results.design.supply.voltage
    return Reason(
        "V_s - V_e",
        (Term("V_s", "supply voltage", supply, "V"),
         Term("V_e", "bus at the end of the on-time", results.operation.bus.end, "V")),
        words="Larger bulk capacitor, stiffer supply or shorter on-time make it smaller.",
        source="First-order circuit of source resistance and bulk capacitor.",
        validity="Current constant over the on-time.",
    )  # fmt: skip


def _top(results: Results) -> Reason:
    run = results.carrier
    return Reason(
        "a*V_t",
        (Term("a", "part of the steady amplitude that the on-time reaches", results.top_part, "%"),
         Term("V_t", "steady peak top voltage", run.top_voltage_peak, "V")),
        source=_BURST, validity=_BURST_VALIDITY,
    )  # fmt: skip


def _ambient(results: Results) -> Term:
    return Term("T_a", "ambient", results.design.cooling.ambient, "°C")


def _heat_term(results: Results) -> Term:
    return Term("P", "mean heat in the device", _heat(results), "W")


def _junction_mean(results: Results) -> Reason:
    path = results.path
    return Reason(
        "T_a + P*(R_jc + R_cs + R_sa)",
        (_ambient(results), _heat_term(results),
         Term("R_jc", "junction to case", path.to_case, "K/W"),
         Term("R_cs", "case to heat sink", path.interface, "K/W"),
         Term("R_sa", "heat sink to air", path.sink, "K/W")),
        source="Ohm's law of heat.", validity=_FOSTER_VALIDITY,
    )  # fmt: skip


def _rises(results: Results) -> tuple[float, float]:
    """Peak and valley of the rise per watt of on-power [K/W]."""
    period = 1.0 / results.frequency
    on = min(results.operation.on_time, period)
    rise = periodic_rise(results.path.network, on, period)
    return float(rise.peak), float(rise.valley)


def _junction_peak(results: Results) -> Reason:
    return Reason(
        "T_a + P_on*Z_p",
        (_ambient(results), Term("P_on", "heat while on", _heat_on(results), "W"),
         Term("Z_p", "thermal impedance at the end of the on-time", _rises(results)[0], "K/W")),
        words="The slower the interrupter, the nearer the impedance comes to the full resistance.",
        source=_FOSTER, validity=_FOSTER_VALIDITY,
    )  # fmt: skip


def _ripple(results: Results) -> Reason:
    peak, valley = _rises(results)
    return Reason(
        "P_on*(Z_p - Z_v)",
        (Term("P_on", "heat while on", _heat_on(results), "W"),
         Term("Z_p", "thermal impedance at the end of the on-time", peak, "K/W"),
         Term("Z_v", "thermal impedance at the end of the off-time", valley, "K/W")),
        source=_FOSTER, validity=_FOSTER_VALIDITY, exists=math.isfinite(results.junction_peak),
    )  # fmt: skip


def _case(results: Results) -> Reason:
    return Reason(
        "T_s + P*R_cs",
        (Term("T_s", "heat sink", results.operation.heat_sink, "°C"),
         _heat_term(results), Term("R_cs", "case to heat sink", results.path.interface, "K/W")),
        source="Ohm's law of heat.", validity=_FOSTER_VALIDITY,
    )  # fmt: skip


def _sink(results: Results) -> Reason:
    return Reason(
        "T_a + P*R_sa",
        (_ambient(results), _heat_term(results),
         Term("R_sa", "heat sink to air", results.path.sink, "K/W")),
        source="Ohm's law of heat.", validity=_FOSTER_VALIDITY,
    )  # fmt: skip


def limit_explanation(results: Results, limit: Limit) -> Explanation:
    """Margin of a rating, with what is asked and what is allowed."""
    terms = [
        Term("x", "what is asked in the worst corner", limit.value, limit.unit),
        Term("l", "what is allowed after derating", limit.limit, limit.unit),
    ]
    expression = "(l - x)/l"
    if limit.unit == "°C":
        expression = "(l - x)/(l - T_a)"
        terms.append(_ambient(results))
    known = math.isfinite(limit.margin) and math.isfinite(limit.value) and limit.limit > 0
    reason = Reason(
        expression,
        terms,
        words=limit.text + _as_designed(results, limit),
        source="Datasheet figures of the design, derated as the sentence says.",
        validity="As good as the datasheet figures and the model behind what is asked.",
        exists=known,
    )
    return reason.of(f"limits.{limit.rating}", f"Margin: {limit.title}", limit.margin, "%")


def _as_designed(results: Results, limit: Limit) -> str:
    """What the stage as designed asks, where another corner asks more."""
    rating = next(item for item in RATINGS if item.name == limit.rating)
    if limit.corner == AS_DESIGNED or not rating.fits(results.design, results.load):
        return ""
    value = float(rating.figures(results.design, results.load)[0])
    return f" The stage as designed asks {shown(value, limit.unit, digits=4)}."


BURST_NUMBERS: tuple[tuple[str, Explainer], ...] = (
    ("burst.duty", _duty),
    ("burst.frequency_Hz", _frequency),
    ("burst.on_time_s", _on_time),
    ("burst.energy_per_burst_J", _energy),
    ("burst.average_power_W", _average),
    ("burst.device_power_W", _device_power),
    ("burst.supply_droop_V", _droop),
    ("burst.top_voltage_reached_V", _top),
    ("thermal.junction_mean_C", _junction_mean),
    ("thermal.junction_peak_C", _junction_peak),
    ("thermal.junction_ripple_K", _ripple),
    ("thermal.case_C", _case),
    ("thermal.heat_sink_C", _sink),
)
