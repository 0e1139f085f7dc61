"""From the sums of outer products to integrals of x x^T, and to energies."""

from __future__ import annotations

import numpy as np

from burstwise.core.arrays import Array, Integers
from burstwise.core.stage.kernel.layout import (
    BLOCK,
    FULL,
    HALVINGS,
    INNER,
    LENGTHS,
    LEVELS,
    LINE,
    RADIX,
    SQUARE,
    WIDTH,
    U,
    allocating,
    inlined,
)

_LAST = INNER * INNER
"""Where the last row of a packed square begins."""


@allocating
def turnover(
    slots: Integers,
    moments: Array,
    read_outs: Array,
    left: Integers,
    right: Integers,
    out: Array,
) -> float:
    """Integrals of products of read-outs over some regions, and the time booked [s].

    Parameters
    ----------
    slots : array (count,)
        Slots of the regions, in the order in which they are added up.
    moments : array (count, WIDTH, WIDTH)
        Integrals of x x^T dt in each of them.
    read_outs : array (slots, read-outs, WIDTH)
        Rows of the read-outs of each region.
    left, right : array (pairs,)
        Places of both factors among the read-outs.
    out : array (pairs,)
        Set to the integrals.
    """
    out[:] = 0.0
    turned, time = np.empty(WIDTH), 0.0
    for place in range(slots.shape[0]):
        slot = slots[place]
        time += moments[place, INNER, INNER]
        for pair in range(left.shape[0]):
            one, other = left[pair], right[pair]
            for j in range(WIDTH):
                turned[j] = 0.0
            # Along the rows of a matrix that is the same both ways.
            for k in range(WIDTH):
                share = read_outs[slot, one, k]
                for j in range(WIDTH):
                    turned[j] += share * moments[place, k, j]
            for j in range(WIDTH):
                out[pair] += turned[j] * read_outs[slot, other, j]
    return time


@inlined
def _add_carried(
    steps: Array,
    place: int,
    source: Array,
    start: int,
    target: Array,
    there: int,
    work: Array,
) -> None:
    """Add outer products at `source`, moved on by one step, to those at `target`, all packed."""
    inner = np.uint64(work.shape[0] - WIDTH * INNER)
    first, origin, goal = np.uint64(place), np.uint64(start), np.uint64(there)
    for row in range(WIDTH):
        line = np.uint64(row * INNER)
        s = origin + line
        s0, s1, s2, s3 = source[s], source[s + U[1]], source[s + U[2]], source[s + U[3]]
        s4, s5, s6, s7 = source[s + U[4]], source[s + U[5]], source[s + U[6]], source[s + U[7]]
        s8 = source[origin + LINE[8] + np.uint64(row)]
        for j in range(inner):
            k = first + j
            work[line + j] = (
                (s0 * steps[k] + s1 * steps[k + LINE[1]] + s2 * steps[k + LINE[2]])
                + (s3 * steps[k + LINE[3]] + s4 * steps[k + LINE[4]] + s5 * steps[k + LINE[5]])
                + (s6 * steps[k + LINE[6]] + s7 * steps[k + LINE[7]] + s8 * steps[k + LINE[8]])
            )
    for row in range(INNER):
        line = goal + np.uint64(row * INNER)
        k = first + np.uint64(row)
        s0, s1, s2 = steps[k], steps[k + LINE[1]], steps[k + LINE[2]]
        s3, s4, s5 = steps[k + LINE[3]], steps[k + LINE[4]], steps[k + LINE[5]]
        s6, s7, s8 = steps[k + LINE[6]], steps[k + LINE[7]], steps[k + LINE[8]]
        for j in range(inner):
            target[line + j] += (
                (s0 * work[j] + s1 * work[j + LINE[1]] + s2 * work[j + LINE[2]])
                + (s3 * work[j + LINE[3]] + s4 * work[j + LINE[4]] + s5 * work[j + LINE[5]])
                + (s6 * work[j + LINE[6]] + s7 * work[j + LINE[7]] + s8 * work[j + LINE[8]])
            )
    for j in range(inner):
        target[goal + LINE[8] + j] += work[LINE[8] + j]
    target[goal + LINE[9]] += source[origin + LINE[9]]


@inlined
def _clear(sums: Array, place: int) -> None:
    for j in range(SQUARE):
        sums[place + j] = 0.0


