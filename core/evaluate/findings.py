"""What a result has to say beside its numbers."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from burstwise.core.burst.operation import Operation
from burstwise.core.burst.table import CarrierTable
from burstwise.core.coil.coil_values import CoilValue, Origin
from burstwise.core.coil.resolve import ResolvedCoil
from burstwise.core.design.calibrated import fitted_values
from burstwise.core.design.calibration import DEVICE_NAMES
from burstwise.core.design.document import Design, field_info
from burstwise.core.evaluate.feedback import feedback_findings
from burstwise.core.evaluate.results import Results
from burstwise.core.findings import Finding, caution, heaviest_first, note, stop
from burstwise.core.limits.gate_levels import gate_level_findings
from burstwise.core.limits.linear_mode import linear_mode_findings
from burstwise.core.limits.ratings import Limit
from burstwise.core.stage.build import transformed
from burstwise.core.stage.carrier import RESIDUAL_LIMIT, Carrier
from burstwise.core.stage.diagnosis import diagnose, slow_driver_note
from burstwise.core.units import percent, shown

_SHORT_BURST = 3.0
"""On-time over ring-up time below which a burst is called short."""
_APART = 0.05
"""Departure of the interpolated device power from the exact run above which a finding is made."""
_LARGE_DROOP = 0.1
_POINT_BELOW = 0.7
"""Breakout entered over the computed one below which a point must explain it; a point's own law is
good for 30 %."""


def findings_of(known: Results) -> tuple[Finding, ...]:
    """Findings of coil, stage, burst scale and ratings of one evaluation, heaviest first."""
    design, coil, run, point = known.design, known.coil, known.carrier, known.operation
    return heaviest_first(
        [
            *run.findings,
            *diagnose(run),
            *slow_driver_note(run),
            *_never_off(design, run),
            *_left_out(design, run),
            *feedback_findings(design, coil, run),
            *gate_level_findings(design),
            *linear_mode_findings(design, run),
            *_thermal(point),
            *_burst(design, run, point),
            *_table(known.table),
            *_between_runs(run, point, known.table),
            *_ratings(known.limits),
            *coil.findings,
            *_breakout(run, coil),
            *_assumed_breakout(design, coil),
            *_fitted_device(design),
        ]
    )


def _never_off(design: Design, run: Carrier) -> Iterator[Finding]:
    """The interrupter holds the gate down, and the bias wins."""
    if design.interrupter.enabled and not run.held_off:
        yield stop(
            "never-off",
            "drive.direct.pull_down_resistance",
            "With the interrupter's pull-down on, the bias still holds the gate above the "
            f"device's threshold of {shown(run.circuit.switch.threshold, 'V', digits=3)}: the "
            "device never turns off and heats up between the bursts. Lower the pull-down's "
            "resistance or raise the bias resistor.",
        )


def _left_out(design: Design, run: Carrier) -> Iterator[Finding]:
    """What the solver has no room for beside the rest of the stage."""
    if transformed(design) and not run.circuit.magnetised:
        yield caution(
            "transformer-inductance-left-out",
            "drive.gated.transformer_inductance",
            "The inductance of the current transformer is left out: beside gate driver, snubber "
            "and reservoir clamp the solver has no room for it, and the input's mean is not held "
            "at its bias. Leave out one of the two clamps to see what it does.",
        )
    if design.drive.source_inductance > 0.0 and not run.circuit.lifted:
        yield caution(
            "source-inductance-left-out",
            "drive.source_inductance",
            f"The common-source inductance of {shown(design.drive.source_inductance, 'H')} is left "
            "out: beside gate driver and two of snubber, reservoir clamp and current transformer "
            "the solver has no room for it. Leave one of them out to see what it does.",
        )


def _between_runs(run: Carrier, point: Operation[float], table: CarrierTable) -> Iterator[Finding]:
    """The junction stands on figures between runs; the run at the point itself tells how well."""
    if not run.oscillates or run.device_power <= 0.0:
        return
    between = float(table.value("device_power", point.voltage, point.on_resistance))
    apart = between / run.device_power - 1.0
    if abs(apart) > _APART:
        yield caution(
            "between-runs",
            "thermal.junction_mean_C",
            f"The engine's run at the operating point gives {shown(run.device_power, 'W')} in the "
            "device while on, the table of runs behind the temperatures "
            f"{percent(apart, signed=True)}: the stage changes its ways here. Read the "
            "temperatures with that margin.",
        )


def _thermal(point: Operation[float]) -> Iterator[Finding]:
    if point.runaway:
        yield stop(
            "thermal-runaway",
            "thermal.junction_mean_C",
            "No stable junction temperature exists: the device heats up, its on-resistance rises "
            "and it heats up more until it fails. Lower duty or supply, or cool it better.",
        )


def _burst(design: Design, run: Carrier, point: Operation[float]) -> Iterator[Finding]:
    if point.duty <= 0.0:
        yield note("duty-zero", "interrupter.duty", "At zero duty the drive is never on.")
        return
    on, reach = point.on_time, run.time_to_90_percent
    if np.isfinite(on) and run.oscillates and on < _SHORT_BURST * reach:
        yield caution(
            "short-burst",
            "interrupter.duty",
            f"The on-time of {shown(on, 's')} is not much longer than the ring-up of "
            f"{shown(reach, 's')} to 90 %: the top voltage and the power fall short.",
        )
    warm = point.warm_start
    if warm > 0.05:
        yield note(
            "warm-start",
            "interrupter.frequency",
            f"The off-time is so short that {percent(warm)} of the amplitude is left when the next "
            "burst starts; bursts melt together.",
        )
    sag = 1.0 - point.bus.end / design.supply.voltage
    fitted = design.supply.bulk_fitted
    if sag > _LARGE_DROOP:
        yield caution(
            "bus-droop",
            "supply.bulk_capacitance" if fitted else "supply.bulk_fitted",
            f"The bus droops by {percent(sag)} until the end of the burst; a "
            f"{'larger ' if fitted else ''}bulk capacitor or a stiffer supply holds the breakout "
            "up.",
        )
    if not fitted:
        yield caution(
            "no-bulk",
            "supply.bulk_fitted",
            f"Without a bulk capacitor the supply itself has to give the "
            f"{shown(point.bus.source_peak, 'A', digits=3)} that the stage draws while "
            "on; many supplies limit or sag, and the inductance of long leads, which is not in "
            "the model, rings with the film capacitor.",
        )


def _table(table: CarrierTable) -> Iterator[Finding]:
    if not table.worst_residual <= RESIDUAL_LIMIT:
        yield stop(
            "energy-open",
            "carrier.energy_residual",
            f"The energy books of the carrier table are open by {table.worst_residual:.1e}; "
            "average powers and temperatures are not to be trusted.",
        )


def _ratings(limits: tuple[Limit, ...]) -> Iterator[Finding]:
    for item in limits:
        if item.severity is not None:
            code = f"{item.verdict}-{item.rating.replace('_', '-')}"
            yield Finding(item.severity, code, f"limits.{item.rating}", item.text)


def _breakout(run: Carrier, coil: ResolvedCoil) -> Iterator[Finding]:
    if run.oscillates and run.top_voltage_peak < coil.breakout_voltage:
        yield note(
            "no-breakout",
            "carrier.top_voltage_peak_V",
            f"The top reaches {shown(run.top_voltage_peak, 'V')}, below the breakout at "
            f"{shown(coil.breakout_voltage, 'V')}: no discharge without a point.",
        )


def _assumed_breakout(design: Design, coil: ResolvedCoil) -> Iterator[Finding]:
    """A voltage that was entered, or came with the design, stands for the geometry's."""
    item = coil.known("breakout_voltage")
    if item is None or item.computed is None or item.origin is not Origin.MEASURED:
        return
    if item.value < _POINT_BELOW * item.computed:
        yield _point_needed(design, item)
        return
    yield note(
        "breakout-assumed",
        "coil.measured.breakout_voltage",
        f"Breakout is taken at the {shown(item.value, 'V', digits=3)} entered with the coil, not "
        f"at the {shown(item.computed, 'V', digits=3)} that the geometry gives. Unless you "
        "measured it on this coil it is an assumption, and the discharge, the power and the top "
        "voltage stand on it.",
    )


