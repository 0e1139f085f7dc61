"""Step tables of regions: exact propagators of all tabulated lengths.

The part of a propagator that moves the coordinates follows from the region's matrix alone, the
constant row behind it from that part and what drives the region. A region that only its sources
tell from one that is filled already, such as the same stage at another supply, gets new rows; the
same numbers stand in the table as if all of it had been filled.
"""

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
    MONITORS,
    RADIX,
    SHIFT,
    WIDTH,
    Flags,
    allocating,
    inlined,
)

_PART = INNER * INNER
_DIAGONAL = INNER + 1


@inlined
def _line(
    rows: Array, row: int, matrix: Array, place: int, share: float, out: Array, at: int
) -> None:
    """Set a row of `out` to ``share row + row matrix`` over the coordinates, on flat tables."""
    r, first, target = np.uint64(row), np.uint64(place), np.uint64(at)
    s0, s1 = rows[r], rows[r + np.uint64(1)]
    s2, s3 = rows[r + np.uint64(2)], rows[r + np.uint64(3)]
    s4, s5 = rows[r + np.uint64(4)], rows[r + np.uint64(5)]
    s6, s7 = rows[r + np.uint64(6)], rows[r + np.uint64(7)]
    for j in range(np.uint64(INNER)):
        k = first + j
        out[target + j] = (
            (share * rows[r + j] + s0 * matrix[k] + s1 * matrix[k + LINE[1]])
            + (s2 * matrix[k + LINE[2]] + s3 * matrix[k + LINE[3]] + s4 * matrix[k + LINE[4]])
            + (s5 * matrix[k + LINE[5]] + s6 * matrix[k + LINE[6]] + s7 * matrix[k + LINE[7]])
        )


@inlined
def _double(change: Array, room: Array) -> None:
    """Moving part of a step less the identity, for twice the time, in place.

    ``(1 + D)^2 - 1 = 2 D + D D`` keeps the digits that a short step differs from the identity by.
    """
    for i in range(INNER):
        _line(change, i * INNER, change, 0, 2.0, room, i * INNER)
    for k in range(_PART):
        change[k] = room[k]


@inlined
def _short_change(matrix: Array, time: float, term: Array, room: Array, change: Array) -> None:
    """``exp(A time) - 1`` of a short time by its series; `matrix` holds A transposed, flat."""
    size = 0.0
    for k in range(_PART):
        term[k] = matrix[k] * time
        change[k] = term[k]
        size = max(size, abs(term[k]))
    for order in range(2, 40):
        largest = 0.0
        for i in range(INNER):
            _line(term, i * INNER, matrix, 0, 0.0, room, i * INNER)
        for k in range(_PART):
            term[k] = room[k] * (time / order)
            change[k] += term[k]
            largest = max(largest, abs(term[k]))
        if largest <= 1e-18 * size:
            break


@inlined
def _short_row(drive: Array, matrix: Array, time: float, room: Array, row: Array) -> None:
    """What a constant `drive` adds to the coordinates in a short time, by the same series."""
    size = 0.0
    for j in range(INNER):
        row[j] = drive[j] * time
        room[j] = row[j]
        size = max(size, abs(row[j]))
    for order in range(2, 40):
        largest = 0.0
        _line(room, 0, matrix, 0, 0.0, room, INNER)
        for j in range(INNER):
            room[j] = room[INNER + j] * (time / order)
            row[j] += room[j]
            largest = max(largest, abs(room[j]))
        if largest <= 1e-18 * size:
            break


@inlined
def _with_identity(change: Array, out: Array, place: int) -> None:
    for k in range(_PART):
        out[place + k] = change[k]
    for k in range(INNER):
        out[place + k * _DIAGONAL] += 1.0


@inlined
def _fill_moving(first: int, change: Array, room: Array, steps: Array) -> None:
    """Moving parts of all lengths from that of one tick less the identity, which is used up."""
    for level in range(LEVELS - 1, -1, -1):
        unit = (first + level * (RADIX - 1)) * BLOCK
        _with_identity(change, steps, unit)
        for place in range(unit, unit + (RADIX - 2) * BLOCK, BLOCK):
            for i in range(INNER):
                _line(steps, place + i * INNER, steps, unit, 0.0, steps, place + BLOCK + i * INNER)
        for _ in range(SHIFT):
            _double(change, room)
    _with_identity(change, steps, (first + FULL) * BLOCK)


@inlined
def _fill_rows(first: int, row: Array, room: Array, steps: Array) -> None:
    """Constant rows of all lengths from that of one tick, which is used up."""
    for level in range(LEVELS - 1, -1, -1):
        unit = (first + level * (RADIX - 1)) * BLOCK
        for digit in range(RADIX - 1):
            place = unit + digit * BLOCK + _PART
            for j in range(INNER):
                steps[place + j] = row[j]
            # One unit more: what was added is moved on by it, and once more it adds the same.
            _line(steps, place, steps, unit, 0.0, room, 0)
            for j in range(INNER):
                row[j] = room[j] + steps[unit + _PART + j]
    place = (first + FULL) * BLOCK + _PART
    for j in range(INNER):
        steps[place + j] = row[j]


