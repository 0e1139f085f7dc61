"""Compiled stepping of the piecewise-linear stage (Numba).

Time is counted in whole ticks of ``h / 4096``. Each region has exact propagators for h and for
1..15 parts of h/16, h/256 and h/4096, so any number of ticks is at most four matrix-vector
products. A step that ends in another region is shortened by a safeguarded secant search on whole
ticks until it lands just behind the crossing.

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

RADIX: Final = 16
LEVELS: Final = 3
TICKS: Final = RADIX**LEVELS
LENGTHS: Final = LEVELS * (RADIX - 1) + 1
FULL: Final = LENGTHS - 1
WIDTH: Final = 9
MONITORS: Final = 7
COLUMNS: Final = WIDTH + MONITORS
EVENT_SLOTS: Final = 32

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

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_OPTIONS: Final = {
    "cache": True,
    "nogil": True,
    "fastmath": {"contract"},
    "error_model": "numpy",
}
compiled = njit(**_OPTIONS)
# A call that hands over arrays pushes seven words for each: the small parts must be inlined.
inlined = njit(**_OPTIONS, forceinline=True)


class Tables(NamedTuple):
    """Tables of the visited regions and the law of the non-linear elements."""

    steps: Floats  # (slots * LENGTHS * WIDTH, COLUMNS) state -> later state and its monitors
    monitors: Floats  # (slots, WIDTH, MONITORS)
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
    events: Integers  # (EVENT_SLOTS, 2) time in ticks, level
    peaks: Floats  # (2, MONITORS) highest and lowest since the last cycle mark
    history: Floats  # (2, 3) last two points: drain, top, time
    cycles: Floats  # (cycles, 2 + 2 * MONITORS) time, stored energy, highest, lowest
    trace_time: Floats  # (points,)
    trace_point: Floats  # (points, COLUMNS)
    trace_code: Integers  # (points,)
    sums: Floats  # (slots * LENGTHS * WIDTH, WIDTH) outer products


@inlined
def _apply(steps, row, start, end):
    # Written out over the WIDTH places, with the tables of all regions as rows of one matrix:
    # the sum stays in vector registers, four times as fast as four-dimensional indexing.
    s0, s1, s2, s3, s4 = start[0], start[1], start[2], start[3], start[4]
    s5, s6, s7, s8 = start[5], start[6], start[7], start[8]
    for j in range(COLUMNS):
        end[j] = (
            s0 * steps[row, j]
            + s1 * steps[row + 1, j]
            + s2 * steps[row + 2, j]
            + s3 * steps[row + 3, j]
            + s4 * steps[row + 4, j]
            + s5 * steps[row + 5, j]
            + s6 * steps[row + 6, j]
            + s7 * steps[row + 7, j]
            + s8 * steps[row + 8, j]
        )


@inlined
def read_monitors(monitors, slot, point):
    """Set the monitor columns of a point from its state."""
    for j in range(MONITORS):
        value = 0.0
        for k in range(WIDTH):
            value += point[k] * monitors[slot, k, j]
        point[WIDTH + j] = value


@inlined
def _move(slot, ticks, start, end, spare, steps):
    """Point after `ticks` in one region. Returns the number of products used."""
    first = slot * LENGTHS
    if ticks == TICKS:
        _apply(steps, (first + FULL) * WIDTH, start, end)
        return 1
    used = 0
    scale = TICKS // RADIX
    rest = ticks
    for level in range(LEVELS):
        digit = rest // scale
        rest -= digit * scale
        scale //= RADIX
        if digit > 0:
            row = (first + level * (RADIX - 1) + digit - 1) * WIDTH
            if used == 0:
                _apply(steps, row, start, end)
            else:
                for k in range(WIDTH):
                    spare[k] = end[k]
                _apply(steps, row, spare, end)
            used += 1
    return used


@inlined
def _book(slot, ticks, start, end, spare, steps, sums):
    """Same move as `_move`, adding the outer product of each part's start to the books."""
    scale = TICKS
    rest = ticks
    for k in range(WIDTH):
        spare[k] = start[k]
    for level in range(-1, LEVELS):
        digit = rest // scale
        rest -= digit * scale
        scale //= RADIX
        if digit > 0:
            length = FULL if level < 0 else level * (RADIX - 1) + digit - 1
            row = (slot * LENGTHS + length) * WIDTH
            for i in range(WIDTH):
                factor = spare[i]
                for j in range(WIDTH):
                    sums[row + i, j] += factor * spare[j]
            if rest > 0:
                _apply(steps, row, spare, end)
                for k in range(WIDTH):
                    spare[k] = end[k]


