"""A bias is judged by the spread of thresholds; hot spots are named.

Figures by hand: current of the channel's straight line above its threshold.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import with_values
from burstwise.core.limits.linear_mode import bias_current, linear_mode_findings
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import carrier


def biased(small_design, **changes):
    return with_values(
        small_design,
        {"drive.kind": "direct", "supply.voltage": 20.0, "device.threshold_voltage": 3.5}
        | {name.replace("__", "."): value for name, value in changes.items()},
    )


def test_current_of_the_bias_is_that_of_the_straight_line(small_design):
    design = biased(small_design, drive__direct__bias_voltage=3.9)
    # 2.5 S times 0.4 V, and 1.4 V with a threshold of 2.5 V.
    assert bias_current(design) == pytest.approx(1.0)
    assert bias_current(design, lower=1.0) == pytest.approx(3.5)
    assert bias_current(biased(small_design, drive__direct__bias_voltage=2.0)) == 0.0
    low = biased(small_design, drive__direct__bias_voltage=12.0, supply__voltage=5.0)
    assert bias_current(low) == pytest.approx(5.0 / 1.8)
    assert bias_current(with_values(design, {"drive.kind": "gated"}), lower=1.0) == 0.0


def test_a_bias_that_a_lower_threshold_turns_into_heat_is_told(small_design):
    design = biased(small_design, drive__direct__bias_voltage=3.9)
    run = carrier(stage_circuit(design, resolved_coil(design.coil), supply_voltage=20.0))
    found = {item.code: item for item in linear_mode_findings(design, run)}
    text = found["bias-spread"].text.replace("\N{NO-BREAK SPACE}", " ")
    assert "3.5 A" in text
    assert "70 W" in text
    for word in ("trench", "superjunction", "trimmer", "hot spots"):
        assert word in text
    dead = replace(run, oscillates=False, losses={"channel": 14.0})
    codes = {item.code: item for item in linear_mode_findings(design, dead)}
    assert "14" in codes["linear-mode"].text
    cold = replace(dead, losses={"channel": 0.1})
    assert "linear-mode" not in {item.code for item in linear_mode_findings(design, cold)}
    gated = with_values(design, {"drive.kind": "gated"})
    assert [item.code for item in linear_mode_findings(gated, dead)] == ["linear-mode"]
