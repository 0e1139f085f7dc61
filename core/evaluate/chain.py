"""The drive chain within an evaluation: what the stage asks of it, and its findings."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from burstwise.core.burst.foster import transient_impedance
from burstwise.core.burst.operation import ThermalPath
from burstwise.core.design.document import Design
from burstwise.core.evaluate.results import DutyCurves, Results
from burstwise.core.findings import Finding, caution, heaviest_first
from burstwise.core.interrupter.chain_report import ChainReport, chain_report
from burstwise.core.interrupter.feed import StageFigures
from burstwise.core.stage.carrier import Carrier
from burstwise.core.units import shown

_TIMES: Final = np.geomspace(1e-6, 1e4, 600)
"""Burst lengths among which the longest one is looked for [s]."""


def longest_burst(design: Design, run: Carrier, path: ThermalPath[float], *, sink: float) -> float:
    """Single burst after which the junction reaches its limit [s].

    From a device at heat-sink temperature, through the whole thermal path:
    ``T_sink + P Z(t) = T_limit`` with the heat P while on; infinite where it never gets there.

    Parameters
    ----------
    design : Design
        The design.
    run : Carrier
        Its carrier.
    path : ThermalPath
        Junction to air.
    sink : float
        Mean heat-sink temperature [C].
    """
    room = design.device.highest_junction - min(sink, design.device.highest_junction)
    rise = run.device_power * transient_impedance(path.network, _TIMES)
    if rise[-1] <= room:
        return math.inf
    return float(np.interp(room, rise, _TIMES))


def chain_of(results: Results) -> ChainReport:
    """Drive chain of a design under the figures of its evaluation."""
    design, run, point = results.design, results.carrier, results.operation
    hottest = float(results.curves.junction_peak[-1])
    longest = math.inf
    if not hottest <= design.device.highest_junction:
        longest = longest_burst(design, run, results.path, sink=point.heat_sink)
    return chain_report(
        design,
        StageFigures(
            ring_up=run.time_to_90_percent if run.oscillates else math.inf,
            carrier=run.frequency if run.oscillates else 0.0,
            drain_current_peak=run.drain_current_peak,
            supply_current=run.supply_current_mean,
            bus_low=point.bus.end,
            longest_on_time=longest,
        ),
    )


def chain_findings(results: Results) -> tuple[Finding, ...]:
    """Findings of the chain, and what the knob's high end would do to the junction."""
    report = chain_of(results)
    return heaviest_first([*report.findings, *_knob_end(results.design, report, results.curves)])


def _knob_end(design: Design, report: ChainReport, curves: DutyCurves) -> list[Finding]:
    chosen, limit = report.timer.chosen, design.device.highest_junction
    if chosen is None:
        return []
    too_hot = curves.duty[~(curves.junction_peak <= limit)]
    end = chosen.duty_high.nominal
    if not too_hot.size or too_hot[0] > end:
        return []
    return [
        caution(
            "knob-end-too-hot",
            "interrupter.parts.discharge_resistor",
            f"From a duty of {shown(float(too_hot[0]), '%', digits=3)} on the junction exceeds "
            f"{limit:g} °C; the knob goes up to {shown(end, '%', digits=3)}. A larger discharge "
            "resistor ends its reach earlier.",
        )
    ]