@inlined
def _channel_segment(gate, drain, channel):
    over = gate - channel[0]
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
def _channel_gap(before, after, gate, drain, channel):
    if before == 0 or after == 0:
        return gate - channel[0]
    limit = channel[1] * (gate - channel[0])
    current = channel[2] * drain
    if before == 2 or after == 2:
        return current - limit
    return current + limit


@inlined
def region_code(point, level, low, high, column, channel):
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
def _line_root(a, b):
    if a == b or (a > 0.0) == (b > 0.0):
        return 0.0
    return a / (a - b)


@inlined
def _fraction(before, after, code_before, code_after, toggled, section, state, tables):
    """Earliest crossing between two points as a fraction of the way, by straight lines."""
    best = 1.0
    channel_before = code_before % 4
    channel_after = code_after % 4
    if channel_before != channel_after:
        channel = tables.channel
        a = _channel_gap(channel_before, channel_after, before[GATE], before[DRAIN], channel)
        b = _channel_gap(channel_before, channel_after, after[GATE], after[DRAIN], channel)
        best = min(best, _line_root(a, b))
    rest_before = code_before // 4
    rest_after = code_after // 4
    for e in range(tables.low.shape[0]):
        one = rest_before % 3
        two = rest_after % 3
        rest_before //= 3
        rest_after //= 3
        if one != two:
            level = tables.low[e]
            if one == 2 or (one == 1 and two == 2):
                level = tables.high[e]
            watched = tables.column[e]
            best = min(best, _line_root(before[watched] - level, after[watched] - level))
    if toggled:
        level = tables.comparator[0] if state == 1 else tables.comparator[1]
        best = min(best, _line_root(before[INPUT] - level, after[INPUT] - level))
    if section:
        best = min(best, _line_root(before[TOP], after[TOP]))
    return best


@inlined
def _toggles(value, state, comparator):
    if comparator[4] == 0.0:
        return False
    if state == 1:
        return value < comparator[0]
    return value > comparator[1]


@inlined
def _vertex(t0, y0, t1, y1, t2, y2):
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
def _note_peaks(point, time, peaks, history):
    for m in range(MONITORS):
        value = point[WIDTH + m]
        peaks[0, m] = max(peaks[0, m], value)
        peaks[1, m] = min(peaks[1, m], value)
    for place in range(2):
        value = point[DRAIN + place]
        middle = history[1, place]
        first = history[0, place]
        m = 1 + place
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
def _mark_cycle(time, point, numbers, cycles, peaks):
    row = numbers[CYCLES]
    energy = 0.0
    for k in range(WIDTH - 1):
        energy += point[k] * point[k]
    cycles[row, 0] = time
    cycles[row, 1] = 0.5 * energy
    for m in range(MONITORS):
        cycles[row, 2 + m] = peaks[0, m]
        cycles[row, 2 + MONITORS + m] = peaks[1, m]
        peaks[0, m] = -np.inf
        peaks[1, m] = np.inf
    numbers[CYCLES] = row + 1


@inlined
def _wanted_level(numbers, comparator):
    if comparator[4] == 0.0:
        return numbers[ENABLED]
    inverts = 1 if comparator[3] != 0.0 else 0
    return numbers[ENABLED] * (numbers[COMPARATOR] ^ inverts)


@compiled
def schedule(when, level, numbers, events):
    """Queue a change of the drive level; False when the queue is full."""
    count = numbers[QUEUED]
    if count == events.shape[0]:
        return False
    events[count, 0] = when
    events[count, 1] = level
    numbers[QUEUED] = count + 1
    return True


@inlined
def _take_event(numbers, events):
    numbers[LEVEL] = events[0, 1]
    count = numbers[QUEUED] - 1
    for place in range(count):
        events[place, 0] = events[place + 1, 0]
        events[place, 1] = events[place + 1, 1]
    numbers[QUEUED] = count


