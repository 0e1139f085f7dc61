"""Kinds of remedy: the edits of a design that each tries, from the mildest on."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.calibrated import fitted_values
from burstwise.core.design.device import Device
from burstwise.core.design.document import Design, value_at, with_values
from burstwise.core.interrupter.resolve import duty_edits, resolved_interrupter
from burstwise.core.limits.sold_kinds import made_of
from burstwise.core.series import value_above
from burstwise.core.studies.sizing_bench import POWER_USE
from burstwise.core.units import shown

Edits = Mapping[str, object]

_PLAIN_DIODE: Final = 0.7
"""Forward voltage of a silicon diode as a clamp [V]."""
_CLAMP_POWER: Final = 10.0
"""Mean heat that a proposed drain clamp is to stand [W]."""
_RESERVOIR_TIME: Final = 30e-6
"""Time constant of a reservoir clamp, some tens of carrier cycles [s]; common practice."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of remedy: words, and the edits to try from the mildest on."""

    name: str
    words: str
    edits: Callable[[Design], Iterator[tuple[str, Edits]]]


def _scaled(
    path: str, factors: tuple[float, ...], words: str, unit: str, *, only: str | None = None
) -> Callable[[Design], Iterator[tuple[str, Edits]]]:
    """Edits that multiply one field; nothing if its part is not fitted or another drive is used."""

    def edits(design: Design) -> Iterator[tuple[str, Edits]]:
        if only is not None and design.drive.kind != only:
            return
        now = value_at(design, path)
        if now is None or now <= 0:
            return
        for factor in factors:
            new = float(f"{now * factor:.3g}")
            yield f"{words} {shown(now, unit)} → {shown(new, unit)}", {path: new}

    return edits


def _lower_duty(design: Design) -> Iterator[tuple[str, Edits]]:
    now = resolved_interrupter(design).duty
    start = "continuous" if not design.interrupter.enabled else shown(now, "%")
    for factor in (0.8, 0.6, 0.45, 0.3, 0.2, 0.1):
        edits = duty_edits(design, round(now * factor, 3))
        reached = resolved_interrupter(with_values(design, edits)).duty
        if reached < now:
            yield f"Duty {start} → {shown(reached, '%')}", edits


def _higher_frequency(design: Design) -> Iterator[tuple[str, Edits]]:
    # With timer parts the frequency is theirs; a typed one would do nothing.
    if not design.interrupter.enabled or design.interrupter.given_by == "parts":
        return
    yield from _scaled(
        "interrupter.frequency", (1.5, 2.0, 4.0, 8.0), "Interrupter frequency", "Hz"
    )(design)


def _gate_clamp(design: Design) -> Iterator[tuple[str, Edits]]:
    part = design.drive.direct
    if design.drive.kind == "direct" and not part.clamp_fitted:
        yield (
            f"Gate clamp of {shown(part.clamp_high, 'V')} fitted",
            {"drive.direct.clamp_fitted": True},
        )
        return
    if design.drive.kind == "direct" and part.clamp_low > _PLAIN_DIODE:
        yield (
            f"Negative gate clamp {shown(part.clamp_low, 'V')} → {shown(_PLAIN_DIODE, 'V')}, a "
            "diode",
            {"drive.direct.clamp_low": _PLAIN_DIODE},
        )
    path = "drive.direct.clamp_high"
    yield from _scaled(path, (0.85, 0.7), "Gate clamp", "V", only="direct")(design)


def _trip(design: Design) -> Iterator[tuple[str, Edits]]:
    """A trip at less and less of the pulsed current, and one that waits where nothing is fast."""
    if design.protection.trip is not None:
        return
    if design.drive.shunt_resistance > 0:
        for share in (0.6, 0.4, 0.25):
            amps = float(f"{share * design.device.pulsed_current:.2g}")
            yield (
                f"Over-current trip at {shown(amps, 'A')} with the gate off within 1 µs",
                {"protection.trip": {"kind": "current", "current": amps, "delay": 1e-6}},
            )
    for delay in (1e-2, 1e-3, 1e-4):
        yield (
            f"Time-out after {shown(delay, 's')} without oscillation",
            {"protection.trip": {"kind": "time-out", "delay": delay}},
        )


def _larger_bulk(design: Design) -> Iterator[tuple[str, Edits]]:
    now = design.supply.bulk_capacitance
    if not design.supply.bulk_fitted:
        yield f"Bulk capacitor of {shown(now, 'F')} fitted", {"supply.bulk_fitted": True}
        return
    yield from _scaled("supply.bulk_capacitance", (2.0, 4.0), "Bulk capacitor", "F")(design)


