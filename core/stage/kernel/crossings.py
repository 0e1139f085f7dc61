"""Which region a point lies in, and when a step crosses into another one."""

from __future__ import annotations

import numpy as np

from core.stage.kernel.layout import (
    COLUMNS,
    COMPARATOR,
    DRAIN,
    GATE,
    INNER,
    INPUT,
    LEVEL,
    MONITORS,
    PRODUCTS,
    RADIX,
    TOP,
    WIDTH,
    Floats,
    Integers,
    U,
    inlined,
)
from core.stage.kernel.products import move


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
def inside(bounds: Floats, slot: int, segment: int, point: Floats, channel: Floats) -> bool:
    """Whether a point lies well inside the region: the quick answer for nearly every step."""
    first = np.uint64(2 * slot * INNER)
    outside = 0
    for j in range(np.uint64(point.shape[0] - INNER)):
        value = point[U[INNER] + j]
        if not bounds[first + j] < value < bounds[first + U[INNER] + j]:
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
        (point[0] * rates[k] + point[1] * rates[k + U[1]] + point[2] * rates[k + U[2]])
        + (point[3] * rates[k + U[3]] + point[4] * rates[k + U[4]] + point[5] * rates[k + U[5]])
        + (point[6] * rates[k + U[6]] + point[7] * rates[k + U[7]] + point[8] * rates[k + U[8]])
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
def input_toggles(value: float, state: int, comparator: Floats) -> bool:
    """Whether the driver's input leaves its state at this voltage."""
    if comparator[4] == 0.0:
        return False
    if state == 1:
        return value < comparator[0]
    return value > comparator[1]


@inlined
def locate(
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
        numbers[PRODUCTS] += move(slot, length, start, trial, spare, steps)
        there = code
        if not inside(bounds, slot, code & 3, trial, channel):
            there = region_code(trial, level, low, high, column, channel)
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
