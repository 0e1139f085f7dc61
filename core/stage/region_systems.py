"""Systems and read-outs of regions from their stamps."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from burstwise.core.arrays import Array, Integers


def signal_rows(equations: Array, basis: Array, null: Array) -> Array:
    """All signals and the constant 1 from (y, 1), with what no energy fixes solved for.

    Parameters
    ----------
    equations : array (regions, signals, signals + 1)
        A and b of ``E x' = A x + b``.
    basis : array (signals + 1, n+1)
        Signals and the constant from (y, 1) without the algebraic part.
    null : array (signals, algebraic)
        Null space of E.

    Returns
    -------
    array (regions, signals + 1, n+1)
    """
    rows = np.repeat(basis[None], len(equations), axis=0)
    if null.shape[1]:
        across = null.T @ equations
        rows[:, :-1] -= null @ np.linalg.solve(across[:, :, :-1] @ null, across @ basis)
    return rows


def region_systems(
    places: Integers,
    inners: NDArray[np.floating[Any]],
    equations: Array,
    read_outs: Array,
    basis: Array,
    null: Array,
) -> tuple[Array, Array, Array]:
    """Systems, rows of the signals and rows of the read-outs of some regions, over (y, 1).

    Parameters
    ----------
    places : array of int (regions, parts)
        Stamps that make each region.
    inners : array (regions, n, signals)
        What turns ``A x + b`` to the coordinates' derivatives: ``(B^T E B)^-1 B^T`` with the
        region's capacitances.
    equations : array (stamps, signals, signals + 1)
        Stamps of A and b.
    read_outs : array (stamps, read-outs, signals + 1)
        Stamps of the read-outs.
    basis, null : array
        As in `signal_rows`.

    Returns
    -------
    systems : array (regions, n+1, n+1)
        Augmented systems of (y, 1) [1/s].
    signals : array (regions, signals + 1, n+1)
        Rows of the signals and the constant 1.
    rows : array (regions, read-outs, n+1)
        Rows of the read-outs.
    """
    summed = equations[places].sum(axis=1)
    signals = signal_rows(summed, basis, null)
    systems = np.zeros((len(places), basis.shape[1], basis.shape[1]))
    systems[:, :-1] = inners @ (summed @ signals)
    return systems, signals, read_outs[places].sum(axis=1) @ signals
