"""Bands of build tolerance under the curves of the operating point and of its cooling.

Random builds scatter as in `burstwise.core.studies.chance`. The engine runs a few dozen scattered
stages once; what follows from them at burst scale (droop, duty, heat) is computed for all builds
from the carrier table of the evaluation, so that an edit that leaves the stage costs no run.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.burst.warmup import period_course
from burstwise.core.evaluate.evaluation import DUTIES, reached_part
from burstwise.core.evaluate.results import Results
from burstwise.core.stage.carrier import Carrier
from burstwise.core.stage.elements import Monitor
from burstwise.core.stopping import check_stop
from burstwise.core.studies.chance import BuildsPoint, builds_point, stage_response
from burstwise.core.studies.cooling import OTHER_SINKS, sink_study
from burstwise.core.studies.quick import near_table, same_stage, warm_up_of
from burstwise.core.studies.response import FewStartError, Response
from burstwise.core.studies.spread import SPREADS, draws, ratio

BUILDS: Final = 200
ENDS: Final = (0.1, 0.9)
"""Parts of the builds below the lower and the upper end of a band."""
BAND_DUTIES: Final = np.append(DUTIES[:-1:4], DUTIES[-1])
TRUSTED: Final = 0.15
"""Departure of the response from the engine above which there are no bands [1]."""
_NEAR_VOLTAGE: Final = 0.03
_NEAR_RESISTANCE: Final = 0.1
"""How far an operating point may be from that of the scattered runs, relative."""
_SUPPLY: Final = next(item for item in SPREADS if item.name == "supply")
SIGNALS: Final = (Monitor.GATE, Monitor.DRAIN, Monitor.PRIMARY_CURRENT, Monitor.TOP)


@dataclass(frozen=True, slots=True)
class Band:
    """Ends of the middle part of the builds.

    Attributes
    ----------
    at : Array (places,)
        Duty [1], time [s] or heat sink to air [K/W].
    low, high : Array (places,)
        Lower and upper end in the curve's SI unit; inf where so many builds run away.
    """

    at: Array
    low: Array
    high: Array


@dataclass(frozen=True, slots=True)
class ScatteredStage:
    """Engine runs of scattered builds around one operating point, and what was made of them.

    Attributes
    ----------
    results : Results
        The design as designed.
    response : Response or None
        Surface through the runs, and the runs themselves; None where too few oscillate.
    """

    results: Results
    response: Response | None

    def serves(self, results: Results) -> bool:
        """Whether the runs are good for other results: the same stage at much the same point."""
        mine, other = self.results, results
        volts, ohms = mine.operation.voltage, mine.operation.on_resistance
        return (
            abs(other.operation.voltage / volts - 1.0) <= _NEAR_VOLTAGE
            and abs(other.operation.on_resistance / ohms - 1.0) <= _NEAR_RESISTANCE
            and same_stage(mine.design, other.design)
        )


@dataclass(frozen=True, slots=True)
class Bands:
    """Bands of one design.

    Attributes
    ----------
    builds, runs : int
        Random builds behind the duty curves, and engine runs behind the waveforms.
    duty_curves : mapping of str to Band
        By the names of `DutyCurves`, over the duty that is set.
    cycle : mapping of Monitor to Band
        Signals over one carrier cycle, builds set beside each other by the part of their cycle.
    ring_up, ring_down : Band
        Peaks of the top voltage after switching on and off.
    period : mapping of str to Band
        By the names of `PeriodCourse`, over one interrupter period; builds are set beside each
        other by the part of their on-time and of their off-time.
    warm_up, sinks : mapping of str to Band
        By the names of `WarmUp` and `SinkStudy`, over the time and the heat sink's resistance.
    """

    builds: int
    runs: int
    duty_curves: Mapping[str, Band]
    cycle: Mapping[Monitor, Band]
    ring_up: Band
    ring_down: Band
    period: Mapping[str, Band]
    warm_up: Mapping[str, Band]
    sinks: Mapping[str, Band]


def scattered_stage(results: Results) -> ScatteredStage:
    """Engine runs of scattered builds around the operating point of some results.

    Raises
    ------
    StoppedError
        The work was asked to stop.
    """
    try:
        found = stage_response(results, near_table(results), SPREADS)
    except FewStartError:
        found = None
    return ScatteredStage(results, found)


def bands(
    results: Results,
    stage: ScatteredStage,
    numbers: Mapping[str, Array] | None = None,
) -> Bands | None:
    """Bands under the curves of some results.

    The ends are order statistics: with 200 builds a 10 % end lies between the 6 % and the 14 %
    point of all builds (two standard errors). What the burst scale tells scatters with all inputs;
    cycle and ring-up with those of the stage and the supply, not with the on-resistance, over the
    scattered runs, whose outermost 1 % on each side is left out.

    Parameters
    ----------
    results : Results
        The design as designed, evaluated.
    stage : ScatteredStage
        Runs that serve it.
    numbers : mapping of str to Array (builds,), optional
        Standard normal numbers of the inputs of all `SPREADS`; of `BUILDS` random builds if not
        given.

    Returns
    -------
    Bands or None
        None where the builds cannot be trusted: the design does not run, some builds do not start,
        or the response strays too far from the engine.

    Raises
    ------
    StoppedError
        The work was asked to stop.
    """
    found = stage.response
    # A band of those builds alone that start would look too narrow.
    if not results.carrier.oscillates or found is None:
        return None
    if found.starts < 1.0 or found.error > TRUSTED:
        return None
    if numbers is None:
        numbers = draws(BUILDS, seed=1)
    count = len(found.runs)
    share = ratio(_SUPPLY, np.resize(numbers[_SUPPLY.name], count))
    # Voltages and currents go with the supply, as in the carrier table.
    share = share * results.operation.voltage / stage.results.operation.voltage
    here = builds_point(results.design, results.table, found, numbers, SPREADS, duty=results.duty)
    return Bands(
        builds=len(numbers[_SUPPLY.name]),
        runs=count,
        duty_curves=_duty_bands(results, found, numbers),
        cycle=_cycle_bands(results.carrier, found.runs, share),
        ring_up=_ring_up_band(results.carrier, found.runs, share),
        ring_down=_ring_down_band(results.carrier, found.runs, share),
        period=_period_bands(results, here),
        warm_up=_warm_up_bands(here),
        sinks=_sink_bands(here),
    )


def middle_part(values: Array) -> tuple[Array, Array]:
    """Lower and upper end of the middle part of the builds, the first axis; inf is kept.

    Examples
    --------
    >>> low, high = middle_part(np.array([[7.0], [np.inf], *[[float(n)] for n in range(8)]]))
    >>> float(low[0]), float(high[0])
    (0.0, 7.0)
    """
    ranked = np.sort(values, axis=0)
    low, high = (max(int(np.ceil(end * len(values) - 1e-9)) - 1, 0) for end in ENDS)
    return ranked[low], ranked[high]


def _duty_bands(
    results: Results, found: Response, numbers: Mapping[str, Array]
) -> Mapping[str, Band]:
    over: dict[str, list[Array]] = {}
    for duty in BAND_DUTIES.tolist():
        check_stop()
        made = builds_point(results.design, results.table, found, numbers, SPREADS, duty=duty)
        table, point = made.table, made.point
        figures = {
            "average_power": point.average_power,
            "junction_mean": point.junction_mean,
            "junction_peak": point.junction_peak,
            "peak_current": table.value("drain_current_peak", point.voltage, point.on_resistance),
            "top_voltage": reached_part(table, point)
            * table.value("top_voltage_peak", point.voltage, point.on_resistance),
        }
        for name, values in figures.items():
            over.setdefault(name, []).append(values)
    return {
        name: Band(BAND_DUTIES, *middle_part(np.array(lines).T)) for name, lines in over.items()
    }


def _period_bands(results: Results, here: BuildsPoint) -> Mapping[str, Band]:
    check_stop()
    made = period_course(
        here.table,
        here.design.supply,
        here.path,
        here.point,
        frequency=here.frequency,
        source_voltage=here.source_voltage,
    )
    made = replace(made, junction=np.where(here.point.runaway, np.inf, made.junction))
    return _over(results.course.time, made, "supply_current", "bus_voltage", "junction")


def _warm_up_bands(here: BuildsPoint) -> Mapping[str, Band]:
    check_stop()
    made = warm_up_of(here)
    return _over(made.time, made, "junction_peak", "heat_sink")


def _sink_bands(here: BuildsPoint) -> Mapping[str, Band]:
    check_stop()
    made = sink_study(here, here.design.cooling.sink_resistance * OTHER_SINKS[::2])
    return _over(made.resistance, made, "junction_peak", "heat_sink")


def _over(at: Array, figures: object, *names: str) -> Mapping[str, Band]:
    """Bands of figures (places, builds)."""
    return {name: Band(at, *middle_part(getattr(figures, name).T)) for name in names}


def _ends(at: Array, courses: Sequence[tuple[Array, Array]], scale: Array) -> tuple[Array, Array]:
    """Ends of courses of builds (place and value of each), each scaled, at some places."""
    lines = [
        factor * np.interp(at, *course)
        for course, factor in zip(courses, scale.tolist(), strict=True)
    ]
    return middle_part(np.array(lines))


def _cycle_bands(own: Carrier, runs: Sequence[Carrier], share: Array) -> Mapping[Monitor, Band]:
    """Bands over the part of the cycle, so that a shift of frequency does not smear the edges."""
    if own.trace is None or len(own.trace.time) < 2:
        return {}
    time = own.trace.time - own.trace.time[0]
    part = time / time[-1]
    traces = [run.trace for run in runs if run.trace is not None]
    parts = [(it.time - it.time[0]) / (it.time[-1] - it.time[0]) for it in traces]
    found = {}
    for signal in SIGNALS:
        scale = np.ones(len(runs)) if signal is Monitor.GATE else share
        courses = [(x, it.signal(signal)) for x, it in zip(parts, traces, strict=True)]
        found[signal] = Band(time, *_ends(part, courses, scale))
    return found


def _ring_up_band(own: Carrier, runs: Sequence[Carrier], share: Array) -> Band:
    """A build that has rung up stays there."""
    time = _rising(own)[:, 0]
    return Band(time, *_ends(time, [tuple(_rising(run).T) for run in runs], share))


def _ring_down_band(own: Carrier, runs: Sequence[Carrier], share: Array) -> Band:
    """As far as all builds were followed."""
    ends = [run.ring_down.time[-1] if len(run.ring_down.time) else 0.0 for run in runs]
    time = own.ring_down.time[own.ring_down.time <= min(ends)]
    if not len(time):
        return Band(time, time, time)
    courses = [(run.ring_down.time, run.ring_down.top) for run in runs]
    return Band(time, *_ends(time, courses, share))


def _rising(run: Carrier) -> Array:
    """Envelope up to the end of the ring-up, (points, 2)."""
    return np.asarray(run.envelope[run.envelope[:, 0] <= run.ring_up.time[-1]])
