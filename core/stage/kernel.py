"""Compiled stepping of the piecewise-linear stage (Numba).

Time is counted in whole ticks of ``h / 4096``. Each region has exact propagators for h and for
1..15 parts of h/16, h/256 and h/4096, so any number of ticks is at most four matrix-vector
products. A step that ends in another region is shortened on whole ticks until it lands just behind
the crossing: the quantity that crosses and its exact rate are known at both ends of the step, so
the root of the cubic through them is nearly always good to a tick at the first try.

The books are exact, not sampled: a step of fixed length from state x changes the integral of
``x x^T`` by a linear function of ``x x^T`` itself, so the kernel only adds up the outer products
per region and step length, and `integrals` turns the sums into ``integral of x x^T dt`` afterwards.
Every mean, RMS value and dissipated energy is a linear read-out of that matrix.

All states have `WIDTH` places, the last one the constant 1 and unused ones zero: with sizes known
at compile time a product takes a third of the time. Its last columns are the monitors.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

SHIFT: Final = 4
RADIX: Final = 1 << SHIFT
LEVELS: Final = 3
TICKS: Final = RADIX**LEVELS
LENGTHS: Final = LEVELS * (RADIX - 1) + 2
FULL: Final = LENGTHS - 2
STILL: Final = LENGTHS - 1
WIDTH: Final = 9
MONITORS: Final = 7
COLUMNS: Final = WIDTH + MONITORS
BLOCK: Final = WIDTH * COLUMNS
INNER: Final = WIDTH - 1
SQUARE: Final = WIDTH * INNER + INNER
EVENT_SLOTS: Final = 32
HALVINGS: Final = 24

# Columns of the monitors that the stepping itself looks at.
GATE: Final = WIDTH
DRAIN: Final = WIDTH + 1
TOP: Final = WIDTH + 2
INPUT: Final = WIDTH + 3

# Why `advance` came back.
REACHED: Final = 0
NEEDS_REGION: Final = 1
AT_SECTION: Final = 2
CHATTER: Final = 3
QUEUE_FULL: Final = 4
CYCLES_FULL: Final = 5
TRACE_FULL: Final = 6
DIVERGED: Final = 7

# Places in the integer state of a run.
NOW: Final = 0
CODE: Final = 1
LEVEL: Final = 2
COMPARATOR: Final = 3
QUEUED: Final = 4
CYCLES: Final = 5
TRACED: Final = 6
SWITCHES: Final = 7
STEPS: Final = 8
PRODUCTS: Final = 9
ENABLED: Final = 10
TOGGLES: Final = 11
STATE_SIZE: Final = 12

FAR: Final = 2**62
"""A time in ticks that no run reaches."""

# Unsigned small numbers, and places of the rows in a block of the steps and a square of the sums.
_U: Final = tuple(np.uint64(k) for k in range(WIDTH))
_ROW: Final = tuple(np.uint64(k * COLUMNS) for k in range(WIDTH))
_LINE: Final = tuple(np.uint64(k * INNER) for k in range(WIDTH + 1))

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# The stepping works in arrays that it is given: without Numba's run-time for allocation no time
# goes into counting references to them.
_OPTIONS: Final = {
    "cache": True,
    "nogil": True,
    "fastmath": {"contract"},
    "error_model": "numpy",
}
allocating = njit(**_OPTIONS)
compiled = njit(**_OPTIONS, _nrt=False)
# A call that hands over arrays pushes seven words for each: the small parts must be inlined.
inlined = njit(**_OPTIONS, _nrt=False, forceinline=True)


class Law(NamedTuple):
    """Law of the non-linear elements; these are the last fields of `Tables` too."""

    low: Floats
    high: Floats
    column: Integers
    channel: Floats
    comparator: Floats


class Tables(NamedTuple):
    """Tables of the visited regions and the law of the non-linear elements."""

    steps: Floats  # (slots * LENGTHS * BLOCK,) state -> later state and its monitors, flat
    rates: Floats  # (slots * MONITORS * WIDTH,) state -> monitors' rates per tick, flat
    bounds: Floats  # (slots * 2 * INNER,) lowest and highest constant and monitors inside, flat
    slot_of: Integers  # (regions,), -1 where not built
    base_ticks: Integers  # (slots,) longest step of the region
    low: Floats  # (elements,)
    high: Floats
    column: Integers  # (elements,) column of each element's voltage
    channel: Floats  # threshold, transconductance, on-conductance
    comparator: Floats  # low, high, delay in ticks, inverting, gated, slack in ticks


class Machine(NamedTuple):
    """State of a run, changed in place."""

    numbers: Integers  # (STATE_SIZE,)
    point: Floats  # (COLUMNS,) state and monitors
    end: Floats  # (COLUMNS,) and the next three: room to work in
    spare: Floats
    here: Floats
    trial: Floats
    events: Integers  # (EVENT_SLOTS, 2) time in ticks, level
    peaks: Floats  # (2, 1 + MONITORS) highest and lowest since the last cycle mark
    history: Floats  # (2, 3) last two points: drain, top, time
    cycles: Floats  # (cycles, 2 + 2 * MONITORS) time, stored energy, highest, lowest
    trace_time: Floats  # (points,)
    trace_point: Floats  # (points, COLUMNS)
    trace_code: Integers  # (points,)
    sums: Floats  # (slots * LENGTHS * SQUARE,) outer products less their last column, count, flat


@inlined
def _apply(steps: Floats, place: int, start: Floats, end: Floats) -> None:
    # Written out over the WIDTH places on one flat table with unsigned places: only then does the
    # compiler keep the sums in vector registers. Three chains, since one waits for each product.
    s0, s1, s2, s3, s4 = start[0], start[1], start[2], start[3], start[4]
    s5, s6, s7, s8 = start[5], start[6], start[7], start[8]
    first = np.uint64(place)
    for j in range(np.uint64(COLUMNS)):
        k = first + j
        end[j] = (
            (s0 * steps[k] + s1 * steps[k + _ROW[1]] + s2 * steps[k + _ROW[2]])
            + (s3 * steps[k + _ROW[3]] + s4 * steps[k + _ROW[4]] + s5 * steps[k + _ROW[5]])
            + (s6 * steps[k + _ROW[6]] + s7 * steps[k + _ROW[7]] + s8 * steps[k + _ROW[8]])
        )


@inlined
def _read_monitors(steps: Floats, slot: int, point: Floats, spare: Floats) -> None:
    """Set the monitor columns of a point from its state: a step of no length."""
    for k in range(WIDTH):
        spare[k] = point[k]
    _apply(steps, (slot * LENGTHS + STILL) * BLOCK, spare, point)


@inlined
def _move(slot: int, ticks: int, start: Floats, end: Floats, spare: Floats, steps: Floats) -> int:
    """Point after `ticks` in one region. Returns the number of products used."""
    first = slot * LENGTHS
    if ticks == TICKS:
        _apply(steps, (first + FULL) * BLOCK, start, end)
        return 1
    used = 0
    shift = SHIFT * (LEVELS - 1)
    for level in range(LEVELS):
        digit = (ticks >> shift) & (RADIX - 1)
        shift -= SHIFT
        if digit > 0:
            place = (first + level * (RADIX - 1) + digit - 1) * BLOCK
            if used == 0:
                _apply(steps, place, start, end)
            else:
                for k in range(WIDTH):
                    spare[k] = end[k]
                _apply(steps, place, spare, end)
            used += 1
    return used


@inlined
def _add_square(sums: Floats, place: int, point: Floats) -> None:
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
        sums[k + _LINE[1]] += s1 * value
        sums[k + _LINE[2]] += s2 * value
        sums[k + _LINE[3]] += s3 * value
        sums[k + _LINE[4]] += s4 * value
        sums[k + _LINE[5]] += s5 * value
        sums[k + _LINE[6]] += s6 * value
        sums[k + _LINE[7]] += s7 * value
        sums[k + _LINE[8]] += s8 * value
    sums[first + _LINE[9]] += 1.0


@inlined
def _book(
    slot: int, ticks: int, start: Floats, end: Floats, spare: Floats, steps: Floats, sums: Floats
) -> None:
    """Same move as `_move`, adding the outer product of each part's start to the books."""
    first = slot * LENGTHS
    if ticks == TICKS:
        _add_square(sums, (first + FULL) * SQUARE, start)
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
            _add_square(sums, length * SQUARE, spare)
            if rest > 0:
                _apply(steps, length * BLOCK, spare, end)
                for k in range(WIDTH):
                    spare[k] = end[k]