@compiled
def _locate(slot, ticks, start, end, spare, here, trial, code, last_cycle, tables, numbers):
    """Shorten a step that ended behind a crossing until it ends just behind the first one.

    `end` holds the point after `ticks` and is replaced. Returns the new length in ticks and the
    estimated time of the crossing in ticks.
    """
    steps, comparator = tables.steps, tables.comparator
    low, high, column, channel = tables.low, tables.high, tables.column, tables.channel
    level, state = numbers[LEVEL], numbers[COMPARATOR]
    for j in range(COLUMNS):
        here[j] = start[j]
    a = 0
    b = ticks
    slack = int(comparator[5])
    tries = 0
    while True:
        found = region_code(end, level, low, high, column, channel)
        toggled = _toggles(end[INPUT], state, comparator)
        section = last_cycle and start[TOP] <= 0.0 < end[TOP]
        part = _fraction(here, end, code, found, toggled, section, state, tables)
        span = b - a
        # The end of a cycle is met within a tick, so that books over whole cycles are whole.
        limit = 1 if section else slack
        if span <= 1 or (1.0 - part) * span <= limit:
            return b, a + part * span
        tries += 1
        length = span // 2 if tries > 8 else int(part * span) + 1 + (limit >> 1)
        length = a + min(max(length, 1), span - 1)
        numbers[PRODUCTS] += _move(slot, length, start, trial, spare, steps)
        changed = (
            region_code(trial, level, low, high, column, channel) != code
            or _toggles(trial[INPUT], state, comparator)
            or (last_cycle and start[TOP] <= 0.0 < trial[TOP])
        )
        if changed:
            b = length
            for j in range(COLUMNS):
                end[j] = trial[j]
        else:
            a = length
            for j in range(COLUMNS):
                here[j] = trial[j]


@compiled
def advance(until, stop_cycle, book, trace, switch_limit, tables, machine):
    """Step until tick `until`, or land on the section that ends cycle `stop_cycle`.

    The section is the rising zero of the top voltage. Returns why it came back; on NEEDS_REGION
    the caller builds the region in ``numbers[CODE]`` and calls again.
    """
    # Taken out of the tuples once: reading an array out of a tuple costs a reference count.
    numbers, point, events = machine.numbers, machine.point, machine.events
    peaks, history, cycles, sums = machine.peaks, machine.history, machine.cycles, machine.sums
    steps, monitors, slot_of = tables.steps, tables.monitors, tables.slot_of
    base_ticks, comparator = tables.base_ticks, tables.comparator
    low, high, column, channel = tables.low, tables.high, tables.column, tables.channel
    end, spare = np.empty(COLUMNS), np.empty(COLUMNS)
    here, trial = np.empty(COLUMNS), np.empty(COLUMNS)
    regions = slot_of.shape[0] // 2
    slot = slot_of[numbers[CODE]]
    if slot < 0:
        return NEEDS_REGION
    read_monitors(monitors, slot, point)
    while True:
        now = numbers[NOW]
        while numbers[QUEUED] > 0 and events[0, 0] <= now:
            _take_event(numbers, events)
            numbers[CODE] = numbers[CODE] % regions + regions * numbers[LEVEL]
            slot = slot_of[numbers[CODE]]
            if slot < 0:
                return NEEDS_REGION
            read_monitors(monitors, slot, point)
        if now >= until:
            return REACHED
        ticks = min(base_ticks[slot], until - now)
        if numbers[QUEUED] > 0:
            ticks = min(ticks, events[0, 0] - now)
        code = numbers[CODE]
        numbers[PRODUCTS] += _move(slot, ticks, point, end, spare, steps)
        numbers[STEPS] += 1
        found = region_code(end, numbers[LEVEL], low, high, column, channel)
        toggled = _toggles(end[INPUT], numbers[COMPARATOR], comparator)
        rising = point[TOP] <= 0.0 < end[TOP]
        last_cycle = numbers[CYCLES] + 1 == stop_cycle
        crossing = float(ticks)
        if found != code or toggled or (rising and last_cycle):
            ticks, crossing = _locate(
                slot, ticks, point, end, spare, here, trial, code, last_cycle, tables, numbers
            )
            found = region_code(end, numbers[LEVEL], low, high, column, channel)
            toggled = _toggles(end[INPUT], numbers[COMPARATOR], comparator)
            rising = point[TOP] <= 0.0 < end[TOP]
            numbers[SWITCHES] += 1
        if book:
            _book(slot, ticks, point, trial, spare, steps, sums)
        numbers[NOW] = now + ticks
        time = float(numbers[NOW])
        _note_peaks(end, time, peaks, history)
        if rising:
            if numbers[CYCLES] == cycles.shape[0]:
                return CYCLES_FULL
            mark = now + ticks * point[TOP] / (point[TOP] - end[TOP])
            _mark_cycle(mark, end, numbers, cycles, peaks)
        for j in range(COLUMNS):
            point[j] = end[j]
        if trace:
            place = numbers[TRACED]
            machine.trace_time[place] = time
            machine.trace_code[place] = code
            for j in range(COLUMNS):
                machine.trace_point[place, j] = end[j]
            numbers[TRACED] = place + 1
        if toggled:
            numbers[COMPARATOR] = 1 - numbers[COMPARATOR]
            numbers[TOGGLES] += 1
            if numbers[ENABLED] == 1:
                when = max(now + int(np.round(crossing + comparator[2])), numbers[NOW])
                if not schedule(when, _wanted_level(numbers, comparator), numbers, events):
                    return QUEUE_FULL
        arrived = rising and last_cycle
        if found != code:
            numbers[CODE] = found
            slot = slot_of[found]
            # A parabola through three points is only good within one region.
            for place in range(2):
                history[place, 0] = point[DRAIN]
                history[place, 1] = point[TOP]
                history[place, 2] = time
            if slot >= 0:
                read_monitors(monitors, slot, point)
        if arrived:
            if not abs(point[TOP]) < 1e12:
                return DIVERGED
            return AT_SECTION
        if slot < 0:
            return NEEDS_REGION
        if trace and numbers[TRACED] == machine.trace_time.shape[0]:
            return TRACE_FULL
        if numbers[SWITCHES] > switch_limit:
            return CHATTER


