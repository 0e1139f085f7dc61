"""Timer parts from the builder's drawer, and what a set costs where prices are given."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from burstwise.core.drawer import Drawer
from burstwise.core.errors import InputError
from burstwise.core.interrupter.report import sets_report
from burstwise.core.interrupter.sets import Part, TimerSet, TimerSets, TimerWish
from burstwise.core.interrupter.stock import KINDS, CapacitorKind

_FAMILIES = {f"{kind} capacitor": names for kind, names in KINDS.items()}
"""Kinds of capacitor of a wish by kind in the drawer."""


def from_drawer(wish: TimerWish, drawer: Drawer) -> TimerWish:
    """Wish that takes its resistors, potentiometers and capacitors from a drawer.

    Raises
    ------
    InputError
        The drawer has no resistor, no potentiometer where a knob is wanted, or no capacitor of a
        kind that the wish allows.
    """
    resistors = drawer.values("resistor")
    if not resistors:
        raise InputError("drawer", "no resistor", "one or more lines of the kind resistor")
    tracks = drawer.values("potentiometer")
    knob = not wish.fixed_duty or wish.frequency_high is not None
    if knob and not tracks:
        raise InputError("drawer", "no potentiometer", "one or more, as a knob is wanted")
    capacitors = tuple(kind for kind in _listed(wish, drawer) if kind.listed)
    if not capacitors:
        raise InputError("drawer", "no capacitor", f"one or more of {', '.join(_FAMILIES)}")
    pots = wish.potentiometers
    return replace(
        wish,
        resistors=replace(wish.resistors, listed=resistors),
        potentiometers=replace(pots, values=tracks) if tracks else pots,
        capacitors=capacitors,
    )


def _listed(wish: TimerWish, drawer: Drawer) -> list[CapacitorKind]:
    """The wish's kinds of capacitor with the drawer's values, each family once."""
    found = []
    for name, family in _FAMILIES.items():
        kind = next((one for one in wish.capacitors if one.name in family), None)
        values = drawer.values(name)
        if kind is not None and values:
            found.append(replace(kind, low=values[0], high=values[-1], listed=values))
    return found


def cost_of(one: TimerSet, drawer: Drawer) -> float | None:
    """What the parts of a set cost, in the builder's own money; None where a price is missing."""
    prices = [_price(part, drawer) for part in one.parts]
    known = [price for price in prices if price is not None]
    return sum(known) if known and len(known) == len(prices) else None


def priced_report(answer: TimerSets, drawer: Drawer) -> dict[str, Any]:
    """`sets_report` with the cost of each set; None where a price is missing."""
    report = sets_report(answer)
    for one, told in zip(answer.sets, report["sets"], strict=True):
        told["cost"] = cost_of(one, drawer)
    return report


def _price(part: Part, drawer: Drawer) -> float | None:
    if part.unit != "F":
        kind = "potentiometer" if part.kind == "potentiometer" else "resistor"
        return drawer.price(kind, part.value)
    prices = [drawer.price(name, part.value) for name in _FAMILIES]
    return min((price for price in prices if price is not None), default=None)
