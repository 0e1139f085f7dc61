"""A discharge has reached earth and an arc joins the top to it: what the transistor then sees.

No rating is judged by it, since the arc is an estimate: the power-up plan tells it, and a finding
where a rating would break. See docs/theory_limits.md.
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


def earth_strike_words(found: EarthStrike) -> str:
    """What a strike to earth does, in a sentence, with what to do about it.

    Parameters
    ----------
    found : EarthStrike
        What a strike does in a design.
    """
    return (
        f"A strike to something earthed would bring about {_met(found)} to the transistor "
        "(estimate): keep all that is earthed further off than the longest discharge, and draw no "
        "arcs."
    )


def _met(found: EarthStrike) -> str:
    volts = shown(found.drain_voltage, "V", digits=2)
    return f"{volts} and {shown(found.drain_current, 'A', digits=2)}"


def earth_strike_findings(design: Design, found: EarthStrike) -> Iterator[Finding]:
    """A caution where a strike to earth takes the transistor beyond a rating.

    Parameters
    ----------
    design : Design
        The design.
    found : EarthStrike
        What a strike does in it.
    """
    device = design.device
    broken = []
    if found.drain_voltage > device.drain_voltage_rating:
        broken.append(f"{shown(device.drain_voltage_rating, 'V')} at the drain")
    if found.drain_current > device.pulsed_current:
        broken.append(f"{shown(device.pulsed_current, 'A')} pulsed")
    if not broken:
        return
    yield caution(
        "earth-strike",
        "protection",
        f"A strike to something earthed would bring about {_met(found)} to the transistor "
        f"(estimate), which is rated {' and '.join(broken)}. Keep all that is earthed further off "
        f"than the longest discharge. {_trip_words(design.protection.trip, found)}",
    )


def _trip_words(trip: Trip | None, found: EarthStrike) -> str:
    """What a trip does about it, in a sentence."""
    if trip is None:
        return "Only the burst's end stops it: fit an over-current trip."
    if trip.kind == "current" and found.drain_current > trip.current:
        return f"The trip at {shown(trip.current, 'A')} ends it, after the first peak."
    return "The trip does not see it: keep bursts short."


def earth_strike_object(found: EarthStrike) -> dict[str, float | bool]:
    """What `burstwise evaluate --json` prints as ``earth_strike``."""
    return {
        "drain_voltage_V": found.drain_voltage,
        "drain_current_A": found.drain_current,
        "top_voltage_V": found.run.top_voltage_peak,
        "oscillates": found.run.oscillates,
    }
