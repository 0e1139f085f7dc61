"""Figures of a capture as words."""

from __future__ import annotations

from burstwise.core.bench.capture_measure import CaptureMeasures
from burstwise.core.units import shown


def figure_rows(measures: CaptureMeasures) -> list[tuple[str, str]]:
    """Names and values of everything that a capture says; what it does not say is left out."""
    statistics, bursts = measures.statistics, measures.bursts
    rows = [
        ("Carrier", shown(measures.carrier_frequency, "Hz", digits=5)),
        ("Mean", shown(statistics.mean, "V")),
        ("RMS", shown(statistics.rms, "V")),
        ("Peak", shown(statistics.peak, "V")),
        ("Highest sample", shown(measures.spike, "V")),
        ("Whole periods", str(measures.periods)),
    ]
    if bursts is None:
        return [*rows, ("Bursts", "none, runs on")]
    rows.append(("Bursts", str(bursts.count)))
    for words, value, unit in (
        ("On-time", bursts.on_time, "s"),
        ("Burst to burst", bursts.period, "s"),
        ("Duty", bursts.duty, "%"),
        ("Ring-up, constant", bursts.ring_up_time, "s"),
        ("Ring-down, constant", bursts.ring_down_time, "s"),
        ("Loaded Q", bursts.loaded_q, ""),
        ("Driven at", bursts.driven_frequency, "Hz"),
        ("Rings at", bursts.ringing_frequency, "Hz"),
    ):
        if value is not None:
            rows.append((words, shown(value, unit)))
    return rows
