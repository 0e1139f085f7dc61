"""Assumptions behind the figures, in words with the numbers of the design."""

from __future__ import annotations

from core.evaluate.results import Results
from core.stage.carrier import RESIDUAL_LIMIT
from core.units import percent, shown


def assumptions(results: Results) -> tuple[str, ...]:
    """What the figures of a design rest on, the general first."""
    design, run = results.design, results.carrier
    coil = results.coil
    said = [
        "The coil is two coupled inductors with a capacitance at the top; the winding's "
        "distributed mode is put into these values.",
        "The transistor is piecewise linear: channel, body diode, avalanche and constant "
        "capacitances; real capacitances fall with voltage.",
        "Leads, ground and layout are ideal apart from what the design names.",
        f"The supply is stiff over one carrier cycle; over a burst it sags through "
        f"{shown(design.supply.source_resistance, 'Ω')} and the bulk capacitor.",
        f"Breakout is a conductance beyond {shown(coil.breakout_voltage, 'V')} with a slope of "
        f"{shown(design.coil.breakout_resistance, 'Ω')}; streamers also add capacitance, which is "
        "left out.",
        f"Ambient {shown(design.cooling.ambient, '°C')}, still dry air; the heat sink's "
        "resistance is constant.",
        f"Energy supplied and lost agree to {run.residual:.1e} (limit {RESIDUAL_LIMIT:g}).",
    ]
    if design.coil.given_by == "geometry":
        said.append(
            "Coil values come from the geometry; dielectric loss of the former, leads and walls "
            "are left out, so a real quality factor is lower."
        )
    said += [
        f"Measured {item.name.replace('_', ' ')} of {shown(item.measured, item.unit)} is beside a "
        f"computed {shown(item.computed, item.unit)} "
        f"({percent(item.difference, decimals=1, signed=True)})."
        for item in coil.comparisons
    ]
    if run.step_error:
        moved = percent(run.step_error, decimals=2)
        said.append(f"Halving the solver's step moves the input power by {moved}.")
    return tuple(said)
