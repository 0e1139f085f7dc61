"""Predicted waveform of one burst, sampled like a scope capture."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.bench.capture import Capture, Channel
from burstwise.core.errors import InputError
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Engine, Stop, common_regions

_MOST_CYCLES: Final = 3000
_MOST_SAMPLES: Final = 2_000_000


class Signal(StrEnum):
    """What a probe can be put on."""

    DRAIN = "drain"
    SHUNT = "shunt"
    GATE = "gate"
    TOP = "top"

    @property
    def label(self) -> str:
        """Words for a list."""
        return {
            "drain": "Drain voltage",
            "shunt": "Shunt voltage",
            "gate": "Gate voltage",
            "top": "Wire near the coil",
        }[self.value]

    @property
    def scaled(self) -> bool:
        """Whether its height means something; a wire near the coil only shows the shape."""
        return self is not Signal.TOP

    @property
    def rings(self) -> bool:
        """Whether it shows the coil after the drive; shunt and gate then show the switch only."""
        return self in (Signal.DRAIN, Signal.TOP)


_MONITORS: Final = {
    Signal.DRAIN: Monitor.DRAIN,
    Signal.SHUNT: Monitor.PRIMARY_CURRENT,
    Signal.GATE: Monitor.GATE,
    Signal.TOP: Monitor.TOP,
}


@dataclass(frozen=True, slots=True)
class BurstTiming:
    """What is recorded: quiet time before, on-time and time after it, sample interval [s]."""

    before: float
    on_time: float
    after: float
    step: float


def burst_capture(circuit: StageCircuit, signal: Signal, timing: BurstTiming) -> Capture:
    """Capture of one burst from a cold start, as the engine predicts it.

    Parameters
    ----------
    circuit : StageCircuit
        The stage.
    signal : Signal
        What is recorded, in volts; the shunt's voltage is the supply current, which the primary
        carries too, times the shunt of the circuit.
    timing : BurstTiming
        Times of the recording; time zero is the begin of the on-time.

    Returns
    -------
    Capture
        One channel named after the signal.

    Raises
    ------
    InputError
        No shunt in the circuit, or more than 3000 carrier cycles or 2 million samples.

    Notes
    -----
    Straight lines between the engine's own points, some 40 per carrier cycle and closer where
    something switches.
    """
    length = timing.before + timing.on_time + timing.after
    cycles = (timing.on_time + timing.after) * circuit.coil.resonance
    if not 0.0 < timing.step < length or length / timing.step > _MOST_SAMPLES:
        raise InputError("sample interval", timing.step, f"one of 2 to {_MOST_SAMPLES} samples")
    if cycles > _MOST_CYCLES:
        raise InputError("duration", f"{cycles:.0f} carrier cycles", f"at most {_MOST_CYCLES}")
    if signal is Signal.SHUNT and circuit.shunt_resistance == 0.0:
        raise InputError("drive.shunt_resistance", 0.0, "above 0 Ω to record the shunt's voltage")
    at, values = _recorded(circuit, _MONITORS[signal], timing)
    if signal is Signal.SHUNT:
        values = values * circuit.shunt_resistance
    count = int(length / timing.step) + 1
    even = timing.step * np.arange(count) - timing.before
    channel = Channel(signal.value, "V", np.interp(even, at, values))
    return Capture(-timing.before, timing.step, (channel,))


def _recorded(circuit: StageCircuit, monitor: Monitor, timing: BurstTiming) -> tuple[Array, Array]:
    engine = Engine(circuit, cycle_room=2 * _MOST_CYCLES)
    engine.regions.build(common_regions(engine.network))
    engine.enable(True)
    reached = engine.run(timing.on_time, book=False, trace=True)
    if reached is Stop.REACHED:
        engine.enable(False)
        engine.run(timing.after, book=False, trace=True)
    trace = engine.trace()
    return trace.time, trace.signal(monitor)
