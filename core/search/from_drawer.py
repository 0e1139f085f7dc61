"""Free fields whose values lie in the builder's drawer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from burstwise.core.design.document import Design, value_at, with_values
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


def free_from_drawer(design: Design, path: str, drawer: Drawer) -> Free:
    r"""Field that may take any fitting part of a drawer.

    Raises
    ------
    InputError
        A field that takes no part, no such part in the drawer or too many, a part that the field
        does not take, or a device of no known class.

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
    listed = _devices(drawer) if kinds == (DEVICE,) else drawer.values(*kinds)
    if not 1 <= len(listed) <= MOST_CHOICES:
        limit = f"1 to {MOST_CHOICES} in the drawer"
        raise InputError(f"--free {path}", f"{len(listed)} of the kind {kinds[0]}", limit)
    chosen = tuple(value_at(with_values(design, {path: value}), path) for value in listed)
    return Free(path, choices=chosen)


def _devices(drawer: Drawer) -> tuple[Any, ...]:
    known = devices_by_name()
    for name in drawer.names(DEVICE):
        if name not in known:
            raise InputError("drawer, device", name, f"one of {', '.join(known)}")
    return tuple(known[name] for name in drawer.names(DEVICE))
