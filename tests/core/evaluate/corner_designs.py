"""Designs around the examples, and each corner of them written down with a design's own fields."""

from __future__ import annotations

import math
import random

from builds_by_hand import given_by_values

from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.corners import AS_DESIGNED, LOADED_TOP, NO_DISCHARGE, SUPPLY_HIGH
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.rating import Limit

RUNNING = (SUPPLY_HIGH, NO_DISCHARGE, LOADED_TOP)


def measured(design: Design, **values: float) -> Design:
    """The same coil by its electrical values, some of them changed by hand."""
    entered = given_by_values(evaluate(design, verify=False))
    return with_values(entered, {f"coil.measured.{name}": x for name, x in values.items()})


def by_hand(design: Design, name: str) -> Design:
    """Design of a corner of a measured coil."""
    volts = design.supply.voltage * (1.0 + design.supply.tolerance)
    coil = design.coil.measured
    values: dict[str, object] = {"supply.voltage": volts}
    if name == NO_DISCHARGE:
        values["coil.measured.breakout_voltage"] = 3e6
    if name == LOADED_TOP:
        # 5 % more capacitance and half as much loss again: w0 L2 / R2 falls by 1.5 sqrt(1.05).
        values["coil.measured.secondary_capacitance"] = 1.05 * coil.secondary_capacitance
        values["coil.measured.quality_factor"] = coil.quality_factor / 1.5 / math.sqrt(1.05)
    return with_values(design, values)


def brute_force(design: Design) -> dict[str, dict[str, Limit]]:
    """Limits by rating in every corner, each from a whole evaluation with a table of its own."""
    found = {AS_DESIGNED: evaluate(design, verify=False)}
    found |= {name: evaluate(by_hand(design, name), verify=False) for name in RUNNING}
    return {
        name: {item.rating: item for item in results.limits_as_designed}
        for name, results in found.items()
    }


def worst_by_force(forced: dict[str, dict[str, Limit]], rating: str) -> tuple[str, float]:
    """Corner with the smallest margin of a rating, and that margin [1]."""
    margins = {name: rows[rating].margin for name, rows in forced.items() if rating in rows}
    name = min(margins, key=lambda one: margins[one])
    return name, margins[name]


def smallest(results: Results) -> Limit:
    """Smallest margin of the corners in which the stage runs."""
    return next(item for item in results.limits if not item.rating.startswith("lost_loop"))


def scattered(base: Design, seed: int) -> Design:
    """A measured design around another one: coil, supply, duty and protection scatter."""
    draw = random.Random(seed)
    coil, protection = base.coil.measured, base.protection

    def about(value: float, spread: float) -> float:
        return value * math.exp(draw.uniform(-spread, spread))

    values: dict[str, object] = {
        f"coil.measured.{name}": about(getattr(coil, name), spread)
        for name, spread in (
            ("primary_inductance", 0.2), ("secondary_capacitance", 0.15),
            ("quality_factor", 0.4), ("coupling", 0.25), ("breakout_voltage", 0.6),
        )
    }  # fmt: skip
    values["supply.voltage"] = about(base.supply.voltage, 0.4)
    values["supply.tolerance"] = draw.choice((0.02, 0.05, 0.1))
    values["interrupter.duty"] = draw.uniform(0.05, 0.6)
    if protection.snubber is not None:
        values["protection.snubber.capacitance"] = about(protection.snubber.capacitance, 0.7)
    if protection.drain_clamp is not None:
        values["protection.drain_clamp.voltage"] = about(protection.drain_clamp.voltage, 0.15)
    return with_values(base, values)
