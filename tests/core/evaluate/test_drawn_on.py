"""Where a table ends at 220 C, what goes on in a straight line is marked."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.stage.build import on_resistance_at
from burstwise.core.storage import load
from burstwise.core.studies.limit_map import Axis, LimitMap, drawn_on_at
from burstwise.core.studies.quick import drawn_on, near_table, quick

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
DESIGN = load(EXAMPLES / "classroom-gated-interrupted.burstwise")


@pytest.mark.parametrize(("celsius", "beyond"), [(219.0, False), (221.0, True)])
def test_a_map_marks_points_by_the_junction_that_their_margin_tells(celsius, beyond):
    limit, ambient = DESIGN.device.highest_junction, DESIGN.cooling.ambient
    margin = np.array([[[0.3, (limit - celsius) / (limit - ambient)]]])
    axes = Axis("supply.voltage", np.array([20.0, 30.0])), Axis("interrupter.duty", np.array([0.1]))
    found = LimitMap(*axes, ("junction_peak",), margin, 1.0)
    assert not drawn_on_at(found, DESIGN, 0, 0)
    assert drawn_on_at(found, DESIGN, 0, 1) is beyond
    other = replace(found, names=("drain_voltage",))
    assert not drawn_on_at(other, DESIGN, 0, 1)


def test_a_map_over_the_ambient_reckons_with_the_point_s_own():
    limit = DESIGN.device.highest_junction
    axes = Axis("cooling.ambient", np.array([0.0, 60.0])), Axis("supply.voltage", np.array([20.0]))
    margin = np.array([[[(limit - 225.0) / limit, (limit - 225.0) / (limit - 60.0)]]])
    found = LimitMap(*axes, ("junction_peak",), margin, 1.0)
    assert drawn_on_at(found, DESIGN, 0, 0)
    assert drawn_on_at(found, DESIGN, 0, 1)


def test_a_quick_picture_knows_that_its_device_is_beyond_the_table():
    full = evaluate(DESIGN, verify=False)
    assert not drawn_on(full)
    hot = quick(with_values(DESIGN, {"cooling.sink_resistance": 90.0}), near_table(full))
    ohms = hot.operation.on_resistance
    assert ohms > on_resistance_at(DESIGN.device, 220.0)
    assert drawn_on(hot)
