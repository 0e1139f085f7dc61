"""Exact moves within one region, and the sums that the energy books are made of."""

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
    RADIX,
    ROW,
    SHIFT,
    SQUARE,
    STILL,
    TICKS,
    WIDTH,
    Floats,
    inlined,
)


@inlined
def apply_step(steps: Floats, place: int, start: Floats, end: Floats) -> None:
    """Later point of a state by the step matrix at `place` of the flat table."""
    # Written out over the WIDTH places on one flat table with unsigned places: only then does the
    # compiler keep the sums in vector registers. Three chains, since one waits for each product.
    s0, s1, s2, s3, s4 = start[0], start[1], start[2], start[3], start[4]
    s5, s6, s7, s8 = start[5], start[6], start[7], start[8]
    first = np.uint64(place)
    for j in range(np.uint64(COLUMNS)):
        k = first + j
        end[j] = (
            (s0 * steps[k] + s1 * steps[k + ROW[1]] + s2 * steps[k + ROW[2]])
            + (s3 * steps[k + ROW[3]] + s4 * steps[k + ROW[4]] + s5 * steps[k + ROW[5]])
            + (s6 * steps[k + ROW[6]] + s7 * steps[k + ROW[7]] + s8 * steps[k + ROW[8]])
        )


@inlined
def read_monitors(steps: Floats, slot: int, point: Floats, spare: Floats) -> None:
    """Set the monitor columns of a point from its state: a step of no length."""
    for k in range(WIDTH):
        spare[k] = point[k]
    apply_step(steps, (slot * LENGTHS + STILL) * BLOCK, spare, point)


@inlined
def move(slot: int, ticks: int, start: Floats, end: Floats, spare: Floats, steps: Floats) -> int:
    """Point after `ticks` in one region. Returns the number of products used."""
    first = slot * LENGTHS
    if ticks == TICKS:
        apply_step(steps, (first + FULL) * BLOCK, start, end)
        return 1
    used = 0
    shift = SHIFT * (LEVELS - 1)
    for level in range(LEVELS):
        digit = (ticks >> shift) & (RADIX - 1)
        shift -= SHIFT
        if digit > 0:
            place = (first + level * (RADIX - 1) + digit - 1) * BLOCK
            if used == 0:
                apply_step(steps, place, start, end)
            else:
                for k in range(WIDTH):
                    spare[k] = end[k]
                apply_step(steps, place, spare, end)
            used += 1
    return used


@inlined
def add_square(sums: Floats, place: int, point: Floats) -> None:
    """Add the outer product of a state to the packed sums at `place`."""
    # The last column of the outer product is its last row, and its last place counts the steps:
    # rows of eight fill one vector register. The length is read from the array because a loop of
    # known short length is unrolled before it can be turned into vector operations.
    inner = np.uint64(point.shape[0] - INNER)
    s0, s1, s2, s3, s4 = point[0], point[1], point[2], point[3], point[4]
    s5, s6, s7, s8 = point[5], point[6], point[7], point[8]
    first = np.uint64(place)
    for j in range(inner):
        k = first + j
        value = point[j]
        sums[k] += s0 * value
        sums[k + LINE[1]] += s1 * value
        sums[k + LINE[2]] += s2 * value
        sums[k + LINE[3]] += s3 * value
        sums[k + LINE[4]] += s4 * value
        sums[k + LINE[5]] += s5 * value
        sums[k + LINE[6]] += s6 * value
        sums[k + LINE[7]] += s7 * value
        sums[k + LINE[8]] += s8 * value
    sums[first + LINE[9]] += 1.0


@inlined
def book_move(
    slot: int, ticks: int, start: Floats, end: Floats, spare: Floats, steps: Floats, sums: Floats
) -> None:
    """Same move as `move`, adding the outer product of each part's start to the books."""
    first = slot * LENGTHS
    if ticks == TICKS:
        add_square(sums, (first + FULL) * SQUARE, start)
        return
    for k in range(WIDTH):
        spare[k] = start[k]
    shift = SHIFT * (LEVELS - 1)
    rest = ticks
    for level in range(LEVELS):
        digit = rest >> shift
        rest -= digit << shift
        shift -= SHIFT
        if digit > 0:
            length = first + level * (RADIX - 1) + digit - 1
            add_square(sums, length * SQUARE, spare)
            if rest > 0:
                apply_step(steps, length * BLOCK, spare, end)
                for k in range(WIDTH):
                    spare[k] = end[k]
