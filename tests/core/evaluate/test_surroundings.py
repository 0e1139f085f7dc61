"""Distances of a design: charge and dipole by hand, the same numbers in report and results, and a
sentence where there are none.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.coil.field_around import electric_field, magnetic_field
from burstwise.core.coil.resolve import geometry_constants
from burstwise.core.constants import EPSILON_0, MU_0
from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.evaluate.results import Results
from burstwise.core.evaluate.surroundings import (
    NO_CARRIER,
    NO_GEOMETRY,
    emission_of,
    surroundings_of,
    why_not_computed,
)
from burstwise.core.stage.elements import Monitor

NAMES = ("public_electric", "public_magnetic", "occupational_electric", "occupational_magnetic")


def test_strength_is_that_of_the_engines_own_waveforms(interrupted: Results) -> None:
    found, trace = emission_of(interrupted), interrupted.carrier.trace
    assert trace is not None
    period = 1.0 / interrupted.carrier.frequency
    times = np.append(trace.time, trace.time[0] + period)
    assert 0.0 < times[-1] - times[-2] < 0.05 * period

    def rms(signal: Monitor) -> float:
        values = np.append(trace.signal(signal), trace.signal(signal)[0])
        mean = np.trapezoid(values, times) / period
        return float(math.sqrt(np.trapezoid((values - mean) ** 2, times) / period))

    assert found.primary_current == pytest.approx(rms(Monitor.PRIMARY_CURRENT), rel=0.01)
    assert found.top_voltage == pytest.approx(rms(Monitor.TOP), rel=0.02)


def test_public_distance_is_about_that_of_the_coils_charge_as_a_dipole(
    interrupted: Results, figure
) -> None:
    """A charge over earth, all of it in one point: p = 2 sum Q h, E = p/(4 pi eps0 r^3)."""
    found = surroundings_of(interrupted)
    assert found is not None
    charges, volts = found.sources.charges, found.emission.top_voltage
    moment = 2 * volts * float(charges.weights @ charges.heights)
    by_hand = (moment / (4 * math.pi * EPSILON_0 * 83.0)) ** (1 / 3)
    exact = found.distances[0].at(0.0)
    assert exact == pytest.approx(by_hand, rel=0.05)
    figure(
        "distance of the public electric level over a dipole's, less 1",
        exact / by_hand - 1.0,
        limit="5 %",
        source="dipole of all charges and images",
    )
    # And the charge itself: the foot's current over 2 pi f, of the coil's own result.
    constants = geometry_constants(interrupted.design.coil.geometry)
    charge = constants.base_current_per_top_volt / (2 * math.pi * constants.resonance)
    assert float(charges.weights.sum()) == pytest.approx(charge, rel=1e-3)


def test_magnetic_field_far_off_is_that_of_the_dipoles_of_both_windings(
    interrupted: Results,
) -> None:
    found = surroundings_of(interrupted)
    assert found is not None
    sources, strength = found.sources, found.emission
    middle = float(np.mean(sources.winding.heights))
    current = strength.top_voltage * strength.frequency / sources.resonance
    moment = math.pi * (
        strength.primary_current * float(sources.primary.weights @ sources.primary.radii**2)
        + current * abs(float(sources.winding.weights @ sources.winding.radii**2))
    )
    far = 20.0
    B = magnetic_field(
        sources,
        far,
        middle,
        top_voltage=strength.top_voltage,
        primary_current=strength.primary_current,
        frequency=strength.frequency,
    )
    assert float(B) == pytest.approx(MU_0 * moment / (4 * math.pi * far**3), rel=2e-3)


def test_report_has_the_largest_distance_over_heights(interrupted: Results) -> None:
    known = results_object(interrupted)["field_distance"]
    found = surroundings_of(interrupted)
    assert found is not None
    assert list(known) == [*(f"{name}_m" for name in NAMES), "not_computed"]
    assert known["not_computed"] is None
    for item, name in zip(found.distances, NAMES, strict=True):
        assert known[f"{name}_m"] == max(item.distances)
    assert known["public_electric_m"] > known["occupational_electric_m"] > found.sources.edge
    # Just beyond the public's distance the level is kept at any height of a person.
    heights = np.linspace(0.0, 2.0, 81)
    E = electric_field(
        found.sources,
        1.002 * known["public_electric_m"],
        heights,
        top_voltage=found.emission.top_voltage,
    )
    assert np.all(E < 83.0)


def test_measured_coil_has_no_field_and_says_so(interrupted: Results) -> None:
    coil = interrupted.coil
    design = with_values(
        interrupted.design,
        {
            "coil.given_by": "measured",
            **{
                f"coil.measured.{name}": getattr(coil, name)
                for name in (
                    "primary_inductance",
                    "primary_resistance",
                    "secondary_inductance",
                    "secondary_capacitance",
                    "quality_factor",
                    "coupling",
                    "breakout_voltage",
                )
            },
        },
    )
    results = evaluate(design, verify=False)
    assert surroundings_of(results) is None
    known = results_object(results)["field_distance"]
    assert known == {**{f"{name}_m": None for name in NAMES}, "not_computed": NO_GEOMETRY}


def test_stage_that_does_not_oscillate_has_no_field_and_says_so(example) -> None:
    design = with_values(
        example("classroom-direct-continuous"),
        {"drive.direct.bias_voltage": 0.0, "drive.direct.clamp_fitted": False},
    )
    results = evaluate(design, verify=False)
    assert not results.carrier.oscillates
    assert why_not_computed(results) == NO_CARRIER
    assert results_object(results)["field_distance"]["not_computed"] == NO_CARRIER


def test_reference_levels_are_not_used_outside_their_frequencies(interrupted: Results) -> None:
    high = replace(interrupted, carrier=replace(interrupted.carrier, frequency=12e6))
    assert "12 MHz" in why_not_computed(high)
    assert surroundings_of(high) is None
