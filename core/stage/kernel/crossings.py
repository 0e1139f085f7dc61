"""Which region a point lies in, and when a step crosses into another one."""

from __future__ import annotations

import numpy as np

from burstwise.core.arrays import Array, Integers
from burstwise.core.stage.kernel.cubics import cubic_extreme, cubic_root
from burstwise.core.stage.kernel.layout import (
    COLUMNS,
    COMPARATOR,
    DRAIN,
    FIRST,
    GATE,
    INNER,
    INPUT,
    LEVEL,
    MONITORS,
    PRODUCTS,
    RADIX,
    RATE,
    TOP,
    Tables,
    inlined,
)
from burstwise.core.stage.kernel.products import look, move, round_length

SECTION_SLACK = 16
"""Ticks that the end of a cycle is met within, so that books over whole cycles are whole."""
PAST = 0.03
"""How far past a border a step may end as a part of the gate's threshold, and"""
PAST_PART = 2e-4
"""which part of the border's own voltage beside."""


@inlined
def _channel_segment(gate: float, drain: float, channel: Array) -> int:
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
    point: Array,
    level: int,
    borders: Array,
    first: Integers,
    column: Integers,
    channel: Array,
) -> int:
    """Region that a point's monitors lie in, with the drive at `level`."""
    code = _channel_segment(point[GATE], point[DRAIN], channel)
    weight = 4
    for digit in range(column.shape[0]):
        value = point[column[digit]]
        count = 0
        for place in range(first[digit], first[digit + 1]):
            if value > borders[place]:
                count += 1
        code += weight * count
        weight *= first[digit + 1] - first[digit] + 1
    return code + weight * level


@inlined
def inside(bounds: Array, slot: int, segment: int, point: Array, channel: Array) -> bool:
    """Whether a point lies well inside the region: the quick answer for nearly every step."""
    lowest = np.uint64(2 * slot * MONITORS)
    highest = lowest + np.uint64(MONITORS)
    outside = 0
    for j in range(np.uint64(MONITORS)):
        value = point[np.uint64(FIRST) + j]
        if not bounds[lowest + j] < value < bounds[highest + j]:
            outside += 1
    if outside > 0:
        return False
    over = point[GATE] - channel[0] - min(point[DRAIN], 0.0)
    if segment == 0 or over <= 0.0:
        return segment == 0 and over < 0.0
    limit = channel[1] * over
    current = channel[2] * point[DRAIN]
    if segment == 1:
        return -limit < current < limit
    return current > limit if segment == 2 else current < -limit


@inlined
def region_at(
    slot: int,
    code: int,
    point: Array,
    level: int,
    bounds: Array,
    borders: Array,
    first: Integers,
    column: Integers,
    channel: Array,
) -> int:
    """Region that a point lies in, most likely still the one of its slot."""
    if inside(bounds, slot, code & 3, point, channel):
        return code
    return region_code(point, level, borders, first, column, channel)


@inlined
def _border(segment: int, border: int, channel: Array) -> tuple[float, float, float]:
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
    before: Array,
    after: Array,
    one: int,
    two: int,
    toggled: bool,
    section: bool,
    state: int,
    bounds: Array,
    channel: Array,
    comparator: Array,
) -> tuple[float, float]:
    """Earliest crossing between two points, as ticks before the later one (0 where there is none).

    Where the straight line back from the later point meets the crossing within `near` ticks, that
    is the answer; else the root of the cubic between both points, `span` ticks apart. The second
    value is how many ticks a step may end behind it: at most `near`, and less where it or another
    quantity that crosses is quick. `one` and `two` are the channel's segments at both points.
    """
    earliest = 0.0
    room = near
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
            m1 = on_gate * after[GATE + RATE] + on_drain * after[DRAIN + RATE]
            ago = y1 / m1
            if not 0.0 <= ago <= near:
                y0 = on_gate * before[GATE] + on_drain * before[DRAIN] + constant
                m0 = on_gate * before[GATE + RATE] + on_drain * before[DRAIN + RATE]
                ago = span - span * cubic_root(y0, m0 * span, y1, m1 * span)
            earliest = max(earliest, ago)
            past = PAST * channel[0] * max(abs(on_gate), 1.0)
            room = min(room, min(near, past / max(abs(m1), 1e-300)) - ago)
    lowest, highest = 2 * slot * MONITORS, (2 * slot + 1) * MONITORS
    for place in range(MONITORS + 2):
        watched = FIRST + place
        if place < MONITORS:
            level = bounds[highest + place]
            if after[watched] <= level:
                level = bounds[lowest + place]
                if after[watched] >= level:
                    continue
        elif place == MONITORS:
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
        m1 = after[watched + RATE]
        ago = y1 / m1
        if not 0.0 <= ago <= near:
            m0 = before[watched + RATE]
            ago = span - span * cubic_root(before[watched] - level, m0 * span, y1, m1 * span)
        earliest = max(earliest, ago)
        past = PAST * channel[0] + PAST_PART * abs(level)
        allowed = float(SECTION_SLACK) if place > MONITORS else past / max(abs(m1), 1e-300)
        room = min(room, min(near, allowed) - ago)
    return earliest, earliest + room