@compiled
def fill_steps(tick_matrix, monitors, out):
    """Step matrices of all lengths from that of one tick, stored transposed.

    `tick_matrix` is ``expm(A h / 4096)``, (WIDTH, WIDTH); `monitors` (WIDTH, MONITORS); `out` has
    shape (LENGTHS, WIDTH, COLUMNS).
    """
    unit = tick_matrix.T.copy()
    for level in range(LEVELS - 1, -1, -1):
        first = level * (RADIX - 1)
        power = unit.copy()
        for digit in range(1, RADIX):
            out[first + digit - 1, :, :WIDTH] = power
            out[first + digit - 1, :, WIDTH:] = np.dot(power, monitors)
            power = np.dot(power, unit)
        unit = power
    out[FULL, :, :WIDTH] = unit
    out[FULL, :, WIDTH:] = np.dot(unit, monitors)


@compiled
def integrals(sums, steps, matrix, tick):
    """Integral of x x^T dt over all steps booked in one region, in seconds.

    Parameters
    ----------
    sums : array (LENGTHS, WIDTH, WIDTH)
        Sums of outer products of the states at the start of each step, by step length.
    steps : array (LENGTHS, WIDTH, COLUMNS)
        Step matrices of the region.
    matrix : array (WIDTH, WIDTH)
        Augmented system matrix of the region [1/s].
    tick : float
        Length of a tick [s].
    """
    total = sums[FULL].copy()
    for level in range(LEVELS):
        first = level * (RADIX - 1)
        one_t = steps[first, :, :WIDTH].copy()
        one = one_t.T.copy()
        # A step of d units is the same as d steps of one unit; Horner's rule over the units.
        layer = total.copy()
        carried = total.copy()
        for digit in range(RADIX - 1, 0, -1):
            layer += sums[first + digit - 1]
            carried = np.dot(np.dot(one, carried), one_t) + layer
        total = carried
    # Within one tick the series in the tick converges in a few terms.
    term = total * tick
    result = term.copy()
    for order in range(2, 60):
        turned = np.dot(matrix, term)
        term = (turned + turned.T) * (tick / order)
        result += term
        if np.max(np.abs(term)) <= 1e-17 * np.max(np.abs(result)):
            break
    return result