@inlined
def _channel_segment(gate: float, drain: float, channel: Floats) -> int:
    # With the drain below the source the two change places: gate to drain is what counts.
    over = gate - channel[0] - min(drain, 0.0)
    if over <= 0.0:
        return 0
    limit = channel[1] * over
    current = channel[2] * drain
    if current > limit:
        return 2
    if current < -limit:
        return 3
    return 1


@inlined
def region_code(
    point: Floats, level: int, low: Floats, high: Floats, column: Integers, channel: Floats
) -> int:
    """Region that a point's monitors lie in, with the drive at `level`."""
    code = _channel_segment(point[GATE], point[DRAIN], channel)
    weight = 4
    for e in range(low.shape[0]):
        value = point[column[e]]
        if value > high[e]:
            code += 2 * weight
        elif value >= low[e]:
            code += weight
        weight *= 3
    return code + weight * level


@inlined
def _inside(bounds: Floats, slot: int, segment: int, point: Floats, channel: Floats) -> bool:
    """Whether a point lies well inside the region: the quick answer for nearly every step."""
    first = np.uint64(2 * slot * INNER)
    outside = 0
    for j in range(np.uint64(point.shape[0] - INNER)):
        value = point[_U[INNER] + j]
        if not bounds[first + j] < value < bounds[first + _U[INNER] + j]:
            outside += 1
    if outside > 0:
        return False
    over = point[GATE] - channel[0] - min(point[DRAIN], 0.0)
    if segment == 0:
        return over < 0.0
    limit = channel[1] * over
    current = channel[2] * point[DRAIN]
    if segment == 1:
        return -limit < current < limit
    return current > limit if segment == 2 else current < -limit


