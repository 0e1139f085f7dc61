"""Stages of the first power-up with the coil: readings, bands, and what faults would read."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from burstwise.core.assembly.bus_loads import bleed_current, rail_input_current
from burstwise.core.assembly.distance import barrier_words, short_barrier_words
from burstwise.core.assembly.hookup import OSCILLOSCOPE, ZERO, Hookup
from burstwise.core.assembly.parts import PartsList
from burstwise.core.assembly.powerup import Expectation, FaultReadings, Stage, expectation
from burstwise.core.assembly.powerup_cold import STOP, first_burst_words, switch_off_words
from burstwise.core.assembly.powerup_faults import METERS, FaultRuns, told_by, with_effect
from burstwise.core.assembly.stage_readings import (
    StagePoint,
    discharge_seen,
    readings_of,
    sound_sink_rise,
    stage_point,
)
from burstwise.core.bench.faults import Fault
from burstwise.core.bench.readings import Column
from burstwise.core.evaluate.earth_strike import earth_strike_words
from burstwise.core.evaluate.results import Results
from burstwise.core.units import shown

_LEAST_LIMIT: Final = 0.2
"""Least current limit that a bench supply is set to [A]."""
_SINK_BAND: Final = (0.6, 1.6)
_SINK_FLOOR: Final = 2.0
"""Band of the heat sink's rise over the expected one, and what two readings of a thermometer are
worth [K]; common practice, no source."""
_BEYOND: Final = 0.15
"""How far good builds go beyond those that are run, over the span of these: loss, capacitance and
on-resistance differ as well, and a peak need not be highest at an edge; estimate, no source."""
_ANSWERS: Final = ("none", "seen")
_WAYS: Final = "read from behind the barrier"


class CoilStages:
    """Makes the stages with the coil of one design.

    Parameters
    ----------
    results : Results
        Evaluated design.
    parts : PartsList
        Its parts.
    runs : FaultRuns
        Engine runs of its faults.
    earlier : sequence of Stage
        Stages before; what they tell needs not be told again.
    """

    def __init__(
        self, results: Results, parts: PartsList, runs: FaultRuns, earlier: Sequence[Stage]
    ) -> None:
        self._results, self._parts, self._runs = results, parts, runs
        self._earlier = tuple(earlier)

    def stage(self, name: str, at: Results, *, with_duty: bool) -> Stage:
        """One stage.

        Parameters
        ----------
        name : str
            Stable name, without ``coil-``.
        at : Results
            Design evaluated at the stage's supply and duty.
        with_duty : bool
            Whether a duty is set.
        """
        voltage = at.design.supply.voltage
        bleed = bleed_current(self._parts, voltage)
        limit = max(1.5 * float(at.load.source_current_peak) + bleed, _LEAST_LIMIT)
        point = stage_point(at, steady_current=bleed, current_limit=limit)
        faults = self._faults(at, point)
        duty = shown(at.duty, "%", digits=3)
        settings = {"supply.voltage": voltage}
        title = f"Coil at {shown(voltage, 'V', digits=3)}"
        if with_duty:
            settings["interrupter.duty"] = at.duty
            title += f", duty {duty}"
        wanted, untold = self._readings(at, point, faults)
        return Stage(
            f"coil-{name}",
            title,
            (
                *self._actions(name, at, point, duty if with_duty else ""),
                *_untold_words(untold),
            ),
            wanted,
            "Go on when all readings pass twice.",
            STOP,
            MappingProxyType(settings),
            faults,
        )

    def linked(self) -> Stage:
        """Last stage of a design whose low voltage is made from the main supply."""
        stage = self.stage("linked", self._results, with_duty=self._results.duty < 1.0)
        more = rail_input_current(self._results, self._parts)
        wanted = next(item for item in stage.expectations if item.name == "supply_current")
        moved = replace(
            wanted,
            title=f"{wanted.title} and the low-voltage supply",
            expected=wanted.expected + more,
            low=wanted.low + more,
            high=wanted.high + more,
        )
        return replace(
            stage,
            title=f"{stage.title}, low voltage from the main supply",
            actions=(
                "Everything off and empty: close the link from MAIN + to the low-voltage supply, "
                "take the bench supply off. Main supply off at the switch is now the only off.",
                *stage.actions,
            ),
            expectations=(moved,),
            faults=(),
        )

    def _actions(self, name: str, at: Results, point: StagePoint, duty: str) -> list[str]:
        voltage = shown(at.design.supply.voltage, "V", digits=3)
        return [
            *(self._preparations() if name == "low" else [short_barrier_words(self._results)]),
            f"Low voltage on first; {self._begin()}.",
            f"Limit the main supply's current to {shown(point.current_limit, 'A', digits=2)}; turn "
            f"it up from zero to {voltage}" + (f" at a duty of {duty}." if duty else "."),
            *(self._trimmer() if name == "low" else []),
            "On for some seconds at a time: read all but the heat sink, main supply off. A supply "
            "that goes into its limit means stop.",
            f"If all pass and the heat sink is cold again: on for {point.minutes} min, read the "
            "heat sink, off.",
            *(
                [switch_off_words(self._results, self._parts)]
                if name == "low"
                else ["Main supply off, wait until the bus is empty, low voltage off last."]
            ),
        ]

    def _begin(self) -> str:
        """Where supply, and knob or pulse source, stand as a stage begins."""
        part = self._results.design.interrupter
        if not part.enabled:
            return "the supply begins at its low end"
        knob = "knob" if part.given_by == "parts" else "the pulse source's duty"
        return f"{knob} and supply begin at their low ends"

    def _trimmer(self) -> list[str]:
        """How a trimmed gate bias is set, once the first stage is at its supply."""
        trimmer = self._parts.by_role.get("gate_bias_trimmer")
        if trimmer is None:
            return []
        bias = self._results.design.drive.direct.bias_voltage
        return [
            f"Then turn {trimmer.reference} slowly down from its full resistance until the stage "
            f"just begins to oscillate (the design expects {shown(bias, 'V', digits=2)}), and no "
            "more than 0.1 V further; back at once if it draws current and does not oscillate."
        ]

    def _preparations(self) -> list[str]:
        first = first_burst_words(self._results)
        struck = self._results.earth_strike
        return [
            barrier_words(self._results),
            *([] if struck is None else [earth_strike_words(struck)]),
            "Everything off and empty: put the primary's leads and the secondary's foot back as "
            "drawn. Connect probes, meters and thermometer now, each as its reading says; they "
            "stay. Note the heat sink's temperature.",
            OSCILLOSCOPE,
            *([first] if first else []),
        ]

    def _faults(self, at: Results, point: StagePoint) -> tuple[FaultReadings, ...]:
        if not at.carrier.oscillates:
            return ()
        sound = readings_of(at.carrier, point)
        found = with_effect(self._runs.at(point, at.carrier.regions), sound)
        good = self._runs.good_builds(point, at.carrier.regions)
        if discharge_seen(at.carrier) and _either(True, good):
            # Where good builds need not break out, none of them is at fault for that.
            found = tuple(one for one in found if one.fault is not Fault.NO_BREAKOUT)
        return found

    def _readings(
        self, at: Results, point: StagePoint, faults: Sequence[FaultReadings]
    ) -> tuple[tuple[Expectation, ...], list[FaultReadings]]:
        """Readings that are needed to tell each fault, and the faults that none tells."""
        mean = float(at.load.supply_current_mean) + point.steady_current
        wanted = [_supply_current(mean, self._parts, point)]
        if not at.carrier.oscillates:
            return tuple(wanted), []
        highest = max(x.carrier.drain_voltage_worst for x in (at, self._results))
        wanted += _carrier_readings(at, self._parts, probe=_drain_probe(highest))
        good = self._runs.good_builds(point, at.carrier.regions)
        seen = discharge_seen(at.carrier)
        if seen is not None and not _either(seen, good):
            wanted.append(_discharge(seen))
        wanted = [widened(one, good) for one in wanted]
        extras = [widened(one, good) for one in _extra_readings(at)]
        if seen and faults:
            extras.append(_onset(self._runs.onset(at.carrier.circuit.coil.breakout_voltage)))
        for extra in extras:
            if any(told_by([extra], one.values) for one in self._untold(wanted, faults)):
                wanted.append(extra)
        untold = self._untold(wanted, faults)
        wanted.append(_heat_sink(sound_sink_rise(at, point), point))
        return tuple(wanted), untold

    def _untold(
        self, wanted: Sequence[Expectation], faults: Sequence[FaultReadings]
    ) -> list[FaultReadings]:
        return [one for one in faults if not told_by(wanted, one.values) and not self._known(one)]

    def _known(self, one: FaultReadings) -> bool:
        """Whether an earlier stage without power tells the same fault."""
        return any(
            told_by(stage.expectations, item.values)
            for stage in self._earlier
            for item in stage.faults
            if (item.fault, item.size) == (one.fault, one.size)
        )


def _either(seen: bool, good: Sequence[Mapping[str, float]]) -> bool:
    """Whether a good build may show the other of a discharge and none."""
    return any(one.get("discharge") == float(not seen) for one in good)


def widened(wanted: Expectation, good: Sequence[Mapping[str, float]]) -> Expectation:
    """Reading with a band that holds every good build as well, with its meter's error.

    Parameters
    ----------
    wanted : Expectation
        The reading with its usual band.
    good : sequence of mapping
        What good builds read, by name.
    """
    if wanted.answers:
        return wanted
    relative, fixed = METERS[wanted.name]
    values = [wanted.expected, *(one[wanted.name] for one in good if wanted.name in one)]
    beyond = _BEYOND * (max(values) - min(values)) + fixed
    low = min(value - relative * abs(value) for value in values) - beyond
    high = max(value + relative * abs(value) for value in values) + beyond
    return replace(wanted, low=min(wanted.low, low), high=max(wanted.high, high))


def _untold_words(untold: Sequence[FaultReadings]) -> list[str]:
    names = dict.fromkeys(one.fault.value for one in untold)
    if not names:
        return []
    return [f"Not told by these readings: {', '.join(names)}. Look for it before you go on."]


def _supply_current(mean: float, parts: PartsList, point: StagePoint) -> Expectation:
    bleed = parts.by_role["bleed"].reference
    return expectation(
        "supply_current",
        f"Mean current from the main supply, with {shown(point.steady_current, 'A', digits=3)} "
        f"into {bleed}",
        mean,
        "A",
        least=0.01,
        hookup=Hookup("supply +", "MAIN +", "the supply's own meter or an ammeter in the lead"),
        if_low="It does not oscillate or is detuned: check winding sense, bias and base wire.",
        if_high="It conducts without oscillating, runs in a poor mode or breaks out early: "
        "swap the primary leads, look at the drain with an oscilloscope.",
    )


def _carrier_readings(at: Results, parts: PartsList, *, probe: Hookup) -> list[Expectation]:
    run = at.carrier
    bursts = at.design.interrupter.enabled
    late = " late in a burst" if bursts else ""
    start = shown(run.drain_voltage_worst, "V", digits=3)
    begins = f"each burst begins with {start}" if bursts else f"{start} if switched on at once"
    wanted = [
        expectation(
            "carrier_frequency", "Carrier frequency (0 where there is none)", run.frequency, "Hz",
            hookup=Hookup("a pick-up wire a metre off", ZERO, "oscilloscope"),
            if_low="No oscillation, the wrong winding sense, or more capacitance than planned "
            "(near walls, larger top load).",
            if_high="Shorted turns, a smaller top load, a higher mode, or the wrong winding sense.",
        ),
        expectation(
            "drain_peak",
            f"Highest drain voltage{late} ({begins})",
            run.drain_voltage_peak, "V",
            column=Column.DRAIN_PEAK,
            hookup=probe,
            if_low="Little oscillation: winding sense, coupling or drive.",
            if_high="Wrong winding sense, or a missing snubber or clamp; then loose leads: raise "
            "the supply no further.",
        ),
    ]  # fmt: skip
    shunt = at.design.drive.shunt_resistance
    if shunt > 0:
        wanted.append(
            expectation(
                "shunt_peak", f"Peak voltage at the shunt{late}", shunt * run.drain_current_peak,
                "V", column=Column.SHUNT_PEAK, band=0.35,
                hookup=Hookup(
                    f"{parts.by_role['shunt'].reference}, the source's end", ZERO,
                    "oscilloscope, 1:1 or 10:1 probe",
                ),
                if_low="Less current than planned: coupling, drive or supply.",
                if_high="More current than planned, or the spike of the shunt's own inductance.",
            )
        )  # fmt: skip
    return wanted


def _drain_probe(peak: float) -> Hookup:
    """For the highest voltage of all stages [V], since it stays from the first one on."""
    rated = shown(1.5 * peak, "V", digits=2)
    return Hookup("drain", ZERO, f"oscilloscope, 100:1 probe for {rated} or more")


def _discharge(seen: bool) -> Expectation:
    value = float(seen)
    return Expectation(
        "discharge",
        "Discharge at the top, by eye and ear (none or seen)",
        value,
        value - 0.5,
        value + 0.5,
        "",
        "No breakout: the voltage goes higher instead, on top and at the drain." if seen else "",
        ""
        if seen
        else "It breaks out too early: a burr, a wire end, dirt, or something earthed too near.",
        Hookup("", "", "eyes and ears, room darkened, behind the barrier"),
        answers=_ANSWERS,
    )


def _onset(voltage: float) -> Expectation:
    return expectation(
        "onset",
        "Supply at which the discharge begins, turned up slowly from zero (leave it out if none "
        "does)",
        voltage,
        "V",
        band=0.2,
        hookup=Hookup("MAIN +", ZERO, "the supply's own meter"),
        if_low="It breaks out too early: a burr, a wire end, dirt, or something earthed too near.",
        if_high="Less voltage on top than planned, or the breakout point is too blunt.",
    )


def _extra_readings(at: Results) -> list[Expectation]:
    """Readings that are asked for only where the usual ones leave a fault untold."""
    if math.isinf(at.operation.on_time):
        return []
    run = at.carrier
    return [
        expectation(
            "drain_start", "Highest drain voltage in the first cycles of a burst",
            run.drain_voltage_worst, "V", band=0.30,
            hookup=_drain_probe(run.drain_voltage_worst),
            if_low="Little drive, or the trigger misses the start: trigger at PULSES.",
            if_high="A missing snubber or clamp: raise the supply no further.",
        ),
        expectation(
            "ring_down", "Time in which the pick-up falls to 0.37 after a burst",
            run.ring_down.time_constant, "s",
            hookup=Hookup("a pick-up wire a metre off", ZERO, "oscilloscope, trigger at PULSES"),
            if_low="Losses: a shorted turn, damp, or something near the coil.",
            if_high="Looser coupling than planned, or the pick-up is overdriven.",
        ),
    ]  # fmt: skip


def _heat_sink(rise: float, point: StagePoint) -> Expectation:
    low, high = _SINK_BAND
    return Expectation(
        "heat_sink_rise",
        f"Rise of the heat sink after {point.minutes} min from cold",
        rise,
        low * rise - _SINK_FLOOR,
        high * rise + _SINK_FLOOR,
        "K",
        "The thermometer has no contact, or the sink was not cold."
        if low * rise > _SINK_FLOOR
        else "",
        "More heat than planned: wrong winding sense, linear conduction, slow edges, or a sink "
        "smaller than designed.",
        Hookup("heat sink", "", f"thermometer on batteries, insulated, {_WAYS}"),
    )
