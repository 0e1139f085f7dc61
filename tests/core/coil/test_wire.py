"""Who checks whom: AWG by the standard's equation worked out elsewhere, enamel by its table."""

import math

import numpy as np
import pytest

from burstwise.core.coil.tables import enamel_table
from burstwise.core.coil.wire import (
    EnamelGrade,
    awg_diameter,
    awg_gauge,
    copper_mass,
    dc_resistance,
    enamelled_wire,
    helix_length,
    winding_time,
    wire_area,
)
from burstwise.core.errors import InputError


def test_awg_sizes(reference):
    for row in reference("awg"):
        diameter = awg_diameter(row["gauge"])
        area = wire_area(diameter)
        assert diameter * 1e3 == pytest.approx(row["diameter_mm"], rel=1e-9), row["id"]
        assert area * 1e6 == pytest.approx(row["area_mm2"], rel=1e-9), row["id"]
        resistance = dc_resistance(1e3, area, resistivity=1.7241e-8)
        assert resistance == pytest.approx(row["ohm_per_km"], rel=1e-9), row["id"]
        assert copper_mass(1e3, area) == pytest.approx(row["kg_per_km"], rel=1e-9), row["id"]


def test_enamel_sizes(reference):
    for row in reference("enamel"):
        bare = row["nominal_mm"] * 1e-3
        for grade, column in (
            (EnamelGrade.GRADE_1, "grade_1_mm"),
            (EnamelGrade.GRADE_2, "grade_2_mm"),
        ):
            overall = enamelled_wire(bare, grade).overall_diameter * 1e3
            assert overall == pytest.approx(row[column], abs=0.005), (bare, grade)


def test_enamel_between_sizes_reproduces_a_dropped_entry():
    table = enamel_table()
    for overall in (table.grade_1, table.grade_2):
        increase = overall - table.nominal
        logs = np.log(table.nominal)
        for i in range(1, len(logs) - 1):
            between = np.interp(logs[i], logs[[i - 1, i + 1]], increase[[i - 1, i + 1]])
            assert between == pytest.approx(increase[i], abs=4e-6)


def test_grades_thicken():
    first = enamelled_wire(0.3e-3, EnamelGrade.GRADE_1).overall_diameter
    second = enamelled_wire(0.3e-3, EnamelGrade.GRADE_2).overall_diameter
    assert 0.3e-3 < first < second


@pytest.mark.parametrize(("gauge", "inches"), [(-3, 0.46), (36, 0.005), (56, 0.00049)])
def test_gauges_at_their_ends(gauge, inches):
    """4/0 is 0.46 in and 36 is 0.005 in by definition, 56 in its table: ASTM B258, from memory."""
    assert awg_diameter(gauge) == pytest.approx(inches * 25.4e-3, rel=5e-3)
    beyond = gauge + math.copysign(1, gauge)
    if gauge != 36:
        with pytest.raises(InputError, match="between -3 and 56"):
            awg_diameter(beyond)


def test_sizes_out_of_range_are_refused():
    with pytest.raises(InputError, match=r"gauge must be between"):
        awg_diameter(99)
    with pytest.raises(InputError, match=r"bare_diameter must be between 5e-05 m and 0.0025 m"):
        enamelled_wire(5e-3, EnamelGrade.GRADE_1)
    with pytest.raises(InputError, match=r"finite"):
        awg_diameter(math.nan)


def test_helix_length_is_that_of_the_unrolled_turn():
    assert helix_length(0.04 / math.pi, turns=10, pitch=0.03) == pytest.approx(0.5)


def test_winding_time_counts_turns_and_preparation():
    assert winding_time(600, turns_per_minute=60, preparation=0) == pytest.approx(600)
    assert winding_time(0) == pytest.approx(1200)


@pytest.mark.parametrize("gauge", [-3, 0, 12, 28, 36, 44])
def test_gauge_of_a_diameter_is_the_gauge(gauge):
    assert awg_gauge(awg_diameter(gauge)) == pytest.approx(gauge, abs=1e-9)
