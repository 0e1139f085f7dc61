"""Round winding wire by metric or AWG size, its enamel, length, mass and resistance."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from burstwise.core.coil.checks import checked_number
from burstwise.core.coil.tables import enamel_table
from burstwise.core.constants import COPPER_DENSITY
from burstwise.core.errors import InputError


class EnamelGrade(IntEnum):
    """Thickness of the enamel."""

    GRADE_1 = 1
    GRADE_2 = 2


@dataclass(frozen=True, slots=True)
class Wire:
    """Round copper wire: bare and overall diameter [m]."""

    bare_diameter: float
    overall_diameter: float


def awg_diameter(gauge: float) -> float:
    """Bare diameter of an American wire gauge size [m].

    ``d = 0.127 mm * 92^((36 - n)/39)``

    Parameters
    ----------
    gauge : float
        Gauge number; 0 is 1/0, -1 is 2/0 and so on to -3.

    Notes
    -----
    The standard's table rounds to four figures. Source: ASTM B258 (equation from memory).

    Raises
    ------
    InputError
        Gauge outside -3 to 56.

    Examples
    --------
    >>> f"{awg_diameter(30) * 1e3:.4f} mm"
    '0.2546 mm'
    """
    checked_number("gauge", gauge, -3.0, 56.0, "")
    return float(0.127e-3 * 92.0 ** ((36.0 - gauge) / 39.0))


def awg_gauge(bare_diameter: float) -> float:
    """American wire gauge number of a bare diameter, the inverse of `awg_diameter`, not rounded.

    ``n = 36 - 39 ln(d/0.127 mm)/ln 92``

    Parameters
    ----------
    bare_diameter : float
        Diameter of the copper [m].

    Examples
    --------
    >>> round(awg_gauge(awg_diameter(28)), 9), f"{awg_gauge(0.2e-3):.1f}"
    (28.0, '32.1')
    """
    return 36.0 - 39.0 * math.log(bare_diameter / 0.127e-3) / math.log(92.0)


def enamelled_wire(bare_diameter: float, grade: EnamelGrade) -> Wire:
    """Wire with the largest overall diameter that its grade allows.

    Parameters
    ----------
    bare_diameter : float
        Copper diameter [m].
    grade : EnamelGrade
        Grade 1 or grade 2.

    Notes
    -----
    Between table sizes the increase over bare is interpolated over the log of the diameter,
    which reproduces dropped entries to 3 µm. Real wire is up to 10 % of the increase thinner.
    Source: IEC 60317-0-1 (from memory; 0.1 mm grade 1 seen in public text).

    Raises
    ------
    InputError
        Diameter outside the table, 0.05 mm to 2.5 mm.

    Examples
    --------
    >>> wire = enamelled_wire(0.315e-3, EnamelGrade.GRADE_2)
    >>> f"{wire.overall_diameter * 1e3:.3f} mm"
    '0.367 mm'
    """
    table = enamel_table()
    low, high = float(table.nominal[0]), float(table.nominal[-1])
    if not low * (1 - 1e-9) <= bare_diameter <= high * (1 + 1e-9):
        raise InputError("bare_diameter", bare_diameter, f"between {low:g} m and {high:g} m")
    overall = table.grade_1 if grade is EnamelGrade.GRADE_1 else table.grade_2
    increase = np.interp(math.log(bare_diameter), np.log(table.nominal), overall - table.nominal)
    return Wire(bare_diameter, bare_diameter + float(increase))


def wire_area(bare_diameter: float) -> float:
    """Section of a round wire, ``pi d^2/4`` [m^2].

    Examples
    --------
    >>> f"{wire_area(awg_diameter(36)) * 1e6:.6f} mm²"
    '0.012668 mm²'
    """
    return 0.25 * math.pi * bare_diameter**2


def dc_resistance(length: float, area: float, *, resistivity: float) -> float:
    """Dc resistance of a conductor, ``rho l/A`` [ohm].

    Examples
    --------
    >>> f"{dc_resistance(1e3, wire_area(awg_diameter(36)), resistivity=1.7241e-8):.3f}"
    '1361.022'
    """
    return resistivity * length / area


def copper_mass(length: float, area: float) -> float:
    """Mass of a copper conductor without insulation, ``8890 kg/m^3 * l A`` [kg].

    Examples
    --------
    >>> f"{copper_mass(1e3, wire_area(awg_diameter(36))) * 1e3:.3f} g"
    '112.616 g'
    """
    return COPPER_DENSITY * length * area


def helix_length(diameter: float, *, turns: float, pitch: float) -> float:
    """Length of wire on a cylinder, ``N sqrt((pi D)^2 + p^2)`` [m].

    Examples
    --------
    >>> f"{helix_length(0.11, turns=1000, pitch=0.00036):.4f} m"
    '345.5754 m'
    """
    return turns * math.hypot(math.pi * diameter, pitch)


def winding_time(
    turns: float, *, turns_per_minute: float = 100.0, preparation: float = 1200.0
) -> float:
    """Estimate of the time to wind a coil on a hand-fed winder [s].

    ``preparation + 60 N / rate``; the default rate and preparation are common practice, no
    source.

    Parameters
    ----------
    turns : float
        Number of turns.
    turns_per_minute : float
        Winding rate, above 0.
    preparation : float
        Fixing the former and both wire ends [s].

    Examples
    --------
    >>> winding_time(1000)
    1800.0
    """
    return preparation + 60.0 * turns / turns_per_minute
