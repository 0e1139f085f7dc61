"""Step tables of a region, and from the sums of outer products to integrals of x x^T."""

from __future__ import annotations

import numpy as np

from core.stage.kernel.layout import (
    BLOCK,
    FULL,
    INNER,
    LENGTHS,
    LEVELS,
    LINE,
    MONITORS,
    RADIX,
    SHIFT,
    SQUARE,
    WIDTH,
    Floats,
    Integers,
    U,
    allocating,
    inlined,
)


@inlined
def _product(left: Floats, right: Floats, out: Floats) -> None:
    """Product of two matrices (WIDTH, WIDTH), faster than a library call at this size."""
    for i in range(WIDTH):
        for j in range(WIDTH):
            out[i, j] = 0.0
        for k in range(WIDTH):
            factor = left[i, k]
            for j in range(WIDTH):
                out[i, j] += factor * right[k, j]


@inlined
def _followed(left: Floats, right: Floats, out: Floats) -> None:
    """Product of two step matrices in the tables' form, (WIDTH, INNER) each, the last row constant.

    The state is a row before the matrix, its last place the constant 1.
    """
    for i in range(WIDTH):
        for j in range(INNER):
            out[i, j] = right[INNER, j] if i == INNER else 0.0
        for k in range(INNER):
            factor = left[i, k]
            for j in range(INNER):
                out[i, j] += factor * right[k, j]


@inlined
def _double(change: Floats, spare: Floats) -> None:
    """Step matrix of twice the time, both less the identity, in the tables' form, in place.

    ``(1 + D)^2 - 1 = 2 D + D D`` keeps the digits that a short step differs from the identity by.
    """
    for i in range(WIDTH):
        for j in range(INNER):
            spare[i, j] = 2.0 * change[i, j]
        for k in range(INNER):
            factor = change[i, k]
            for j in range(INNER):
                spare[i, j] += factor * change[k, j]
    for i in range(WIDTH):
        for j in range(INNER):
            change[i, j] = spare[i, j]


@allocating
def _fill_steps(change: Floats, unit: Floats, spare: Floats, out: Floats) -> None:
    """Step matrices of all lengths from that of one tick.

    `change` is the step of one tick less the identity (WIDTH, INNER) and is used up; `out`
    (LENGTHS, WIDTH, INNER).
    """
    for level in range(LEVELS - 1, -1, -1):
        first = level * (RADIX - 1)
        unit[:] = change
        for k in range(INNER):
            unit[k, k] += 1.0
        out[first] = unit
        for digit in range(1, RADIX - 1):
            _followed(out[first + digit - 1], unit, out[first + digit])
        for _ in range(SHIFT):
            _double(change, spare)
    out[FULL] = change
    for k in range(INNER):
        out[FULL, k, k] += 1.0


@inlined
def _short_step(matrix: Floats, time: float, term: Floats, spare: Floats, out: Floats) -> None:
    """Propagator ``exp(matrix time) - 1`` (WIDTH, WIDTH) of a short time by its series."""
    size = 0.0
    for i in range(WIDTH):
        for j in range(WIDTH):
            term[i, j] = matrix[i, j] * time
            out[i, j] = term[i, j]
            size = max(size, abs(term[i, j]))
    for order in range(2, 40):
        _product(term, matrix, spare)
        largest = 0.0
        for i in range(WIDTH):
            for j in range(WIDTH):
                term[i, j] = spare[i, j] * (time / order)
                out[i, j] += term[i, j]
                largest = max(largest, abs(term[i, j]))
        if largest <= 1e-18 * size:
            break


@inlined
def _spread(narrow: Floats, wide: Floats) -> None:
    """Columns of (y, 1) spread to WIDTH, the constant in the last place."""
    last = narrow.shape[1] - 1
    for row in range(narrow.shape[0]):
        for j in range(WIDTH):
            wide[row, j] = narrow[row, j] if j < last else 0.0
        wide[row, INNER] = narrow[row, last]