@inlined
def _rate(rates: Floats, slot: int, monitor: int, point: Floats) -> float:
    k = np.uint64((slot * MONITORS + monitor) * WIDTH)
    return (
        (point[0] * rates[k] + point[1] * rates[k + _U[1]] + point[2] * rates[k + _U[2]])
        + (point[3] * rates[k + _U[3]] + point[4] * rates[k + _U[4]] + point[5] * rates[k + _U[5]])
        + (point[6] * rates[k + _U[6]] + point[7] * rates[k + _U[7]] + point[8] * rates[k + _U[8]])
    )


@inlined
def _root(y0: float, m0: float, y1: float, m1: float) -> float:
    """Zero in 0..1 of the cubic with values `y0`, `y1` of opposite sign and slopes `m0`, `m1`.

    Newton's rule from the straight line, or from the end where the zero is close to it; a step
    that leaves the bracket is replaced by its middle.
    """
    if y0 == y1 or (y0 > 0.0) == (y1 > 0.0):
        return 0.0
    u = y0 / (y0 - y1)
    back = y1 / m1 if m1 != 0.0 else 1.0
    if 0.0 < back < 0.1:
        u = 1.0 - back
    left, right = 0.0, 1.0
    c2 = 3.0 * (y1 - y0) - 2.0 * m0 - m1
    c3 = 2.0 * (y0 - y1) + m0 + m1
    for _ in range(12):
        value = y0 + u * (m0 + u * (c2 + u * c3))
        slope = m0 + u * (2.0 * c2 + 3.0 * u * c3)
        if (value > 0.0) == (y0 > 0.0):
            left = u
        else:
            right = u
        following = u - value / slope
        if not left <= following <= right:
            following = 0.5 * (left + right)
        moved = abs(following - u)
        u = following
        if moved < 1e-3:
            break
    return u


@inlined
def _border(segment: int, border: int, channel: Floats) -> tuple[float, float, float]:
    """One of the two borders of a channel segment, as a linear function of gate and drain voltage.

    It is positive beyond the border. Which segment a step ends in does not tell which border it
    crossed first: from saturated in reverse to ohmic the way may lead through off.
    """
    threshold, gain, conductance = channel[0], channel[1], channel[2]
    if segment == 0:
        return 1.0, -1.0 * border, -threshold
    if segment == 1:
        sign = 1.0 - 2.0 * border
        return -gain, sign * conductance + gain * border, gain * threshold
    back = 1.0 if segment == 3 else 0.0
    if border == 0:
        return -1.0, back, threshold
    sign = 2.0 * back - 1.0
    return gain, sign * conductance - gain * back, -gain * threshold


