"""A discharge has reached earth and an arc joins the top to it: what the transistor then sees.

No rating is judged by it, since the arc is an estimate; a finding tells it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from burstwise.core.coil.resolve import ResolvedCoil
from burstwise.core.design.document import Design
from burstwise.core.design.drive import Trip
from burstwise.core.findings import Finding, caution
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.units import shown

ARC_SHARE: Final = 0.05
"""Voltage of the arc over that at which the top breaks out [1].

A discharge grows over a gap at some 5 kV/cm; a thin arc of some tenths of an ampere holds some
100 to 200 V/cm, its ends some hundred volts more (from memory). Which arc it is nobody knows:
an estimate.
"""
ARC_RESISTANCE: Final = 1e3
"""Slope resistance of the arc [ohm]; estimate, no source."""


@dataclass(frozen=True, slots=True)
class EarthStrike:
    """Highest figures of a burst that meets an arc from its first cycle on.

    Attributes
    ----------
    run : Carrier
        Engine run with the arc.
    """

    run: Carrier

    @property
    def drain_voltage(self) -> float:
        """Highest drain voltage [V]."""
        return max(self.run.drain_voltage_worst, self.run.drain_voltage_peak)

    @property
    def drain_current(self) -> float:
        """Highest drain current [A]."""
        return max(self.run.drain_current_worst, self.run.drain_current_peak)


def earth_strike(design: Design, coil: ResolvedCoil, run: Carrier) -> EarthStrike | None:
    """What an arc from top to earth does, at the upper end of the supply's tolerance.

    The arc is a voltage of `ARC_SHARE` of the breakout's with `ARC_RESISTANCE` behind it, either
    way, in place of the breakout. One engine run; heat is left out, since nobody lets it stand.

    Parameters
    ----------
    design, coil
        The design, with an active calibration laid over it, and its coil.
    run : Carrier
        Engine run at the operating point.

    Returns
    -------
    EarthStrike or None
        None where the stage does not run or no discharge is reached.
    """
    rise = 1.0 + design.supply.tolerance
    reached = rise * run.top_voltage_peak >= coil.breakout_voltage
    if not (run.oscillates and math.isfinite(coil.breakout_voltage) and reached):
        return None
    circuit = stage_circuit(design, coil, supply_voltage=rise * run.circuit.supply_voltage)
    struck = replace(
        circuit.coil,
        breakout_voltage=ARC_SHARE * coil.breakout_voltage,
        breakout_resistance=ARC_RESISTANCE,
    )
    warm = replace(circuit, coil=struck).with_on_resistance(run.circuit.switch.on_resistance)
    return EarthStrike(carrier(warm, hint=run.regions))


def earth_strike_findings(design: Design, found: EarthStrike) -> Iterator[Finding]:
    """What to do about a strike to earth that the transistor may not survive.

    Parameters
    ----------
    design : Design
        The design.
    found : EarthStrike
        What a strike does in it.
    """
    device = design.device
    most = device.drain_voltage_rating * device.voltage_use
    if found.drain_voltage <= most and found.drain_current <= device.pulsed_current:
        return
    yield caution(
        "earth-strike",
        "protection",
        "If a discharge reaches something earthed and an arc stands, the secondary is out of tune "
        f"and the stage may run away from its frequency: about "
        f"{shown(found.drain_voltage, 'V', digits=2)} at the drain and "
        f"{shown(found.drain_current, 'A', digits=2)}, with an arc of which only the order is "
        f"known. {_trip_words(design.protection.trip, found)} Keep everything earthed further off "
        "than the longest discharge, put nothing near to draw arcs, fit a clamp or snubber that "
        "holds the drain; a person may never be that earth.",
    )


def _trip_words(trip: Trip | None, found: EarthStrike) -> str:
    """What a trip does about it, in a sentence."""
    if trip is None:
        return "Nothing ends it before the burst does: fit an over-current trip, keep bursts short."
    if trip.kind == "current" and found.drain_current > trip.current:
        return (
            f"The trip at {shown(trip.current, 'A')} ends it, but the drain meets the turn-off of "
            "that current all the same."
        )
    return "The trip does not see it: keep bursts short."


def earth_strike_object(found: EarthStrike) -> dict[str, float | bool]:
    """What `burstwise evaluate --json` prints as ``earth_strike``."""
    return {
        "drain_voltage_V": found.drain_voltage,
        "drain_current_A": found.drain_current,
        "top_voltage_V": found.run.top_voltage_peak,
        "oscillates": found.run.oscillates,
    }