def _more_turns(design: Design) -> Iterator[tuple[str, Edits]]:
    if design.coil.given_by == "geometry" and design.coil.measured.primary_inductance is None:
        path = "coil.geometry.primary.turns"
        now = value_at(design, path)
        for step in (1, 2, 3, -1, -2):
            if now + step >= 1:
                yield f"Primary {now:g} → {now + step:g} turns", {path: now + step}
        return
    path = "coil.measured.primary_inductance"
    now = value_at(design, path)
    if now is None:
        return
    for factor in (1.3, 1.7, 0.75):
        yield (
            f"Primary inductance {shown(now, 'H')} → {shown(now * factor, 'H')} "
            f"(turns × {factor**0.5:.2f})",
            {path: now * factor},
        )


def _coupling(design: Design) -> Iterator[tuple[str, Edits]]:
    if fitted_values(design, ("coupling",)):
        return
    if design.coil.measured.coupling is not None:
        path = "coil.measured.coupling"
        yield from _scaled(path, (0.9, 0.8, 1.1, 1.25), "Coupling", "")(design)
    elif design.coil.given_by == "geometry":
        radius, width = "coil.geometry.primary.inner_radius", 0.0
        now = value_at(design, radius)
        for factor in (1.08, 1.18, 0.95):
            width = float(f"{now * factor:.4g}")
            word = "looser" if factor > 1 else "tighter"
            yield (
                f"Primary radius {shown(now, 'm')} → {shown(width, 'm')} ({word})",
                {radius: width},
            )


def _snubber(design: Design) -> Iterator[tuple[str, Edits]]:
    part = design.protection.snubber
    base = design.device.output_capacitance
    for factor in (1.0, 2.0, 4.0, 7.0):
        capacitance = float(f"{base * factor:.2g}")
        if part is not None and capacitance <= part.capacitance:
            continue
        resistance = 47.0 if part is None else part.resistance
        yield (
            f"Snubber {shown(resistance, 'Ω')} + {shown(capacitance, 'F')} drain to source",
            {"protection.snubber": {"resistance": resistance, "capacitance": capacitance}},
        )


def _clamp(design: Design) -> Iterator[tuple[str, Edits]]:
    """Rows of suppressors that are sold; half of their mean power counts."""
    present = design.protection.drain_clamp
    rating = design.device.drain_voltage_rating * design.device.voltage_use
    for share in (0.8, 0.7, 0.6):
        voltage = float(f"{rating * share:.2g}")
        if present is not None and voltage >= present.voltage:
            continue
        row = made_of("suppressor", {"mean power": _CLAMP_POWER / POWER_USE}, value=voltage)
        if row is None:
            continue
        yield (
            f"Drain clamp at {shown(voltage, 'V')}: {row.words}",
            {
                "protection.drain_clamp": {
                    "voltage": voltage,
                    "resistance": 4.0 if present is None else present.resistance,
                    "power_rating": POWER_USE * row.rating("mean power"),
                }
            },
        )


def _reservoir_clamp(design: Design) -> Iterator[tuple[str, Edits]]:
    """Bleeders from mild to hard, the capacitor to hold its voltage for many carrier cycles."""
    present = design.protection.reservoir_clamp
    for resistance in (22e3, 4.7e3, 1e3):
        if present is not None and resistance >= present.resistance:
            continue
        capacitance = value_above(_RESERVOIR_TIME / resistance, series="E6")
        yield (
            f"Reservoir clamp of {shown(capacitance, 'F')} with a bleeder of "
            f"{shown(resistance, 'Ω')}",
            {
                "protection.reservoir_clamp": {
                    "capacitance": capacitance,
                    "resistance": resistance,
                }
            },
        )


def _larger_top(design: Design) -> Iterator[tuple[str, Edits]]:
    part = design.coil.geometry.top_load
    if design.coil.given_by != "geometry" or part.kind == "none":
        return
    for factor in (1.25, 1.6):
        edits = {
            f"coil.geometry.top_load.{name}": float(f"{getattr(part, name) * factor:.3g}")
            for name in (("diameter",) if part.kind == "sphere" else ("diameter", "thickness"))
        }
        new = edits["coil.geometry.top_load.diameter"]
        yield f"Top load of {shown(part.diameter, 'm')} → {shown(new, 'm')}", edits