@inlined
def _turn(y0: float, m0: float, y1: float, m1: float) -> float:
    """Place in 0..1 where a quantity that is below zero at both ends may lie above it; 0 for none.

    It rises at the start and falls at the end, and the lines along both slopes meet above zero;
    where the cubic's slope is zero it is looked for.
    """
    # A border that there is none of lies infinitely far away.
    if not m0 > 0.0 > m1 or not min(y0 + m0, y1 - m1) > 0.0:
        return 0.0
    meet = min(max((y1 - y0 - m1) / (m0 - m1), 0.0), 1.0)
    if y0 + m0 * meet <= 0.0:
        return 0.0
    u, value = cubic_extreme(y0, m0, y1, m1)
    # A quick rise whose decay no cubic follows passes where the line along it does, or soon after.
    return u if value > 0.0 else min(u, -y0 / m0)


@inlined
def _bends_out(slot: int, span: float, start: Array, end: Array, bounds: Array) -> bool:
    """Whether the lines along both ends' slopes leave the region: the quick answer is mostly no."""
    lowest = np.uint64(2 * slot * MONITORS)
    highest = lowest + np.uint64(MONITORS)
    hits = 0
    for j in range(np.uint64(MONITORS)):
        value, rate = np.uint64(FIRST) + j, np.uint64(FIRST + RATE) + j
        ahead = start[value] + start[rate] * span
        back = end[value] - end[rate] * span
        above = min(ahead, back) > bounds[highest + j]
        below = max(ahead, back) < bounds[lowest + j]
        if above | below:
            hits += 1
    return hits > 0


@inlined
def _turning_monitor(slot: int, span: float, start: Array, end: Array, bounds: Array) -> float:
    """Place in 0..1 after which a monitor may be outside of its region; 1 where none is."""
    lowest, highest = 2 * slot * MONITORS, (2 * slot + 1) * MONITORS
    earliest = 1.0
    for m in range(MONITORS):
        here = FIRST + m
        m0, m1 = start[here + RATE] * span, end[here + RATE] * span
        if m0 > 0.0 > m1:
            border = bounds[highest + m]
            u = _turn(start[here] - border, m0, end[here] - border, m1)
        elif m0 < 0.0 < m1:
            border = bounds[lowest + m]
            u = _turn(border - start[here], -m0, border - end[here], -m1)
        else:
            continue
        if u > 0.0:
            earliest = min(earliest, u)
    return earliest


@inlined
def turning(
    slot: int, ticks: int, start: Array, end: Array, segment: int, bounds: Array, channel: Array
) -> int:
    """Ticks after which a step that ends in its own region may be outside of it; 0 where not."""
    span = float(ticks)
    earliest = 1.0
    if _bends_out(slot, span, start, end, bounds):
        earliest = _turning_monitor(slot, span, start, end, bounds)
    for border in range(2):
        side = 1.0 - 2.0 * border
        if segment < 2 and side * start[DRAIN] < 0.0 and side * end[DRAIN] < 0.0:
            continue
        on_gate, on_drain, constant = _border(segment, border, channel)
        m0 = on_gate * start[GATE + RATE] + on_drain * start[DRAIN + RATE]
        m1 = on_gate * end[GATE + RATE] + on_drain * end[DRAIN + RATE]
        y0 = on_gate * start[GATE] + on_drain * start[DRAIN] + constant
        y1 = on_gate * end[GATE] + on_drain * end[DRAIN] + constant
        if y0 < 0.0 and y1 < 0.0:
            u = _turn(y0, m0 * span, y1, m1 * span)
            if u > 0.0:
                earliest = min(earliest, u)
    if earliest == 1.0 or ticks < 2:
        return 0
    length = round_length(earliest * span, 4.0 * earliest * span)
    return max(1, min(length, ticks - 1))


