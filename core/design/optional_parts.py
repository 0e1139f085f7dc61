"""Whole parts that a design can do without or take in another kind, each as a small change."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from burstwise.core.design.document import Design, field_info, value_at
from burstwise.core.design.drive import DrainClamp, Protection, ReservoirClamp, Snubber, Trip
from burstwise.core.design.fields import Section
from burstwise.core.design.interrupter import BufferStage, IndicatorLamp
from burstwise.core.design.supply import LowVoltageSupply

OPTIONAL_PARTS: Final[Mapping[str, Section]] = MappingProxyType(
    {
        "protection.drain_clamp": DrainClamp(),
        "protection.snubber": Snubber(),
        "protection.reservoir_clamp": ReservoirClamp(),
        "protection.trip": Trip(),
        "interrupter.chain.buffer": BufferStage(),
        "interrupter.chain.indicator": IndicatorLamp(),
        "supply.low_voltage": LowVoltageSupply(),
    }
)
"""Parts with their usual values, by the path that is None where the part is not fitted."""
FLAGS: Final = {
    "drive.direct.clamp_fitted": "gate clamp",
    "supply.bulk_fitted": "bulk capacitor",
    "coil.geometry.top_load.point_fitted": "breakout point",
}
"""Parts whose values stay in the design while they are not fitted, by their yes-or-no field."""
_FUSE: Final = "protection.fuse_rating"
_KINDS: Final = {"direct": "direct drive", "gated": "gate driver"}


@dataclass(frozen=True, slots=True)
class PartChange:
    """One part fitted, left out or exchanged.

    Attributes
    ----------
    name : str
        In words, e.g. ``"without drain snubber"``.
    path : str
        Dotted path of the part.
    value : object
        What to put there: the mapping of a part's fields, None to leave it out, or a kind.
    """

    name: str
    path: str
    value: Any


def part_changes(design: Design) -> tuple[PartChange, ...]:
    """Changes by one whole part that a design allows: out what is fitted, in what is not.

    A part comes with its usual values.

    Parameters
    ----------
    design : Design
        The design.
    """
    other = "direct" if design.drive.kind == "gated" else "gated"
    found = [PartChange(f"with {_KINDS[other]}", "drive.kind", other)]
    found += [_change(design, path) for path in OPTIONAL_PARTS]
    for path, words in FLAGS.items():
        if _has_a_say(design, path):
            fitted = bool(value_at(design, path))
            found.append(PartChange(f"{'without' if fitted else 'with'} {words}", path, not fitted))
    if design.protection.fuse_rating is None:
        found.append(PartChange("with fuse", _FUSE, Protection().fuse_rating))
    else:
        found.append(PartChange("without fuse", _FUSE, None))
    return tuple(found)


def _has_a_say(design: Design, path: str) -> bool:
    """Whether a flag counts in the design."""
    if path.startswith("drive.direct."):
        return design.drive.kind == "direct"
    return design.coil.given_by == "geometry" or not path.startswith("coil.geometry.")


def _change(design: Design, path: str) -> PartChange:
    title = str(field_info(path)["title"])
    words = title[0].lower() + title[1:]
    if value_at(design, path) is not None:
        return PartChange(f"without {words}", path, None)
    return PartChange(f"with {words}", path, OPTIONAL_PARTS[path].model_dump(mode="json"))
