"""A region's system and read-outs from its stamps."""

from __future__ import annotations

import numpy as np

from burstwise.core.stage.kernel.layout import Floats, Integers, allocating


@allocating
def summed(table: Floats, places: Integers) -> Floats:
    """Sum of some pages of a table."""
    total = table[places[0]].copy()
    for place in places[1:]:
        total += table[place]
    return total


@allocating
def signal_rows(equations: Floats, basis: Floats, null: Floats) -> Floats:
    """All signals and the constant 1 from (y, 1), with what no energy fixes solved for.

    Parameters
    ----------
    equations : array (signals, signals + 1)
        A and b of ``E x' = A x + b``.
    basis : array (signals + 1, n+1)
        Signals and the constant from (y, 1) without the algebraic part.
    null : array (signals, algebraic)
        Null space of E.
    """
    if null.shape[1] == 0:
        return basis.copy()
    across = np.ascontiguousarray(null.T) @ equations
    inner = np.ascontiguousarray(across[:, :-1]) @ null
    share = np.linalg.solve(inner, across @ basis)
    rows = basis.copy()
    rows[:-1] -= null @ share
    return rows


@allocating
def assemble(
    places: Integers,
    inners: Floats,
    equations: Floats,
    read_outs: Floats,
    basis: Floats,
    null: Floats,
    systems: Floats,
    signals: Floats,
    rows: Floats,
) -> None:
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
    systems : array (regions, n+1, n+1)
        Set to the augmented systems of (y, 1) [1/s].
    signals : array (regions, signals + 1, n+1)
        Set to the rows of the signals and the constant 1.
    rows : array (regions, read-outs, n+1)
        Set to the rows of the read-outs.
    """
    order = basis.shape[1] - 1
    for region in range(places.shape[0]):
        system = summed(equations, places[region])
        signals[region] = signal_rows(system, basis, null)
        systems[region, :order] = inners[region] @ (system @ signals[region])
        systems[region, order] = 0.0
        rows[region] = summed(read_outs, places[region]) @ signals[region]
