"""Wiring and layout notes with the numbers of the design in them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.assembly.parts import PartsList
from burstwise.core.evaluate.results import Results
from burstwise.core.stage.elements import Monitor
from burstwise.core.units import shown

_INPUT_WIRES: Final[Mapping[str, str]] = {
    "base current": "Lead the base wire to the driver's input twisted with its 0 V return, the "
    "clamps at the pins.",
    "current transformer": "Lead the base wire through the current transformer straight to 0 V; "
    "burden and clamps at the driver's pins, the transformer's two leads twisted.",
    "antenna": "Lead the base wire straight to 0 V; screen the antenna's wire as far as it is not "
    "meant to pick up, the screen at 0 V, and count the screen in the input's capacitance; clamps "
    "at the driver's pins.",
}

FAST_SPAN: Final = 10e-9
"""Time over which a steep edge counts [s]: some rise time of a driven gate."""
SHUNT_LEADS: Final = 10e-9
"""Inductance of a shunt with leads [H]; common practice, no source."""
SHUNT_CHIPS: Final = 1e-9
"""Inductance of several chip resistors side by side [H]; common practice, no source."""
NANOHENRY_PER_CM = 8e-9
"""Inductance of a centimetre of lead [H/cm]; common practice for round leads, no source."""


def current_slope(peak: float, frequency: float) -> float:
    """Largest slope of a sine current, ``2 pi f I`` [A/s].

    Examples
    --------
    >>> round(current_slope(5.0, 1e6) / 1e6, 3)
    31.416
    """
    return 2.0 * math.pi * frequency * peak


def steepest(time: Array, current: Array) -> float:
    """Largest slope of a current over `FAST_SPAN` [A/s].

    Parameters
    ----------
    time, current : Array
        Points of a run [s], [A], not evenly spaced.

    Examples
    --------
    >>> time = np.array([0.0, 1e-7, 1.1e-7, 3e-7])
    >>> round(steepest(time, np.array([0.0, 0.0, 5.0, 5.0])) / 1e6)
    500
    """
    if len(time) < 2 or time[-1] - time[0] <= FAST_SPAN:
        return 0.0
    marks = np.arange(time[0], time[-1] - FAST_SPAN, 0.1 * FAST_SPAN)
    change = np.interp(marks + FAST_SPAN, time, current) - np.interp(marks, time, current)
    return float(np.max(np.abs(change), initial=0.0) / FAST_SPAN)


def _way(results: Results) -> str:
    return "" if results.design.drive.past_input else "through the drive "


def layout_notes(results: Results, parts: PartsList) -> tuple[str, ...]:
    """Notes for the builder, the most important first."""
    found = {role: part.reference for role, part in parts.by_role.items()}
    notes = [
        _fast_loop(results, found),
        _bus_loop(results, found),
        "One point of 0 V "
        + (f"at the lower end of {found['shunt']}" if "shunt" in found else "at the source pin")
        + f"; supply, drive{', interrupter' if 'timer' in found else ''} and the "
        "clips of all probes meet there, and no clip goes anywhere else.",
        f"The secondary's foot returns {_way(results)}to 0 V; give the earth plane below the "
        "coil its own short wire to that point. Do not use the mains earth as RF earth.",
    ]
    notes += _drive(results, found)
    if "timer" in found:
        notes.append(
            "Keep the interrupter a forearm away from the secondary, in a metal box tied to 0 V; "
            "take a fibre or a filtered lead if it triggers by itself."
        )
    if "shunt" in found:
        notes.append(
            f"Read {found['shunt']} with its own pair of wires at its ends, not along "
            "the current's path."
        )
    return tuple(notes)


def fast_loop_figures(results: Results) -> str:
    """How fast the transistor's current changes and what a centimetre of lead adds, in words."""
    slope = _slope(results, Monitor.DRAIN_CURRENT)
    volts = shown(slope * NANOHENRY_PER_CM, "V", digits=2)
    return f"up to {_per_microsecond(slope)}, {volts} for each centimetre of lead"


def gate_loop_figures(results: Results) -> str:
    """Inductance that the gate's loop may have, and the lead that is, in words."""
    budget = results.design.interrupter.chain.loop_inductance
    return f"at most {shown(budget, 'H')}, {budget / NANOHENRY_PER_CM:.1f} cm of lead in all"


