"""Explanations of the coil's values."""

from __future__ import annotations

from burstwise.core.coil.breakout import post_field_ratio
from burstwise.core.coil.coil_values import Origin
from burstwise.core.coil.resolve import breakout_point
from burstwise.core.evaluate.results import Results
from burstwise.core.explain.build import Explainer, Reason
from burstwise.core.explain.explanation import Term

_LUMPED = "Definition of the lumped resonator."
_PRIMARY = {
    True: "current sheet with Rosa's correction for separate turns",
    False: "Maxwell's coaxial loops, summed over turns",
}
_MODE = "Holds at the lowest mode; the winding's own distribution is in the values."


def _origin(results: Results, name: str, from_geometry: str) -> str:
    origin = results.coil.origin(name)
    if origin is Origin.FITTED:
        return "fitted to bench readings by the calibration in use"
    return from_geometry if origin is Origin.COMPUTED else "measured, as entered in the design"


def _primary_inductance(results: Results) -> Reason:
    coil = results.coil
    geometry = results.design.coil.geometry.primary
    turns = (geometry.tap or geometry.turns) if coil.constants is not None else 1.0
    terms = (
        Term("N", "turns in use", turns, ""),
        Term("L_t", "mean inductance per pair of turns", coil.primary_inductance / turns**2, "H"),
    )
    return Reason(
        "N**2*L_t", terms,
        words="Each pair of turns adds its mutual inductance; a turn with itself adds its own.",
        source=_origin(results, "primary_inductance", _PRIMARY[geometry.shape == "helical"]),
        validity="Round turns, thin conductor against the radius; leads have a field of their own.",
    )  # fmt: skip


def _secondary_inductance(results: Results) -> Reason:
    coil = results.coil
    return Reason(
        "1/((2*pi*f_0)**2*C_2)",
        (
            Term("f_0", "resonance", coil.resonance, "Hz"),
            Term("C_2", "secondary capacitance", coil.secondary_capacitance, "F"),
        ),
        words="The lumped inductance that resonates at the winding's lowest mode with the "
        "capacitance that holds the top voltage.",
        source=_origin(results, "secondary_inductance", "distributed resonator, lowest mode"),
        validity=_MODE,
    )  # fmt: skip


def _secondary_capacitance(results: Results) -> Reason:
    coil = results.coil
    return Reason(
        "1/((2*pi*f_0)**2*L_2)",
        (
            Term("f_0", "resonance", coil.resonance, "Hz"),
            Term("L_2", "secondary inductance", coil.secondary_inductance, "H"),
        ),
        words="Holds as much energy at the top voltage as the whole winding with its top load.",
        source=_origin(results, "secondary_capacitance", "distributed resonator, lowest mode"),
        validity=_MODE,
    )  # fmt: skip


def _mutual(results: Results) -> Reason:
    coil = results.coil
    return Reason(
        "k*sqrt(L_1*L_2)",
        (
            Term("k", "coupling", coil.coupling, ""),
            Term("L_1", "primary inductance", coil.primary_inductance, "H"),
            Term("L_2", "secondary inductance", coil.secondary_inductance, "H"),
        ),
        source="Definition of the coupling coefficient.", validity="Always.",
    )  # fmt: skip


def _coupling(results: Results) -> Reason:
    coil = results.coil
    return Reason(
        "M/sqrt(L_1*L_2)",
        (
            Term("M", "mutual inductance", coil.mutual_inductance, "H"),
            Term("L_1", "primary inductance", coil.primary_inductance, "H"),
            Term("L_2", "secondary inductance", coil.secondary_inductance, "H"),
        ),
        words="Set by where the primary sits: lower and wider couples less.",
        source=_origin(results, "coupling", "loop sums of all turn pairs, weighted by the mode"),
        validity="Coaxial windings.",
    )  # fmt: skip


