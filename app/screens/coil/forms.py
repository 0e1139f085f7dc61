"""Forms of the coil's geometry: secondary, primary, top load, surroundings."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QCheckBox, QComboBox, QWidget

from burstwise.app.binding import bind_check, bind_value
from burstwise.app.document import Document
from burstwise.app.refusals import refusal
from burstwise.app.screens.coil.rows import FIELD_WIDTH, FieldRow, Rows
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.core.coil.resolve import secondary_geometry
from burstwise.core.coil.wire import awg_diameter, awg_gauge
from burstwise.core.design.document import field_info
from burstwise.core.errors import InputError

GEOMETRY: Final = "coil.geometry"
_GAUGES: Final = (11.0, 44.0)
"""Gauges whose enamel the wire table knows."""


class SecondaryRows(Rows):
    """Former, wire by diameter or gauge, enamel, turns or length, spacing."""

    def __init__(self, document: Document[Any], parent: QWidget | None = None) -> None:
        super().__init__(document, "Secondary", f"{GEOMETRY}.secondary", parent)
        self.add_quantity("former_diameter", "Former, outside")
        self.add_quantity("wire_diameter", "Wire, bare copper")
        self.gauge = QuantityField("", name="Gauge, AWG", low=_GAUGES[0], high=_GAUGES[1], digits=3)
        self.add_row(f"{self.section}.gauge", "Gauge, AWG", self.gauge)
        self.add_choice("enamel_grade", "Enamel", {1: "Grade 1", 2: "Grade 2"})
        self.given = QComboBox()
        self.given.setAccessibleName("Winding given by")
        self.given.addItems(["Turns", "Winding length"])
        self.add_row(f"{self.section}.given", "Winding given by", self.given)
        self.add_quantity("turns", "Turns")
        self.add_quantity("winding_length", "Winding length")
        self.add_quantity("spacing", "Gap between turns")
        self.gauge.value_changed.connect(self._take_gauge)
        self.gauge.edit_finished.connect(document.close_step)
        self.given.currentIndexChanged.connect(self._take_given)
        document.changed.connect(self._follow)
        self._follow()

    def _take_gauge(self, gauge: float) -> None:
        try:
            path = f"{self.section}.wire_diameter"
            diameter = float(f"{awg_diameter(gauge):.4g}")
            self._document.edit(path, diameter, live=True, text="Wire gauge")
        except InputError as error:
            self.gauge.mark_bad(f"Gauge must be {error.limit}")

    def _take_given(self, index: int) -> None:
        by_length = index == 1
        try:
            winding = secondary_geometry(self._document.value(GEOMETRY))
            values = {
                f"{self.section}.turns": None if by_length else float(round(winding.turns)),
                f"{self.section}.winding_length": (
                    float(f"{winding.length:.6g}") if by_length else None
                ),
            }
            self._document.edit_many(values, text="Winding given by")
        except InputError as error:
            self.rows[f"{self.section}.given"].refuse(refusal(error))
            self._follow()

    def _follow(self, _design: object = None) -> None:
        part = self._document.value(self.section)
        self.gauge.set_value(round(awg_gauge(part.wire_diameter), 2))
        with QSignalBlocker(self.given):
            self.given.setCurrentIndex(0 if part.turns is not None else 1)
        try:
            winding = secondary_geometry(self._document.value(GEOMETRY))
        except InputError:
            return
        for name, value in (("turns", winding.turns), ("winding_length", winding.length)):
            field = self.rows[f"{self.section}.{name}"].widget
            if isinstance(field, QuantityField) and not field.isEnabled():
                field.set_value(value)


class PrimaryRows(Rows):
    """Shape, conductor, radius, pitch, turns, tap, height, cone angle."""

    def __init__(self, document: Document[Any], parent: QWidget | None = None) -> None:
        super().__init__(document, "Primary", f"{GEOMETRY}.primary", parent)
        shapes = {"helical": "Helical", "flat": "Flat spiral", "conical": "Conical"}
        kinds = {"wire": "Round wire", "tube": "Tube", "strip": "Strip"}
        self.add_choice("shape", "Shape", shapes)
        self.add_choice("conductor.kind", "Conductor", kinds)
        self.add_quantity("conductor.diameter", "Conductor, outside")
        self.add_quantity("conductor.wall", "Wall of the tube")
        self.add_quantity("conductor.width", "Width of the strip")
        self.add_quantity("conductor.thickness", "Thickness of the strip")
        self.add_quantity("inner_radius", "Radius at the start")
        self.add_quantity("pitch", "Pitch")
        self.add_quantity("turns", "Turns wound")
        self._add_tap()
        self.add_quantity("start_height", "Start height")
        self.add_quantity("cone_angle", "Rise of the cone")
        document.changed.connect(self._follow)
        self._follow()

    def _add_tap(self) -> None:
        path = f"{self.section}.tap"
        info = field_info(path)
        self.tapped = QCheckBox("Tapped at")
        self.tapped.setAccessibleName("Primary is tapped")
        field = QuantityField("turns", name="Tap", low=info["low"], high=info["high"])
        bind_value(self._document, path, field, text=str(info["title"]))
        field.setFixedWidth(FIELD_WIDTH)
        self.tapped.setMinimumHeight(field.sizeHint().height())
        row = FieldRow(field, self)
        self.place(path, "Tap", self.tapped, row)
        self.tapped.toggled.connect(self._take_tap)

    def _take_tap(self, on: bool) -> None:
        turns = float(self._document.value(f"{self.section}.turns"))
        tap = max(turns - 1.0, 0.5) if on else None
        self._document.edit(f"{self.section}.tap", tap, text="Tap of the primary")

    def _follow(self, _design: object = None) -> None:
        part = self._document.value(self.section)
        kind = part.conductor.kind
        self.show_rows(
            {
                "conductor.diameter": kind != "strip",
                "conductor.wall": kind == "tube",
                "conductor.width": kind == "strip",
                "conductor.thickness": kind == "strip",
                "cone_angle": part.shape == "conical",
            }
        )
        with QSignalBlocker(self.tapped):
            self.tapped.setChecked(part.tap is not None)
        field = self.rows[f"{self.section}.tap"].widget
        if part.tap is None and isinstance(field, QuantityField):
            field.set_value(part.turns)


class TopLoadRows(Rows):
    """Kind and sizes of the top load, and its surface."""

    def __init__(self, document: Document[Any], parent: QWidget | None = None) -> None:
        super().__init__(document, "Top load", f"{GEOMETRY}.top_load", parent)
        kinds = {"none": "None", "sphere": "Sphere", "toroid": "Toroid", "disc": "Disc"}
        self.add_choice("kind", "Kind", kinds)
        self.add_quantity("diameter", "Outer diameter")
        self.add_quantity("thickness", "Tube or thickness")
        self.add_quantity("centre_height", "Middle above winding")
        self.add_quantity("roughness", "Surface, 1 polished")
        self.point = QCheckBox("Breakout point fitted")
        bind_check(
            document, f"{self.section}.point_fitted", self.point, text="Breakout point fitted"
        )
        self.form.addRow(self.point)
        self.add_quantity("point_tip_radius", "Radius of its tip")
        self.add_quantity("point_height", "Height above surface")
        document.changed.connect(self._follow)
        self._follow()

    def _follow(self, _design: object = None) -> None:
        part = self._document.value(self.section)
        kind = part.kind
        fitted = kind != "none"
        self.show_rows(
            {
                "diameter": fitted,
                "thickness": kind in ("toroid", "disc"),
                "centre_height": fitted,
                "point_tip_radius": part.point_fitted,
                "point_height": part.point_fitted,
            }
        )


class SurroundingsRows(Rows):
    """Earth plane and air."""

    def __init__(self, document: Document[Any], parent: QWidget | None = None) -> None:
        super().__init__(document, "Surroundings", GEOMETRY, parent)
        self.add_quantity("base_height", "Bottom turn above earth")
        self.add_quantity("air_pressure", "Air pressure", digits=4)
        self.add_quantity("strike_ring_height", "Strike ring above primary")


def geometry_forms(document: Document[Any]) -> list[Rows]:
    """The four forms from top to bottom."""
    makers: tuple[Callable[[Document[Any]], Rows], ...] = (
        SecondaryRows,
        PrimaryRows,
        TopLoadRows,
        SurroundingsRows,
    )
    return [make(document) for make in makers]
