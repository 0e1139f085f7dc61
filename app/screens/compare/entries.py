"""Designs that can be compared: the one in hand, its variants, other files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from core.design.document import Design
from core.design.variants import variant_design
from core.errors import InputError

MOST: int = 4
"""Designs side by side at most, as many as there are line styles."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One design for the comparison; `key` tells it apart, `variant` is its index or None."""

    key: str
    name: str
    design: Design
    variant: int | None = None


def entries(design: Design, others: Mapping[Path, Design]) -> tuple[Entry, ...]:
    """The design in hand first, then its variants, then the others; a broken variant is left out.

    Parameters
    ----------
    design : Design
        Design in hand.
    others : mapping
        Designs of other files.
    """
    found = [Entry("present", f"{design.name} (in hand)", design)]
    for number, variant in enumerate(design.variants):
        try:
            made = variant_design(design, variant)
        except InputError:
            continue
        found.append(Entry(f"variant:{number}", f"Variant: {variant.name}", made, number))
    found += [Entry(f"file:{path}", other.name, other) for path, other in others.items()]
    return tuple(found)
