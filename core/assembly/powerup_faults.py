"""What common faults would read at each stage of the first power-up, by running the engine."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final

import numpy as np

from burstwise.core.assembly.powerup import Expectation, FaultReadings
from burstwise.core.assembly.stage_readings import StagePoint, readings_of
from burstwise.core.bench.faults import Fault, with_fault
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stage.diagnosis import where_heat_goes
from burstwise.core.stage.network import Visited
from burstwise.core.units import shown

COMMON: Final = (
    Fault.REVERSED_WINDING,
    Fault.OPEN_FEEDBACK,
    Fault.SHORTED_TURN,
    Fault.MISSING_SNUBBER,
    Fault.DEAD_CLAMP,
    Fault.NO_BREAKOUT,
    Fault.EARLY_BREAKOUT,
)
"""Faults that the plan looks for, the winding sense first."""
METERS: Final[Mapping[str, tuple[float, float]]] = MappingProxyType(
    {
        "supply_current": (0.02, 1e-3),
        "carrier_frequency": (0.005, 100.0),
        "drain_peak": (0.05, 1.0),
        "drain_start": (0.05, 1.0),
        "shunt_peak": (0.05, 2e-3),
        "ring_down": (0.10, 1e-7),
        "heat_sink_rise": (0.05, 1.0),
        "discharge": (0.0, 0.0),
        "onset": (0.03, 0.2),
        "resonance": (0.005, 100.0),
        "bandwidth": (0.05, 50.0),
        "feedback_path": (0.01, 0.5),
    }
)
"""Error of each instrument: part of the reading, and a fixed part in its unit; common practice,
no source."""
_CHANGED: Final = 0.10
"""Least change of a reading that counts as an effect of a fault, over the sound one."""
COUPLING_OFF: Final = 0.10
BREAKOUT_OFF: Final = 0.10
"""Departure of coupling and breakout of a build that still counts as good; common practice, no
source."""
_SAME_BUS: Final = 0.01
"""Change of the bus voltage within which a run serves another stage too."""


class FaultRuns:
    """Runs of a stage with each common fault and at the edges of a good build.

    Kept from stage to stage of the same bus voltage.

    Parameters
    ----------
    sound : StageCircuit
        The sound stage; its supply is that of each stage in turn.
    check : callable
        Called before each run; may raise to stop.
    """

    def __init__(self, sound: StageCircuit, check: Callable[[], None] = lambda: None) -> None:
        self._sound, self._check = sound, check
        self._runs: list[tuple[Fault | None, float, float, Carrier]] = []

    def at(self, point: StagePoint, hint: Visited) -> tuple[FaultReadings, ...]:
        """Readings with each fault at its sizes, stages taken from the lowest supply upwards.

        Parameters
        ----------
        point : StagePoint
            Where the stage runs.
        hint : Visited
            Regions of the sound run, to build their tables in one go.
        """
        found = []
        for fault in COMMON:
            for size in fault.sizes:
                changed = with_fault(self._sound, fault, size)
                if changed is not None:
                    run = self._run(fault, size, changed.with_supply(point.bus_voltage), hint)
                    values = readings_of(run, point)
                    if "discharge" in values and fault is Fault.EARLY_BREAKOUT:
                        values["onset"] = self.onset(changed.coil.breakout_voltage)
                    found.append(FaultReadings(fault, size, values, _heat(fault, run, point)))
        return tuple(found)

    def good_builds(self, point: StagePoint, hint: Visited) -> tuple[dict[str, float], ...]:
        """Readings of builds at the edges of what still counts as good.

        Coupling off by `COUPLING_OFF` and breakout by `BREAKOUT_OFF`, both either way.
        """
        coil, found = self._sound.coil, []
        for place, (one, two) in enumerate(itertools.product((-1.0, 1.0), repeat=2)):
            edge = replace(
                coil,
                coupling=coil.coupling * (1.0 + one * COUPLING_OFF),
                breakout_voltage=coil.breakout_voltage * (1.0 + two * BREAKOUT_OFF),
            )
            changed = replace(self._sound, coil=edge)
            run = self._run(None, float(place), changed.with_supply(point.bus_voltage), hint)
            found.append(readings_of(run, point))
        return tuple(found)

    def onset(self, breakout: float) -> float:
        """Bus voltage at which a discharge begins, from the runs without breakout so far [V].

        Parameters
        ----------
        breakout : float
            Voltage on top at which it does [V].

        Notes
        -----
        Between the stages' supplies the top voltage is taken as a straight line, from zero on.
        """
        pairs = sorted(
            (supply, run.top_voltage_peak)
            for fault, _, supply, run in self._runs
            if fault is Fault.NO_BREAKOUT
        )
        supplies, tops = zip((0.0, 0.0), *pairs, strict=True)
        return float(np.interp(breakout, np.maximum.accumulate(tops), supplies))

    def _run(
        self, fault: Fault | None, size: float, changed: StageCircuit, hint: Visited
    ) -> Carrier:
        for known, its_size, supply, run in self._runs:
            near = math.isclose(supply, changed.supply_voltage, rel_tol=_SAME_BUS)
            if known is fault and its_size == size and near:
                return run
        self._check()
        run = carrier(changed, hint=hint)
        self._runs.append((fault, size, changed.supply_voltage, run))
        return run


def _heat(fault: Fault, run: Carrier, point: StagePoint) -> str:
    """Where the power of a stage goes that does nothing useful; empty for other faults."""
    if fault not in (Fault.REVERSED_WINDING, Fault.OPEN_FEEDBACK):
        return ""
    wanted = run.input_power * min(point.on_time / point.period, 1.0) / point.bus_voltage
    if math.isinf(point.on_time):
        wanted = run.supply_current_mean
    if wanted > point.current_limit:
        return (
            "the device stays on: the supply goes into its limit and the bulk capacitor empties "
            "through primary and transistor"
        )
    on = "" if math.isinf(point.on_time) else " within a burst"
    return f"of {shown(run.input_power, 'W', digits=3)}{on}, {where_heat_goes(run)}"


def with_effect(
    faults: Iterable[FaultReadings], sound: Mapping[str, float]
) -> tuple[FaultReadings, ...]:
    """Faults that change any reading beyond its meter's error and `_CHANGED`.

    Parameters
    ----------
    faults : iterable of FaultReadings
        All that were run.
    sound : mapping
        Readings of the sound stage.
    """
    return tuple(item for item in faults if _changes(item.values, sound))


def _changes(values: Mapping[str, float], sound: Mapping[str, float]) -> bool:
    for name, value in values.items():
        if name in sound:
            relative, fixed = METERS[name]
            least = _CHANGED if name != "carrier_frequency" else 2.0 * relative
            if abs(value - sound[name]) > max(least * abs(sound[name]), fixed):
                return True
    return False


def told_by(
    expectations: Sequence[Expectation], values: Mapping[str, float]
) -> tuple[Expectation, ...]:
    """Readings whose band a fault leaves by more than the meter's error.

    Parameters
    ----------
    expectations : sequence of Expectation
        Readings of a stage.
    values : mapping
        What the fault would show.
    """
    return tuple(
        wanted for wanted in expectations if wanted.name in values and _outside(wanted, values)
    )


def _outside(wanted: Expectation, values: Mapping[str, float]) -> bool:
    value = values[wanted.name]
    if math.isinf(value):
        return True
    relative, fixed = METERS[wanted.name]
    error = relative * abs(value) + fixed
    return value + error < wanted.low or value - error > wanted.high