@inlined
def _to_units(
    unit: int,
    digits: int,
    sums: Array,
    steps: Array,
    carried: Array,
    layer: Array,
    work: Array,
) -> None:
    """Squares booked over steps of 1 to 15 units, and over 16 in `carried`, as of one unit there.

    A step of d units is one of its highest power of two and one of what is left; a step of a power
    of two is two of half its length. Bit d - 1 of `digits` tells whether any of d units is booked;
    without it nothing is to be read there.
    """
    if digits == 0 and carried[LINE[9]] == 0.0:
        return
    power = RADIX >> 1
    while power > 0:
        move = (unit + power - 1) * BLOCK
        if carried[LINE[9]] != 0.0:
            for j in range(SQUARE):
                layer[j] = carried[j]
            _add_carried(steps, move, layer, 0, carried, 0, work)
        for digit in range(power, 2 * power):
            if not digits >> (digit - 1) & 1:
                continue
            place = (unit + digit - 1) * SQUARE
            for j in range(SQUARE):
                carried[j] += sums[place + j]
            if digit > power:
                rest = digit - power - 1
                if not digits >> rest & 1:
                    _clear(sums, (unit + rest) * SQUARE)
                _add_carried(steps, move, sums, place, sums, (unit + rest) * SQUARE, work)
                digits |= 1 << rest
        power >>= 1


@inlined
def _rate(matrix: Array, square: Array, share: float, work: Array) -> None:
    """Replace packed outer products S by ``share (M S + S M^T)``, M being the system matrix."""
    inner = np.uint64(work.shape[0] - WIDTH * INNER)
    for i in range(INNER):
        line = np.uint64(i * INNER)
        a0, a1, a2, a3 = matrix[i, 0], matrix[i, 1], matrix[i, 2], matrix[i, 3]
        a4, a5, a6, a7 = matrix[i, 4], matrix[i, 5], matrix[i, 6], matrix[i, 7]
        drive = matrix[i, INNER]
        for j in range(inner):
            work[line + j] = (
                (a0 * square[j] + a1 * square[j + LINE[1]] + a2 * square[j + LINE[2]])
                + (a3 * square[j + LINE[3]] + a4 * square[j + LINE[4]] + a5 * square[j + LINE[5]])
                + (
                    a6 * square[j + LINE[6]]
                    + a7 * square[j + LINE[7]]
                    + drive * square[j + LINE[8]]
                )
            )
        mean = drive * square[LINE[9]]
        for k in range(INNER):
            mean += matrix[i, k] * square[_LAST + k]
        work[_LAST + i] = mean
    for i in range(INNER):
        for j in range(INNER):
            square[i * INNER + j] = share * (work[i * INNER + j] + work[j * INNER + i])
        square[_LAST + i] = share * work[_LAST + i]
    square[LINE[9]] = 0.0


@allocating
def integrals(
    slots: Integers,
    sums: Array,
    booked: Integers,
    steps: Array,
    matrices: Array,
    halves: Array,
    depths: Integers,
    tick: float,
    out: Array,
) -> None:
    """Integrals of x x^T dt over all steps booked in some regions [s], and their books emptied.

    Parameters
    ----------
    slots : array (count,)
        Slots of the regions, all with something booked.
    sums : array (slots * LENGTHS * SQUARE,)
        Sums of outer products of the states at the start of each step, by step length.
    booked : array (slots,)
        Lengths that something is booked under, a bit each; the sums of all others are void.
    steps : array (slots * LENGTHS * BLOCK,)
        Step matrices.
    matrices : array (slots, WIDTH, WIDTH)
        Augmented system matrices of the regions [1/s].
    halves : array (slots * HALVINGS * BLOCK,)
        Step matrices of tick/2, tick/4, ... where a region is too quick for the series.
    depths : array (slots,)
        How many of them are in use.
    tick : float
        Length of a tick [s].
    out : array (count, WIDTH, WIDTH)
        Set to the integrals.
    """
    carried, layer, work = np.empty(SQUARE), np.empty(SQUARE), np.empty(SQUARE)
    total = np.empty(SQUARE)
    for count in range(slots.shape[0]):
        slot = slots[count]
        first, lengths = slot * LENGTHS, booked[slot]
        booked[slot] = 0
        longest = (first + FULL) * SQUARE
        for j in range(SQUARE):
            carried[j] = sums[longest + j] if lengths >> FULL & 1 else 0.0
        for level in range(LEVELS):
            below = level * (RADIX - 1)
            digits = lengths >> below & (1 << RADIX - 1) - 1
            _to_units(first + below, digits, sums, steps, carried, layer, work)
        piece = tick
        for depth in range(depths[slot]):
            # A piece is the same as two halves of it.
            for j in range(SQUARE):
                layer[j] = carried[j]
            block = (slot * HALVINGS + depth) * BLOCK
            _add_carried(halves, block, layer, 0, carried, 0, work)
            piece *= 0.5
        # Within one piece the series in its length converges in a few terms.
        for j in range(SQUARE):
            carried[j] *= piece
            total[j] = carried[j]
        for order in range(2, 60):
            _rate(matrices[slot], carried, piece / order, work)
            largest = reached = 0.0
            for j in range(SQUARE):
                total[j] += carried[j]
                largest = max(largest, abs(carried[j]))
                reached = max(reached, abs(total[j]))
            if largest <= 1e-17 * reached:
                break
        for i in range(WIDTH):
            for j in range(INNER):
                out[count, i, j] = total[i * INNER + j]
        for j in range(INNER):
            out[count, j, INNER] = total[_LAST + j]
        out[count, INNER, INNER] = total[WIDTH * INNER]