def _fast_loop(results: Results, found: Mapping[str, str]) -> str:
    """What hangs on the drain and returns to the source, above the shunt."""
    roles = ("drain_clamp", "snubber_resistor", "snubber_capacitor")
    fitted = [found[role] for role in roles if role in found]
    switch = found["switch"]
    slope = _slope(results, Monitor.DRAIN_CURRENT)
    volts = shown(slope * NANOHENRY_PER_CM, "V", digits=2)
    told = (
        f"its current changes at up to {_per_microsecond(slope)}, each centimetre of lead in "
        f"it adds about {volts} that the drain sees beyond what is computed"
    )
    if not fitted:
        return (
            f"{switch} is the fastest place: {told}. A clamp or snubber that you add later goes "
            "right at its drain and source pins."
        )
    return (
        f"The fast loop is {switch} with {', '.join(fitted)}: {told}. Solder "
        f"{'them' if len(fitted) > 1 else 'it'} right at the drain and source pins, the return to "
        "the source pin itself" + (", not behind the shunt." if "shunt" in found else ".")
    )


def _bus_loop(results: Results, found: Mapping[str, str]) -> str:
    slope = _slope(results, Monitor.PRIMARY_CURRENT)
    film, bulk = found["bus_film"], found.get("bulk")
    way = [film, found["primary"], found["switch"], *([found["shunt"]] if "shunt" in found else [])]
    further = (
        f"{bulk} may sit a hand's width further off"
        if bulk
        else "the leads from the supply are short and twisted, as there is no bulk capacitor"
    )
    return (
        f"Round the loop of {', '.join(way)} and back it is {_per_microsecond(slope)} or "
        f"{shown(slope * NANOHENRY_PER_CM, 'V', digits=2)} a centimetre, which adds to the "
        f"primary: keep its leads side by side. {film} sits between the primary's supply end and "
        f"the point of 0 V; {further}."
    )


def _per_microsecond(slope: float) -> str:
    """Slope in A/µs to two figures, the unit of datasheets."""
    return f"{float(f'{slope * 1e-6:.2g}'):g} A/µs"


def _slope(results: Results, monitor: Monitor) -> float:
    """Steepest change of a current in the last cycle of the run; of a sine without one [A/s]."""
    run = results.carrier
    sine = current_slope(
        run.drain_current_peak, run.frequency if run.oscillates else results.coil.resonance
    )
    if run.trace is None:
        return sine
    return max(steepest(run.trace.time, run.trace.signal(monitor)), sine)


def _drive(results: Results, found: Mapping[str, str]) -> list[str]:
    if "driver" not in found:
        return ["Gate clamps right between gate and source pins."]
    budget = results.design.interrupter.chain.loop_inductance
    resistor = found.get("gate_resistor", "gate lead")
    way = f"{found['driver']}, {resistor}, gate, source"
    centimetres = f"{budget / NANOHENRY_PER_CM:.1f} cm of lead in all"
    if "shunt" in found:
        shunt = found["shunt"]
        loop = (
            f"The gate loop is {way}, {shunt} and back to the ground pin of {found['driver']}: at "
            f"most {shown(budget, 'H')}, about {centimetres}, {shunt} included. A shunt with leads "
            f"takes {shown(SHUNT_LEADS, 'H')} of that or more: make {shunt} of several chip "
            f"resistors side by side (some {shown(SHUNT_CHIPS, 'H')}), right between the source "
            f"pin and the 0 V area on which {found['driver']} sits beside the transistor. Where "
            "that cannot be built, leave the shunt out, let the driver return to the source pin "
            "and measure with a current transformer."
        )
    else:
        loop = (
            f"Gate loop {way} and back to {found['driver']}: at most {shown(budget, 'H')}, about "
            f"{centimetres}; the driver returns to the source pin itself."
        )
    return [
        loop,
        f"{found['driver_decoupling']} right at the driver's supply and ground pins.",
        *(
            [f"{held} right between gate and source pins of {found['switch']}."]
            if (held := found.get("gate_source_resistor"))
            else []
        ),
        _INPUT_WIRES[results.design.drive.gated.feedback],
    ]
