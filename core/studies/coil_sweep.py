"""Sweep of one field of a coil's geometry: what it does to resonance, coupling, Q and breakout."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from burstwise.core.coil.arrays import Floats
from burstwise.core.coil.checks import checked_number
from burstwise.core.coil.resolve import geometry_constants
from burstwise.core.coil.summary import CoilConstants
from burstwise.core.design.document import Design, field_info, value_at, with_value
from burstwise.core.errors import InputError

GEOMETRY = "coil.geometry"
_RINGS = 60


@dataclass(frozen=True, slots=True)
class RefusedPoint:
    """Value of the swept field that cannot be built, and why."""

    value: float
    error: InputError

    @property
    def reason(self) -> str:
        """Why, as a sentence."""
        return str(self.error)


@dataclass(frozen=True, slots=True, eq=False)
class GeometrySweep:
    """Coil over the values of one field, from geometry alone (no measured values).

    Parameters
    ----------
    design : Design
        The design whose field was swept.
    path : str
        Dotted path of the field.
    values : array of shape (n,)
        Values that can be built, rising.
    resonance, coupling, quality_factor, breakout_voltage : array of shape (n,)
        [Hz], [1], [1], [V].
    refused : tuple of RefusedPoint
        Values that were left out.
    """

    design: Design
    path: str
    values: Floats
    resonance: Floats
    coupling: Floats
    quality_factor: Floats
    breakout_voltage: Floats
    refused: tuple[RefusedPoint, ...]

    def place_of(self, design: Design) -> float | None:
        """Value at which a design lies on the curves; None where more than the field differs."""
        try:
            value = value_at(design, self.path)
            moved = with_value(self.design, self.path, value)
        except InputError:  # a part that one of both does not have
            return None
        same = moved.coil.geometry == design.coil.geometry
        same = same and moved.cooling.ambient == design.cooling.ambient
        return float(value) if same and value is not None else None


def geometry_sweep(
    design: Design,
    path: str,
    low: float,
    high: float,
    *,
    count: int = 31,
    progress: Callable[[float], None] | None = None,
) -> GeometrySweep:
    """Coil constants over even steps of one geometry field, all else as designed.

    Parameters
    ----------
    design : Design
        The design.
    path : str
        Quantity below ``coil.geometry``.
    low, high : float
        Range [SI], low below high.
    count : int
        Number of values, 2 to 400.
    progress : callable, optional
        Told the share done before each value; may raise to stop.

    Notes
    -----
    With 60 rings, 0.03 % of the frequency with 100 in the example of docs/theory_coil.md.

    Raises
    ------
    InputError
        Not a geometry quantity, a bad range, or no value in the range can be built.

    Examples
    --------
    >>> from burstwise.core.design.document import design_from
    >>> made = design_from({"coil": {"given_by": "geometry"}})
    >>> sweep = geometry_sweep(made, "coil.geometry.secondary.turns", 700, 900, count=3)
    >>> bool(np.all(np.diff(sweep.resonance) < 0)), len(sweep.refused)
    (True, 0)
    """
    if not path.startswith(f"{GEOMETRY}.") or "unit" not in field_info(path):
        raise InputError(path, "no quantity of the geometry", f"a quantity below {GEOMETRY}")
    for value in (low, high):
        checked_number(path, value, -1e9, 1e9, "")
    if not low < high:
        raise InputError("sweep.high", high, f"above the low end, {low:g}")
    checked_number("sweep.count", count, 2, 400, "values")
    kept: list[tuple[float, CoilConstants]] = []
    refused: list[RefusedPoint] = []
    for index, value in enumerate(np.linspace(low, high, count)):
        if progress is not None:
            progress(index / count)
        try:
            kept.append((float(value), _constants(design, path, float(value))))
        except InputError as error:
            refused.append(RefusedPoint(float(value), error))
    if not kept:
        raise InputError(path, f"{low:g} to {high:g}", f"buildable; {refused[0].reason}")
    return GeometrySweep(
        design=design,
        path=path,
        values=np.array([value for value, _ in kept]),
        resonance=np.array([found.resonance for _, found in kept]),
        coupling=np.array([found.coupling for _, found in kept]),
        quality_factor=np.array([found.quality_factor for _, found in kept]),
        breakout_voltage=np.array([found.breakout_voltage for _, found in kept]),
        refused=tuple(refused),
    )


def _constants(design: Design, path: str, value: float) -> CoilConstants:
    made = with_value(design, path, value)
    return geometry_constants(made.coil.geometry, made.cooling.ambient, _RINGS)
