"""Map of the first limit against evaluating its points one by one."""

from __future__ import annotations

import numpy as np
import pytest

from burstwise.core.design.document import with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate import evaluate
from burstwise.core.stopping import StoppedError
from burstwise.core.studies.limit_map import Axis, axis_over, limit_maps, rough_map
from burstwise.core.studies.stage_table import stage_table

CLOSE = 0.025


@pytest.fixture(scope="module")
def ready(spiking):
    return stage_table(spiking.design, 2.0 * spiking.design.supply.voltage)


@pytest.fixture(scope="module")
def axes(spiking, ready):
    design = spiking.design
    high = float(ready.table.voltages[-1])
    return (
        axis_over(design, "supply.voltage", low=0.15 * high, high=high),
        axis_over(design, "interrupter.duty"),
    )


@pytest.fixture(scope="module")
def passes(spiking, ready, axes):
    return list(limit_maps(spiking.design, *axes, ready=ready))


@pytest.mark.parametrize("points", [6, pytest.param(40, marks=pytest.mark.slow)])
def test_against_single_evaluations(spiking, passes, figure, points):
    """Same first limit, or two that are closer together than the tolerance."""
    found, random = passes[-1], np.random.default_rng(5)
    same, worst = 0, 0.0
    for _ in range(points):
        row, column = random.integers(len(found.y.values)), random.integers(len(found.x.values))
        point = {
            found.x.path: float(found.x.values[column]),
            found.y.path: float(found.y.values[row]),
        }
        alone = evaluate(with_values(spiking.design, point), verify=False)
        first = found.names[found.first[row, column]]
        same += first == alone.limits_as_designed[0].rating
        margin, true = float(found.smallest[row, column]), alone.limits_as_designed[0].margin
        if true > -1.0:
            worst = max(worst, abs(margin - true))
    figure(
        f"map: same first limit, {points} points",
        same / points,
        limit="98 %",
        source="single evaluations",
    )
    figure(
        f"map: margin of the first limit, {points} points",
        worst,
        limit="0.02",
        source="single evaluations",
    )
    assert same >= 0.98 * points - 1
    assert worst < CLOSE


def test_passes_from_coarse_to_fine(passes, axes):
    assert [item.share for item in passes] == [1 / 16, 1 / 4, 1.0]
    assert passes[-1].margin.shape[1:] == (100, 100)
    coarse, fine = passes[0], passes[-1]
    for column, volts in enumerate(coarse.x.values):
        place = int(np.argmin(np.abs(fine.x.values - volts)))
        assert coarse.margin[:, 0, column] == pytest.approx(fine.margin[:, 0, place], rel=1e-4)
    assert axes[0].values[-1] == coarse.x.values[-1]


def test_first_picture_without_a_table(spiking, passes, axes):
    """Frontier within two of its own columns of the finished map's."""
    rough, fine = rough_map(spiking.design, *axes), passes[-1]
    assert rough.share == 0.0
    for row in (0, len(rough.y.values) // 2):
        edge = rough.x.values[int(np.argmax(rough.smallest[row] < 0))]
        line = int(np.argmin(np.abs(fine.y.values - rough.y.values[row])))
        true = fine.x.values[int(np.argmax(fine.smallest[line] < 0))]
        assert abs(edge - true) <= 2.5 * (rough.x.values[1] - rough.x.values[0])


def test_stops_when_told(spiking, ready, axes):
    made = limit_maps(spiking.design, *axes, ready=ready, ask=lambda share: share < 0.2)
    with pytest.raises(StoppedError):
        list(made)


def test_interrupter_frequency(spiking, ready):
    x = axis_over(spiking.design, "supply.voltage", low=20.0, high=100.0, points=20)
    y = axis_over(spiking.design, "interrupter.frequency", points=20)
    found = list(limit_maps(spiking.design, x, y, ready=ready))[-1]
    peak = found.names.index("junction_peak")
    # A slow interrupter lets the junction ripple further: less margin below than above.
    stable = np.isfinite(found.margin[peak]).all(axis=0)
    assert stable.any()
    assert (np.diff(found.margin[peak][:, stable], axis=0) > -1e-3).all()


def test_slow_side_field(spiking, ready):
    x = axis_over(spiking.design, "supply.voltage", low=20.0, high=90.0, points=12)
    y = axis_over(spiking.design, "cooling.sink_resistance", points=16)
    found = list(limit_maps(spiking.design, x, y, ready=ready))[-1]
    alone = evaluate(
        with_values(
            spiking.design,
            {"supply.voltage": float(x.values[5]), y.path: float(y.values[12])},
        ),
        verify=False,
    )
    column = found.margin[:, 12, 5]
    for item in alone.limits_as_designed:
        if item.rating in ("junction_peak", "heat_sink"):
            assert column[found.names.index(item.rating)] == pytest.approx(item.margin, abs=CLOSE)


@pytest.mark.slow
def test_stage_field_at_its_nodes(spiking):
    x = axis_over(spiking.design, "protection.fuse_rating", points=5)
    y = Axis("coil.measured.breakout_voltage", np.linspace(9e3, 16e3, 3))
    passes = list(limit_maps(spiking.design, y, x))
    assert [item.nodes for item in passes] == [3, 5, 9]
    found = passes[-1]
    alone = evaluate(
        with_values(spiking.design, {y.path: 12.5e3, x.path: float(x.values[2])}), verify=False
    )
    for item in alone.limits_as_designed[:4]:
        margin = found.margin[found.names.index(item.rating), 2, 1]
        assert margin == pytest.approx(item.margin, abs=CLOSE), item.rating


def test_axes_that_cannot_be(spiking):
    design = spiking.design
    with pytest.raises(InputError, match=r"map\.axis"):
        axis_over(design, "drive.kind")
    with pytest.raises(InputError, match=r"map\.axis"):
        axis_over(design, "supply.voltage", low=30.0, high=3000.0)
    axis = axis_over(design, "supply.voltage")
    with pytest.raises(InputError, match="another field"):
        list(limit_maps(design, axis, axis))


@pytest.mark.parametrize(
    ("path", "changes"),
    [
        ("drive.direct.bias_voltage", {"drive.kind": "gated"}),
        ("drive.gated.gate_resistor", {"drive.kind": "direct"}),
        ("supply.bulk_capacitance", {"supply.bulk_fitted": False}),
    ],
)
def test_a_field_without_a_say_is_no_axis(spiking, path, changes):
    kind = "direct" if path.startswith("drive.direct") else "gated"
    assert axis_over(with_values(spiking.design, {"drive.kind": kind}), path).path == path
    with pytest.raises(InputError, match="fitted"):
        axis_over(with_values(spiking.design, changes), path)
