"""Modes of a chain of rings: a winding with earthed foot, with or without a load on top."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.linalg import eigh

from burstwise.core.coil.arrays import Floats


@dataclass(frozen=True, slots=True, eq=False)
class LineMode:
    """One mode of the chain, scaled to 1 V at the top (peak).

    Parameters
    ----------
    frequency : float
        Frequency [Hz].
    node_current : array of shape (N + 1,)
        Current through the ring edges from the foot to the top [A].
    ring_current : array of shape (N,)
        Mean current of each ring [A].
    charge : array of shape (N,) or (N + 1,)
        Charge of each ring, and of the top load as last entry where there is one [C].
    potential : array like charge
        Potential of each ring and of the top load [V].
    energy : float
        Peak electric energy, which equals the peak magnetic energy [J].
    """

    frequency: float
    node_current: Floats
    ring_current: Floats
    charge: Floats
    potential: Floats
    energy: float

    @property
    def lumped_capacitance(self) -> float:
        """Capacitance that stores the mode's energy at the top voltage, ``2 W/V^2`` [F]."""
        return 2.0 * self.energy

    @property
    def lumped_inductance(self) -> float:
        """Inductance that resonates with it at the mode's frequency [H]."""
        return 1.0 / (self.angular_frequency**2 * self.lumped_capacitance)

    @property
    def lumped_current(self) -> float:
        """Current of the lumped pair at 1 V, ``omega C`` [A]."""
        return self.angular_frequency * self.lumped_capacitance

    @property
    def angular_frequency(self) -> float:
        """Angular frequency [rad/s]."""
        return 2.0 * math.pi * self.frequency


def line_modes(
    inductance: Floats,
    potential: Floats,
    *,
    count: int = 2,
) -> tuple[LineMode, ...]:
    """Lowest modes of a chain of magnetically and electrically coupled rings.

    ``D^T P D I = omega^2 A^T L A I``: the currents at the ring edges are the unknowns, A takes
    their mean over a ring, D their difference, which is the charge that the ring gathers.

    Parameters
    ----------
    inductance : array of shape (N, N)
        Inductance matrix of the rings [H].
    potential : array of shape (N, N) or (N + 1, N + 1)
        Coefficients of potential of the rings [V/C]; one row more where a load on top takes the
        current that leaves the last ring.
    count : int
        Number of modes, from the lowest.

    Notes
    -----
    Quasi-static: sizes well below the wavelength. Foot at earth potential. For a uniform line
    the frequency is ``(pi/2N)^2/12`` relative above the exact one.
    Source: energy (Rayleigh-Ritz) form, derivation in docs/theory_coil.md.

    Examples
    --------
    >>> n = 200
    >>> mode = line_modes(np.eye(n) / n, np.eye(n) * n, count=1)[0]
    >>> round(mode.angular_frequency / (math.pi / 2), 4)
    1.0
    """
    rings = len(inductance)
    loaded = len(potential) == rings + 1
    edges = rings + 1 if loaded else rings
    mean = 0.5 * (np.eye(rings, edges) + np.eye(rings, edges, 1))
    gather = np.eye(len(potential), edges) - np.eye(len(potential), edges, 1)
    magnetic = mean.T @ inductance @ mean
    electric = gather.T @ potential @ gather
    # The wanted lowest frequencies are the largest eigenvalues of the inverse problem, which stays
    # definite although a saw-tooth current has no magnetic energy in it.
    inverse, shapes = eigh(
        magnetic, electric, subset_by_index=(edges - count, edges - 1), check_finite=False
    )
    return tuple(
        _scaled_mode(float(inverse[-1 - i]), shapes[:, -1 - i], mean, gather, potential)
        for i in range(count)
    )


def _scaled_mode(
    inverse: float,
    shape: Floats,
    mean: Floats,
    gather: Floats,
    potential: Floats,
) -> LineMode:
    omega = 1.0 / math.sqrt(inverse)
    charge = gather @ shape / omega
    volts = potential @ charge
    rings = len(mean)
    loaded = len(volts) > rings
    top = volts[-1] if loaded else 1.5 * volts[-1] - 0.5 * volts[-2]
    current = shape if loaded else np.append(shape, 0.0)
    return LineMode(
        frequency=omega / (2.0 * math.pi),
        node_current=current / top,
        ring_current=mean @ shape / top,
        charge=charge / top,
        potential=volts / top,
        energy=float(0.5 * charge @ volts / top**2),
    )
