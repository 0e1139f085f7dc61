"""One value of a coil with where it comes from, and what the origins have to say."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from burstwise.core.findings import Finding, caution, note
from burstwise.core.units import percent, shown

_LARGE_DIFFERENCE: Final = 0.25
"""Departure from the computed value that is worth a caution [1]."""
_LARGE: Final = {"resonance": 0.12}
"""The same for a frequency, which goes with the root of the capacitance [1]."""
_Q_APART: Final = 0.02
"""Difference of a measured quality factor from the copper's that is worth a word [1]."""


class Origin(StrEnum):
    """Where a value in use comes from."""

    COMPUTED = "computed"
    MEASURED = "measured"
    FITTED = "fitted"


@dataclass(frozen=True, slots=True)
class CoilValue:
    """One electrical value by each way that it is known; at least one of the three is given.

    Attributes
    ----------
    name, unit : str
        Name in the design, SI unit.
    computed : float or None
        From the geometry.
    measured : float or None
        As entered with the coil.
    measured_used : bool
        Whether the measured one stands for the computed one.
    fitted : float or None
        Of a calibration in use, which stands for both.
    follows : bool
        Whether the measured one was not entered but follows from another that was.
    copied : bool
        Whether the measured one is what the geometry gave when the coil was switched over.

    Examples
    --------
    >>> k = CoilValue("coupling", "", computed=0.32, measured=0.30, fitted=0.48)
    >>> k.value, k.origin.value, k.own, round(k.difference, 2)
    (0.48, 'fitted', 0.3, 0.5)
    """

    name: str
    unit: str
    computed: float | None
    measured: float | None = None
    measured_used: bool = True
    fitted: float | None = None
    follows: bool = False
    copied: bool = False

    @property
    def own(self) -> float:
        """Value of the design itself, without a calibration."""
        known = self.measured if self.measured_used and self.measured is not None else None
        found = self.computed if known is None else known
        assert found is not None
        return found

    @property
    def value(self) -> float:
        """Value in use."""
        return self.own if self.fitted is None else self.fitted

    @property
    def origin(self) -> Origin:
        """Where the value in use comes from."""
        if self.fitted is not None:
            return Origin.FITTED
        if self.copied:
            return Origin.COMPUTED
        measured = self.measured is not None and self.measured_used
        return Origin.MEASURED if measured else Origin.COMPUTED

    @property
    def difference(self) -> float | None:
        """Value in use over the computed one, less one [1]; None without a geometry."""
        return None if self.computed is None else self.value / self.computed - 1.0

    @property
    def entered(self) -> float | None:
        """Measured as entered over computed, less one [1]; None where one of them is missing."""
        if self.measured is None or self.computed is None or self.follows:
            return None
        return self.measured / self.computed - 1.0

    @property
    def words(self) -> str:
        """Name for a sentence."""
        return self.name.replace("_", " ")


def value_findings(values: Iterable[CoilValue], *, reactance: float) -> tuple[Finding, ...]:
    """What measured and fitted values have to say.

    Parameters
    ----------
    values : iterable of CoilValue
        Values of a coil.
    reactance : float
        Of the secondary at its resonance [ohm], by which a difference of Q becomes a resistance.
    """
    values = tuple(values)
    fitted = [item for item in values if item.fitted is not None]
    said = [_in_use(fitted)] if fitted else []
    copied = copied_words(values)
    if copied:
        said.append(note("measured-from-geometry", "coil.not_used", copied))
    for item in values:
        said += _differing(item, reactance)
    return tuple(said)


def copied_words(values: Iterable[CoilValue]) -> str:
    """Sentence on values that stand among the measured ones without being so; may be empty.

    Examples
    --------
    >>> copied_words([CoilValue("coupling", "", None, 0.32, copied=True)])
    'Not measured, but left from the geometry when the coil was switched over: coupling 0.32.'
    """
    listed = "; ".join(f"{i.words} {shown(i.own, i.unit)}" for i in values if i.copied)
    if not listed:
        return ""
    return f"Not measured, but left from the geometry when the coil was switched over: {listed}."


def _in_use(fitted: list[CoilValue]) -> Finding:
    listed = "; ".join(
        f"{item.words} {shown(item.value, item.unit)} in place of {shown(item.own, item.unit)}"
        for item in fitted
    )
    return note(
        "calibration-in-use",
        "calibration",
        f"Fitted by the calibration, neither computed nor measured directly: {listed}.",
    )


def _differing(item: CoilValue, reactance: float) -> Iterator[Finding]:
    apart = item.difference
    if item.origin is Origin.COMPUTED or apart is None or item.follows:
        return
    if item.name == "quality_factor" and apart < -_Q_APART:
        yield _copper_alone(item, reactance)
    elif abs(apart) > _LARGE.get(item.name, _LARGE_DIFFERENCE) and not _has_point(item):
        yield _far(item, apart)


def _far(item: CoilValue, difference: float) -> Finding:
    apart = percent(difference, signed=True)
    than = f"{apart} {'what' if apart.endswith('times') else 'from what'} the geometry gives"
    value = shown(item.value, item.unit)
    if item.origin is Origin.FITTED:
        return caution(
            "fitted-far-from-computed",
            f"calibration.{item.name}",
            f"The {item.words} that the calibration fitted is {value}, {than}: the fit may have "
            "put a fault of the build, of the readings or of the dimensions into it.",
        )
    return caution(
        "measured-far-from-computed",
        f"coil.measured.{item.name}",
        f"The measured {item.words} is {value}, {than}; check the reading and the dimensions.",
    )


def _copper_alone(item: CoilValue, reactance: float) -> Finding:
    assert item.computed is not None
    more = reactance * (1.0 / item.value - 1.0 / item.computed)
    text = (
        f"The {item.origin.value} quality factor of {shown(item.value, '', digits=3)} is below the "
        f"{shown(item.computed, '', digits=3)} of the copper alone, as it should be. The "
        f"difference stands for {shown(more, 'Ω', digits=3)} at the resonance beside the copper's "
        "own: the former, leads, walls and any corona, which no geometry here tells."
    )
    if item.origin is Origin.FITTED:
        return note("fitted-q-below-copper", "calibration.quality_factor", text)
    return note("measured-q-below-copper", "coil.measured.quality_factor", text)


def _has_point(item: CoilValue) -> bool:
    """A breakout below the smooth top load's is what a breakout point is fitted for."""
    return item.name == "breakout_voltage" and item.value < (item.computed or 0.0)
