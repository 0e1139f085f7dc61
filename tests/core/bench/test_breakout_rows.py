"""What a row's discharge and its shunt peak are good for."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burstwise.core import storage
from burstwise.core.bench.bench_model import CURRENT_PEAK_FLOOR, BenchModel, RowBreakout
from burstwise.core.bench.breakout_rows import length_findings
from burstwise.core.bench.calibrate import calibrate
from burstwise.core.bench.calibrate_findings import breakout_findings
from burstwise.core.bench.derived import BenchSetup
from burstwise.core.bench.fit_parameters import Parameter, prior_values
from burstwise.core.bench.instruments import Accuracy, Instruments, Shunt
from burstwise.core.bench.readings import Reading
from burstwise.core.bench.readings_text import parse_readings
from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import Design, with_values
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.elements import Monitor

_EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"


@pytest.fixture(scope="module")
def design() -> Design:
    """Example whose breakout sets in between 10 V and 36 V of supply."""
    found = storage.load(_EXAMPLES / "classroom-gated-interrupted.burstwise")
    return with_values(found, {"interrupter.enabled": False})


def codes(findings: tuple) -> list[str]:
    return [item.code for item in findings]


_ROW = st.builds(
    Reading,
    supply=st.sampled_from([10.0, 12.0, 15.0, 20.0, 21.0]),
    duty=st.sampled_from([None, 1.0, 0.99, 0.98, 0.96, 0.5, 0.49, 0.2]),
    breakout_length=st.sampled_from([0.0, 0.01, 0.02, 0.0205, 0.03]),
)


@given(st.lists(_ROW, max_size=14))
def test_falling_lengths_are_those_that_a_comparison_of_all_pairs_finds(rows) -> None:
    numbered = [replace(row, line=line) for line, row in enumerate(rows, start=2)]
    falling = []
    for row in numbered:
        duty = 1.0 if row.duty is None else row.duty
        lengths = [
            one.breakout_length
            for one in numbered
            if one.supply < row.supply
            and abs((1.0 if one.duty is None else one.duty) - duty) <= 0.03 * duty
        ]
        if lengths and row.breakout_length < 0.9 * max(lengths):
            falling.append((f"line {row.line}, breakout", f"{1e3 * max(lengths):g} mm"))
    said = [item for item in length_findings(numbered) if item.code == "breakout-falls"]
    assert [item.field for item in said] == [field for field, _ in falling]
    for item, (_, length) in zip(said, falling, strict=True):
        assert f"than the {length} at" in item.text


def test_rows_below_the_onset_are_named() -> None:
    rows = [Reading(supply=12.0, breakout_length=0.0, line=2), Reading(supply=20.0, line=3)]
    assert codes(length_findings(rows)) == []
    rows.append(Reading(supply=24.0, breakout_length=0.02, line=4))
    (told,) = length_findings(rows)
    assert told.code == "rows-below-breakout"
    assert "line 2" in told.text


@pytest.mark.parametrize(
    ("lengths", "expected"),
    [
        ((0.02, 0.03, 0.05), []),
        ((0.02, 0.0195, 0.05), []),  # within what two readings may differ by
        ((0.02, 0.05, 0.03), ["breakout-falls"]),
        ((0.05, 0.03, 0.02), ["breakout-falls", "breakout-falls"]),
    ],
)
def test_a_discharge_does_not_shrink_while_the_supply_rises(lengths, expected) -> None:
    rows = [Reading(supply=20.0 + 5 * n, breakout_length=one) for n, one in enumerate(lengths)]
    assert codes(length_findings(rows)) == expected
    apart = [
        Reading(supply=20.0 + 5 * n, breakout_length=one, duty=1 / (1 + n))
        for n, one in enumerate(lengths)
    ]
    assert codes(length_findings(apart)) == []


def test_a_table_from_text_says_the_same() -> None:
    table = parse_readings("supply [V];breakout [cm]\n20;5\n30;3\n")
    assert codes(table.findings) == ["breakout-falls"]


@pytest.mark.parametrize(
    ("length", "top", "wanted"),
    [(0.03, 8e3, True), (0.03, 10e3, False), (0.0, 8e3, False), (0.0, 10e3, True),
     (0.03, 8.9e3, False), (0.0, 9.1e3, False)],
)  # fmt: skip
def test_breakout_against_the_model(length: float, top: float, wanted: bool) -> None:
    found = breakout_findings([RowBreakout("row 1, 24 V", length, top, 9e3)])
    assert bool(found) is wanted


def test_calibration_tells_of_a_breakout_that_the_model_does_not_have(design: Design) -> None:
    setup = BenchSetup(Shunt(0.1, 0.01), design.device.on_resistance)
    rows = [
        Reading(supply=8.0, shunt_rms=0.05, breakout_length=0.02),
        Reading(supply=36.0, shunt_rms=0.25, breakout_length=0.0),
    ]
    got = calibrate(design, rows, setup, parameters=[Parameter.ON_RESISTANCE])
    told = [item.text for item in got.findings if item.code == "breakout-not-predicted"]
    assert len(told) == 2
    assert {text.partition(":")[0] for text in told} == {"row 1, 8 V", "row 2, 36 V"}


def test_shunt_peak_is_compared_with_the_primary_current(design: Design) -> None:
    """At a small heat sink temperature given, so that the junction of the row is known."""
    meters = Instruments(shunt_peak=Accuracy(0.03))
    setup = BenchSetup(Shunt(0.1, 0.01), design.device.on_resistance, instruments=meters)
    coil = resolved_coil(design.coil, temperature_c=design.cooling.ambient)
    prior = prior_values(design, coil)
    row = Reading(supply=24.0, shunt_peak=0.5)
    model = BenchModel(design, coil, [row], setup, None, prior=prior)
    (seen,) = model.observations
    assert (seen.name, seen.measured) == ("peak current", pytest.approx(5.0))
    parts = (0.03, 0.01, 0.005)
    expected = (sum(one**2 / 3 for one in parts) + CURRENT_PEAK_FLOOR**2) ** 0.5
    assert seen.uncertainty == pytest.approx(expected)
    run = carrier(stage_circuit(design, coil, supply_voltage=24.0, junction_c=40.0))
    peak = run.peaks[Monitor.PRIMARY_CURRENT]
    assert model.predicted(prior)[0] == pytest.approx(peak, rel=0.01)
