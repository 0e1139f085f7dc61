"""Each finding appears on its side of its limit and not on the other."""

from dataclasses import replace

import pytest

from burstwise.core.coil.coil_findings import (
    coupling_findings,
    flashover_findings,
    mode_findings,
    proportion_findings,
    turn_voltage,
    turn_voltage_findings,
)
from burstwise.core.coil.geometry import (
    ConductorKind,
    PrimaryConductor,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)
from burstwise.core.coil.resonator import secondary_resonator
from burstwise.core.coil.summary import coil_constants
from burstwise.core.findings import Severity


def codes(findings):
    return [finding.code for finding in findings]


@pytest.fixture(scope="module")
def resonator(example):
    return secondary_resonator(example.secondary, example.top_load, example.base_height)


@pytest.mark.parametrize(
    ("turns", "expected"),
    [(250, ["secondary-short"]), (400, []), (1500, []), (1600, ["secondary-long"])],
)
def test_proportions(example, turns, expected):
    assert codes(proportion_findings(replace(example.secondary, turns=turns))) == expected


def test_copper_that_nearly_touches():
    coil = SecondaryGeometry(0.1, 0.001, 0.00102, 300)
    assert codes(proportion_findings(coil)) == ["winding-close"]


@pytest.mark.parametrize(
    ("coupling", "expected"),
    [(0.02, ["coupling-loose"]), (0.04, []), (0.34, []), (0.36, ["coupling-tight"])],
)
def test_coupling(coupling, expected):
    assert codes(coupling_findings(coupling)) == expected


def test_harmonic_mode_leaves_with_another_top_load(example):
    bare = secondary_resonator(example.secondary, TopLoad(TopLoadKind.NONE), 0.1)
    assert bare.modes[1].frequency / bare.modes[0].frequency == pytest.approx(2.43, abs=0.05)
    assert codes(mode_findings(bare, example.secondary)) == []


def test_large_coil_of_few_turns_is_not_quasi_static():
    coil = SecondaryGeometry(0.5, 0.002, 0.05, 6, spacing=0.1)
    found = secondary_resonator(coil, TopLoad(TopLoadKind.NONE), 1.0)
    assert "quasi-static-limit" in codes(mode_findings(found, coil))


def test_turn_voltage_adds_up_to_the_top(example, resonator):
    even = 1 / example.secondary.turns
    assert even < turn_voltage(resonator, example.secondary) < 2 * even


def test_turn_voltage_grows_from_silence_to_stop(example, resonator):
    def severities(top):
        found = turn_voltage_findings(resonator, example.secondary, top_voltage=top, density=1.0)
        return [f.severity for f in found]

    # 45 µm of film stands 2.25 kV; a turn has 1.14 mV per volt on top.
    assert severities(0.9e6) == []
    assert severities(1.5e6) == [Severity.CAUTION]
    assert severities(2.5e6) == [Severity.STOP]


def test_spacing_between_turns_helps(example):
    spaced = replace(example.secondary, spacing=0.00036)
    found = secondary_resonator(spaced, example.top_load, 0.1)
    assert not turn_voltage_findings(found, spaced, top_voltage=1.5e6, density=1.0)


def test_flashover_grows_from_silence_to_stop(example, resonator):
    # A wire of 1 mm glows before the gap breaks down; at 2.5 mm the gap goes first.
    thin = replace(example.primary.conductor, diameter=1e-3)

    def severities(top):
        found = flashover_findings(
            resonator,
            replace(example.primary, conductor=thin),
            example.secondary,
            top_voltage=top,
            density=1.0,
        )
        return [f.severity for f in found]

    assert severities(50e3) == []
    assert severities(65e3) == [Severity.CAUTION]
    assert severities(100e3) == [Severity.STOP]


def test_lower_primary_has_less_flashover(example, resonator):
    low = replace(example.primary, start_height=-0.08)
    assert not flashover_findings(resonator, low, example.secondary, top_voltage=200e3, density=1.0)


def test_strip_primary_is_marked(example):
    strip = PrimaryConductor(ConductorKind.STRIP, width=0.008, thickness=0.0005)
    values = coil_constants(
        replace(example.primary, conductor=strip),
        example.secondary,
        example.top_load,
        base_height=0.1,
    )
    assert "strip-resistance" in codes(values.findings)


def test_findings_name_design_fields_and_come_heaviest_first(example):
    values = coil_constants(
        replace(example.primary, inner_radius=0.058, start_height=0.2),
        example.secondary,
        example.top_load,
        base_height=0.1,
    )
    assert values.findings[0].severity is Severity.STOP
    ranks = [finding.severity.rank for finding in values.findings]
    assert ranks == sorted(ranks, reverse=True)
    assert all(finding.field.startswith("coil.") for finding in values.findings)
