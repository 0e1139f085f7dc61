"""Parts list of a design, derived from the design and its results."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from burstwise.core.assembly.drive_parts import add_drive
from burstwise.core.assembly.part import Part, PartsBook
from burstwise.core.assembly.references import references
from burstwise.core.assembly.stage_parts import add_stage
from burstwise.core.assembly.timer_parts import add_interrupter, add_low_voltage
from burstwise.core.evaluate.results import Results
from burstwise.core.table_text import csv_text


@dataclass(frozen=True, slots=True)
class PartsList:
    """All parts of a design, in the order supply, stage, protection, drive, interrupter."""

    parts: tuple[Part, ...]

    @property
    def by_role(self) -> Mapping[str, Part]:
        """Parts by their stable name."""
        return {part.role: part for part in self.parts}

    @property
    def not_sold(self) -> tuple[Part, ...]:
        """Parts whose ratings nothing that is sold has."""
        return tuple(part for part in self.parts if part.family and part.made is None)


def parts_list(results: Results) -> PartsList:
    """Parts of the evaluated design with the ratings that its worst corner asks for.

    Ratings leave a fifth free, the margin below which the limits call a rating tight.
    """
    book = PartsBook(references(results.design), ambient=results.design.cooling.ambient)
    add_stage(book, results)
    add_drive(book, results)
    add_interrupter(book, results.design)
    add_low_voltage(book, results)
    return PartsList(book.parts)


COLUMNS = (
    "reference",
    "part",
    "value",
    "value [SI]",
    "unit",
    "kind",
    "tolerance",
    "ratings",
    "why",
)


def parts_csv(parts: Iterable[Part]) -> str:
    """Parts list as CSV text with a header."""
    lines = (
        [
            part.reference,
            part.title,
            part.value_text,
            part.value,
            part.unit,
            part.to_buy,
            part.tolerance_text,
            "; ".join(need.text for need in part.requirements),
            part.why,
        ]
        for part in parts
    )
    return csv_text([COLUMNS, *lines])
