"""Waveforms to expect on the oscilloscope, as pictures for paper."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from burstwise.core.evaluate.results import Results
from burstwise.core.report.picture import Curve, Scale, line_picture
from burstwise.core.stage.elements import Monitor


@dataclass(frozen=True, slots=True)
class Waveform:
    """Picture with what to look for in it."""

    title: str
    svg: str
    words: str


def waveforms(results: Results) -> tuple[Waveform, ...]:
    """Pictures of one carrier cycle, the ring-up and one interrupter period.

    A stage that does not oscillate has only the last one.
    """
    found: list[Waveform] = []
    run, trace = results.carrier, results.carrier.trace
    if run.oscillates and trace is not None and len(trace.time) > 2:
        time = trace.time - trace.time[0]
        found.append(
            _one(
                "Drain voltage over one carrier cycle",
                Scale("time", "s"),
                Scale("drain voltage", "V"),
                [Curve("drain", time, trace.signal(Monitor.DRAIN))],
                "Divider probe rated for the peak: tip at the drain, clip at 0 V and nowhere else.",
                limit=results.design.device.drain_voltage_rating
                if run.drain_voltage_peak > 0.4 * results.design.device.drain_voltage_rating
                else None,
            )
        )
        found.append(
            _one(
                "Currents over one carrier cycle",
                Scale("time", "s"),
                Scale("current", "A"),
                [
                    Curve("drain", time, trace.signal(Monitor.DRAIN_CURRENT)),
                    Curve("primary", time, trace.signal(Monitor.PRIMARY_CURRENT)),
                ],
                "The drain current is what the shunt shows, less the spike of its inductance.",
            )
        )
        found.append(
            _one(
                "Gate voltage over one carrier cycle",
                Scale("time", "s"),
                Scale("gate voltage", "V"),
                [Curve("gate", time, trace.signal(Monitor.GATE))],
                "Gate to source, with a differential probe or an instrument on batteries; with a "
                "clip at 0 V the shunt's drop is in it.",
            )
        )
    if run.oscillates and len(run.envelope) > 2:
        found.append(
            _one(
                "Ring-up of the top voltage from rest",
                Scale("time", "s"),
                Scale("peak top voltage", "V"),
                [Curve("top", run.envelope[:, 0], run.envelope[:, 1])],
                "A pick-up wire at a distance shows the shape, not the voltage. Never touch the "
                "top with a probe.",
            )
        )
    course = results.course
    if results.design.interrupter.enabled and np.isfinite(course.junction).all():
        period = Scale("time from the start of the on-time", "s")
        found.append(
            _one(
                "Bus voltage over one interrupter period",
                period,
                Scale("bus voltage", "V"),
                [Curve("bus", course.time, course.bus_voltage)],
                "Across the bulk capacitor."
                if results.design.supply.bulk_fitted
                else "Across the film capacitor at the stage.",
            )
        )
        found.append(
            _one(
                "Junction temperature over one interrupter period, warmed up",
                period,
                Scale("junction", "°C"),
                [Curve("junction", course.time, course.junction)],
                "Cannot be measured; the heat sink shows only the mean.",
            )
        )
    return tuple(found)


def _one(
    title: str, x: Scale, y: Scale, curves: list[Curve], words: str, *, limit: float | None = None
) -> Waveform:
    return Waveform(title, line_picture(title, x, y, curves, limit=limit), words)
