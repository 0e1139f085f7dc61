"""Explanations of the output capacitance at the drain's operating peak."""

from __future__ import annotations

from burstwise.core.evaluate.output_charge import OutputCharge, output_charge
from burstwise.core.evaluate.results import Results
from burstwise.core.explain.build import Explainer, Reason
from burstwise.core.explain.explanation import Term

_SOURCE = "Definition; integrals of the law of Coss from 0 V to the peak."
_VALIDITY = "The law in use of the design's device; Coss with the gate at its source."


def _peak(found: OutputCharge) -> Term:
    return Term("V_p", "drain's steady peak", found.voltage, "V")


def _charge(results: Results) -> Reason:
    found = output_charge(results)
    return Reason(
        "C_tr*V_p",
        (Term("C_tr", "Coss, time related", found.time_related, "F"), _peak(found)),
        words="What a current has to bring to lift the drain to its peak: it sets how long the "
        "drain takes to rise and fall.", source=_SOURCE, validity=_VALIDITY,
    )  # fmt: skip


def _energy(results: Results) -> Reason:
    found = output_charge(results)
    return Reason(
        "C_er*V_p**2/2",
        (Term("C_er", "Coss, energy related", found.energy_related, "F"), _peak(found)),
        words="What the primary has to give to lift the drain to its peak; lost as heat where the "
        "channel closes it short.", source=_SOURCE, validity=_VALIDITY,
    )  # fmt: skip


def _energy_related(results: Results) -> Reason:
    found = output_charge(results)
    return Reason(
        "2*E/V_p**2", (Term("E", "energy of Coss at the peak", found.energy, "J"), _peak(found)),
        words="The constant that holds the same energy at the peak. No constant gives the right "
        "peak; it only compares devices.", source=_SOURCE, validity=_VALIDITY,
    )  # fmt: skip


def _time_related(results: Results) -> Reason:
    found = output_charge(results)
    return Reason(
        "Q/V_p",
        (Term("Q", "charge of Coss at the peak", found.charge, "C"), _peak(found)),
        words="The constant that a constant current lifts to the peak in the same time.",
        source=_SOURCE, validity=_VALIDITY,
    )  # fmt: skip


DEVICE_NUMBERS: tuple[tuple[str, Explainer], ...] = (
    ("device.output_charge_C", _charge),
    ("device.output_energy_J", _energy),
    ("device.energy_related_F", _energy_related),
    ("device.time_related_F", _time_related),
)
