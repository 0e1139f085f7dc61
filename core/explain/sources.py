"""Sources as data: the bibliography, and the entries that a design's figures stand on."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final

from burstwise.core.coil.coil_values import Origin
from burstwise.core.coil.resolve import breakout_point
from burstwise.core.errors import InputError
from burstwise.core.evaluate.results import Results
from burstwise.core.stage.circuit import GatedFeed

Keys = tuple[str, ...]

_ENTERED: Final = ("design-figures",)
_OWN: Final = ("first-principles",)
_HEAT: Final = ("iec-60747-8", *_ENTERED)
_TABLE: Final = (*_OWN, "fritsch-carlson")
_RATED: Final = (*_ENTERED, "practice")
_LAWS: Final[Mapping[str, Keys]] = MappingProxyType(
    {
        "junction": ("sze",),
        "knee": ("practice",),
        "curve": ("fritsch-carlson", *_ENTERED),
        "constant": _ENTERED,
    }
)
"""What the kinds of the device's capacitance stand on."""
_RATINGS: Final[Mapping[str, Keys]] = MappingProxyType(
    {
        "turn_off_energy": (*_RATED, "avalanche-notes"),
        "diode_dv_dt": (*_RATED, "charge-control"),
        "flashover": (*_RATED, "gaps", "schumann-ritz"),
        "strike": (*_RATED, "gaps"),
        "turn_insulation": ("practice",),
        "junction_peak": _HEAT,
        "junction_mean": _HEAT,
        "lost_loop_junction": _HEAT,
        "safe_area_single": _HEAT,
        "safe_area_repeated": _HEAT,
    }
)
"""What a rating stands on where that is more than the datasheet and its derating."""


@dataclass(frozen=True, slots=True)
class Source:
    """Entry of the bibliography.

    Attributes
    ----------
    key : str
        Short name by which formulas, tables and explanations refer to it.
    entry : str
        The source in words.
    status : str
        How it is known: read, standard, library, from memory, common practice, derived, entered.
    remark : str
        What was taken from it, or what was not re-read; may be empty.
    """

    key: str
    entry: str
    status: str
    remark: str

    @property
    def text(self) -> str:
        """One line: entry, remark and status.

        Examples
        --------
        >>> bibliography()["practice"].text
        'common practice, no source'
        """
        parts = [self.entry, self.remark, "" if self.status in self.entry else self.status]
        return "; ".join(part for part in parts if part)


@cache
def bibliography() -> Mapping[str, Source]:
    """All sources by key.

    Examples
    --------
    >>> bibliography()["peek"].status
    'from memory'
    """
    text = (files("burstwise.resources") / "sources" / "bibliography.json").read_text(
        encoding="utf-8"
    )
    return MappingProxyType({row["key"]: Source(**row) for row in json.loads(text)["sources"]})


def keys_of(results: Results, path: str) -> Keys:
    """Keys of the sources that one figure stands on.

    Parameters
    ----------
    results : Results
        Evaluated design.
    path : str
        Key of the figure, e.g. ``"thermal.junction_peak_C"`` or ``"limits.drain_voltage"``.

    Raises
    ------
    InputError
        No such figure.
    """
    section, _, name = path.partition(".")
    if section not in _SECTIONS:
        raise InputError("explanation", path, "the key of a result")
    return _SECTIONS[section](results, name)


def _coil(results: Results, name: str) -> Keys:
    words, _, unit = name.rpartition("_")
    value = "coupling" if name == "loop_coupling" else words if unit in _UNITS else name
    if results.coil.origin(value) is not Origin.COMPUTED:
        return _ENTERED
    return _GEOMETRY[value](results)


_UNITS: Final = ("H", "F", "Hz", "V")


_CONDUCTORS: Final[Mapping[str, str]] = MappingProxyType(
    {"wire": "kelvin", "tube": "schelkunoff", "strip": "rosa-grover"}
)
"""What the inside of the primary's conductor stands on."""


def _primary(results: Results) -> Keys:
    part = results.design.coil.geometry.primary
    sheet: Keys = ("lorenz-nagaoka", "rosa") if part.shape == "helical" else ("maxwell",)
    return (*sheet, _CONDUCTORS[part.conductor.kind])


def _secondary(results: Results) -> Keys:
    load = results.design.coil.geometry.top_load.kind
    body = ("smythe", "snow") if load == "toroid" else ()
    return ("lorenz-nagaoka", "rosa", "iec-60317", *_OWN, *body)


def _copper(results: Results) -> Keys:
    return ("kelvin", "rayleigh-butterworth", "iec-60028", *_secondary(results))


def _coupled(results: Results) -> Keys:
    return ("maxwell", *_secondary(results))


def _breakout(results: Results) -> Keys:
    point, constants = breakout_point(results.design.coil.geometry), results.coil.constants
    # Without constants the value was copied from the geometry when the coil was switched over.
    tip = point is not None and (
        constants is None or constants.breakout_voltage < constants.smooth_breakout_voltage
    )
    return ("peek", *(("edgcombe-valdre",) if tip else ()), *_secondary(results))


_GEOMETRY: Final[Mapping[str, Callable[[Results], Keys]]] = MappingProxyType(
    {
        "primary_inductance": _primary,
        "secondary_inductance": _secondary,
        "secondary_capacitance": _secondary,
        "resonance": _secondary,
        "coupling": _coupled,
        "mutual_inductance": _coupled,
        "quality_factor": _copper,
        "breakout_voltage": _breakout,
    }
)


def _carrier(results: Results, name: str) -> Keys:
    if name != "driver_delay_s":
        return (*_OWN, *_device(results, name))
    feed = results.carrier.circuit.feed
    minds = isinstance(feed, GatedFeed) and feed.slew_counts
    return (*_ENTERED, *(("sakurai-newton",) if minds else ()))


def _device(results: Results, name: str) -> Keys:
    return _LAWS[results.design.device.capacitance_law]


def _burst(results: Results, name: str) -> Keys:
    timed = results.design.interrupter.given_by == "parts"
    if name in ("duty", "frequency_Hz", "on_time_s"):
        return ("slfs022", *_OWN) if timed else _ENTERED
    return _TABLE


def _rating(results: Results, name: str) -> Keys:
    return _RATINGS.get(name, _RATED)


_SECTIONS: Final[Mapping[str, Callable[[Results, str], Keys]]] = MappingProxyType(
    {
        "coil": _coil,
        "carrier": _carrier,
        "device": _device,
        "burst": _burst,
        "thermal": lambda results, name: _HEAT,
        "limits": _rating,
    }
)
