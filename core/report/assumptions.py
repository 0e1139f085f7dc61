"""Assumptions behind the figures, in words with the numbers of the design."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from burstwise.core.coil.coil_values import CoilValue, Origin, copied_words
from burstwise.core.design.calibration import COIL_NAMES, DEVICE_NAMES, Calibration
from burstwise.core.design.document import Design, field_info
from burstwise.core.evaluate.results import Results
from burstwise.core.stage.carrier import RESIDUAL_LIMIT
from burstwise.core.units import percent, shown

_CAPACITANCES: Final = {
    "constant": "its capacitances are constant, where real ones fall with voltage",
    "junction": "its capacitances fall with voltage as those of a planar junction",
    "knee": "its capacitances fall with voltage by a knee, as those of a superjunction",
    "curve": "its capacitances fall with voltage along the curve entered",
}


def assumptions(results: Results) -> tuple[str, ...]:
    """What the figures of a design rest on, the general first."""
    design, run = results.design, results.carrier
    coil = results.coil
    said = [
        "The coil is two coupled inductors with a capacitance at the top; the winding's "
        "distributed mode is put into these values.",
        f"The transistor is piecewise linear: channel, body diode and avalanche; "
        f"{_CAPACITANCES[design.device.capacitance_law]}.",
        "Leads, ground and layout are ideal apart from what the design names.",
        f"The supply is stiff over one carrier cycle; over a burst it sags through "
        f"{shown(design.supply.source_resistance, 'Ω')}"
        f"{' and the bulk capacitor' if design.supply.bulk_fitted else ' alone'}.",
        f"Breakout is a conductance beyond {shown(coil.breakout_voltage, 'V')} with a slope of "
        f"{shown(design.coil.breakout_resistance, 'Ω')}; streamers also add capacitance, which is "
        "left out.",
        *_feedback_words(design),
        f"Ambient {shown(design.cooling.ambient, '°C')}, still dry air; the heat sink's "
        "resistance is constant.",
        f"Energy supplied and lost agree to {run.residual:.1e} (limit {RESIDUAL_LIMIT:g}).",
    ]
    if results.corners:
        told = "; ".join(item.corner.title for item in results.corners)
        said.append(f"Ratings are judged in the worst of these states besides the design: {told}.")
    if design.coil.given_by == "geometry":
        said.append(
            "Coil values come from the geometry; dielectric loss of the former, leads and walls "
            "are left out, so a real quality factor is lower."
        )
    else:
        copied = copied_words(coil.values)
        said += [_measured_words(coil.values), *([copied] if copied else [])]
    if design.calibration is not None and design.calibration.active:
        said.append(_calibration_words(design.calibration))
    said += [_entered_words(item) for item in coil.values if item.entered is not None]
    if run.step_error:
        moved = percent(run.step_error, decimals=2)
        said.append(f"Halving the solver's step moves the input power by {moved}.")
    return tuple(said)


def _feedback_words(design: Design) -> list[str]:
    """What is ideal about a current transformer or an antenna."""
    if not design.drive.past_input:
        return []
    if design.drive.gated.feedback == "antenna":
        return [
            "The antenna is one capacitance to the top, "
            f"{shown(design.drive.gated.antenna_capacitance, 'F')} as entered; its place decides "
            "whether that is so."
        ]
    return [
        "The current transformer has no leakage, its core does not saturate, and a capacitor holds "
        "its cold end still."
    ]


def _calibration_words(layer: Calibration) -> str:
    """What a fit put in the place of the design's own values."""
    values = []
    for name in (*COIL_NAMES, *DEVICE_NAMES):
        value = getattr(layer, name)
        if value is not None:
            info = field_info(f"calibration.{name}")
            values.append(f"{str(info['title']).lower()} {shown(value, str(info['unit']))}")
    found = f"Fitted to {layer.source}" if layer.source else "Fitted to bench readings"
    return f"{found}, in place of the design's own values: {'; '.join(values) or 'none'}."


def _measured_words(values: Iterable[CoilValue]) -> str:
    """Values of a coil that is given by what was entered as measured."""
    listed = "; ".join(
        f"{item.words} {shown(item.value, item.unit)}"
        for item in values
        if item.origin is Origin.MEASURED and not item.follows
    )
    return f"Coil values are taken as entered, as if measured on this coil: {listed or 'none'}."


def _entered_words(item: CoilValue) -> str:
    """A measured value beside the computed one."""
    assert item.measured is not None
    assert item.computed is not None
    assert item.entered is not None
    used = item.origin is Origin.MEASURED
    return (
        f"The {item.words} entered, {shown(item.measured, item.unit)}, is "
        f"{'used in place of' if used else 'kept beside'} the computed "
        f"{shown(item.computed, item.unit)} "
        f"({percent(item.entered, decimals=1, signed=True)})."
    )
