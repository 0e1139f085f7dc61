"""Wiring and layout notes with the numbers of the design in them."""

from __future__ import annotations

import math

from core.assembly.parts import PartsList
from core.evaluate.results import Results
from core.units import shown

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


def layout_notes(results: Results, parts: PartsList) -> tuple[str, ...]:
    """Notes for the builder, the most important first."""
    run, found = results.carrier, parts.by_role
    frequency = run.frequency if run.oscillates else results.coil.resonance
    slope = current_slope(run.drain_current_peak, frequency)
    film = found["bus_film"].reference
    bulk = (
        f"{found['bulk'].reference} may sit a hand's width further off"
        if "bulk" in found
        else "the leads from the supply are short and twisted, as there is no bulk capacitor"
    )
    notes = [
        f"Loop of {film}, {found['primary'].reference}, {found['switch'].reference} and back: keep "
        f"the leads short and side by side. At {shown(slope, 'A/s', digits=3)} each centimetre of "
        f"lead adds about {shown(slope * NANOHENRY_PER_CM, 'V', digits=2)}.",
        f"{film} sits at the primary's supply end and the source, {bulk}.",
        "One point of 0 V at the source (behind the shunt); supply, drive, interrupter and "
        "the clips of all probes meet there, and no clip goes anywhere else.",
        "The secondary's foot returns through the drive to 0 V; give the earth plane below the "
        "coil its own short wire to that point. Do not use the mains earth as RF earth.",
    ]
    if "driver" in found:
        chain = results.design.interrupter.chain
        resistor = found["gate_resistor"].reference if "gate_resistor" in found else "gate lead"
        notes += [
            f"Gate loop {found['driver'].reference}, {resistor}, gate, source: at most "
            f"{shown(chain.loop_inductance, 'H')}, about "
            f"{chain.loop_inductance / NANOHENRY_PER_CM:.1f} cm of lead in all.",
            f"{found['driver_decoupling'].reference} right at the driver's supply and ground pins.",
            "Lead the base wire to the driver's input twisted with its 0 V return, the clamps at "
            "the pins.",
        ]
    else:
        notes.append("Gate clamps right between gate and source pins.")
    if "timer" in found:
        notes.append(
            "Keep the interrupter a forearm away from the secondary, in a metal box tied to 0 V; "
            "take a fibre or a filtered lead if it triggers by itself."
        )
    if "shunt" in found:
        notes.append(
            f"Read {found['shunt'].reference} with its own pair of wires at its ends, not along "
            "the current's path."
        )
    return tuple(notes)
