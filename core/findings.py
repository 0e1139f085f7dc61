"""Findings: what a computation has to say beside its numbers.

A result that is out of a formula's validity, a rating that is exceeded or a solve that is not to
be trusted becomes a `Finding`, never a silent number.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding weighs: `STOP` means do not build or power this as it stands."""

    NOTE = "note"
    CAUTION = "caution"
    STOP = "stop"

    @property
    def rank(self) -> int:
        """Order of weight, 0 for a note to 2 for a stop."""
        return ("note", "caution", "stop").index(self.value)


@dataclass(frozen=True, slots=True)
class Finding:
    """One statement about a design or a result.

    Parameters
    ----------
    severity : Severity
        Note, caution or stop.
    code : str
        Stable name in lower case with hyphens, for tests and translations.
    field : str
        Dotted path of the design field or result that it is about.
    text : str
        One or two sentences for the builder, with the numbers in it.
    """

    severity: Severity
    code: str
    field: str
    text: str

    def as_object(self) -> dict[str, str]:
        """The finding as a JSON-ready object.

        Examples
        --------
        >>> note("no-breakout", "carrier", "No discharge.").as_object()["severity"]
        'note'
        """
        return {
            "severity": self.severity.value,
            "code": self.code,
            "field": self.field,
            "text": self.text,
        }


def note(code: str, field: str, text: str) -> Finding:
    """Finding of severity `note`."""
    return Finding(Severity.NOTE, code, field, text)


def caution(code: str, field: str, text: str) -> Finding:
    """Finding of severity `caution`."""
    return Finding(Severity.CAUTION, code, field, text)


def stop(code: str, field: str, text: str) -> Finding:
    """Finding of severity `stop`."""
    return Finding(Severity.STOP, code, field, text)


def heaviest_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings without repeats, stops before cautions before notes, otherwise in given order."""
    unique = tuple(dict.fromkeys(findings))
    return tuple(sorted(unique, key=lambda finding: -finding.severity.rank))