@allocating
def fill_regions(
    systems: Floats,
    rows: Floats,
    first_monitor: int,
    depths: Integers,
    tick: float,
    start: int,
    matrices: Floats,
    read_outs: Floats,
    halves: Floats,
    views: Floats,
    steps: Floats,
    sums: Floats,
) -> None:
    """Tables of some regions from their systems and read-outs.

    Parameters
    ----------
    systems : array (count, n+1, n+1)
        Augmented system matrices [1/s].
    rows : array (count, read-outs, n+1)
        Rows of the regions' read-outs.
    first_monitor : int
        Place of the first monitor among them.
    depths : array (count,)
        How often the tick is halved before the series of the exponential is used.
    tick : float
        Length of a tick [s].
    start : int
        Slot of the first of them; the others follow.
    matrices : array (slots, WIDTH, WIDTH)
        Set to the system matrices, the constant in the last place.
    read_outs : array (slots, read-outs, WIDTH)
        Set to the rows of the read-outs.
    halves : array (slots, HALVINGS, WIDTH, WIDTH)
        The first ``depths`` are set to the propagators of tick/2, tick/4, ...
    views : array (slots, WIDTH, VIEWED)
        Set to what turns coordinates to monitors and their changes per tick.
    steps : array (slots, LENGTHS, WIDTH, INNER)
        Set to the step matrices.
    sums : array (slots, LENGTHS, SQUARE)
        Set to zero.
    """
    wide, spare = np.zeros((WIDTH, WIDTH)), np.zeros((WIDTH, WIDTH))
    term = np.zeros((WIDTH, WIDTH))
    change, unit = np.zeros((WIDTH, INNER)), np.zeros((WIDTH, INNER))
    room = np.zeros((WIDTH, INNER))
    last = systems.shape[1] - 1
    for place in range(systems.shape[0]):
        slot = start + place
        matrix = matrices[slot]
        matrix[:] = 0.0
        _spread(systems[place, :last], matrix)
        depth = depths[place]
        _short_step(matrix, tick * 0.5**depth, term, spare, wide)
        for i in range(WIDTH):
            for j in range(INNER):
                change[i, j] = wide[j, i]
        for half in range(depth - 1, -1, -1):
            for i in range(WIDTH):
                for j in range(INNER):
                    halves[slot, half, j, i] = change[i, j] + (1.0 if i == j else 0.0)
                halves[slot, half, INNER, i] = 1.0 if i == INNER else 0.0
            _double(change, room)
        _spread(rows[place], read_outs[slot])
        for m in range(MONITORS):
            seen = read_outs[slot, first_monitor + m]
            for j in range(WIDTH):
                rate = 0.0
                for k in range(WIDTH):
                    rate += seen[k] * matrix[k, j]
                views[slot, j, m] = seen[j]
                views[slot, j, MONITORS + m] = rate * tick
        _fill_steps(change, unit, room, steps[slot])
        sums[slot] = 0.0


@allocating
def turnover(
    moments: Floats, read_outs: Floats, left: Integers, right: Integers, out: Floats
) -> None:
    """Integrals of products of read-outs over all regions.

    Parameters
    ----------
    moments : array (slots, WIDTH, WIDTH)
        Integrals of x x^T dt in each region, zero where nothing was booked.
    read_outs : array (slots, read-outs, WIDTH)
        Rows of the read-outs of each region.
    left, right : array (pairs,)
        Places of both factors among the read-outs.
    out : array (pairs,)
        Set to the integrals.
    """
    out[:] = 0.0
    turned = np.empty((read_outs.shape[1], WIDTH))
    for slot in range(moments.shape[0]):
        if moments[slot, INNER, INNER] == 0.0:
            continue
        for row in range(read_outs.shape[1]):
            for j in range(WIDTH):
                turned[row, j] = 0.0
                for k in range(WIDTH):
                    turned[row, j] += read_outs[slot, row, k] * moments[slot, k, j]
        for pair in range(left.shape[0]):
            for j in range(WIDTH):
                out[pair] += turned[left[pair], j] * read_outs[slot, right[pair], j]