def _point_needed(design: Design, item: CoilValue) -> Finding:
    """What was entered lies far below what the parts of the design can do."""
    assert item.computed is not None
    alone = shown(item.computed, "V", digits=3)
    fitted = design.coil.geometry.top_load.point_fitted
    does = f"{'with this point' if fitted else 'by itself'} breaks out at {alone}"
    return caution(
        "breakout-needs-point",
        "coil.geometry.top_load.point_fitted",
        f"The breakout entered is {shown(item.value, 'V', digits=3)}, but the top load {does}. "
        f"Built as listed there is no discharge below that: fit a "
        f"{'sharper or longer' if fitted else 'breakout'} point, or take the entered value out. "
        "The ratings are judged without the discharge as well.",
    )


def _fitted_device(design: Design) -> Iterator[Finding]:
    """Values of the device that a calibration in use put in the place of the datasheet's."""
    fitted = fitted_values(design, DEVICE_NAMES)
    if fitted:
        titles = {name: field_info(f"calibration.{name}") for name in fitted}
        listed = "; ".join(
            f"{str(info['title']).lower()} {shown(fitted[name], str(info['unit']))}"
            for name, info in titles.items()
        )
        yield note(
            "calibration-device",
            "calibration",
            f"Fitted by the calibration in place of the datasheet's figures: {listed}.",
        )
