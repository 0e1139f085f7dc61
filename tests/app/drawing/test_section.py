"""Shapes of a cross-section against the geometry's own sizes, and the paper they lie on."""

from __future__ import annotations

import math

import numpy as np
import pytest
from PySide6.QtCore import QRectF

from burstwise.app.drawing.coil_drawing import Caption, CoilDrawing, Dimensions
from burstwise.app.drawing.scale import bar_length, fitted_scale
from burstwise.app.drawing.section import Ball, Box, coil_section
from burstwise.app.theme import LIGHT
from burstwise.core.coil.geometry import (
    ConductorKind,
    PrimaryConductor,
    PrimaryGeometry,
    PrimaryShape,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)

COIL = SecondaryGeometry(0.11, 0.000315, 0.00036, 1000)
RING = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)
TUBE = PrimaryConductor(ConductorKind.TUBE, diameter=0.006, wall=0.001)
STRIP = PrimaryConductor(ConductorKind.STRIP, width=0.01, thickness=0.0005)


def section(shape=PrimaryShape.HELICAL, conductor=TUBE, top=RING, **more):
    primary = PrimaryGeometry(shape, conductor, 0.085, 8, 0.012, **more)
    return coil_section(primary, COIL, top, base_height=0.1)


def test_sizes_are_those_of_the_geometry() -> None:
    made = section()
    assert made.length == pytest.approx(0.36)
    assert made.highest == pytest.approx(0.36 + 0.05 + 0.025)
    assert made.reach == pytest.approx(0.125)
    assert made.earth == -0.1
    assert [box.x for box in made.winding] == pytest.approx([-0.05518, 0.05518])
    left, right = made.top
    assert right.x - left.x == pytest.approx(0.2)


def test_turns_in_use_and_beyond_the_tap() -> None:
    turns = section(tap=5.0).turns
    assert len(turns) == 16
    assert sum(turn.used for turn in turns) == 10
    assert {turn.shape.bore for turn in turns} == {0.002}
    assert [turn.shape.y for turn in turns[::2]] == pytest.approx(
        [0.012 * (i + 0.5) for i in range(8)]
    )


def test_a_strip_lies_along_the_windings_surface() -> None:
    assert section(PrimaryShape.FLAT, STRIP).turns[1].shape.tilt == 0.0
    cone = section(PrimaryShape.CONICAL, STRIP, cone_angle=math.radians(30)).turns
    left, right = cone[0].shape, cone[1].shape
    assert right.tilt == pytest.approx(math.radians(30))
    assert left.tilt == -right.tilt
    upright = section(PrimaryShape.HELICAL, STRIP).turns[1].shape
    assert upright.tilt == pytest.approx(math.pi / 2)


@pytest.mark.parametrize(
    ("kind", "shapes"),
    [(TopLoadKind.NONE, []), (TopLoadKind.SPHERE, [Ball]), (TopLoadKind.DISC, [Box])],
)
def test_kinds_of_top_load(kind, shapes) -> None:
    top = TopLoad(kind, 0.1, 0.01, centre_height=0.06)
    assert [type(shape) for shape in section(top=top).top] == shapes


def test_one_scale_for_both_axes_fits_the_area() -> None:
    area = QRectF(10, 20, 300, 500)
    to = fitted_scale(area, half_width=0.125, low=-0.1, high=0.435)
    assert to.x(0.125) - to.x(-0.125) == pytest.approx(0.25 * to.per_metre)
    assert to.y(-0.1) - to.y(0.435) == pytest.approx(0.535 * to.per_metre)
    assert area.contains(to.point(0.125, 0.435))
    assert area.contains(to.point(-0.125, -0.1))
    assert bar_length(to.per_metre, 90.0) * to.per_metre <= 90.0


def test_the_painted_winding_has_the_height_of_its_scale(theme, qtbot) -> None:
    drawing = CoilDrawing(theme)
    qtbot.addWidget(drawing)
    drawing.resize(500, 600)
    made = section()
    drawing.show_section(made, Dimensions(0.11, 0.36, 0.1, 0.085, 0.0, 0.25, 0.05))
    drawing.show_caption(Caption("f0 263 kHz"))
    picture = drawing.grab().toImage()
    to = drawing._scale(made)
    column = round(to.x(made.winding[1].x))
    copper = [
        y
        for y in range(picture.height())
        if picture.pixelColor(column, y).name() == LIGHT.series[0]
    ]
    # Its ends and all between, but for the handle that stands on it.
    assert copper[-1] - copper[0] == pytest.approx(0.36 * to.per_metre, abs=4)
    assert len(copper) == pytest.approx(0.36 * to.per_metre, abs=16)
    assert "263 kHz" in drawing.accessibleDescription()


def test_looks_differ_and_an_empty_drawing_says_why(theme, qtbot) -> None:
    drawing = CoilDrawing(theme)
    qtbot.addWidget(drawing)
    drawing.show_section(section(), Dimensions(0.11, 0.36, 0.1, 0.085, 0.01, 0.25, 0.05))
    light = np.array(drawing.grab().toImage().constBits())
    theme.set_dark(True)
    assert not np.array_equal(light, np.array(drawing.grab().toImage().constBits()))
    drawing.show_nothing("No geometry.")
    drawing.grab()
    assert drawing.accessibleDescription() == "No geometry."
