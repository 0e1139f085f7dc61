"""The main job on each shipped example, through the same door as a user's script."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from burstwise.core.command import run
from burstwise.core.studies.first_break import FirstBreak

Evaluate = Callable[..., dict]


@pytest.fixture
def evaluated(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., tuple[int, dict]]:
    """What the command prints, without the first rating to break: that takes the longest."""
    first = FirstBreak("drain_voltage", "Peak drain voltage", 1.0)
    monkeypatch.setattr("burstwise.core.command.first_break_by_engine", lambda design: first)

    def call(file: Path, **fields: object) -> tuple[int, dict]:
        settings = [f"--set={path.replace('__', '.')}={value}" for path, value in fields.items()]
        status = run(["evaluate", str(file), "--json", *settings])
        return status, json.loads(capsys.readouterr().out)

    return call


def test_there_are_three_clean_examples_and_one_that_stops(
    example_folder: Path, evaluated: Callable[..., tuple[int, dict]]
) -> None:
    statuses = [evaluated(file)[0] for file in sorted(example_folder.glob("*.burstwise"))]
    assert statuses.count(0) >= 3
    assert statuses.count(1) >= 1
    assert set(statuses) <= {0, 1}


def test_books_are_closed_and_every_key_of_the_contract_is_there(
    example: Path, evaluated: Callable[..., tuple[int, dict]], figure: Callable[..., None]
) -> None:
    _, report = evaluated(example)
    assert report["carrier"]["energy_residual"] < 1e-4
    figure(
        f"energy residual of {example.stem}",
        report["carrier"]["energy_residual"],
        limit="1e-4",
        source="conservation of energy",
    )
    keys = {
        "coil": "primary_inductance_H secondary_inductance_H secondary_capacitance_F "
        "mutual_inductance_H coupling resonance_Hz quality_factor base_current_ratio",
        "carrier": "oscillates frequency_Hz supply_current_mean_A supply_current_rms_A "
        "drain_current_peak_A drain_current_rms_A drain_voltage_peak_V top_voltage_peak_V "
        "input_power_W cycles_to_90_percent losses_W energy_residual",
        "burst": "duty frequency_Hz on_time_s energy_per_burst_J average_power_W supply_droop_V",
        "thermal": "junction_mean_C junction_peak_C junction_ripple_K case_C heat_sink_C",
        "field_distance": "public_electric_m public_magnetic_m occupational_electric_m "
        "occupational_magnetic_m not_computed",
    }
    for section, names in keys.items():
        assert set(names.split()) <= set(report[section]), section
    margins = [item["margin_percent"] for item in report["limits"]]
    assert margins == sorted(margins)
    assert {"rating", "value", "limit", "margin_percent", "verdict"} <= set(report["limits"][0])


def test_losses_add_up_to_the_power_that_goes_in(
    example: Path, evaluated: Callable[..., tuple[int, dict]]
) -> None:
    carrier = evaluated(example)[1]["carrier"]
    lost = sum(carrier["losses_W"].values())
    assert lost == pytest.approx(carrier["input_power_W"] + carrier["auxiliary_power_W"], rel=2e-3)


def test_half_duty_is_half_the_power_with_the_same_breakout(
    example: Path, evaluated: Callable[..., tuple[int, dict]], figure: Callable[..., None]
) -> None:
    # Common practice, no source: half duty halves the average power while the breakout stays.
    common = {"interrupter__enabled": "true", "interrupter__frequency": "15Hz"}
    half = evaluated(example, interrupter__duty="50%", **common)[1]
    full = evaluated(example, interrupter__duty="98%", **common)[1]
    ratio = half["burst"]["average_power_W"] / full["burst"]["average_power_W"]
    top = half["carrier"]["top_voltage_peak_V"] / full["carrier"]["top_voltage_peak_V"]
    assert ratio == pytest.approx(0.51, rel=0.08)
    assert top == pytest.approx(1.0, abs=0.04)
    source = "common practice, no source"
    figure(f"power at duty 0.5 over 0.98, {example.stem}", ratio, limit="0.51 ± 8 %", source=source)
    figure(
        f"top voltage at duty 0.5 over 0.98, {example.stem}", top, limit="1 ± 4 %", source=source
    )


def test_reversed_sense_stops_and_says_which_winding_to_swap(
    example: Path, evaluated: Callable[..., tuple[int, dict]]
) -> None:
    status, report = evaluated(example, drive__feedback_sense="reversed")
    assert status == 1
    texts = [item["text"] for item in report["findings"] if item["code"] == "winding-sense"]
    assert texts
    assert "swap the ends of one winding" in texts[0]


def test_low_interrupter_frequency_ripples_the_junction_more(
    example: Path, evaluated: Callable[..., tuple[int, dict]]
) -> None:
    common = {"interrupter__enabled": "true", "interrupter__duty": "0.3"}
    slow = evaluated(example, interrupter__frequency="15 Hz", **common)[1]["thermal"]
    fast = evaluated(example, interrupter__frequency="1.5 kHz", **common)[1]["thermal"]
    assert slow["junction_ripple_K"] > 2 * fast["junction_ripple_K"]


def test_short_on_times_lose_the_breakout(
    example: Path, evaluated: Callable[..., tuple[int, dict]]
) -> None:
    common = {"interrupter__enabled": "true", "interrupter__frequency": "500Hz"}
    short = evaluated(example, interrupter__duty="0.1%", **common)[1]
    long = evaluated(example, interrupter__duty="50%", **common)[1]
    assert "short-burst" in [item["code"] for item in short["findings"]]
    assert "short-burst" not in [item["code"] for item in long["findings"]]
    steady = short["carrier"]["top_voltage_peak_V"]
    assert short["burst"]["top_voltage_reached_V"] < 0.9 * steady
    assert long["burst"]["top_voltage_reached_V"] > 0.97 * steady


def test_short_on_times_lose_power_while_the_coil_rings_up(
    example_folder: Path, evaluated: Callable[..., tuple[int, dict]]
) -> None:
    file = example_folder / "demonstration-gated-large.burstwise"
    report = evaluated(file, interrupter__frequency="5kHz", interrupter__duty="8%")[1]
    steady = report["carrier"]["input_power_W"] * 0.08
    assert report["burst"]["average_power_W"] < 0.9 * steady


@pytest.mark.parametrize("duty", ["0", "1e-9", "1"])
def test_the_ends_of_the_duty_give_numbers(
    duty: str, example_folder: Path, evaluated: Callable[..., tuple[int, dict]]
) -> None:
    file = example_folder / "classroom-gated-interrupted.burstwise"
    status, report = evaluated(file, interrupter__duty=duty)
    stops = [item["code"] for item in report["findings"] if item["severity"] == "stop"]
    # Without a pause a hand near the top load may be too much for the heat sink.
    assert status == (1 if stops else 0)
    assert duty == "1" or not stops
    assert all(code.startswith("exceeded-") for code in stops)
    power, while_on = report["burst"]["average_power_W"], report["carrier"]["input_power_W"]
    # Heat at full duty raises the on-resistance, hence the margin.
    assert power == pytest.approx(float(duty) * while_on, rel=0.05, abs=1e-5)
