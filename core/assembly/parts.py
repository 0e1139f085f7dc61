"""Parts list of a design, derived from the design and its results."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from burstwise.core.assembly.part import Fitted, Part, Source, listed
from burstwise.core.assembly.references import fitted, references
from burstwise.core.assembly.timer_parts import fitted_interrupter
from burstwise.core.design.document import Design
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
    return PartsList(tuple(_made(fitted(results.design), results, results.design)))


def interrupter_parts(design: Design) -> Mapping[str, Part]:
    """Parts of an interrupter by role, from the design alone: no operating point asks for them.

    Their references are those of the whole list of parts.
    """
    return {part.role: part for part in _made(fitted_interrupter(design), design, design)}


def _made(parts: Iterable[Fitted[Source]], source: Source, design: Design) -> Iterator[Part]:
    known = references(design)
    for part in parts:
        wanted = part.make(source)
        yield listed(known[part.role], part.role, wanted, ambient=design.cooling.ambient)


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