@inlined
def _first_crossing(
    slot: int,
    span: float,
    near: float,
    before: Floats,
    after: Floats,
    code_before: int,
    code_after: int,
    toggled: bool,
    section: bool,
    state: int,
    low: Floats,
    high: Floats,
    column: Integers,
    channel: Floats,
    comparator: Floats,
    rates: Floats,
) -> float:
    """Earliest crossing between two points, as ticks before the later one (0 where there is none).

    Where the straight line back from the later point meets the crossing within `near` ticks, that
    is the answer; else the root of the cubic between both points, `span` ticks apart.
    """
    earliest = 0.0
    one = code_before % 4
    two = code_after % 4
    if one != two:
        for border in range(2):
            # Off and ohmic have one border for each sign of the drain voltage.
            side = 1.0 - 2.0 * border
            if one < 2 and side * before[DRAIN] < 0.0 and side * after[DRAIN] < 0.0:
                continue
            on_gate, on_drain, constant = _border(one, border, channel)
            y1 = on_gate * after[GATE] + on_drain * after[DRAIN] + constant
            if y1 <= 0.0:
                continue
            m1 = on_gate * _rate(rates, slot, 0, after)
            m1 += on_drain * _rate(rates, slot, 1, after)
            ago = y1 / m1
            if not 0.0 <= ago <= near:
                y0 = on_gate * before[GATE] + on_drain * before[DRAIN] + constant
                m0 = on_gate * _rate(rates, slot, 0, before)
                m0 += on_drain * _rate(rates, slot, 1, before)
                ago = span - span * _root(y0, m0 * span, y1, m1 * span)
            earliest = max(earliest, ago)
    rest_before = code_before // 4
    rest_after = code_after // 4
    for e in range(low.shape[0] + 2):
        if e < low.shape[0]:
            one = rest_before % 3
            two = rest_after % 3
            rest_before //= 3
            rest_after //= 3
            if one == two:
                continue
            level = low[e]
            if one == 2 or (one == 1 and two == 2):
                level = high[e]
            watched = column[e]
        elif e == low.shape[0]:
            if not toggled:
                continue
            level = comparator[0] if state == 1 else comparator[1]
            watched = INPUT
        else:
            if not section:
                continue
            level = 0.0
            watched = TOP
        y1 = after[watched] - level
        m1 = _rate(rates, slot, watched - WIDTH, after)
        ago = y1 / m1
        if not 0.0 <= ago <= near:
            m0 = _rate(rates, slot, watched - WIDTH, before)
            ago = span - span * _root(before[watched] - level, m0 * span, y1, m1 * span)
        earliest = max(earliest, ago)
    return earliest


@inlined
def _toggles(value: float, state: int, comparator: Floats) -> bool:
    if comparator[4] == 0.0:
        return False
    if state == 1:
        return value < comparator[0]
    return value > comparator[1]


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
def _note_peaks(point: Floats, time: float, peaks: Floats, history: Floats) -> None:
    # From the constant on, which makes it one full vector register.
    for j in range(np.uint64(peaks.shape[1])):
        value = point[_U[INNER] + j]
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
def _mark_cycle(
    time: float, point: Floats, numbers: Integers, cycles: Floats, peaks: Floats
) -> None:
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
def _wanted_level(numbers: Integers, comparator: Floats) -> int:
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
def _take_event(numbers: Integers, events: Integers) -> None:
    numbers[LEVEL] = events[0, 1]
    count = numbers[QUEUED] - 1
    for place in range(count):
        events[place, 0] = events[place + 1, 0]
        events[place, 1] = events[place + 1, 1]
    numbers[QUEUED] = count


