"""Step tables of a region, and from the sums of outer products to integrals of x x^T."""

from __future__ import annotations

import numpy as np

from core.stage.kernel.layout import (
    BLOCK,
    COLUMNS,
    FULL,
    INNER,
    LENGTHS,
    LEVELS,
    LINE,
    MONITORS,
    RADIX,
    ROW,
    SQUARE,
    STILL,
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


@allocating
def _fill_steps(tick_matrix: Floats, monitors: Floats, out: Floats) -> None:
    """Step matrices of all lengths from that of one tick, stored transposed.

    `tick_matrix` is ``expm(A h / 4096)`` transposed, (WIDTH, WIDTH); `monitors`
    (WIDTH, MONITORS); `out` (LENGTHS, WIDTH, COLUMNS).
    """
    unit = tick_matrix.copy()
    power, spare = np.empty((WIDTH, WIDTH)), np.empty((WIDTH, WIDTH))
    for level in range(LEVELS - 1, -2, -1):
        first = level * (RADIX - 1) if level >= 0 else FULL
        power[:] = unit
        for digit in range(1, RADIX if level >= 0 else 2):
            place = first + digit - 1
            for i in range(WIDTH):
                for j in range(WIDTH):
                    out[place, i, j] = power[i, j]
                for j in range(WIDTH, COLUMNS):
                    total = 0.0
                    for k in range(WIDTH):
                        total += power[i, k] * monitors[k, j - WIDTH]
                    out[place, i, j] = total
            _product(power, unit, spare)
            power[:] = spare
        unit[:] = power
    out[STILL] = 0.0
    for i in range(WIDTH):
        out[STILL, i, i] = 1.0
        out[STILL, i, WIDTH:] = monitors[i]


@inlined
def _spread(narrow: Floats, wide: Floats) -> None:
    """Columns of (y, 1) spread to WIDTH, the constant in the last place."""
    last = narrow.shape[1] - 1
    for row in range(narrow.shape[0]):
        for j in range(WIDTH):
            wide[row, j] = narrow[row, j] if j < last else 0.0
        wide[row, INNER] = narrow[row, last]


@allocating
def fill_region(
    system: Floats,
    part: Floats,
    depth: int,
    tick: float,
    rows: Floats,
    first_monitor: int,
    matrix: Floats,
    read_outs: Floats,
    halves: Floats,
    rates: Floats,
    steps: Floats,
    sums: Floats,
) -> None:
    """Tables of one region from its system, a propagator and its read-outs.

    Parameters
    ----------
    system : array (n+1, n+1)
        Augmented system matrix [1/s].
    part : array (n+1, n+1)
        Propagator of the `depth`-th half of a tick.
    depth : int
        How often the tick was halved.
    tick : float
        Length of a tick [s].
    rows : array (read-outs, n+1)
        Rows of the region's read-outs.
    first_monitor : int
        Place of the first monitor among them.
    matrix : array (WIDTH, WIDTH)
        Set to the system matrix, the constant in the last place.
    read_outs : array (read-outs, WIDTH)
        Set to the rows of the read-outs.
    halves : array (HALVINGS, WIDTH, WIDTH)
        The first `depth` are set to the propagators of tick/2, tick/4, ...
    rates : array (MONITORS, WIDTH)
        Set to the rows of the monitors' changes per tick.
    steps : array (LENGTHS, WIDTH, COLUMNS)
        Set to the step matrices.
    sums : array (LENGTHS, SQUARE)
        Set to zero.
    """
    last = system.shape[0] - 1
    wide, spare = np.zeros((WIDTH, WIDTH)), np.zeros((WIDTH, WIDTH))
    matrix[:] = 0.0
    _spread(system[:last], matrix)
    _spread(part[:last], wide)
    wide[INNER, INNER] = 1.0
    for place in range(depth - 1, -1, -1):
        halves[place] = wide
        _product(wide, wide, spare)
        wide[:] = spare
    _spread(rows, read_outs)
    monitors = read_outs[first_monitor : first_monitor + MONITORS]
    for m in range(MONITORS):
        for j in range(WIDTH):
            rates[m, j] = 0.0
        for k in range(WIDTH):
            for j in range(WIDTH):
                rates[m, j] += monitors[m, k] * matrix[k, j] * tick
    _fill_steps(wide.T, monitors.T, steps)
    sums[:] = 0.0


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
                (s0 * steps[k] + s1 * steps[k + ROW[1]] + s2 * steps[k + ROW[2]])
                + (s3 * steps[k + ROW[3]] + s4 * steps[k + ROW[4]] + s5 * steps[k + ROW[5]])
                + (s6 * steps[k + ROW[6]] + s7 * steps[k + ROW[7]] + s8 * steps[k + ROW[8]])
            )
    for row in range(INNER):
        line = np.uint64(row * INNER)
        k = first + np.uint64(row)
        s0, s1, s2 = steps[k], steps[k + ROW[1]], steps[k + ROW[2]]
        s3, s4, s5 = steps[k + ROW[3]], steps[k + ROW[4]], steps[k + ROW[5]]
        s6, s7, s8 = steps[k + ROW[6]], steps[k + ROW[7]], steps[k + ROW[8]]
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
