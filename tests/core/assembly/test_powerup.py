"""First power-up: readings at each stage are those of the evaluation there; judging them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from burstwise.core.assembly.parts import parts_list
from burstwise.core.assembly.powerup import Outcome, bench_reading, judge
from burstwise.core.assembly.powerup_stages import powerup_plan, stages_with_coil
from burstwise.core.bench.readings import Column
from burstwise.core.design.document import with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results

Evaluated = Callable[[str], Results]


def test_stages_go_from_bare_resistance_to_the_designs_own_point(evaluated: Evaluated) -> None:
    results = evaluated("classroom-gated-interrupted")
    names = [stage.name for stage in powerup_plan(results).stages]
    assert names == [
        "before-power", "coil-alone", "low-voltage", "driver",
        "coil-low", "coil-middle", "coil-middle-duty", "coil-full",
    ]  # fmt: skip
    voltages = [s.settings["supply.voltage"] for s in powerup_plan(results).stages if s.settings]
    assert voltages == sorted(voltages)
    assert voltages[-1] == results.design.supply.voltage


def test_last_stage_expects_what_evaluate_says(evaluated: Evaluated, example: str) -> None:
    results = evaluated(example)
    wanted = {item.name: item for item in powerup_plan(results).stages[-1].expectations}
    assert wanted["drain_peak"].expected == results.carrier.drain_voltage_peak
    assert wanted["carrier_frequency"].expected == results.carrier.frequency
    mean = results.average_power / results.operation.voltage
    bleed = results.design.supply.voltage / parts_list(results).by_role["bleed"].value
    assert wanted["supply_current"].expected == pytest.approx(mean + bleed, rel=1e-12)
    assert all(item.low <= item.expected <= item.high for item in wanted.values())


@pytest.mark.parametrize(
    ("supply", "enabled", "expected"),
    [
        (1.0, True, [("low", 1.0), ("full", 1.0)]),
        (1.0, False, [("low", 1.0), ("full", 1.0)]),
        (1.5, True, [("low", 1.0), ("middle-duty", 1.0), ("full", 1.5)]),
        (3.0, True, [("low", 1.0), ("middle", 1.8), ("middle-duty", 1.8), ("full", 3.0)]),
        (20.0, False, [("low", 6.0), ("middle", 12.0), ("full", 20.0)]),
    ],
)
def test_no_stage_asks_for_less_than_the_least_supply(
    evaluated: Evaluated, supply: float, enabled: bool, expected: list[tuple[str, float]]
) -> None:
    values = {"supply.voltage": supply, "interrupter.enabled": enabled}
    results = evaluate(
        with_values(evaluated("classroom-gated-interrupted").design, values), verify=False
    )
    found = stages_with_coil(results)
    assert [(name, at.design.supply.voltage) for name, at in found] == expected
    assert found[-1][1] is results
    assert "coil-low" in [stage.name for stage in powerup_plan(results).stages]


def test_low_stage_agrees_with_an_evaluation_of_its_own(evaluated: Evaluated) -> None:
    results = evaluated("classroom-gated-interrupted")
    stage = next(s for s in powerup_plan(results).stages if s.name == "coil-low")
    alone = evaluate(with_values(results.design, dict(stage.settings)), verify=False)
    wanted = {item.name: item for item in stage.expectations}
    assert wanted["drain_peak"].expected == pytest.approx(
        alone.carrier.drain_voltage_peak, rel=0.01
    )
    bleed = 10.8 / parts_list(results).by_role["bleed"].value
    assert wanted["supply_current"].expected == pytest.approx(
        alone.average_power / alone.operation.voltage + bleed, rel=0.02
    )


def test_every_reading_says_what_a_wrong_one_means(evaluated: Evaluated, variety: str) -> None:
    plan = powerup_plan(evaluated(variety))
    for stage in plan.stages:
        assert stage.actions
        assert stage.go_on
        assert stage.stop
        for item in stage.expectations:
            # Of two answers one is wrong; below zero or what a thermometer tells nothing is wrong.
            assert item.if_high or item.answers
            assert item.if_low or item.answers or item.low <= 0.0
            assert item.if_low or item.if_high
            assert item.low < item.high
            assert item.hookup.instrument
            if "oscilloscope" in item.hookup.instrument:
                assert item.hookup.clip == "0 V"


def test_a_reading_is_judged_and_its_meaning_said(evaluated: Evaluated) -> None:
    plan = powerup_plan(evaluated("classroom-direct-continuous"))
    wanted = next(i for i in plan.stages[-1].expectations if i.name == "supply_current")
    assert judge(wanted, wanted.expected).outcome is Outcome.PASS
    high = judge(wanted, f"{wanted.high * 1.01} A")
    assert high.outcome is Outcome.HIGH
    assert wanted.if_high in high.text
    low = judge(wanted, wanted.low * 0.5)
    assert low.outcome is Outcome.LOW
    assert not low.passed
    with pytest.raises(InputError):
        judge(wanted, "twelve")


def test_words_stand_for_what_has_no_number(evaluated: Evaluated) -> None:
    plan = powerup_plan(evaluated("classroom-direct-continuous"))
    known = {item.name: item for stage in plan.stages for item in stage.expectations}
    assert judge(known["feedback_path"], "open").text.startswith("open is above")
    assert judge(known["feedback_path"], "OL").value == float("inf")
    assert judge(known["carrier_frequency"], "none").text.startswith("none is below")
    assert judge(known["discharge"], "seen").passed
    assert judge(known["discharge"], "none").text.startswith("none instead of seen: stop.")
    for word in ("open", "2"):
        with pytest.raises(InputError):
            judge(known["discharge"], word)


def test_readings_go_to_the_columns_of_the_bench_table(evaluated: Evaluated) -> None:
    plan = powerup_plan(evaluated("classroom-gated-interrupted"))
    stage = plan.stages[-1]
    row = bench_reading(stage, {"drain_peak": 170.0, "shunt_peak": 0.5, "supply_current": 0.5})
    assert row is not None
    assert row.value(Column.SUPPLY) == 36.0
    assert row.value(Column.DUTY) == pytest.approx(0.3)
    assert row.value(Column.DRAIN_PEAK) == 170.0
    assert row.value(Column.SHUNT_PEAK) == 0.5
    assert bench_reading(plan.stages[0], {"bus_resistance": 1000.0}) is None
    with pytest.raises(InputError):
        bench_reading(stage, {"colour": 3.0})


def test_a_bus_of_film_alone_has_no_electrolytic_to_look_for(evaluated: Evaluated) -> None:
    def words(variety: str) -> str:
        first = powerup_plan(evaluated(variety)).stages[0]
        return " ".join((*first.actions, *(item.if_low or "" for item in first.expectations)))

    assert "electrolytic" not in words("no-bulk")
    assert "electrolytic" in words("classroom-gated-interrupted")
