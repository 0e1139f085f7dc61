"""Tables kept as data: enamelled wire and self-capacitance."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np

from burstwise.core.coil.arrays import Floats


@dataclass(frozen=True, slots=True, eq=False)
class EnamelTable:
    """Largest overall diameters of enamelled round copper wire by nominal diameter [m]."""

    nominal: Floats
    grade_1: Floats
    grade_2: Floats


@dataclass(frozen=True, slots=True, eq=False)
class SelfCapacitanceTable:
    """Self-capacitance per diameter [F/m] by length over diameter."""

    length_over_diameter: Floats
    per_diameter: Floats


@lru_cache(maxsize=1)
def enamel_table() -> EnamelTable:
    """Table of overall diameters in grades 1 and 2, IEC 60317-0-1 (from memory)."""
    rows = list(_rows("enamel.csv"))
    return EnamelTable(
        nominal=_column(rows, "nominal_m"),
        grade_1=_column(rows, "grade_1_m"),
        grade_2=_column(rows, "grade_2_m"),
    )


@lru_cache(maxsize=1)
def self_capacitance_table() -> SelfCapacitanceTable:
    """Medhurst's table of the self-capacitance of windings with one end earthed (from memory)."""
    rows = list(_rows("medhurst_capacitance.csv"))
    return SelfCapacitanceTable(
        length_over_diameter=_column(rows, "length_over_diameter"),
        per_diameter=_column(rows, "capacitance_per_diameter_F_per_m"),
    )


def _column(rows: list[dict[str, str]], name: str) -> Floats:
    return np.array([float(row[name]) for row in rows])


def _rows(name: str) -> Iterator[dict[str, str]]:
    text = (files("burstwise.resources") / "wire" / name).read_text(encoding="utf-8")
    yield from csv.DictReader(text.splitlines())