@inlined
def input_toggles(value: float, state: int, comparator: Array) -> bool:
    """Whether the driver's input leaves its state at this voltage."""
    if comparator[4] == 0.0:
        return False
    if state == 1:
        return value < comparator[0]
    return value > comparator[1]


@inlined
def keep_charge(found: int, code: int, point: Array, tables: Tables) -> None:
    """Move a point's coordinates so that charge, not voltage, is kept where a capacitance changes.

    A step ends a little behind the knot at which one capacitance gives way to the next. What flowed
    until then is right, the voltage is not: with C and C' on both sides of the knot v_k the voltage
    becomes ``v_k + (v - v_k) C / C'``. In coordinates that is a shift along one direction for each
    pair of neighbours, ``y - w (v - v_k)`` with ``w = (C' - C) E'^-1 c`` and v = c y; see
    `burstwise.core.stage.network.Network.shifts`.
    """
    borders, first = tables.borders, tables.first
    charged = tables.charged[0]
    rest_before, rest_after = code // 4, found // 4
    for digit in range(charged):
        count = first[digit + 1] - first[digit] + 1
        rest_before //= count
        rest_after //= count
    kinds = first.shape[0] - 1 - charged
    # Segments of all capacitances as they change one by one; behind them stands the drive level.
    combinations = 1
    for number in range(kinds):
        combinations *= first[charged + number + 1] - first[charged + number] + 1
    combination = rest_before % combinations
    for number in range(kinds):
        weight = 1
        for earlier in range(number):
            weight *= first[charged + earlier + 1] - first[charged + earlier] + 1
        count = first[charged + number + 1] - first[charged + number] + 1
        one = (rest_before // weight) % count
        two = (rest_after // weight) % count
        while one != two:
            up = 1 if two > one else 0
            knot = borders[first[charged + number] + (one if up == 1 else one - 1)]
            volts = 0.0
            for k in range(INNER):
                volts += tables.across[number, k] * point[k]
            past = volts - knot
            for k in range(INNER):
                point[k] -= tables.shifts[combination, number, up, k] * past
            step = 1 if up == 1 else -1
            one += step
            combination += step * weight


@inlined
def locate(
    slot: int,
    ticks: int,
    start: Array,
    end: Array,
    spare: Array,
    here: Array,
    trial: Array,
    code: int,
    found: int,
    toggled: bool,
    last_cycle: bool,
    slack: int,
    numbers: Integers,
    steps: Array,
    views: Array,
    bounds: Array,
    borders: Array,
    first: Integers,
    column: Integers,
    channel: Array,
    comparator: Array,
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
    section = last_cycle and start[TOP] <= 0.0 < end[TOP]
    tries = 0
    while True:
        span = b - a
        ago, allowed = _first_crossing(
            slot,
            float(span),
            float(slack),
            before,
            end,
            code & 3,
            found & 3,
            toggled,
            section,
            state,
            bounds,
            channel,
            comparator,
        )
        limit = max(int(allowed), 0)
        if span <= 1 or ago <= max(allowed, 1.0):
            return b, b - ago, found, toggled
        tries += 1
        length = b - span // 2
        if tries < 6:
            root = b - int(ago)
            length = root + (limit >> 2)
            # A whole number of longer units saves products.
            unit = RADIX
            while unit <= limit:
                whole = (root + limit) & ~(unit - 1)
                if whole > root:
                    length = whole
                unit *= RADIX
        length = max(a + 1, min(length, b - 1))
        numbers[PRODUCTS] += move(slot, length, start, trial, spare, steps)
        look(views, slot, trial)
        there = region_at(slot, code, trial, level, bounds, borders, first, column, channel)
        toggles = input_toggles(trial[INPUT], state, comparator)
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
