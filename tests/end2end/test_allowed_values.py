"""Values at the ends of what is allowed: a result or a finding, never an error of the program."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest

from burstwise.core.command import STOPPED, run
from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.storage import load


def evaluated(file: Path, *settings: str, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """Object that the command prints for a file with settings."""
    flags = [part for text in settings for part in ("--set", text)]
    run(["evaluate", str(file), *flags, "--json"])
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    return answer


def test_a_device_that_heat_does_not_move(example_folder: Path) -> None:
    # Without a rise the on-resistance at the junction's temperature is the one of the datasheet.
    design = load(example_folder / "classroom-direct-continuous.burstwise")
    even = evaluate(with_values(design, {"device.hot_resistance_ratio": 1.0}), verify=False)
    at = even.operation.on_resistance
    assert at == pytest.approx(design.device.on_resistance, rel=1e-9)
    # Conduction loss by hand: I^2 R of the run itself is part of the books and no more than all.
    ohmic = even.carrier.drain_current_rms**2 * design.device.on_resistance
    assert 0.2 * ohmic < even.carrier.device_power < even.carrier.input_power


@pytest.mark.slow
def test_a_pull_down_that_the_bias_beats(example_folder: Path, capsys) -> None:
    file = example_folder / "classroom-direct-continuous.burstwise"
    settings = ("interrupter.enabled=true", "drive.direct.bias_resistance=100")
    told = evaluated(file, *settings, "drive.direct.pull_down_resistance=1k", capsys=capsys)
    codes = {item["code"]: item for item in told["findings"]}
    assert codes["never-off"]["severity"] == "stop"
    # By hand: the divider leaves V (1000/1100) at the gate, far above the threshold; with 1 ohm
    # against 100 ohm it leaves a hundredth.
    told = evaluated(file, *settings, "drive.direct.pull_down_resistance=1", capsys=capsys)
    assert "never-off" not in {item["code"] for item in told["findings"]}


def test_a_stage_that_does_not_oscillate_heats_by_what_it_draws(
    example_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = example_folder / "classroom-gated-interrupted.burstwise"
    for coupling in ("0.005", "0.01"):
        told = evaluated(file, f"coil.measured.coupling={coupling}", capsys=capsys)
        assert not told["carrier"]["oscillates"]
        assert told["first_break"] is None
        # By hand: without a ring-up a burst takes the steady power from its first moment on. The
        # bus sags and the on-resistance is another than at the point itself, hence the room.
        plain = told["burst"]["duty"] * told["carrier"]["input_power_W"]
        assert told["burst"]["average_power_W"] == pytest.approx(plain, rel=0.1)
        assert told["carrier"]["input_power_W"] > 0.0
        heat = told["burst"]["device_power_W"]
        assert 0.0 < heat <= 1.001 * told["burst"]["average_power_W"]
        mean = told["thermal"]["junction_mean_C"]
        assert mean is None or mean > 25.0


@pytest.mark.slow
def test_extreme_measured_values_give_numbers_or_nothing(
    example_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("classroom-direct-continuous", "classroom-gated-interrupted"):
        told = evaluated(
            example_folder / f"{name}.burstwise",
            "coil.measured.primary_inductance=70nH",
            "coil.measured.secondary_capacitance=29.5pF",
            "coil.measured.coupling=0.0123",
            capsys=capsys,
        )  # json.loads takes NaN, so every number is looked at
        assert all(math.isfinite(x) for x in numbers(told))


def numbers(value: object) -> list[float]:
    """All floats in a JSON value."""
    if isinstance(value, float):
        return [value]
    if isinstance(value, dict):
        return [x for item in value.values() for x in numbers(item)]
    return [x for item in value for x in numbers(item)] if isinstance(value, list) else []


def test_a_stop_has_its_status(example_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = example_folder / "classroom-gated-interrupted.burstwise"
    assert run(["evaluate", str(file), "--set", "coil.measured.coupling=0.005"]) == STOPPED
    text = capsys.readouterr().out
    assert "does not oscillate" in text


def test_results_as_an_object_stay_the_documented_ones(example_folder: Path) -> None:
    results = evaluate(load(example_folder / "classroom-gated-interrupted.burstwise"), verify=False)
    assert {"coil", "carrier", "burst", "thermal", "limits", "findings"} <= set(
        results_object(results)
    )


@pytest.mark.parametrize("kelvin_per_watt", [30.0, 59.0])
def test_a_hot_device_is_judged_at_its_own_temperature(
    example_folder: Path, kelvin_per_watt: float
) -> None:
    # A poorly cooled direct stage does not run away: its heat falls as the device gets hotter. By
    # hand: the engine's heat at the junction's own on-resistance times the whole path to air.
    design = with_values(
        load(example_folder / "classroom-direct-continuous.burstwise"),
        {"cooling.sink_resistance": kelvin_per_watt},
    )
    results = evaluate(design, verify=False)
    assert "thermal-runaway" not in {item.code for item in results.findings}
    path = sum(part.resistance for part in design.device.thermal_network)
    path += design.cooling.interface_resistance + kelvin_per_watt
    by_hand = design.cooling.ambient + path * results.carrier.device_power
    assert results.junction_mean == pytest.approx(by_hand, rel=0.06)
    exponent = math.log(design.device.hot_resistance_ratio) / math.log(423.15 / 298.15)
    ohms = design.device.on_resistance * ((by_hand + 273.15) / 298.15) ** exponent
    assert results.carrier.circuit.switch.on_resistance == pytest.approx(ohms, rel=0.12)