@inlined
def _locate(
    slot: int,
    ticks: int,
    start: Floats,
    end: Floats,
    spare: Floats,
    here: Floats,
    trial: Floats,
    code: int,
    found: int,
    toggled: bool,
    last_cycle: bool,
    numbers: Integers,
    steps: Floats,
    bounds: Floats,
    low: Floats,
    high: Floats,
    column: Integers,
    channel: Floats,
    comparator: Floats,
    rates: Floats,
) -> tuple[int, float, int, bool]:
    """Shorten a step that ended behind a crossing until it ends just behind the first one.

    `end` holds the point after `ticks` and is replaced, `found` and `toggled` tell what is new
    there. Returns the new length in ticks, the estimated time of the crossing in ticks, and what
    is new at the new end.
    """
    level, state = numbers[LEVEL], numbers[COMPARATOR]
    before = start
    a = 0
    b = ticks
    slack = int(comparator[5])
    section = last_cycle and start[TOP] <= 0.0 < end[TOP]
    tries = 0
    while True:
        # The end of a cycle is met within a tick, so that books over whole cycles are whole.
        limit = 1 if section else slack
        span = b - a
        ago = _first_crossing(
            slot,
            float(span),
            float(limit),
            before,
            end,
            code,
            found,
            toggled,
            section,
            state,
            low,
            high,
            column,
            channel,
            comparator,
            rates,
        )
        if span <= 1 or ago <= limit:
            return b, b - ago, found, toggled
        tries += 1
        length = b - span // 2
        if tries < 6:
            root = b - int(ago)
            length = root + (limit >> 2)
            # A whole number of the second shortest units saves a product.
            whole = (root + limit) & ~(RADIX - 1)
            if whole > root:
                length = whole
        length = max(a + 1, min(length, b - 1))
        numbers[PRODUCTS] += _move(slot, length, start, trial, spare, steps)
        there = code
        if not _inside(bounds, slot, code & 3, trial, channel):
            there = region_code(trial, level, low, high, column, channel)
        toggles = _toggles(trial[INPUT], state, comparator)
        rises = last_cycle and start[TOP] <= 0.0 < trial[TOP]
        if there != code or toggles or rises:
            b, found, toggled, section = length, there, toggles, rises
            for j in range(COLUMNS):
                end[j] = trial[j]
        else:
            a = length
            for j in range(COLUMNS):
                here[j] = trial[j]
            before = here