def _loop_coupling(results: Results) -> Reason:
    coil = results.carrier.circuit.coil
    return Reason(
        "k*sqrt(L_1/(L_1 + L_x))",
        (
            Term("k", "coupling of the windings", coil.coupling, ""),
            Term("L_1", "primary inductance", coil.primary_inductance, "H"),
            Term("L_x", "inductance of the primary's leads", coil.lead_inductance, "H"),
        ),
        words="The leads carry the primary's current and enclose none of the secondary's flux: "
        "they add to the inductance and not to the mutual one.",
        source="Definition of the coupling coefficient, inductances in series.",
        validity="Leads away from the secondary; twist them or run them side by side.",
    )  # fmt: skip


def _resonance(results: Results) -> Reason:
    coil = results.coil
    return Reason(
        "1/(2*pi*sqrt(L_2*C_2))",
        (
            Term("L_2", "secondary inductance", coil.secondary_inductance, "H"),
            Term("C_2", "secondary capacitance", coil.secondary_capacitance, "F"),
        ),
        source=_LUMPED, validity=_MODE,
    )  # fmt: skip


def _quality(results: Results) -> Reason:
    coil = results.coil
    return Reason(
        "2*pi*f_0*L_2/R_2",
        (
            Term("f_0", "resonance", coil.resonance, "Hz"),
            Term("L_2", "secondary inductance", coil.secondary_inductance, "H"),
            Term("R_2", "secondary resistance at the carrier", coil.secondary_resistance, "Ω"),
        ),
        source=_LUMPED, validity="Without breakout; former and leads make a real coil's lower.",
    )  # fmt: skip


def _breakout(results: Results) -> Reason:
    coil, constants = results.coil, results.coil.constants
    if constants is None or coil.breakout_voltage != constants.breakout_voltage:
        return Reason(
            "V_b",
            (Term("V_b", "breakout as entered", coil.breakout_voltage, "V"),),
            words="Entered in the design, for a breakout point or from a measurement.",
            source="measured, as entered in the design", validity="For that air and top load.",
        )  # fmt: skip
    field = constants.surface_field
    point = breakout_point(results.design.coil.geometry)
    if point is not None and constants.breakout_voltage < constants.smooth_breakout_voltage:
        ratio = post_field_ratio(point.height / point.tip_radius)
        onset = coil.breakout_voltage * ratio / (1.0 / field + point.height)
        return Reason(
            "E_c*(1/F+h)/g",
            (
                Term("E_c", "field at the tip at which corona starts", onset, "V/m"),
                Term("F", "largest field on the top load per volt", field, ""),
                Term("h", "height of the breakout point", point.height, "m"),
                Term("g", "field at the tip over that along the point", ratio, ""),
            ),
            source="Peek's law for a sphere of the tip's radius; rod with a round end on a plane, "
            "Edgcombe and Valdre (2001 to 2002), both from memory.",
            validity="±30 %; a discharge to be seen needs some more than the onset of corona.",
        )  # fmt: skip
    return Reason(
        "E_c/F",
        (
            Term("E_c", "field at which corona starts", coil.breakout_voltage * field, "V/m"),
            Term("F", "largest field on the top load per volt", field, ""),
        ),
        source="Peek's law for the onset field; surface field from the charges of the resonator.",
        validity="Smooth, dry top load; dust and points lower it a lot.",
    )  # fmt: skip


COIL_NUMBERS: tuple[tuple[str, Explainer], ...] = (
    ("coil.primary_inductance_H", _primary_inductance),
    ("coil.secondary_inductance_H", _secondary_inductance),
    ("coil.secondary_capacitance_F", _secondary_capacitance),
    ("coil.mutual_inductance_H", _mutual),
    ("coil.coupling", _coupling),
    ("coil.loop_coupling", _loop_coupling),
    ("coil.resonance_Hz", _resonance),
    ("coil.quality_factor", _quality),
    ("coil.breakout_voltage_V", _breakout),
)
