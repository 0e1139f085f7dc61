"""Remedies that choose their part from the builder's drawer."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Final

from burstwise.core.design.device import Device
from burstwise.core.design.document import Design, field_info
from burstwise.core.drawer import DEVICE, Drawer
from burstwise.core.studies.remedy_kinds import Edits, Kind, other_device
from burstwise.core.units import shown

_CAPACITORS: Final = ("film capacitor", "c0g capacitor")
"""Kinds that stand the pulses of a snubber; X7R loses its capacitance with the voltage."""
_SNUBBER: Final = 47.0
"""Resistance of a snubber where none is fitted [ohm]."""
_SNUBBER_MOST: Final = 8.0
"""Largest capacitance of a snubber over the device's own."""
_GATE: Final = (0.25, 6.0)
"""Range of another gate resistor over the present one."""
_TOP: Final = 2.0
"""Largest top load over the present one."""


def at_hand(
    kinds: tuple[Kind, ...], drawer: Drawer, classes: Mapping[str, Device]
) -> tuple[Kind, ...]:
    """Kinds of remedy with the drawer's parts for those that it lists.

    A kind whose parts are not listed at all stays as it is: nobody has said what lies there.

    Parameters
    ----------
    kinds : tuple of Kind
        Kinds of remedy.
    drawer : Drawer
        Parts at hand. What they stand is not known, so the words of a remedy ask for it.
    classes : mapping
        Device classes by name.
    """
    made: dict[str, Callable[[Design], Iterator[tuple[str, Edits]]]] = {}
    if drawer.values("resistor"):
        made["gate_resistor"] = lambda design: _gate_resistor(design, drawer)
        if drawer.values(*_CAPACITORS):
            made["snubber"] = lambda design: _snubber(design, drawer)
    if drawer.values("top load"):
        made["top_load"] = lambda design: _top_load(design, drawer)
    if drawer.names(DEVICE):
        listed = {name: classes[name] for name in drawer.names(DEVICE) if name in classes}
        made["device"] = other_device(listed).edits
    return tuple(replace(kind, edits=made.get(kind.name, kind.edits)) for kind in kinds)


def _gate_resistor(design: Design, drawer: Drawer) -> Iterator[tuple[str, Edits]]:
    """Larger ones from the present on, then smaller ones."""
    path = "drive.gated.gate_resistor"
    now = design.drive.gated.gate_resistor
    if design.drive.kind != "gated" or now <= 0:
        return
    most = min(_GATE[1] * now, float(field_info(path)["high"]))
    values = [value for value in drawer.values("resistor") if _GATE[0] * now <= value <= most]
    larger = [value for value in values if value > now]
    smaller = [value for value in reversed(values) if value < now]
    for value in (*larger, *smaller):
        text = f"Gate resistor {shown(now, 'Ω')} → {shown(value, 'Ω')} from the drawer"
        yield text, {path: value}


def _snubber(design: Design, drawer: Drawer) -> Iterator[tuple[str, Edits]]:
    """Rising capacitances up to a multiple of the device's own, with the nearest resistor."""
    part, own = design.protection.snubber, design.device.output_capacitance
    wanted = _SNUBBER if part is None else part.resistance
    low, high = (float(field_info("protection.snubber.resistance")[end]) for end in ("low", "high"))
    near = [value for value in drawer.values("resistor") if low <= value <= high]
    if not near:
        return
    resistance = min(near, key=lambda value: abs(math.log(value / wanted)))
    least = 0.5 * own if part is None else part.capacitance
    for capacitance in drawer.values(*_CAPACITORS):
        if not least < capacitance <= _SNUBBER_MOST * own:
            continue
        yield (
            f"Snubber {shown(resistance, 'Ω')} + {shown(capacitance, 'F')} from the drawer, drain "
            "to source, if they stand its voltage and heat",
            {"protection.snubber": {"resistance": resistance, "capacitance": capacitance}},
        )


def _top_load(design: Design, drawer: Drawer) -> Iterator[tuple[str, Edits]]:
    part = design.coil.geometry.top_load
    if design.coil.given_by != "geometry" or part.kind == "none":
        return
    for diameter in drawer.values("top load"):
        if part.diameter < diameter <= _TOP * part.diameter:
            yield (
                f"Top load of {shown(part.diameter, 'm')} → {shown(diameter, 'm')} from the drawer",
                {"coil.geometry.top_load.diameter": diameter},
            )
