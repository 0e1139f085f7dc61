"""Timer parts from the builder's drawer, and what a set costs where prices are given."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from burstwise.core.design.timer_wish import TimerWish
from burstwise.core.drawer import Drawer
from burstwise.core.errors import InputError
from burstwise.core.interrupter.report import sets_report
from burstwise.core.interrupter.sets import Part, TimerSet, TimerSets
from burstwise.core.interrupter.stock import CAPACITORS, Stock, stock_of


def from_drawer(wish: TimerWish, drawer: Drawer) -> Stock:
    """Stock of a wish that takes resistors, potentiometers and capacitors from a drawer only.

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
    capacitors = tuple(
        replace(CAPACITORS[kind][0], low=values[0], high=values[-1], listed=values)
        for kind in wish.capacitors
        if (values := drawer.values(_drawer_kind(kind)))
    )
    if not capacitors:
        kinds = ", ".join(map(_drawer_kind, wish.capacitors))
        raise InputError("drawer", "no capacitor", f"one or more of {kinds}")
    stock = stock_of(wish)
    return replace(
        stock,
        resistors=replace(stock.resistors, listed=resistors),
        potentiometers=replace(stock.potentiometers, values=tracks or wish.potentiometers),
        capacitors=capacitors,
    )


def _drawer_kind(kind: str) -> str:
    """Kind in the drawer of a kind of capacitor."""
    return f"{kind} capacitor"


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
    prices = [drawer.price(_drawer_kind(kind), part.value) for kind in CAPACITORS]
    return min((price for price in prices if price is not None), default=None)
