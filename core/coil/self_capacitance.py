"""Tabulated self-capacitance of a winding: the second opinion beside the field sums."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from burstwise.core.coil.capacitance import top_load_capacitance
from burstwise.core.coil.geometry import SecondaryGeometry, TopLoad
from burstwise.core.coil.resonator import Resonator
from burstwise.core.coil.tables import self_capacitance_table


@dataclass(frozen=True, slots=True)
class TableEstimate:
    """Second opinion: tabulated self-capacitance plus the top load as if it stood alone.

    Parameters
    ----------
    winding_capacitance, top_load_capacitance, capacitance : float
        The two parts and their sum [F].
    resonance : float
        Frequency of that sum with the low-frequency inductance [Hz].
    difference : float
        That frequency over the distributed model's, less 1.
    """

    winding_capacitance: float
    top_load_capacitance: float
    capacitance: float
    resonance: float
    difference: float


def tabulated_self_capacitance(diameter: float, length_over_diameter: float) -> float:
    """Self-capacitance of a single-layer winding with one end earthed, from a table [F].

    ``C = H(l/D) D`` with H linear between entries.

    Parameters
    ----------
    diameter : float
        Mean diameter [m].
    length_over_diameter : float
        Winding length over diameter; held at the table's ends, 0.1 and 50.

    Notes
    -----
    Measured by adding capacitors across coils, +-5 to 10 %. Adding it to the capacitance of an
    isolated top load puts f0 some 18 % low, for each shields the other. Source: R. G. Medhurst,
    Wireless Engineer 24 (1947) 35-43 (table from memory).

    Examples
    --------
    >>> f"{tabulated_self_capacitance(0.11, 0.36 / 0.11) * 1e12:.2f} pF"
    '7.07 pF'
    """
    table = self_capacitance_table()
    per_diameter = np.interp(length_over_diameter, table.length_over_diameter, table.per_diameter)
    return float(per_diameter * diameter)


def table_estimate(
    secondary: SecondaryGeometry, top_load: TopLoad, resonator: Resonator
) -> TableEstimate:
    """Second opinion by table and isolated top load, with its difference in frequency.

    Examples
    --------
    >>> from burstwise.core.coil.geometry import TopLoadKind
    >>> from burstwise.core.coil.resonator import secondary_resonator
    >>> coil = SecondaryGeometry(0.10964, 0.000315, 0.00036, 1000)
    >>> ring = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)
    >>> second = table_estimate(coil, ring, secondary_resonator(coil, ring, 0.1))
    >>> f"{second.resonance / 1e3:.1f} kHz, {second.difference:+.1%}"
    '223.0 kHz, -15.3%'
    """
    winding = tabulated_self_capacitance(
        secondary.mean_diameter, secondary.length / secondary.mean_diameter
    )
    top = top_load_capacitance(top_load)
    resonance = 1.0 / (2.0 * math.pi * math.sqrt(resonator.inductance * (winding + top)))
    return TableEstimate(
        winding_capacitance=winding,
        top_load_capacitance=top,
        capacitance=winding + top,
        resonance=resonance,
        difference=resonance / resonator.fundamental.frequency - 1.0,
    )
