"""What of a design may sensibly move, with ranges around where it stands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from burstwise.core.design.device import Device
from burstwise.core.design.document import Design, field_info, value_at
from burstwise.core.drawer import Drawer
from burstwise.core.interrupter.resolve import DUTY, duty_reach
from burstwise.core.search.from_drawer import at_hand
from burstwise.core.search.space import WHOLE_UNITS, Free
from burstwise.core.series import series_values

WIRES: Final = (
    0.1e-3, 0.112e-3, 0.125e-3, 0.14e-3, 0.16e-3, 0.18e-3, 0.2e-3, 0.224e-3,
    0.25e-3, 0.28e-3, 0.315e-3, 0.355e-3, 0.4e-3, 0.45e-3, 0.5e-3,
)  # fmt: skip
"""Diameters of winding wire that are sold [m]; series R 20 of ISO 3, from memory."""


class Reach(StrEnum):
    """How much of a coil still can be changed."""

    DRIVE = "supply and duty"
    PRIMARY = "primary, supply and duty"
    WOUND = "all that a wound coil leaves"
    ALL = "everything"


_ORDER: Final = tuple(Reach)


@dataclass(frozen=True, slots=True)
class Movable:
    """A field that may move, and the smallest reach that has it."""

    free: Free
    reach: Reach

    def within(self, reach: Reach) -> bool:
        """Whether a reach includes it."""
        return _ORDER.index(self.reach) <= _ORDER.index(reach)


def movable(
    design: Design,
    *,
    classes: Mapping[str, Device] | None = None,
    drawer: Drawer | None = None,
) -> tuple[Movable, ...]:
    """Fields that this design uses and that may move, with proposed ranges.

    Parameters
    ----------
    design : Design
        The design.
    classes : mapping, optional
        Device classes by name, for another device.
    drawer : Drawer, optional
        Parts at hand: a field that it has some for takes no others.

    Raises
    ------
    InputError
        A drawer with more parts for a field than a search takes, or with an unknown device class.
    """
    found = tuple(_movable(design, classes or {}))
    if drawer is None:
        return found
    return tuple(replace(item, free=at_hand(design, item.free, drawer)) for item in found)


def _movable(design: Design, classes: Mapping[str, Device]) -> Iterator[Movable]:
    yield Movable(_around(design, "supply.voltage", 0.3, 1.8), Reach.DRIVE)
    if design.interrupter.enabled:
        least, most = duty_reach(design)
        if max(least, 0.01) < min(most, 0.6):
            yield Movable(Free(DUTY, max(least, 0.01), min(most, 0.6)), Reach.DRIVE)
        if design.interrupter.given_by == "numbers":
            yield Movable(_around(design, "interrupter.frequency", 0.3, 3.0), Reach.DRIVE)
    if design.coil.given_by == "geometry":
        yield Movable(_whole(design, "coil.geometry.primary.turns", 0.5, 1.8), Reach.PRIMARY)
        height = design.coil.geometry.primary.start_height
        yield Movable(
            Free("coil.geometry.primary.start_height", height - 0.02, height + 0.05),
            Reach.PRIMARY,
        )
        yield Movable(
            _around(design, "coil.geometry.primary.inner_radius", 1.0, 1.6), Reach.PRIMARY
        )
        if design.coil.geometry.top_load.kind != "none":
            yield Movable(_around(design, "coil.geometry.top_load.diameter", 0.6, 2.0), Reach.WOUND)
    yield from _drive(design)
    if len(classes) > 1:
        yield Movable(Free("device", choices=tuple(classes.values())), Reach.WOUND)
    if design.coil.given_by == "geometry":
        if design.coil.geometry.secondary.turns is not None:
            yield Movable(_whole(design, "coil.geometry.secondary.turns", 0.6, 1.6), Reach.ALL)
        yield Movable(Free("coil.geometry.secondary.wire_diameter", choices=WIRES), Reach.ALL)
        yield Movable(
            _around(design, "coil.geometry.secondary.former_diameter", 0.6, 1.6), Reach.ALL
        )


def _drive(design: Design) -> Iterator[Movable]:
    if design.drive.kind == "gated":
        yield Movable(_bought(design, "drive.gated.gate_resistor", 5.0), Reach.WOUND)
    if design.protection.snubber is not None:
        yield Movable(_bought(design, "protection.snubber.resistance", 3.0), Reach.WOUND)
        yield Movable(_bought(design, "protection.snubber.capacitance", 3.0), Reach.WOUND)


def _around(design: Design, path: str, low: float, high: float) -> Free:
    """Range from a part to a multiple of the present value, within the field's limits."""
    info = field_info(path)
    value = float(value_at(design, path))
    return Free(
        path,
        max(float(f"{low * value:.3g}"), float(info.get("low", 0.0))),
        min(float(f"{high * value:.3g}"), float(info.get("high", 1e12))),
        whole=str(info.get("unit")) in WHOLE_UNITS,
    )


def _whole(design: Design, path: str, low: float, high: float) -> Free:
    found = _around(design, path, low, high)
    return Free(path, max(float(round(found.low)), 1.0), float(round(found.high)), whole=True)


def _bought(design: Design, path: str, high: float) -> Free:
    """Values of the E12 series around the present one."""
    value = float(value_at(design, path))
    return Free(
        path, choices=tuple(float(x) for x in series_values("E12", 0.3 * value, high * value))
    )