@inlined
def _take_over(system: Array, matrix: Array) -> int:
    """Set a slot's matrix; 0 where it stood there already, 1 where but for its constants, else 2.

    The system of (y, 1) has its n coordinates and the constant behind one another, the matrix the
    constant in the last of WIDTH places.
    """
    order = system.shape[0] - 1
    change = 0
    for i in range(WIDTH):
        for j in range(WIDTH):
            value = 0.0
            if i < order and j < order:
                value = system[i, j]
            elif i < order and j == INNER:
                value = system[i, order]
            # What is void differs from everything.
            if matrix[i, j] != value:
                change = max(change, 1 if j == INNER else 2)
            matrix[i, j] = value
    return change


@inlined
def _depth_of(matrix: Array, tick: float) -> int:
    """Halves of a tick where a region is too quick for the series of the exponential."""
    pace = 0.0
    for j in range(INNER):
        total = 0.0
        for i in range(INNER):
            total += abs(matrix[i, j])
        pace = max(pace, total)
    depth = np.ceil(np.log2(max(2.0 * pace * tick, 1.0)))
    return int(min(depth, HALVINGS))


@inlined
def _fill_view(
    slot: int,
    rows: Array,
    first_monitor: int,
    tick: float,
    matrix: Array,
    read_outs: Array,
    views: Array,
) -> None:
    """Read-outs of a region, and what turns coordinates to monitors and their rates."""
    last = rows.shape[1] - 1
    for row in range(rows.shape[0]):
        for j in range(WIDTH):
            read_outs[slot, row, j] = rows[row, j] if j < last else 0.0
        read_outs[slot, row, INNER] = rows[row, last]
    for m in range(MONITORS):
        for j in range(WIDTH):
            views[slot, j, m] = read_outs[slot, first_monitor + m, j]
            views[slot, j, MONITORS + m] = 0.0
        for k in range(last):
            seen = read_outs[slot, first_monitor + m, k] * tick
            for j in range(WIDTH):
                views[slot, j, MONITORS + m] += seen * matrix[k, j]


@allocating
def fill_regions(
    slots: Integers,
    systems: Array,
    rows: Array,
    first_monitor: int,
    tick: float,
    matrices: Array,
    depths: Integers,
    halves: Array,
    steps: Array,
    read_outs: Array,
    views: Array,
    anew: Flags,
) -> None:
    """Tables of some regions from their systems and read-outs.

    Parameters
    ----------
    slots : array (count,)
        Slots of the regions.
    systems : array (count, n+1, n+1)
        Systems of (y, 1) [1/s].
    rows : array (count, read-outs, n+1)
        Rows of the regions' read-outs.
    first_monitor : int
        Place of the first monitor among them.
    tick : float
        Length of a tick [s].
    matrices : array (slots, WIDTH, WIDTH)
        Matrices that the slots were filled with, nan where they are void; set to the systems, the
        constant in the last place [1/s]. Step matrices that are there already are kept.
    depths : array (slots,)
        Set to how often the tick is halved before the series of the exponential is used.
    halves : array (slots * HALVINGS * BLOCK,)
        The first ``depths`` are set to the step matrices of tick/2, tick/4, ...
    steps : array (slots * LENGTHS * BLOCK,)
        Set to the step matrices.
    read_outs : array (slots, read-outs, WIDTH)
        Set to the rows of the read-outs.
    views : array (slots, WIDTH, VIEWED)
        Set to what turns coordinates to monitors and their changes per tick.
    anew : array of bool (count,)
        Set to whether more than the constants was filled.
    """
    turned, change = np.empty(_PART), np.empty(_PART)
    term, room = np.empty(_PART), np.empty(_PART)
    drive, row = np.empty(INNER), np.empty(INNER)
    for place in range(slots.shape[0]):
        slot = slots[place]
        matrix = matrices[slot]
        differs = _take_over(systems[place], matrix)
        anew[place] = differs == 2
        _fill_view(slot, rows[place], first_monitor, tick, matrix, read_outs, views)
        if differs == 0:
            continue
        if differs == 2:
            depths[slot] = _depth_of(matrix, tick)
        depth = depths[slot]
        for i in range(INNER):
            drive[i] = matrix[i, INNER]
            for j in range(INNER):
                turned[i * INNER + j] = matrix[j, i]
        shortest = tick * 0.5**depth
        if differs == 2:
            _short_change(turned, shortest, term, room, change)
            for half in range(depth - 1, -1, -1):
                _with_identity(change, halves, (slot * HALVINGS + half) * BLOCK)
                _double(change, room)
            _fill_moving(slot * LENGTHS, change, room, steps)
        _short_row(drive, turned, shortest, room, row)
        for half in range(depth - 1, -1, -1):
            block = (slot * HALVINGS + half) * BLOCK
            for j in range(INNER):
                halves[block + _PART + j] = row[j]
            _line(row, 0, halves, block, 1.0, room, 0)
            for j in range(INNER):
                row[j] = room[j]
        _fill_rows(slot * LENGTHS, row, room, steps)
