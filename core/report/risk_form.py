"""Risk assessment for a class: a form to fill, made from the one list of cautions."""

from __future__ import annotations

from typing import Final

from burstwise.core.assembly.cautions import HAZARDS
from burstwise.core.evaluate.results import Results
from burstwise.core.report.sheet import Paragraph, Table
from burstwise.core.units import shown

BLANK: Final = "________"
"""Room to write in."""
DEFERS: Final = (
    "A form to fill before the coil is shown to anybody. It helps to write the assessment that the "
    "rules of the school, the employer and the country ask for and replaces none of them. Where "
    "they ask for more, for another form or forbid the demonstration, they apply. The hazards "
    "listed are those of the cautions of this sheet; the place and the people may add others."
)
SIGNED: Final = (
    "Person in charge of the demonstration",
    "Second person, at the emergency switch",
    "Person who looked up the local rules and has checked that this form meets them",
    "Head of department or safety officer, where the local rules ask for it",
)


def risk_form(results: Results) -> tuple[Paragraph | Table, ...]:
    """Blocks of the form: what is assessed, hazards with measures, who signs.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    return (
        Paragraph(DEFERS, "caution"),
        _occasion(),
        _figures(results),
        _hazards(),
        Paragraph(
            "A measure that is not in place on the day means that the coil stays off. Whoever "
            "signs has seen the measures in place; nobody signs for another."
        ),
        _signatures(),
    )


def _occasion() -> Table:
    asked = (
        "Place and date",
        "Class, ages and number of people",
        "Local rules that apply (name, edition)",
        "Persons with implants, hearing aids or epilepsy asked for, by whom",
        "First aid, emergency call and fire extinguisher: where",
    )
    return Table(("Occasion", "To be filled in"), tuple((row, BLANK) for row in asked), (3, 4))


def _figures(results: Results) -> Table:
    supply = results.design.supply
    energy = 0.5 * supply.bus_capacitance * supply.voltage**2
    rows = (
        ("Peak voltage on the top load", shown(results.top_voltage_reached, "V", digits=2)),
        ("Main supply", shown(supply.voltage, "V", digits=3)),
        ("Energy in the bulk capacitor", shown(energy, "J", digits=2)),
        ("Mean power from the supply", shown(results.average_power, "W", digits=2)),
        ("Carrier", _carrier(results)),
        ("Findings that say stop", str(sum(item.severity.value == "stop"
                                           for item in results.findings))),
    )  # fmt: skip
    return Table(("What is assessed, estimates of this sheet", ""), rows, (3, 2))


def _hazards() -> Table:
    return Table(
        ("Hazard", "Measures", "Who may be harmed", "Further measures here", "In place (initials)"),
        tuple((hazard.title, hazard.text, BLANK, BLANK, BLANK) for hazard in HAZARDS),
        (9, 45, 12, 17, 9),
    )


def _signatures() -> Table:
    return Table(
        ("Who signs", "Name", "Date and signature"),
        tuple((who, BLANK, BLANK) for who in SIGNED),
        (4, 3, 3),
    )


def _carrier(results: Results) -> str:
    run = results.carrier
    return shown(run.frequency, "Hz", digits=3) if run.oscillates else "none, it does not oscillate"
