"""Free fields whose values lie in the builder's drawer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from burstwise.core.design.document import Design, field_info, value_at, with_values
from burstwise.core.drawer import DEVICE, Drawer
from burstwise.core.errors import InputError
from burstwise.core.limits.device_classes import devices_by_name
from burstwise.core.search.space import MOST_CHOICES, Free

_CAPACITORS: Final = ("film capacitor", "c0g capacitor", "x7r capacitor")
FIELDS: Final[Mapping[str, tuple[str, ...]]] = {
    "coil.geometry.secondary.wire_diameter": ("wire",),
    "coil.geometry.secondary.former_diameter": ("tube",),
    "coil.geometry.top_load.diameter": ("top load",),
    "drive.gated.gate_resistor": ("resistor",),
    "protection.snubber.resistance": ("resistor",),
    "protection.snubber.capacitance": _CAPACITORS,
    "device": (DEVICE,),
}
"""Fields that may take a part from the drawer, with its kinds there."""
_ASSORTED: Final = frozenset({"resistor", *_CAPACITORS})
"""Kinds that lie in a drawer over many decades, of which a field wants a few."""


def free_from_drawer(design: Design, path: str, drawer: Drawer) -> Free:
    r"""Field that may take any fitting part of a drawer.

    Raises
    ------
    InputError
        A field that takes no part, no such part in the drawer within the field's limits, too many,
        or a device of no known class.

    Examples
    --------
    >>> from burstwise.core.design.document import design_from
    >>> from burstwise.core.drawer import drawer_from_text
    >>> drawer = drawer_from_text("kind,value,name,price\nwire,0.2mm,,\nwire,0.3mm,,\n")
    >>> design = design_from({"coil": {"given_by": "geometry"}})
    >>> free_from_drawer(design, "coil.geometry.secondary.wire_diameter", drawer).choices
    (0.0002, 0.0003)
    """
    kinds = FIELDS.get(path)
    if kinds is None:
        raise InputError(f"--free {path}", "drawer", f"one of {', '.join(FIELDS)}")
    listed = _devices(drawer) if kinds == (DEVICE,) else _fitting(path, kinds, drawer)
    if not 1 <= len(listed) <= MOST_CHOICES:
        limit = f"1 to {MOST_CHOICES} in the drawer"
        raise InputError(f"--free {path}", f"{len(listed)} of the kind {kinds[0]}", limit)
    chosen = tuple(value_at(with_values(design, {path: value}), path) for value in listed)
    return Free(path, choices=chosen)


def at_hand(design: Design, proposed: Free, drawer: Drawer) -> Free:
    """A proposed field with the drawer's parts for its values, where it has some.

    Of resistors and capacitors those within the proposed range count, unless none lies there.

    Raises
    ------
    InputError
        Too many parts, or a device of no known class.
    """
    kinds = FIELDS.get(proposed.path)
    if kinds is None or not any(part.kind in kinds for part in drawer.parts):
        return proposed
    if kinds != (DEVICE,) and not _fitting(proposed.path, kinds, drawer):
        return proposed
    listed = free_from_drawer(design, proposed.path, drawer)
    if _ASSORTED.isdisjoint(kinds) or not proposed.choices:
        return listed
    low, high = min(proposed.choices), max(proposed.choices)
    near = tuple(value for value in listed.choices if low <= value <= high)
    return replace(listed, choices=near or listed.choices)


def _fitting(path: str, kinds: tuple[str, ...], drawer: Drawer) -> tuple[float, ...]:
    """Values of some kinds within a field's limits."""
    info = field_info(path)
    low, high = float(info["low"]), float(info["high"])
    return tuple(value for value in drawer.values(*kinds) if low <= value <= high)


def _devices(drawer: Drawer) -> tuple[Any, ...]:
    known = devices_by_name()
    for name in drawer.names(DEVICE):
        if name not in known:
            raise InputError("drawer, device", name, f"one of {', '.join(known)}")
    return tuple(known[name] for name in drawer.names(DEVICE))
