"""Exact moves within one region, and the sums that the energy books are made of."""

from __future__ import annotations

import numpy as np

from burstwise.core.arrays import Array, Integers
from burstwise.core.stage.kernel.layout import (
    BLOCK,
    FULL,
    INNER,
    LENGTHS,
    LEVELS,
    LINE,
    RADIX,
    SHIFT,
    SIGHT,
    SQUARE,
    TICKS,
    VIEW,
    VIEWED,
    inlined,
)


@inlined
def apply_step(steps: Array, place: int, start: Array, end: Array) -> None:
    """Later coordinates of a point by the step matrix at `place` of the flat table."""
    # Written out over the coordinates on one flat table with unsigned places: only then does the
    # compiler keep the sums in vector registers. Three chains, since one waits for each product.
    s0, s1, s2, s3 = start[0], start[1], start[2], start[3]
    s4, s5, s6, s7 = start[4], start[5], start[6], start[7]
    first = np.uint64(place)
    # The length is read from the array because a loop of known short length is unrolled before it
    # can be turned into vector operations.
    for j in range(np.uint64(start.shape[0] - VIEWED)):
        k = first + j
        end[j] = (
            (steps[k + LINE[8]] + s0 * steps[k] + s1 * steps[k + LINE[1]] + s2 * steps[k + LINE[2]])
            + (s3 * steps[k + LINE[3]] + s4 * steps[k + LINE[4]] + s5 * steps[k + LINE[5]])
            + (s6 * steps[k + LINE[6]] + s7 * steps[k + LINE[7]])
        )


@inlined
def look(views: Array, slot: int, point: Array) -> None:
    """Set the monitors of a point and their rates from its coordinates."""
    s0, s1, s2, s3 = point[0], point[1], point[2], point[3]
    s4, s5, s6, s7 = point[4], point[5], point[6], point[7]
    first = np.uint64(slot * VIEW)
    for j in range(np.uint64(VIEWED)):
        k = first + j
        point[np.uint64(INNER) + j] = (
            (
                views[k + SIGHT[8]]
                + s0 * views[k]
                + s1 * views[k + SIGHT[1]]
                + s2 * views[k + SIGHT[2]]
            )
            + (s3 * views[k + SIGHT[3]] + s4 * views[k + SIGHT[4]] + s5 * views[k + SIGHT[5]])
            + (s6 * views[k + SIGHT[6]] + s7 * views[k + SIGHT[7]])
        )


@inlined
def move(slot: int, ticks: int, start: Array, end: Array, spare: Array, steps: Array) -> int:
    """Coordinates after `ticks` in one region. Returns the number of products used."""
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
                for k in range(INNER):
                    spare[k] = end[k]
                apply_step(steps, place, spare, end)
            used += 1
    return used


@inlined
def round_length(ticks: float, span: float) -> int:
    """A length near `ticks` whose move takes few products, to about a sixtieth of `span`."""
    unit = TICKS
    while unit * 64.0 > span and unit > 1:
        unit >>= SHIFT
    half = 0.5 * unit
    return int(ticks + half) & ~(unit - 1)


@inlined
def add_square(sums: Array, place: int, point: Array, known: bool) -> None:
    """Add the outer product of a state to the packed sums at `place`, begun here if not `known`."""
    if not known:
        for j in range(SQUARE):
            sums[place + j] = 0.0
    # The last column of the outer product is its last row, and its last place counts the steps:
    # rows of eight fill one vector register.
    s0, s1, s2, s3 = point[0], point[1], point[2], point[3]
    s4, s5, s6, s7 = point[4], point[5], point[6], point[7]
    first = np.uint64(place)
    for j in range(np.uint64(point.shape[0] - VIEWED)):
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
        sums[k + LINE[8]] += value
    sums[first + LINE[9]] += 1.0


@inlined
def book_move(
    slot: int,
    ticks: int,
    start: Array,
    end: Array,
    spare: Array,
    steps: Array,
    sums: Array,
    booked: Integers,
) -> None:
    """Same move as `move`, adding the outer product of each part's start to the books."""
    first, lengths = slot * LENGTHS, booked[slot]
    if ticks == TICKS:
        add_square(sums, (first + FULL) * SQUARE, start, lengths >> FULL & 1 == 1)
        booked[slot] = lengths | 1 << FULL
        return
    for k in range(INNER):
        spare[k] = start[k]
    shift = SHIFT * (LEVELS - 1)
    rest = ticks
    for level in range(LEVELS):
        digit = rest >> shift
        rest -= digit << shift
        shift -= SHIFT
        if digit > 0:
            length = level * (RADIX - 1) + digit - 1
            add_square(sums, (first + length) * SQUARE, spare, lengths >> length & 1 == 1)
            lengths |= 1 << length
            if rest > 0:
                apply_step(steps, (first + length) * BLOCK, spare, end)
                for k in range(INNER):
                    spare[k] = end[k]
    booked[slot] = lengths
