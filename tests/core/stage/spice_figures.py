"""The same figures of a burst from the engine and from a simulator's signals."""

from __future__ import annotations

import time
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from burstwise.core.stage.books import Books
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Engine, Stop

Array = NDArray[np.float64]

WINDOW = 24
"""Carrier cycles before switch-off that means and peaks are taken over."""
RING_DOWN = 30
"""Periods of the secondary that a run goes on after switch-off."""


@dataclass(frozen=True)
class Figures:
    """Means and peaks over the last cycles before switch-off; energy and peak of the whole run."""

    frequency: float
    power: float
    device_power: float
    drain_peak: float
    current_peak: float
    top_peak: float
    burst_peak: float
    burst_energy: float

    def differences(self, other: Figures) -> dict[str, float]:
        """Relative difference of each figure to another's."""
        pairs = [
            (part.name, getattr(self, part.name), getattr(other, part.name))
            for part in fields(Figures)
        ]
        return {name: abs(mine / theirs - 1.0) for name, mine, theirs in pairs}


@dataclass(frozen=True)
class Run:
    """A burst as the engine runs it: figures, times of switch-off and end, and what it took."""

    figures: Figures
    on_time: float
    duration: float
    seconds: float


def of_engine(circuit: StageCircuit, cycles: int, **options: float) -> Run:
    """Burst of some carrier cycles from rest, with ring-down.

    Raises
    ------
    ArithmeticError
        The stage does not do so many cycles.
    """
    engine = Engine(circuit, **options)
    period = 1.0 / circuit.coil.resonance
    begun = time.perf_counter()
    engine.enable(True)
    first = _stretch(engine, cycle=cycles - WINDOW, duration=10.0 * cycles * period)
    last = _stretch(engine, cycle=cycles, duration=10.0 * cycles * period)
    rows, on_time = engine.cycles, engine.time
    if len(rows) < cycles:
        raise ArithmeticError(f"{len(rows)} cycles instead of {cycles}")
    engine.enable(False)
    after = _stretch(engine, duration=RING_DOWN * period)
    seconds = time.perf_counter() - begun
    high, low = 1 + Monitor.TOP, 1 + len(Monitor) + Monitor.TOP
    window = rows[-WINDOW:]
    heat = sum(last.lost.get(name, 0.0) for name in ("channel", "body_diode", "avalanche"))
    figures = Figures(
        frequency=WINDOW / (on_time - rows[-1 - WINDOW, 0]),
        power=last.supplied["main"] / last.duration,
        device_power=heat / last.duration,
        drain_peak=window[:, 1 + Monitor.DRAIN].max(),
        current_peak=window[:, 1 + Monitor.DRAIN_CURRENT].max(),
        top_peak=max(window[:, high].max(), -window[:, low].min()),
        burst_peak=rows[:, 1 + Monitor.DRAIN].max(),
        burst_energy=sum(books.supplied["main"] for books in (first, last, after)),
    )
    return Run(figures, on_time, engine.time, seconds)


def _stretch(engine: Engine, *, duration: float, cycle: int = -1) -> Books:
    before = engine.stored
    if engine.run(duration, cycle=cycle) not in (Stop.SECTION, Stop.REACHED):
        raise ArithmeticError("the engine gave up")
    return engine.close_books(before)


def of_signals(signals: dict[str, Array], circuit: StageCircuit, on_time: float) -> Figures:
    """Figures of a simulator's signals, the drive being held down from `on_time` on."""
    times, top = signals["time"], signals["top"]
    rising = np.flatnonzero((top[:-1] < 0.0) & (top[1:] >= 0.0))
    step = times[rising + 1] - times[rising]
    zeros = times[rising] - top[rising] * step / (top[rising + 1] - top[rising])
    zeros = zeros[zeros < on_time + 0.3 / circuit.coil.resonance]
    start, end = zeros[-1 - WINDOW], zeros[-1]
    inside = (times >= start) & (times <= end)

    def integral(values: Array, low: float, high: float) -> float:
        # The ends lie between the simulator's points.
        grid = np.concatenate([[low], times[(times > low) & (times < high)], [high]])
        return float(np.trapezoid(np.interp(grid, times, values), grid))

    v_ds, v_gs, current = signals["vds"], signals["vgs"], signals["supply_current"]
    span = end - start
    return Figures(
        frequency=WINDOW / span,
        power=circuit.supply_voltage * integral(current, start, end) / span,
        device_power=integral(v_ds * _current(circuit, v_ds, v_gs), start, end) / span,
        drain_peak=v_ds[inside].max(),
        current_peak=signals["drain_current"][inside].max(),
        top_peak=np.abs(top[inside]).max(),
        burst_peak=v_ds[times <= end].max(),
        burst_energy=circuit.supply_voltage * integral(current, times[0], times[-1]),
    )


def _current(circuit: StageCircuit, v_ds: Array, v_gs: Array) -> Array:
    """Current of channel, body diode and avalanche."""
    switch = circuit.switch
    control = np.where(v_ds >= 0.0, v_gs, v_gs - v_ds)
    saturated = switch.transconductance * np.maximum(control - switch.threshold, 0.0)
    channel = np.sign(v_ds) * np.minimum(np.abs(v_ds) / switch.on_resistance, saturated)
    diode = np.minimum(v_ds + switch.diode_voltage, 0.0) / switch.diode_resistance
    avalanche = np.maximum(v_ds - switch.avalanche_voltage, 0.0) / switch.avalanche_resistance
    return channel + diode + avalanche
