"""Sizing: what it states is simulated from its own report; the search against brute force."""

import itertools
import json
import math
from dataclasses import replace

import numpy as np
import pytest
from pydantic import ValidationError

from burstwise.core.design.interrupter import TimerParts
from burstwise.core.design.timer_wish import RankingWeights, TimerWish
from burstwise.core.errors import InputError
from burstwise.core.findings import Severity
from burstwise.core.interrupter.circuits import CIRCUITS, circuit_named
from burstwise.core.interrupter.random_builds import random_builds
from burstwise.core.interrupter.report import sets_report
from burstwise.core.interrupter.resolve import timer_set
from burstwise.core.interrupter.sizing import size_timer
from burstwise.core.interrupter.stock import (
    CAPACITORS,
    ResistorStock,
    potentiometer_values,
    stock_of,
)
from burstwise.core.series import SERIES

WISHES = {
    "wide at 12 V": TimerWish(frequency=15.0),
    "short bursts": TimerWish(frequency=120.0, duty_low=0.01, duty_high=0.2, supply=9.0),
    "fixed duty": TimerWish(frequency=400.0, duty_low=0.1, duty_high=0.1),
    "mostly on": TimerWish(
        frequency=50.0, duty_low=0.6, duty_high=0.6, circuits=("astable-classic",)
    ),
    "capped": TimerWish(
        frequency=15.0,
        duty_low=0.02,
        duty_high=0.3,
        supply=12.0,
        circuits=("astable-capped-discharge", "astable-capped-output"),
    ),
    "two timers": TimerWish(frequency=30.0, duty_low=0.02, duty_high=0.4, circuits=("two-timer",)),
    "frequency knob": TimerWish(frequency=20.0, duty_low=0.02, duty_high=0.3, frequency_high=200.0),
    "5 V": TimerWish(frequency=100.0, duty_low=0.05, duty_high=0.9, supply=5.0, diode="schottky"),
}


def changed(wish, **changes):
    return TimerWish(**(wish.model_dump() | changes))


def codes(findings):
    return {finding.code for finding in findings}


def inside(value, band, slack=1e-9):
    return band["low"] * (1 - slack) <= value <= band["high"] * (1 + slack)


@pytest.mark.parametrize("name", list(WISHES))
def test_every_set_reaches_its_stated_figures_in_simulation(simulation, name):
    wish = WISHES[name]
    report = json.loads(json.dumps(sets_report(size_timer(wish)), allow_nan=False))
    assert report["sets"]
    assert report["nearest"] is None
    for one in report["sets"]:
        parts = {part["role"]: part["value"] for part in one["parts"]}
        low, middle, high = (
            simulation(one["circuit"], parts, one["model"], travel) for travel in (0.0, 0.5, 1.0)
        )
        for (on, period), band in ((low, one["duty_low"]), (high, one["duty_high"])):
            assert on / period == pytest.approx(band["nominal"], rel=1e-6)
            assert inside(on / period, band)
            assert inside(1 / period, one["frequency_Hz"])
        assert 1 / middle[1] == pytest.approx(one["frequency_Hz"]["nominal"], rel=1e-6)
        top = wish.frequency_high or wish.frequency
        assert 1 / middle[1] == pytest.approx(top, rel=0.05 * 1.01)
        assert low[0] / low[1] == pytest.approx(wish.duty_low, rel=0.26)


def test_the_plain_wish_has_at_least_five_ranked_sets_of_preferred_values():
    answer = size_timer(WISHES["wide at 12 V"])
    assert len(answer.sets) >= 5
    assert [one.score for one in answer.sets] == sorted(one.score for one in answer.sets)
    assert len({(one.circuit, one.timer.name) for one in answer.sets}) >= 3
    for part in itertools.chain.from_iterable(one.parts for one in answer.sets):
        if part.kind == "resistor":  # bought as E24 at 1 %, also where E12 has the value
            assert (part.series, part.tolerance) == ("E24", 0.01)
        digits = float(f"{part.value:.3e}".split("e")[0])
        if part.series in SERIES:
            assert digits in SERIES[part.series].values
        else:
            assert part.value in TimerWish().potentiometers
    assert all(finding.severity is Severity.NOTE for finding in answer.findings)


def test_every_circuit_can_be_chosen():
    wishes = {
        "astable-classic": TimerWish(frequency=15.0, duty_low=0.7, duty_high=0.7),
        "two-timer": TimerWish(frequency=15.0, duty_low=0.02, duty_high=0.5),
    }
    for name in CIRCUITS:
        wish = wishes.get(name, TimerWish(frequency=15.0, duty_low=0.02, duty_high=0.9))
        answer = size_timer(changed(wish, circuits=(name,)))
        assert answer.sets, name
        assert {one.circuit for one in answer.sets} == {name}


