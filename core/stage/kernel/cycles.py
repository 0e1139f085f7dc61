"""Peaks, cycle marks and the queue of drive changes."""

from __future__ import annotations

import numpy as np

from core.stage.kernel.layout import (
    COMPARATOR,
    CYCLES,
    DRAIN,
    ENABLED,
    INNER,
    LEVEL,
    MONITORS,
    QUEUED,
    WIDTH,
    Floats,
    Integers,
    U,
    compiled,
    inlined,
)


@inlined
def _vertex(t0: float, y0: float, t1: float, y1: float, t2: float, y2: float) -> float:
    """Extreme value of the parabola through three points, the middle one highest or lowest.

    Points at very unequal spacing straddle a corner, where a parabola has no meaning.
    """
    if not (t1 > t0 and 0.2 * (t1 - t0) < t2 - t1 < 5.0 * (t1 - t0)):
        return y1
    d1 = (y1 - y0) / (t1 - t0)
    d2 = (y2 - y1) / (t2 - t1)
    bend = (d2 - d1) / (t2 - t0)
    if bend == 0.0:
        return y1
    slope = d1 + bend * (t1 - t0)
    return y1 - slope * slope / (4.0 * bend)


@inlined
def note_peaks(point: Floats, time: float, peaks: Floats, history: Floats) -> None:
    """Keep the extremes of all monitors, of drain and top by a parabola through three points."""
    # From the constant on, which makes it one full vector register.
    for j in range(np.uint64(peaks.shape[1])):
        value = point[U[INNER] + j]
        peaks[0, j] = max(peaks[0, j], value)
        peaks[1, j] = min(peaks[1, j], value)
    for place in range(2):
        value = point[DRAIN + place]
        middle = history[1, place]
        first = history[0, place]
        m = DRAIN - INNER + place
        if middle > first and middle > value and middle > 0.97 * peaks[0, m]:
            top = _vertex(history[0, 2], first, history[1, 2], middle, time, value)
            peaks[0, m] = max(peaks[0, m], top)
        if middle < first and middle < value and middle < 0.97 * peaks[1, m]:
            top = _vertex(history[0, 2], first, history[1, 2], middle, time, value)
            peaks[1, m] = min(peaks[1, m], top)
        history[0, place] = middle
        history[1, place] = value
    history[0, 2] = history[1, 2]
    history[1, 2] = time


@inlined
def mark_cycle(
    time: float, point: Floats, numbers: Integers, cycles: Floats, peaks: Floats
) -> None:
    """Close a carrier cycle: note its time, stored energy and extremes, and start anew."""
    row = numbers[CYCLES]
    energy = 0.0
    for k in range(WIDTH - 1):
        energy += point[k] * point[k]
    cycles[row, 0] = time
    cycles[row, 1] = 0.5 * energy
    for m in range(MONITORS):
        cycles[row, 2 + m] = peaks[0, 1 + m]
        cycles[row, 2 + MONITORS + m] = peaks[1, 1 + m]
    for j in range(peaks.shape[1]):
        peaks[0, j] = -np.inf
        peaks[1, j] = np.inf
    numbers[CYCLES] = row + 1


@inlined
def wanted_level(numbers: Integers, comparator: Floats) -> int:
    """Drive level that the enable and the driver input ask for."""
    if comparator[4] == 0.0:
        return int(numbers[ENABLED])
    inverts = 1 if comparator[3] != 0.0 else 0
    return int(numbers[ENABLED] * (numbers[COMPARATOR] ^ inverts))


@compiled
def schedule(when: int, level: int, numbers: Integers, events: Integers) -> bool:
    """Queue a change of the drive level; False when the queue is full."""
    count = numbers[QUEUED]
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
