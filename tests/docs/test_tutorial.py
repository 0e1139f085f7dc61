"""The tutorial: what it tells to type is taken, and every figure on it is the program's."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from burstwise.app.wiring import new_design
from burstwise.core.assembly.parts import parts_list
from burstwise.core.assembly.powerup_stages import powerup_plan
from burstwise.core.coil.resolve import secondary_geometry
from burstwise.core.command import changed
from burstwise.core.design.document import Design
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.findings import Severity

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "docs" / "tutorial.md").read_text("utf-8")
TYPED = re.findall(r"^\|[^|]+\| `([\w.]+)` \| ([^|]+) \|$", TEXT, re.MULTILINE)
LAST = "supply.voltage"


@pytest.fixture(scope="module")
def first() -> Results:
    return evaluate(followed(without_last=True), verify=False)


@pytest.fixture(scope="module")
def second() -> Results:
    return evaluate(followed(without_last=False), verify=False)


def followed(*, without_last: bool) -> Design:
    """New design with what the tables tell to type."""
    rows = [row for row in TYPED if not (without_last and row[0] == LAST)]
    return changed(new_design(), [f"{path}={text.strip()}" for path, text in rows])


def test_the_command_types_the_same() -> None:
    command = next(line for line in TEXT.splitlines() if line.startswith("burstwise evaluate"))
    told = re.findall(r"--set ([\w.]+)=(\S+)", command)
    assert told == [(path, text.replace(" ", "")) for path, text in TYPED]


def test_the_coil(first: Results, differing) -> None:
    coil = first.coil
    assert coil.constants is not None
    sentence = (
        "resonance {} kHz, coupling {}, quality factor {} from the copper alone (a real one is "
        "lower), breakout at {} kV. The winding is {} mm long and takes {} m of wire."
    )
    length, wire = secondary_geometry(first.design.coil.geometry).length, coil.constants
    values = (coil.resonance / 1e3, coil.coupling, coil.quality_factor,
              coil.breakout_voltage / 1e3, 1e3 * length, wire.secondary_wire_length)  # fmt: skip
    assert differing(TEXT, sentence, values) == []


def test_what_it_does(first: Results, differing) -> None:
    sentence = (
        "at 36 V: {} W on average, {} kV at the top, a peak drain current of {} A and a junction "
        "at {} °C"
    )
    values = (first.average_power, first.top_voltage_reached / 1e3,
              first.carrier.drain_current_peak, first.operation.junction_peak)  # fmt: skip
    assert differing(TEXT, sentence, values) == []
    assert first.top_voltage_reached > first.coil.breakout_voltage
    assert differing(TEXT, "asks for {} Hz at {} % duty: bursts of {} ms", (
        first.frequency, 100 * first.duty, 1e3 * first.operation.on_time))  == []  # fmt: skip


def test_what_breaks_first(first: Results, second: Results, differing) -> None:
    limit = first.first_limit
    assert (limit.rating, limit.corner) == ("drain_voltage", "loaded top")
    sentence = "{} V of {} V with a hand near the top load and the supply 5 % up. That leaves {} %"
    assert differing(TEXT, sentence, (limit.value, limit.limit, 100 * limit.margin)) == []
    assert "tight-drain-voltage" in {finding.code for finding in first.findings}
    after = second.first_limit
    assert after.rating == "drain_voltage"
    sentence = "the worst peak is {} V, {} % are in hand"
    assert differing(TEXT, sentence, (after.value, 100 * after.margin)) == []
    heavier = {item.code for item in second.findings if item.severity is not Severity.NOTE}
    assert heavier == {"earth-strike"}
    assert "(`earth-strike`)" in TEXT
    sentence = "The price: {} W on average and {} kV at the top"
    told = (second.average_power, second.top_voltage_reached / 1e3)
    assert differing(TEXT, sentence, told) == []
    assert second.top_voltage_reached > second.coil.breakout_voltage


def test_the_stages_of_the_first_power_up(second: Results) -> None:
    titles = [stage.title for stage in powerup_plan(second, parts_list(second)).stages]
    cold = ("Before any power", "Secondary alone", "Low-voltage chain alone",
            "Driver without the coil")  # fmt: skip
    assert tuple(titles[:4]) == cold
    section = TEXT.split("## 7.", 1)[1].split("\n## ", 1)[0]
    told = re.findall(r"(\d+) V and (\d+) %", section)
    assert told == [
        tuple(found.groups())
        for title in titles[4:]
        if (found := re.fullmatch(r"Coil at (\d+) V, duty (\d+) %", title))
    ]
    assert len(told) == len(titles) - 4
