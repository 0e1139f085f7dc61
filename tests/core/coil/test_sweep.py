"""Sweep of one field: each point is the coil computed alone; refused points are told."""

import numpy as np
import pytest

from burstwise.core.coil.resolve import geometry_constants
from burstwise.core.design.document import design_from, with_value
from burstwise.core.errors import InputError
from burstwise.core.studies.coil_sweep import geometry_sweep

HEIGHT = "coil.geometry.primary.start_height"


@pytest.fixture
def design():
    return design_from({"coil": {"given_by": "geometry"}})


def test_points_are_the_coil_computed_with_that_value(design):
    sweep = geometry_sweep(design, "coil.geometry.top_load.diameter", 0.03, 0.05, count=3)
    np.testing.assert_allclose(sweep.values, [0.03, 0.04, 0.05])
    for index, value in enumerate(sweep.values):
        made = with_value(design, sweep.path, float(value))
        alone = geometry_constants(made.coil.geometry, 25.0)
        assert sweep.resonance[index] == pytest.approx(alone.resonance, rel=2e-3)
        assert sweep.coupling[index] == pytest.approx(alone.coupling, rel=2e-3)
        assert sweep.quality_factor[index] == pytest.approx(alone.quality_factor, rel=5e-3)
        assert sweep.breakout_voltage[index] == pytest.approx(alone.breakout_voltage, rel=5e-3)


def test_points_that_cannot_be_built_are_left_out_and_told(design):
    sweep = geometry_sweep(design, HEIGHT, -0.2, 0.05, count=11)
    assert len(sweep.values) + len(sweep.refused) == 11
    assert sweep.refused[0].value == -0.2
    assert "above the earth plane" in sweep.refused[0].reason
    assert np.all(np.isfinite(sweep.coupling))


@pytest.mark.parametrize(
    ("path", "low", "high", "words"),
    [
        ("supply.voltage", 1.0, 2.0, "below coil.geometry"),
        ("coil.geometry.top_load.kind", 1.0, 2.0, "below coil.geometry"),
        (HEIGHT, 0.1, 0.0, "above the low end"),
        (HEIGHT, 0.0, float("nan"), "a finite number"),
        (HEIGHT, 50.0, 60.0, "buildable"),
        ("coil.geometry.primary.pitch", 0.0, 1e-3, "buildable"),
    ],
)
def test_bad_sweeps_are_refused(design, path, low, high, words):
    with pytest.raises(InputError, match=words):
        geometry_sweep(design, path, low, high, count=4)


def test_a_design_lies_on_the_curves_unless_more_than_the_field_differs(design):
    path = "coil.geometry.top_load.diameter"
    sweep = geometry_sweep(design, path, 0.03, 0.05, count=2)
    assert sweep.place_of(with_value(design, path, 0.042)) == 0.042
    assert (
        sweep.place_of(with_value(design, "supply.voltage", 7.0))
        == design.coil.geometry.top_load.diameter
    )
    for other, value in (
        ("coil.geometry.secondary.turns", 321),
        ("cooling.ambient", 40.0),
    ):
        assert sweep.place_of(with_value(design, other, value)) is None
    tapped = geometry_sweep(design, "coil.geometry.primary.tap", 4.0, 5.0, count=2)
    assert tapped.place_of(with_value(design, tapped.path, None)) is None
    assert tapped.place_of(with_value(design, tapped.path, 4.5)) == 4.5


def test_it_stops_when_told(design):
    told = []

    def progress(share):
        told.append(share)
        if len(told) == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        geometry_sweep(design, HEIGHT, 0.0, 0.05, count=10, progress=progress)
    assert told == [0.0, 0.1, 0.2]