def _breakout_point(design: Design) -> Iterator[tuple[str, Edits]]:
    """A pointed rod on the top load lets the discharge start lower and so loads the stage.

    Where the breakout is a measured value, that value says what the point does.
    """
    now = coil_of(design).breakout_voltage
    measured, part = design.coil.measured.breakout_voltage, design.coil.geometry.top_load
    by_shape = design.coil.given_by == "geometry" and measured is None
    if not by_shape:
        for share in (0.7, 0.5, 0.35):
            new = float(f"{share * now:.2g}")
            yield (
                f"Breakout point on the top load: breakout at {shown(now, 'V', digits=2)} → "
                f"{shown(new, 'V', digits=2)}",
                {"coil.measured.breakout_voltage": new},
            )
    elif part.kind != "none":
        for height in (0.01, 0.02, 0.05):
            if part.point_fitted and height <= part.point_height:
                continue
            yield (
                f"Breakout point {shown(height, 'm')} above the top load's surface",
                {
                    "coil.geometry.top_load.point_fitted": True,
                    "coil.geometry.top_load.point_height": height,
                },
            )


def other_device(classes: Mapping[str, Device]) -> Kind:
    """Kind that tries device classes of at least the present voltage and not far above."""

    def edits(design: Design) -> Iterator[tuple[str, Edits]]:
        now = design.device
        enough_gate = design.drive.gated.driver_supply
        for name, device in classes.items():
            if name == now.name or device.drain_voltage_rating < now.drain_voltage_rating:
                continue
            if design.drive.kind == "gated" and device.gate_voltage_rating < enough_gate:
                continue
            if design.drive.kind == "gated" and (device.recommended_gate_low or 0.0) > enough_gate:
                continue
            if device.drain_voltage_rating > 2.2 * now.drain_voltage_rating:
                continue
            yield f"Device class {name}", {"device": device}

    return Kind("device", "Another device class", edits)


KINDS: Final[tuple[Kind, ...]] = (
    Kind("duty", "Lower duty", _lower_duty),
    Kind(
        "supply",
        "Lower supply",
        _scaled("supply.voltage", (0.9, 0.8, 0.7, 0.55), "Supply", "V"),
    ),
    Kind("frequency", "Higher interrupter frequency", _higher_frequency),
    Kind(
        "heat_sink",
        "Larger heat sink",
        _scaled("cooling.sink_resistance", (0.7, 0.5, 0.3), "Heat sink", "K/W"),
    ),
    Kind(
        "interface",
        "Better contact to the heat sink",
        _scaled("cooling.interface_resistance", (0.5, 0.25), "Case to heat sink", "K/W"),
    ),
    Kind("snubber", "Snubber at the drain", _snubber),
    Kind("clamp", "Clamp at the drain", _clamp),
    Kind("trip", "Trip for a lost loop", _trip),
    Kind("reservoir_clamp", "Reservoir clamp at the drain", _reservoir_clamp),
    Kind("breakout_point", "Breakout point", _breakout_point),
    Kind("top_load", "Larger top load", _larger_top),
    Kind("primary_turns", "Primary turns", _more_turns),
    Kind("coupling", "Coupling", _coupling),
    Kind(
        "gate_resistor",
        "Gate resistor",
        _scaled("drive.gated.gate_resistor", (2.0, 4.0, 0.5), "Gate resistor", "Ω", only="gated"),
    ),
    Kind(
        "gate_supply",
        "Driver supply",
        _scaled("drive.gated.driver_supply", (0.9, 0.8), "Driver supply", "V", only="gated"),
    ),
    Kind(
        "gate_clamp",
        "Gate clamp",
        _gate_clamp,
    ),
    Kind(
        "bulk",
        "Larger bulk capacitor",
        _larger_bulk,
    ),
    Kind(
        "bulk_ripple",
        "Bulk capacitors in parallel",
        lambda design: iter(
            [
                (
                    f"{count} bulk capacitors of {shown(design.supply.bulk_capacitance, 'F')} "
                    "in parallel",
                    {
                        "supply.bulk_capacitance": count * design.supply.bulk_capacitance,
                        "supply.bulk_esr": design.supply.bulk_esr / count,
                        "supply.bulk_ripple_rating": count * design.supply.bulk_ripple_rating,
                    },
                )
                for count in (2, 3)
                if design.supply.bulk_fitted
            ]
        ),
    ),
    Kind(
        "bulk_voltage",
        "Bulk capacitor of a higher voltage",
        lambda design: (
            (
                f"Bulk capacitor for {shown(volts, 'V')}",
                {"supply.bulk_voltage_rating": volts},
            )
            for volts in (63.0, 80.0, 100.0, 160.0, 200.0, 250.0, 400.0)
            if design.supply.bulk_fitted and volts > design.supply.bulk_voltage_rating
        ),
    ),
)
"""Kinds of remedy in the order in which they are tried."""
