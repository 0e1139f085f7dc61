"""Designs that can be compared: the one in hand, its variants, other files."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path

from burstwise.app.refusals import refusal
from burstwise.core.design.document import Design
from burstwise.core.design.variants import variant_design
from burstwise.core.errors import InputError

MOST: int = 4
"""Designs side by side at most, as many as there are line styles."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One design for the comparison.

    Attributes
    ----------
    key, name : str
        What tells it apart, and words.
    design : Design or None
        None where a variant does not fit the design in hand.
    variant : int or None
        Its index where it is a variant.
    problem : str
        Why there is no design.
    """

    key: str
    name: str
    design: Design | None
    variant: int | None = None
    problem: str = ""


def entries(design: Design, others: Mapping[Path, Design]) -> tuple[Entry, ...]:
    """The design in hand first, then its variants, then the others.

    A variant that does not fit the design in hand, as it changes a part that is no longer there,
    comes without a design and says why.

    Parameters
    ----------
    design : Design
        Design in hand.
    others : mapping
        Designs of other files.
    """
    found = [Entry("present", f"{design.name} (in hand)", design)]
    for number, variant in enumerate(design.variants):
        key, name = f"variant:{number}", f"Variant: {variant.name}"
        try:
            found.append(Entry(key, name, variant_design(design, variant), number))
        except InputError as error:
            found.append(Entry(key, f"■ {name}", None, number, f"Does not fit: {refusal(error)}."))
    found += [Entry(f"file:{path}", other.name, other) for path, other in others.items()]
    return tuple(found)


def free_name(name: str, taken: Collection[str]) -> str:
    """Name with a number behind it where it is taken.

    Examples
    --------
    >>> free_name("without fuse", ["without fuse"])
    'without fuse 2'
    """
    names = itertools.chain([name], (f"{name} {number}" for number in itertools.count(2)))
    return next(one for one in names if one not in taken)
