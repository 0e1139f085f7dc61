"""The stepping loop."""

from __future__ import annotations

from burstwise.core.stage.kernel.crossings import (
    input_toggles,
    keep_charge,
    locate,
    region_at,
    turning,
)
from burstwise.core.stage.kernel.cycles import (
    lag,
    mark_cycle,
    note_ends,
    note_inside,
    schedule,
    take_event,
    wanted_level,
)
from burstwise.core.stage.kernel.layout import (
    AT_SECTION,
    CHATTER,
    CODE,
    COMPARATOR,
    CYCLES,
    CYCLES_FULL,
    DIVERGED,
    ENABLED,
    FAR,
    FIRST,
    INPUT,
    LAGS,
    LEVEL,
    MONITORS,
    NEEDS_REGION,
    NOW,
    PRODUCTS,
    QUEUE_FULL,
    QUEUED,
    RATE,
    REACHED,
    STEPS,
    SWITCHES,
    TOGGLES,
    TOP,
    TRACE_FULL,
    TRACED,
    Machine,
    Tables,
    compiled,
)
from burstwise.core.stage.kernel.products import book_move, look, move


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
    peaks, cycles = machine.peaks, machine.cycles
    steps, views, bounds = tables.steps, tables.views, tables.bounds
    sums, booked = tables.sums, tables.booked
    slot_of, base_ticks, slack = tables.slot_of, tables.base_ticks, tables.slack[0]
    borders, first, column = tables.borders, tables.first, tables.column
    channel, comparator = tables.channel, tables.comparator
    end, spare, here, trial = machine.end, machine.spare, machine.here, machine.trial
    regions = slot_of.shape[0] // 2
    # Codes that differ beyond this differ in a capacitance or in the drive level.
    charges = 4
    for digit in range(tables.charged[0]):
        charges *= first[digit + 1] - first[digit] + 1
    now, code, level = numbers[NOW], numbers[CODE], numbers[LEVEL]
    state, last = numbers[COMPARATOR], numbers[CYCLES] + 1 == stop_cycle
    due = events[0, 0] if numbers[QUEUED] > 0 else FAR
    taken = 0
    reason = NEEDS_REGION
    slot = slot_of[code]
    if slot >= 0:
        look(views, slot, point)
    if numbers[CYCLES] == cycles.shape[0]:
        return CYCLES_FULL
    while slot >= 0:
        while due <= now:
            take_event(numbers, events)
            due = events[0, 0] if numbers[QUEUED] > 0 else FAR
            level = numbers[LEVEL]
            code = code % regions + regions * level
            slot = slot_of[code]
            if slot >= 0:
                look(views, slot, point)
        if slot < 0:
            break
        if now >= until:
            reason = REACHED
            break
        ticks = min(base_ticks[slot], min(until, due) - now)
        taken += 1
        numbers[PRODUCTS] += move(slot, ticks, point, end, spare, steps)
        look(views, slot, end)
        found = region_at(slot, code, end, level, bounds, borders, first, column, channel)
        toggled = input_toggles(end[INPUT], state, comparator)
        crossing = float(ticks)
        switched = False
        # Once over the whole step and once over what a crossing left of it.
        for _ in range(2):
            # Out of the region and back again within the step: look where it may be outside.
            turn = turning(slot, ticks, point, end, code & 3, bounds, channel)
            if turn > 0:
                numbers[PRODUCTS] += move(slot, turn, point, trial, spare, steps)
                look(views, slot, trial)
                there = region_at(slot, code, trial, level, bounds, borders, first, column, channel)
                if there != code:
                    ticks, found, switched = turn, there, False
                    toggled = input_toggles(trial[INPUT], state, comparator)
                    for j in range(point.shape[0]):
                        end[j] = trial[j]
            rising = point[TOP] <= 0.0 < end[TOP]
            if switched or not (found != code or toggled or (rising and last)):
                break
            ticks, crossing, found, toggled = locate(
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
                slack,
                numbers,
                steps,
                views,
                bounds,
                borders,
                first,
                column,
                channel,
                comparator,
            )
            switched = True
        if switched:
            if (code & 3) + (found & 3) == 5:
                # From saturated to saturated in reverse the way leads through ohmic, however
                # quickly; leaving it out would make a tiny device swing to and fro for ever.
                found += 1 - (found & 3)
            rising = point[TOP] <= 0.0 < end[TOP]
            numbers[SWITCHES] += 1
        if book:
            book_move(slot, ticks, point, trial, spare, steps, sums, booked)
        note_ends(end, peaks)
        note_inside(slot, ticks, point, end, spare, trial, numbers, steps, views, peaks)
        began = now
        now += ticks
        if rising:
            mark = began + ticks * point[TOP] / (point[TOP] - end[TOP])
            mark_cycle(mark, numbers, cycles, peaks)
        point, end = end, point
        if trace:
            place = numbers[TRACED]
            machine.trace_time[place] = float(now)
            machine.trace_code[place] = code
            for j in range(MONITORS):
                machine.trace_point[place, j] = point[FIRST + j]
            numbers[TRACED] = place + 1
        queued = True
        if toggled:
            state = 1 - state
            numbers[COMPARATOR] = state
            numbers[TOGGLES] += 1
            if numbers[ENABLED] == 1:
                # The slew where the input crossed, between those at both ends of the step.
                slew = point[INPUT + RATE]
                slew += (end[INPUT + RATE] - slew) * (ticks - crossing) / ticks
                delay = lag(slew, comparator)
                numbers[LAGS + state] = int(delay)
                when = max(began + round(crossing + delay), now)
                queued = schedule(when, wanted_level(numbers, comparator), numbers, events)
                due = events[0, 0]
        if found != code:
            if found // charges != code // charges:
                keep_charge(found, code, point, tables)
            code = found
            slot = slot_of[found]
            if slot >= 0:
                look(views, slot, point)
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
    for j in range(point.shape[0]):
        machine.point[j] = point[j]
    return reason
