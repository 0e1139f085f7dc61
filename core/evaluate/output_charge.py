"""What the output capacitance of a device holds at the drain's operating peak."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from burstwise.core.evaluate.results import Results
from burstwise.core.stage.capacitance_law import charge_related, energy_related
from burstwise.core.stage.device_charges import device_charges

_LEAST: Final = 1e-3
"""Peak below which one of a millivolt is taken, for a stage that rests at 0 V [V]."""


@dataclass(frozen=True, slots=True)
class OutputCharge:
    """Charge and energy of Coss at a voltage, and the constants that hold as much.

    Attributes
    ----------
    voltage : float
        The drain's steady peak [V].
    charge, energy : float
        Qoss [C] and Eoss [J] there.
    energy_related, time_related : float
        ``2 E / V^2`` and ``Q / V`` [F].
    """

    voltage: float
    charge: float
    energy: float
    energy_related: float
    time_related: float


def output_charge(results: Results) -> OutputCharge:
    """Charge and energy of Coss at the drain's steady peak of evaluated results."""
    law = device_charges(results.design.device).output
    volts = max(results.carrier.drain_voltage_peak, _LEAST)
    return OutputCharge(
        voltage=volts,
        charge=float(law.charge(volts)),
        energy=float(law.energy(volts)),
        energy_related=energy_related(law, volts),
        time_related=charge_related(law, volts),
    )
