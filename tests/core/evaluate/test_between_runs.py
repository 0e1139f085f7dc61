"""Figures between the runs of a carrier table, against the engine at the point itself."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from carrier_grid import carrier_table

from burstwise.core.burst.table import CarrierTable
from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import with_value
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.evaluation import table_resistances
from burstwise.core.stage.build import on_resistance_at, stage_circuit
from burstwise.core.stage.carrier import carrier
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
DIRECT = load(EXAMPLES / "classroom-direct-continuous.burstwise")
SUPPLIES = (12.0, 18.0, 30.0, 48.0)
BETWEEN = (17.0, 52.0, 88.0, 122.0)
"""Junction temperatures halfway between two lines [C]."""


def circuit():
    coil = resolved_coil(DIRECT.coil, temperature_c=DIRECT.cooling.ambient)
    return stage_circuit(DIRECT, coil)


def table_with(resistances) -> CarrierTable:
    return carrier_table(circuit(), SUPPLIES, resistances)


def departures(table: CarrierTable) -> np.ndarray:
    """Device power between the lines over that of the engine, less 1."""
    found = []
    for volts in SUPPLIES:
        for celsius in BETWEEN:
            ohms = on_resistance_at(DIRECT.device, celsius)
            run = carrier(circuit().with_supply(volts).with_on_resistance(ohms))
            found.append(float(table.value("device_power", volts, ohms)) / run.device_power - 1)
    return np.array(found)


def few_resistances() -> list[float]:
    return table_resistances(DIRECT)[::6]


def test_device_power_of_a_direct_stage_between_its_on_resistances(figure):
    worst = float(np.abs(departures(table_with(table_resistances(DIRECT)))).max())
    figure("device power between on-resistances, direct", worst, limit="6 %", source="engine runs")
    assert worst < 0.06
    assert float(np.abs(departures(table_with(few_resistances()))).max()) > 2 * worst


def test_a_table_too_coarse_for_its_point_is_told():
    design = with_value(DIRECT, "supply.voltage", 18.0)
    found = evaluate(design, verify=False)
    assert "between-runs" not in [finding.code for finding in found.findings]
    coarse = evaluate(design, table=table_with(few_resistances()), verify=False)
    told = next(finding for finding in coarse.findings if finding.code == "between-runs")
    exact = coarse.carrier.device_power
    at = coarse.operation.voltage, coarse.operation.on_resistance
    apart = float(coarse.table.value("device_power", *at)) / exact - 1
    assert f"−{abs(apart):.0%}".replace("%", " %") in told.text.replace("\u00a0", " ")
    assert abs(apart) > 0.05


@pytest.mark.parametrize("kind", ["gated", "direct"])
def test_on_resistances_rise_and_span_what_a_junction_may_reach(kind):
    ohms = table_resistances(with_value(DIRECT, "drive.kind", kind))
    assert np.all(np.diff(ohms) > 0)
    assert ohms[0] == pytest.approx(on_resistance_at(DIRECT.device, 0.0))
    assert ohms[-1] == pytest.approx(on_resistance_at(DIRECT.device, 220.0))
