"""On-level of the gate against what the device class is meant to be driven with.

Levels of silicon carbide, 15 to 18 V with a negative limit of 4 to 10 V: common practice, no
source.
"""

from __future__ import annotations

import pytest

from burstwise.core.design.document import Design, with_values
from burstwise.core.errors import InputError
from burstwise.core.limits.device_classes import device_classes, devices_by_name
from burstwise.core.limits.gate_levels import gate_level_findings

CARBIDE = tuple(item.device for item in device_classes() if item.technology == "silicon carbide")


def codes(design: Design) -> list[str]:
    return [item.code for item in gate_level_findings(design)]


@pytest.mark.parametrize("device", CARBIDE, ids=lambda device: device.name)
def test_silicon_carbide_has_limits_of_its_own(device, small_design) -> None:
    assert 4.0 <= device.negative_gate_limit <= 10.0 < device.gate_voltage_rating
    design = with_values(small_design, {"device": device})
    assert codes(design) == ["gate-level-low"]
    assert codes(with_values(design, {"drive.gated.driver_supply": 16.5})) == []
    assert codes(with_values(design, {"drive.gated.driver_supply": 18.5})) == ["gate-level-high"]
    (finding,) = gate_level_findings(design)
    assert finding.field == "drive.gated.driver_supply"
    assert "12" in finding.text
    assert "15" in finding.text


def test_a_direct_drive_is_judged_by_its_clamp(small_design) -> None:
    design = with_values(small_design, {"device": CARBIDE[0], "drive.kind": "direct"})
    (finding,) = gate_level_findings(design)
    assert finding.field == "drive.direct.clamp_high"
    assert codes(with_values(design, {"drive.direct.clamp_fitted": False})) == []


def test_silicon_on_twelve_volts_is_well_and_an_older_file_says_nothing(small_design) -> None:
    assert codes(small_design) == []
    for name, device in devices_by_name().items():
        if "carbide" not in name:
            assert codes(with_values(small_design, {"device": device})) == []
            assert device.negative_gate_limit == device.gate_voltage_rating


def test_levels_in_the_wrong_order_are_refused(small_design) -> None:
    with pytest.raises(InputError, match="recommended_gate_low"):
        with_values(
            small_design,
            {"device.recommended_gate_low": 18.0, "device.recommended_gate_high": 15.0},
        )
