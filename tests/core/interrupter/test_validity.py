"""What is told of a set that works at its limits, each just on either side of its limit.

Limits by hand: a capacitor behind a closed switch holds exp(-t / RC) of its voltage, a track with
the full upper level across it takes V^2 / R, and a pulse that is longer than the period swallows
triggers.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from burstwise.core.design.interrupter import TimerParts
from burstwise.core.interrupter.resolve import timer_set
from burstwise.core.interrupter.sets import Band, TimerSet
from burstwise.core.interrupter.validity import set_findings


@pytest.fixture(scope="module")
def monostable() -> TimerSet:
    return timer_set(TimerParts(circuit="two-timer"))


def codes(one: TimerSet) -> set[str]:
    return {finding.code for finding in set_findings(one)}


def at(one: TimerSet, *, ratio: float, frequency: float) -> TimerSet:
    """The same set with another largest ratio of pulse to period and another top frequency."""
    return replace(
        one,
        duty_high=replace(one.duty_high, high=ratio),
        frequency=Band(frequency, frequency, frequency),
    )


@pytest.mark.parametrize(("left", "told"), [(0.0075, True), (0.006, False)])
def test_the_pulse_capacitor_empties_to_0_7_per_cent_in_the_shortest_rest(monostable, left, told):
    build = monostable.build()
    rest = build["discharge_resistance"] * build["pulse_capacitor"] * math.log(1 / left)
    found = codes(at(monostable, ratio=0.9, frequency=0.1 / rest))
    assert ("pulse-recovery" in found) is told


@pytest.mark.parametrize(("ratio", "told"), [(0.98, False), (1.0, True)])
def test_a_pulse_as_long_as_the_period_is_a_stop(monostable, ratio, told):
    assert ("pulse-overlap" in codes(at(monostable, ratio=ratio, frequency=1.0))) is told


@pytest.mark.parametrize(("part", "told"), [(0.98, True), (1.02, False)])
def test_a_track_is_told_that_takes_more_than_its_rating(monostable, part, told):
    level = monostable.supply * 2 / 3  # a 555-type timer switches at two thirds of its supply
    track = part * level**2 / 0.1
    one = timer_set(TimerParts(circuit="two-timer", potentiometer=track))
    assert ("potentiometer-heat" in codes(one)) is told


@pytest.mark.parametrize(
    ("role", "kind", "code"),
    [
        ("timing_capacitor", "electrolytic", "electrolytic-timing"),
        ("pulse_capacitor", "ceramic X7R", "x7r-timing"),
    ],
)
def test_capacitors_that_do_not_hold_their_value_are_told(monostable, role, kind, code):
    assert code not in codes(monostable)
    parts = tuple(
        replace(part, kind=kind) if part.role == role else part for part in monostable.parts
    )
    assert code in codes(replace(monostable, parts=parts))