@inlined
def _carry(steps: Floats, place: int, carried: Floats, layer: Floats, work: Floats) -> None:
    """Outer products in `carried` moved on by one step, plus `layer`, all in packed squares."""
    inner = np.uint64(work.shape[0] - WIDTH * INNER)
    first = np.uint64(place)
    for row in range(WIDTH):
        line = np.uint64(row * INNER)
        s0, s1, s2, s3 = (
            carried[line],
            carried[line + U[1]],
            carried[line + U[2]],
            carried[line + U[3]],
        )
        s4, s5, s6, s7 = (
            carried[line + U[4]],
            carried[line + U[5]],
            carried[line + U[6]],
            carried[line + U[7]],
        )
        s8 = carried[LINE[8] + np.uint64(row)]
        for j in range(inner):
            k = first + j
            work[line + j] = (
                (s0 * steps[k] + s1 * steps[k + LINE[1]] + s2 * steps[k + LINE[2]])
                + (s3 * steps[k + LINE[3]] + s4 * steps[k + LINE[4]] + s5 * steps[k + LINE[5]])
                + (s6 * steps[k + LINE[6]] + s7 * steps[k + LINE[7]] + s8 * steps[k + LINE[8]])
            )
    for row in range(INNER):
        line = np.uint64(row * INNER)
        k = first + np.uint64(row)
        s0, s1, s2 = steps[k], steps[k + LINE[1]], steps[k + LINE[2]]
        s3, s4, s5 = steps[k + LINE[3]], steps[k + LINE[4]], steps[k + LINE[5]]
        s6, s7, s8 = steps[k + LINE[6]], steps[k + LINE[7]], steps[k + LINE[8]]
        for j in range(inner):
            carried[line + j] = (
                layer[line + j]
                + (s0 * work[j] + s1 * work[j + LINE[1]] + s2 * work[j + LINE[2]])
                + (s3 * work[j + LINE[3]] + s4 * work[j + LINE[4]] + s5 * work[j + LINE[5]])
                + (s6 * work[j + LINE[6]] + s7 * work[j + LINE[7]] + s8 * work[j + LINE[8]])
            )
    for j in range(LINE[8], LINE[9]):
        carried[j] = work[j] + layer[j]
    carried[LINE[9]] += layer[LINE[9]]


@allocating
def integrals(
    sums: Floats,
    steps: Floats,
    matrices: Floats,
    halves: Floats,
    depths: Integers,
    tick: float,
    out: Floats,
) -> None:
    """Integrals of x x^T dt over all steps booked in each region [s], and the books emptied.

    Parameters
    ----------
    sums : array (slots * LENGTHS * SQUARE,)
        Sums of outer products of the states at the start of each step, by step length.
    steps : array (slots * LENGTHS * BLOCK,)
        Step matrices.
    matrices : array (slots, WIDTH, WIDTH)
        Augmented system matrices of the regions [1/s].
    halves : array (slots, HALVINGS, WIDTH, WIDTH)
        Propagators of tick/2, tick/4, ... where a region is too quick for the series.
    depths : array (slots,)
        How many of them are in use.
    tick : float
        Length of a tick [s].
    out : array (slots, WIDTH, WIDTH)
        Set to the integrals, zero where nothing was booked.
    """
    carried, layer, work = np.empty(SQUARE), np.empty(SQUARE), np.empty(SQUARE)
    term, turned = np.empty((WIDTH, WIDTH)), np.empty((WIDTH, WIDTH))
    half = np.empty((WIDTH, WIDTH))
    for slot in range(out.shape[0]):
        out[slot] = 0.0
        first = slot * LENGTHS
        booked = 0.0
        for length in range(LENGTHS):
            booked += sums[(first + length) * SQUARE + WIDTH * INNER]
        if booked == 0.0:
            continue
        carried[:] = sums[(first + FULL) * SQUARE : (first + FULL + 1) * SQUARE]
        for level in range(LEVELS):
            unit = first + level * (RADIX - 1)
            # A step of d units is the same as d steps of one unit; Horner's rule over the units.
            layer[:] = carried
            for digit in range(RADIX - 1, 0, -1):
                place = (unit + digit - 1) * SQUARE
                if sums[place + WIDTH * INNER] != 0.0:
                    for j in range(SQUARE):
                        layer[j] += sums[place + j]
                if layer[WIDTH * INNER] != 0.0:
                    _carry(steps, unit * BLOCK, carried, layer, work)
        for i in range(WIDTH):
            for j in range(INNER):
                term[i, j] = carried[i * INNER + j]
            term[i, INNER] = carried[INNER * INNER + i]
        sums[first * SQUARE : (first + LENGTHS) * SQUARE] = 0.0
        piece = tick
        for depth in range(depths[slot]):
            # A piece is the same as two halves of it.
            half[:] = halves[slot, depth]
            _product(half, term, turned)
            for i in range(WIDTH):
                for j in range(WIDTH):
                    for k in range(WIDTH):
                        term[i, j] += turned[i, k] * half[j, k]
            piece *= 0.5
        # Within one piece the series in its length converges in a few terms.
        for i in range(WIDTH):
            for j in range(WIDTH):
                term[i, j] *= piece
        out[slot] = term
        for order in range(2, 60):
            _product(matrices[slot], term, turned)
            largest = total = 0.0
            for i in range(WIDTH):
                for j in range(WIDTH):
                    term[i, j] = (turned[i, j] + turned[j, i]) * (piece / order)
                    out[slot, i, j] += term[i, j]
                    largest = max(largest, abs(term[i, j]))
                    total = max(total, abs(out[slot, i, j]))
            if largest <= 1e-17 * total:
                break