def test_search_finds_the_same_best_set_as_brute_force():
    resistors = ResistorStock(0.01, series="E6", low=1e3, high=1e5)
    film = CAPACITORS["film"][0]
    weights = RankingWeights(frequency=1.0, duty=1.0, middle=0.0, spread=0.0, parts=0.0)
    wish = TimerWish(
        frequency=40.0, duty_low=0.05, duty_high=0.8,
        circuits=("astable-steered-discharge",), timers=("cmos",),
        potentiometers=(47e3, 100e3), weights=weights,
    )  # fmt: skip
    stock = replace(stock_of(wish), resistors=resistors, capacitors=(film,))
    best = size_timer(wish, stock).sets[0]
    circuit, base = circuit_named(best.circuit), best.build()
    scores = {}
    for ra, rb, pot, c in itertools.product(
        resistors.values(), resistors.values(), wish.potentiometers, film.values()
    ):
        build = {
            **base, "charge_resistor": ra, "discharge_resistor": rb,
            "potentiometer": pot, "timing_capacitor": c,
        }  # fmt: skip
        if 12.0 / ra + 8.0 / rb > best.timer.discharge_limit:
            continue
        cycles = [circuit.cycle(build, travel) for travel in (0.0, 0.5, 1.0)]
        off_by = max(abs(math.log(float(cycle.frequency) / 40.0)) for cycle in cycles)
        duties = [
            abs(math.log(float(cycle.on / cycle.off)) - math.log(d / (1 - d)))
            for cycle, d in ((cycles[0], 0.05), (cycles[2], 0.8))
        ]
        if off_by <= math.log1p(0.05) and max(duties) <= math.log1p(0.25):
            scores[ra, rb, pot, c] = off_by / 0.05 + sum(duties) / 2 / 0.25
    roles = ("charge_resistor", "discharge_resistor", "potentiometer", "timing_capacitor")
    assert len(scores) > 1
    assert min(scores, key=scores.get) == tuple(best.build()[role] for role in roles)
    assert best.score == pytest.approx(min(scores.values()), rel=1e-9)


@pytest.mark.parametrize(
    ("circuit", "frequency_high", "pieces"),
    [
        # Timer with its control pin's capacitor, two diodes, two resistors, knob, capacitor.
        ("astable-steered-discharge", None, 2 + 2 + 4),
        # The monostable adds its own timer and capacitor, and two resistors and capacitors.
        ("astable-capped-output", None, 2 + 2 + 4 + 2 + 4),
        # One diode, at the trigger; with a range of frequencies one knob more.
        ("two-timer", None, 2 + 3 + 2 + 1 + 5),
        ("two-timer", 120.0, 2 + 4 + 2 + 1 + 5),
    ],
)
def test_parts_that_are_not_there_are_not_counted(circuit, frequency_high, pieces):
    wish = TimerWish(
        frequency=90.0,
        duty_low=0.03,
        duty_high=0.6,
        supply=9.0,
        circuits=(circuit,),
        frequency_high=frequency_high,
    )
    one = size_timer(wish).sets[0]
    assert one.part_count == pieces
    assert timer_set(one.given).part_count == pieces


def test_weights_move_the_ranking():
    base = TimerWish(frequency=30.0, duty_low=0.02, duty_high=0.3)
    few = size_timer(changed(base, weights=RankingWeights(parts=10.0)), count=30).sets
    tight = size_timer(changed(base, weights=RankingWeights(spread=10.0, parts=0.0)), count=30).sets

    def width(one):
        return (one.frequency.high - one.frequency.low) / one.frequency.nominal

    assert few[0].part_count < tight[0].part_count
    assert width(tight[0]) < width(few[0])