@compiled
def advance(
    until: int,
    stop_cycle: int,
    book: bool,
    trace: bool,
    switch_limit: int,
    tables: Tables,
    machine: Machine,
) -> int:
    """Step until tick `until`, or land on the section that ends cycle `stop_cycle`.

    The section is the rising zero of the top voltage. Returns why it came back; on NEEDS_REGION
    the caller builds the region in ``numbers[CODE]`` and calls again.
    """
    numbers, point, events = machine.numbers, machine.point, machine.events
    peaks, history, cycles, sums = machine.peaks, machine.history, machine.cycles, machine.sums
    steps, slot_of, bounds = tables.steps, tables.slot_of, tables.bounds
    base_ticks, comparator, rates = tables.base_ticks, tables.comparator, tables.rates
    low, high, column, channel = tables.low, tables.high, tables.column, tables.channel
    end, spare, here, trial = machine.end, machine.spare, machine.here, machine.trial
    regions = slot_of.shape[0] // 2
    now, code, level = numbers[NOW], numbers[CODE], numbers[LEVEL]
    state, last = numbers[COMPARATOR], numbers[CYCLES] + 1 == stop_cycle
    due = events[0, 0] if numbers[QUEUED] > 0 else FAR
    taken = 0
    reason = NEEDS_REGION
    slot = slot_of[code]
    if slot >= 0:
        _read_monitors(steps, slot, point, spare)
    if numbers[CYCLES] == cycles.shape[0]:
        return CYCLES_FULL
    while slot >= 0:
        while due <= now:
            _take_event(numbers, events)
            due = events[0, 0] if numbers[QUEUED] > 0 else FAR
            level = numbers[LEVEL]
            code = code % regions + regions * level
            slot = slot_of[code]
            if slot >= 0:
                _read_monitors(steps, slot, point, spare)
        if slot < 0:
            break
        if now >= until:
            reason = REACHED
            break
        ticks = min(base_ticks[slot], min(until, due) - now)
        taken += 1
        products = _move(slot, ticks, point, end, spare, steps)
        numbers[PRODUCTS] += products
        found = code
        if not _inside(bounds, slot, code & 3, end, channel):
            found = region_code(end, level, low, high, column, channel)
        toggled = _toggles(end[INPUT], state, comparator)
        rising = point[TOP] <= 0.0 < end[TOP]
        crossing = float(ticks)
        if found != code or toggled or (rising and last):
            ticks, crossing, found, toggled = _locate(
                slot,
                ticks,
                point,
                end,
                spare,
                here,
                trial,
                code,
                found,
                toggled,
                last,
                numbers,
                steps,
                bounds,
                low,
                high,
                column,
                channel,
                comparator,
                rates,
            )
            if (code & 3) + (found & 3) == 5:
                # From saturated to saturated in reverse the way leads through ohmic, however
                # quickly; leaving it out would make a tiny device swing to and fro for ever.
                found += 1 - (found & 3)
            rising = point[TOP] <= 0.0 < end[TOP]
            numbers[SWITCHES] += 1
        if book:
            _book(slot, ticks, point, trial, spare, steps, sums)
        began = now
        now += ticks
        time = float(now)
        _note_peaks(end, time, peaks, history)
        if rising:
            mark = began + ticks * point[TOP] / (point[TOP] - end[TOP])
            _mark_cycle(mark, end, numbers, cycles, peaks)
        point, end = end, point
        if trace:
            place = numbers[TRACED]
            machine.trace_time[place] = time
            machine.trace_code[place] = code
            for j in range(COLUMNS):
                machine.trace_point[place, j] = point[j]
            numbers[TRACED] = place + 1
        queued = True
        if toggled:
            state = 1 - state
            numbers[COMPARATOR] = state
            numbers[TOGGLES] += 1
            if numbers[ENABLED] == 1:
                when = max(began + int(np.round(crossing + comparator[2])), now)
                queued = schedule(when, _wanted_level(numbers, comparator), numbers, events)
                due = events[0, 0]
        if found != code:
            code = found
            slot = slot_of[found]
            # A parabola through three points is only good within one region.
            for place in range(2):
                history[place, 0] = point[DRAIN]
                history[place, 1] = point[TOP]
                history[place, 2] = time
            if slot >= 0:
                _read_monitors(steps, slot, point, spare)
            if numbers[SWITCHES] > switch_limit:
                reason = CHATTER
                break
        if not queued:
            reason = QUEUE_FULL
            break
        if rising:
            if last:
                reason = AT_SECTION if abs(point[TOP]) < 1e12 else DIVERGED
                break
            last = numbers[CYCLES] + 1 == stop_cycle
            if numbers[CYCLES] == cycles.shape[0]:
                reason = CYCLES_FULL
                break
        if trace and numbers[TRACED] == machine.trace_time.shape[0]:
            reason = TRACE_FULL
            break
    numbers[NOW], numbers[CODE] = now, code
    numbers[STEPS] += taken
    for j in range(COLUMNS):
        machine.point[j] = point[j]
    return reason


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
def fill_steps(tick_matrix: Floats, monitors: Floats, out: Floats) -> None:
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
def _carry(steps: Floats, place: int, carried: Floats, layer: Floats, work: Floats) -> None:
    """Outer products in `carried` moved on by one step, plus `layer`, all in packed squares."""
    inner = np.uint64(work.shape[0] - WIDTH * INNER)
    first = np.uint64(place)
    for row in range(WIDTH):
        line = np.uint64(row * INNER)
        s0, s1, s2, s3 = (
            carried[line],
            carried[line + _U[1]],
            carried[line + _U[2]],
            carried[line + _U[3]],
        )
        s4, s5, s6, s7 = (
            carried[line + _U[4]],
            carried[line + _U[5]],
            carried[line + _U[6]],
            carried[line + _U[7]],
        )
        s8 = carried[_LINE[8] + np.uint64(row)]
        for j in range(inner):
            k = first + j
            work[line + j] = (
                (s0 * steps[k] + s1 * steps[k + _ROW[1]] + s2 * steps[k + _ROW[2]])
                + (s3 * steps[k + _ROW[3]] + s4 * steps[k + _ROW[4]] + s5 * steps[k + _ROW[5]])
                + (s6 * steps[k + _ROW[6]] + s7 * steps[k + _ROW[7]] + s8 * steps[k + _ROW[8]])
            )
    for row in range(INNER):
        line = np.uint64(row * INNER)
        k = first + np.uint64(row)
        s0, s1, s2 = steps[k], steps[k + _ROW[1]], steps[k + _ROW[2]]
        s3, s4, s5 = steps[k + _ROW[3]], steps[k + _ROW[4]], steps[k + _ROW[5]]
        s6, s7, s8 = steps[k + _ROW[6]], steps[k + _ROW[7]], steps[k + _ROW[8]]
        for j in range(inner):
            carried[line + j] = (
                layer[line + j]
                + (s0 * work[j] + s1 * work[j + _LINE[1]] + s2 * work[j + _LINE[2]])
                + (s3 * work[j + _LINE[3]] + s4 * work[j + _LINE[4]] + s5 * work[j + _LINE[5]])
                + (s6 * work[j + _LINE[6]] + s7 * work[j + _LINE[7]] + s8 * work[j + _LINE[8]])
            )
    for j in range(_LINE[8], _LINE[9]):
        carried[j] = work[j] + layer[j]
    carried[_LINE[9]] += layer[_LINE[9]]


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
                for j in range(SQUARE):
                    layer[j] += sums[place + j]
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
