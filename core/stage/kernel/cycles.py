"""Peaks, cycle marks and the queue of drive changes."""

from __future__ import annotations

import numpy as np

from burstwise.core.arrays import Array, Integers
from burstwise.core.stage.kernel.cubics import cubic_extreme
from burstwise.core.stage.kernel.layout import (
    COMPARATOR,
    CYCLES,
    ENABLED,
    FIRST,
    LEVEL,
    MONITORS,
    PRODUCTS,
    QUEUED,
    RATE,
    compiled,
    inlined,
)
from burstwise.core.stage.kernel.products import look, move, round_length

PEAK_TRIES = 8
"""Looks at most for one extreme value inside a step."""
PEAK_GAIN = 1e-5
"""Part of an extreme value that is not looked for."""
FLAT = 1e-4
"""Part of a value by which the cubic through both ends of a step may rise and be believed."""


@inlined
def note_ends(point: Array, peaks: Array) -> None:
    """Keep the extremes of all monitors at a point."""
    for j in range(MONITORS):
        value = point[FIRST + j]
        peaks[0, j] = max(peaks[0, j], value)
        peaks[1, j] = min(peaks[1, j], value)


@inlined
def _sharpened(
    m: int,
    sign: float,
    known: float,
    slot: int,
    ticks: int,
    start: Array,
    end: Array,
    spare: Array,
    trial: Array,
    numbers: Integers,
    steps: Array,
    views: Array,
) -> float:
    """Highest value of ``sign`` times monitor `m` inside a step, where its rate is zero.

    The zero of the rate is bracketed by whole ticks; each look costs a move. It ends where the
    slopes at the bracket leave less than `PEAK_GAIN` of the value to be gained.
    """
    column = FIRST + m
    a, b = 0, ticks
    ya, ma = sign * start[column], sign * start[column + RATE]
    yb, mb = sign * end[column], sign * end[column + RATE]
    best = max(known, max(ya, yb))
    for count in range(PEAK_TRIES):
        span = float(b - a)
        u, value = cubic_extreme(ya, ma * span, yb, mb * span)
        if value - max(ya, yb) <= FLAT * abs(value):
            best = max(best, value)
            break
        # Two lines along the slopes at both ends meet above a value that bends one way.
        meet = min(max((yb - ya - mb * span) / (ma - mb), 0.0), span)
        if b - a <= 1 or ya + ma * meet <= best + PEAK_GAIN * abs(best):
            break
        # Behind a corner, whose quick decay no cubic follows, first near the start, then halfway.
        ahead = u * span
        if count % 2 == 1:
            ahead = np.sqrt(span) if count == 1 else 0.5 * span
        length = max(a + 1, min(round_length(a + ahead, min(span, 16.0 * ahead)), b - 1))
        numbers[PRODUCTS] += move(slot, length, start, trial, spare, steps)
        look(views, slot, trial)
        y, slope = sign * trial[column], sign * trial[column + RATE]
        best = max(best, y)
        if slope > 0.0:
            a, ya, ma = length, y, slope
        else:
            b, yb, mb = length, y, slope
    return best


@inlined
def note_inside(
    slot: int,
    ticks: int,
    start: Array,
    end: Array,
    spare: Array,
    trial: Array,
    numbers: Integers,
    steps: Array,
    views: Array,
    peaks: Array,
) -> None:
    """Keep the extremes that monitors reach inside a step, where their rate changes sign."""
    span = float(ticks)
    hits = 0
    for j in range(np.uint64(MONITORS)):
        value, rate = np.uint64(FIRST) + j, np.uint64(FIRST + RATE) + j
        # Above the lines along both slopes no value lies that bends one way.
        ahead = start[value] + start[rate] * span
        back = end[value] - end[rate] * span
        if (min(ahead, back) > peaks[0, j]) | (max(ahead, back) < peaks[1, j]):
            hits += 1
    if hits == 0:
        return
    for m in range(MONITORS):
        y0, y1 = start[FIRST + m], end[FIRST + m]
        m0, m1 = start[FIRST + m + RATE], end[FIRST + m + RATE]
        if m0 > 0.0 > m1:
            # Above the lines along both slopes no value lies that bends one way.
            if min(y0 + m0 * span, y1 - m1 * span) > peaks[0, m]:
                peaks[0, m] = _sharpened(
                    m,
                    1.0,
                    peaks[0, m],
                    slot,
                    ticks,
                    start,
                    end,
                    spare,
                    trial,
                    numbers,
                    steps,
                    views,
                )
        elif m0 < 0.0 < m1 and max(y0 + m0 * span, y1 - m1 * span) < peaks[1, m]:
            peaks[1, m] = -_sharpened(
                m, -1.0, -peaks[1, m], slot, ticks, start, end, spare, trial, numbers, steps, views
            )


@inlined
def mark_cycle(time: float, numbers: Integers, cycles: Array, peaks: Array) -> None:
    """Close a carrier cycle: note its time and extremes, and start anew."""
    row = numbers[CYCLES]
    cycles[row, 0] = time
    for m in range(MONITORS):
        cycles[row, 1 + m] = peaks[0, m]
        cycles[row, 1 + MONITORS + m] = peaks[1, m]
        peaks[0, m] = -np.inf
        peaks[1, m] = np.inf
    numbers[CYCLES] = row + 1


@inlined
def wanted_level(numbers: Integers, comparator: Array) -> int:
    """Drive level that the enable and the driver input ask for."""
    if comparator[4] == 0.0:
        return int(numbers[ENABLED])
    inverts = 1 if comparator[3] != 0.0 else 0
    return int(numbers[ENABLED] * (numbers[COMPARATOR] ^ inverts))


@inlined
def lag(rate: float, comparator: Array) -> float:
    """Delay of the driver in ticks where its input crosses at `rate` volts per tick.

    Linear in the ticks per volt between those of the fast and the slow slew.
    """
    if comparator[7] == 0.0:
        return comparator[2]
    pace = min(max(1.0 / max(abs(rate), 1e-300), comparator[5]), comparator[6])
    share = (pace - comparator[5]) / (comparator[6] - comparator[5])
    return comparator[2] + share * comparator[7]


@compiled
def schedule(when: int, level: int, numbers: Integers, events: Integers) -> bool:
    """Queue a change of the drive level; False when the queue is full.

    A quick edge overtakes slow ones that are still on their way: they are not heard of any more.
    """
    count = numbers[QUEUED]
    while count > 0 and events[count - 1, 0] > when:
        count -= 1
    if count == events.shape[0]:
        return False
    events[count, 0] = when
    events[count, 1] = level
    numbers[QUEUED] = count + 1
    return True


@inlined
def take_event(numbers: Integers, events: Integers) -> None:
    """Take the next change of the drive level off the queue."""
    numbers[LEVEL] = events[0, 1]
    count = numbers[QUEUED] - 1
    for place in range(count):
        events[place, 0] = events[place + 1, 0]
        events[place, 1] = events[place + 1, 1]
    numbers[QUEUED] = count