@pytest.mark.parametrize(
    ("wish", "code"),
    [
        (
            TimerWish(frequency=15.0, supply=5.0,
                      circuits=("astable-steered-output",), timers=("bipolar",)),
            "no-oscillation",
        ),
        (TimerWish(frequency=15.0, circuits=("astable-classic",)), "duty-below-half"),
        (TimerWish(frequency=15.0, supply=30.0), "timer-supply"),
        (TimerWish(frequency=15.0, duty_low=0.0, duty_high=1.0), "duty-beyond-end-stop"),
        (
            TimerWish(frequency=15.0, duty_low=0.1, duty_high=0.5, frequency_high=90.0,
                      circuits=("astable-steered-discharge",)),
            "frequency-fixed",
        ),
        (TimerWish(frequency=1e6), "impossible-wish"),
        (TimerWish(frequency=3e-4), "impossible-wish"),
        (TimerWish(frequency=15.0, circuits=("two-timer",)), "impossible-wish"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)  # fmt: skip
def test_impossible_wish_gives_reason_and_nearest(wish, code):
    answer = size_timer(wish)
    assert answer.sets == ()
    assert code in codes(answer.findings)
    assert answer.findings[0].severity is Severity.STOP
    assert "impossible-wish" in codes(answer.findings)
    assert answer.nearest is not None
    assert answer.nearest.frequency.low > 0
    json.dumps(sets_report(answer), allow_nan=False)


def test_refusal_of_the_five_volt_bipolar_output_names_the_levels():
    wish = TimerWish(
        frequency=15.0,
        duty_low=0.02,
        duty_high=0.98,
        supply=5.0,
        circuits=("astable-steered-output",),
        timers=("bipolar",),
    )
    text = next(f.text for f in size_timer(wish).findings if f.code == "no-oscillation")
    assert "3.3 V" in text
    assert "3.33 V" in text
    assert "does not oscillate" in text


def test_a_frequency_knob_states_both_ends():
    for one in size_timer(WISHES["frequency knob"]).sets:
        assert one.circuit == "two-timer"
        assert one.frequency_range is not None
        assert one.frequency_range.nominal == pytest.approx(20.0, rel=0.051)
        assert one.frequency.nominal == pytest.approx(200.0, rel=0.051)
        slow = {**one.build(), "frequency_travel": 0.0}
        cycle = circuit_named(one.circuit).cycle(slow, 0.5)
        assert cycle.frequency == pytest.approx(one.frequency_range.nominal)


def test_on_time_cap_holds_in_every_random_build():
    wish = changed(WISHES["capped"], on_time_cap=25e-3)
    for one in size_timer(wish).sets:
        builds = random_builds(one, count=500)
        on_time = builds.duty_high / builds.frequency
        assert on_time.max() < 25e-3 * 1.3


def test_fixed_duty_needs_no_potentiometer():
    for one in size_timer(WISHES["fixed duty"]).sets:
        assert all("potentiometer" not in part.role for part in one.parts)
        assert one.duty_low == one.duty_high


def test_finer_series_are_searched_too_and_do_not_rank_worse():
    coarse = size_timer(WISHES["wide at 12 V"]).sets[0]
    fine = size_timer(changed(WISHES["wide at 12 V"], resistor_series="E96")).sets[0]
    assert fine.duty_error < coarse.duty_error
    assert fine.score <= coarse.score + 1e-9


@pytest.mark.parametrize(
    "changes",
    [
        {"frequency": 0.0},
        {"duty_low": -0.1},
        {"duty_low": 0.99},
        {"duty_high": 1.2},
        {"supply": 0.0},
        {"supply": float("nan")},
        {"frequency_high": 5.0},
        {"circuits": ("relay",)},
        {"timers": ("ttl",)},
        {"frequency": 2e7},
        {"relays": 1},
        {"weights": {"parts": -1}},
        {"capacitors": ()},
        {"on_time_cap": 0.0},
        {"supply_tolerance": 0.9},
    ],
    ids=str,
)
def test_bad_wishes_are_refused(changes):
    with pytest.raises(InputError):
        changed(WISHES["wide at 12 V"], **changes)


def test_no_sets_at_all_cannot_be_asked_for():
    with pytest.raises(InputError, match="count must be at least 1"):
        size_timer(WISHES["wide at 12 V"], count=0)


@pytest.mark.parametrize("text", ["47,5k", "10k 4,7k", "100,470"])
def test_a_comma_within_a_resistance_does_not_make_two_of_it(text):
    with pytest.raises(InputError, match="separated by blanks or semicolons"):
        potentiometer_values(text)


def test_stock_is_checked():
    with pytest.raises(InputError, match="potentiometers must be one or more"):
        TimerWish(potentiometers=())
    given = {"potentiometer_end": 0.5, "potentiometer_middle": 0.0, "potentiometer_tolerance": 0.6}
    for name, value in given.items():
        with pytest.raises(ValidationError, match=name):
            TimerParts(**{name: value})


def test_kinds_of_capacitor_stay_in_their_range():
    for kind in itertools.chain.from_iterable(CAPACITORS.values()):
        values = kind.values()
        assert values[0] >= kind.low * (1 - 1e-9)
        assert values[-1] <= kind.high * (1 + 1e-9)
        assert np.all(np.diff(values) > 0)


def test_a_small_track_on_a_high_supply_is_told():
    def told(track):
        wish = TimerWish(
            frequency=900.0, duty_low=0.4, duty_high=0.6, supply=15.0, potentiometers=(track,)
        )
        sets = size_timer(wish).sets
        assert sets
        return {code for one in sets for code in codes(one.findings)}

    # Two thirds of 15 V across the track: 0.21 W and 0.045 W, of 0.1 W that it may take.
    assert "potentiometer-heat" in told(470.0)
    assert "potentiometer-heat" not in told(2.2e3)
