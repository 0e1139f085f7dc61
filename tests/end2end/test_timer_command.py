"""`burstwise timer`: its answers recomputed from the JSON alone by simulation in time."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Any

import pytest
from scipy.integrate import solve_ivp

from burstwise.core.command import run

WISH = ["timer", "--frequency", "15Hz", "--duty", "2%:98%", "--supply", "12V"]


@pytest.fixture
def answer(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, Any]]:
    def ask(*arguments: str) -> tuple[int, Any]:
        status = run([*arguments, "--json"])
        return status, json.loads(capsys.readouterr().out)

    return ask


def travelled(slope: Callable[[float], float], start: float, end: float) -> float:
    """Time for a voltage with dv/dt = slope(v) to go from start to end; infinite if it stops."""

    def arrives(_t: float, v: Any) -> float:
        return float(v[0] - end)

    arrives.terminal = True
    span = 50 * abs(end - start) / max(abs(slope(start)), 1e-12)
    found = solve_ivp(
        lambda _t, v: [slope(v[0])], (0, span), [start], events=arrives, rtol=1e-9, atol=1e-10,
        method="LSODA",
    )  # fmt: skip
    return float(found.t_events[0][0]) if found.t_events[0].size else math.inf


def cycle(told: dict[str, Any], travel: float) -> tuple[float, float]:
    """On-time and period of a set, with nothing but what the JSON says."""
    parts = {part["role"]: part["value"] for part in told["parts"]}
    model, circuit = told["model"], told["circuit"]
    supply, upper, lower = model["supply_V"], model["upper_level_V"], model["lower_level_V"]
    drop, end = model["diode_drop_V"], model["pot_end_fraction"]
    track = parts.get("potentiometer", 0.0)
    rising = track * (end + (1 - 2 * end) * travel)
    falling = track - rising
    R1, R2, C = (parts[k] for k in ("charge_resistor", "discharge_resistor", "timing_capacitor"))
    saturation, closed = model["discharge_saturation_V"], model["discharge_resistance_ohm"]
    if circuit == "two-timer":
        speed = parts.get("frequency_potentiometer", 0.0)
        pull_up, series_up = R1 + speed * end, R1 + speed * end + R2
        series_down, drop = R2, 0.0
    elif circuit == "astable-classic":
        pull_up, series_up, series_down, drop = R1 + rising, R1 + rising + R2, R2, 0.0
    else:
        pull_up, series_up, series_down = R1, R1 + rising, falling + R2
    if circuit.endswith("output"):
        high, low = model["output_high_V"], model["output_low_V"]
        series_up += model["output_high_resistance_ohm"]
        series_down += model["output_low_resistance_ohm"]
    else:
        high = supply
        # The closed switch, pulled up by the charge resistor: one node, solved for its voltage.
        conductance = 1 / pull_up + 1 / closed if closed else math.inf
        low = (supply / pull_up + saturation / closed) / conductance if closed else saturation
        series_down += 1 / conductance

    def up(v: float) -> float:
        return max(high - drop - v, 0.0) / series_up / C

    def down(v: float) -> float:
        return -max(v - low - drop, 0.0) / series_down / C

    charging = travelled(up, lower, upper)
    period = charging + travelled(down, upper, lower)
    if "pulse_capacitor" not in parts:
        return charging, period
    resistance = parts["pulse_resistor"] + (rising if circuit == "two-timer" else 0.0)
    rest = (supply / resistance + saturation / closed) / (1 / resistance + 1 / closed)
    tau = resistance * parts["pulse_capacitor"]
    pulse = travelled(lambda v: (supply - v) / tau, rest, upper)
    return (pulse if circuit == "two-timer" else min(charging, pulse)), period


def assert_holds(told: dict[str, Any]) -> None:
    """A set reaches what it states: nominal values, and inside its bands."""
    for travel, duty in ((0.0, told["duty_low"]), (1.0, told["duty_high"])):
        on, period = cycle(told, travel)
        assert on / period == pytest.approx(duty["nominal"], rel=1e-5)
        assert duty["low"] <= on / period <= duty["high"]
        assert told["frequency_Hz"]["low"] <= 1 / period <= told["frequency_Hz"]["high"]
    _, period = cycle(told, 0.5)
    assert 1 / period == pytest.approx(told["frequency_Hz"]["nominal"], rel=1e-5)


def test_ranked_sets_hold_when_simulated_from_their_json(
    answer: Callable[..., tuple[int, Any]],
) -> None:
    status, found = answer(*WISH)
    assert status == 0
    assert len(found["sets"]) >= 5
    assert found["nearest"] is None
    scores = [told["score"] for told in found["sets"]]
    assert scores == sorted(scores)
    for told in found["sets"]:
        assert_holds(told)
        assert told["frequency_Hz"]["nominal"] == pytest.approx(15.0, rel=0.05)
        assert told["duty_low"]["nominal"] == pytest.approx(0.02, rel=0.25)
        assert told["duty_high"]["nominal"] == pytest.approx(0.98, abs=0.005)


@pytest.mark.parametrize(
    "circuit",
    ["astable-steered-discharge", "astable-steered-output", "astable-capped-discharge",
     "astable-capped-output", "two-timer"],
)  # fmt: skip
def test_each_circuit_alone_holds(answer: Callable[..., tuple[int, Any]], circuit: str) -> None:
    status, found = answer(
        "timer", "--frequency", "120Hz", "--duty", "5%:60%", "--supply", "9V",
        "--circuit", circuit, "--count", "3",
    )  # fmt: skip
    assert status == 0
    assert found["sets"]
    assert len(found["sets"]) <= 3
    for told in found["sets"]:
        assert told["circuit"] == circuit
        assert_holds(told)


def test_keys_of_a_set(answer: Callable[..., tuple[int, Any]]) -> None:
    _, found = answer(*WISH, "--count", "1")
    (told,) = found["sets"]
    assert set(told) >= {
        "circuit", "parts", "frequency_Hz", "duty_low", "duty_high", "model", "findings",
        "dissipation_W",
    }  # fmt: skip
    for part in told["parts"]:
        assert set(part) >= {"role", "value", "unit", "series"}
        assert part["unit"] in ("ohm", "F")
    for band in (told["frequency_Hz"], told["duty_low"], told["duty_high"]):
        assert band["low"] <= band["nominal"] <= band["high"]
    assert set(told["dissipation_W"]) <= {part["role"] for part in told["parts"]}


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        (["--frequency", "15", "--duty", "2%:98%", "--supply", "5V", "--circuit",
          "astable-steered-output"], None),
        (["--frequency", "15", "--duty", "2%:98%", "--supply", "24V"], "timer-supply"),
        (["--frequency", "15", "--duty", "10%:30%", "--supply", "12V", "--circuit",
          "astable-classic"], "duty-below-half"),
        (["--frequency", "15", "--duty", "0%:100%", "--supply", "12V"], "duty-beyond-end-stop"),
        (["--frequency", "5MHz", "--duty", "10%:90%", "--supply", "12V"], "impossible-wish"),
    ],
)  # fmt: skip
def test_impossible_wishes_give_the_reason_and_the_nearest(
    answer: Callable[..., tuple[int, Any]], arguments: list[str], reason: str | None
) -> None:
    status, found = answer("timer", *arguments)
    if reason is None:  # the bipolar form is refused, the CMOS one does it
        assert status == 0
        assert "no-oscillation" in {finding["code"] for finding in found["findings"]}
        assert {told["model"]["timer"] for told in found["sets"]} == {"cmos"}
        return
    assert status == 1
    assert found["sets"] == []
    assert reason in {finding["code"] for finding in found["findings"]}
    assert found["nearest"] is not None
    assert_holds(found["nearest"])


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        (["--frequency", "fast", "--duty", "2%:98%", "--supply", "12V"], "--frequency"),
        (["--frequency", "-3", "--duty", "2%:98%", "--supply", "12V"], "frequency"),
        (["--frequency", "15", "--duty", "2%:198%", "--supply", "12V"], "duty"),
        (["--frequency", "15", "--duty", "2%:98%", "--supply", "12 A"], "--supply"),
        (["--frequency", "15", "--duty", "2%:98%", "--supply", "0"], "supply"),
        (["--frequency", "15", "--duty", "2%:98%", "--supply", "12", "--count", "0"], "--count"),
        (["--frequency", "15", "--duty", "2%:98%", "--supply", "12", "--circuit", "x"],
         "--circuit"),
        (["--frequency", "15", "--duty", "2%:98%"], "--supply"),
    ],
)  # fmt: skip
def test_bad_input_is_one_line(
    capsys: pytest.CaptureFixture[str], arguments: list[str], field: str
) -> None:
    assert run(["timer", *arguments]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert len(told.err.strip().splitlines()) == 1
    assert field in told.err
