"""Variants of a design kept in its own file: named sets of changed fields."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from core.design.fields import Section

if TYPE_CHECKING:
    from core.design.document import Design

Value = float | bool | str | None


class Variant(Section):
    """Fields that differ from the design, by dotted path."""

    name: Annotated[str, Field(title="Name of the variant", min_length=1, max_length=60)]
    changes: Annotated[
        dict[str, Value], Field(title="Changed fields", default_factory=dict, max_length=200)
    ]


def variant_design(design: Design, variant: Variant) -> Design:
    """Design with a variant's changes, under the variant's name and without variants.

    Raises
    ------
    InputError
        A change whose field does not exist or whose value is out of its limits.
    """
    from core.design.document import with_values

    return with_values(
        design, {**variant.changes, "name": f"{design.name}: {variant.name}"[:120], "variants": ()}
    )


def variant_of(name: str, base: Design, changed: Design) -> Variant:
    """Variant that turns one design into another; only plain fields are told apart.

    Raises
    ------
    InputError
        The designs differ in a list or in whether an optional part is fitted.
    """
    from core.design.differences import differing_values

    return Variant(name=name, changes=differing_values(base, changed))
