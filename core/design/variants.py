"""Variants of a design kept in its own file: named sets of changed fields and parts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import AfterValidator, Field, JsonValue, ValidationError

from core.design.fields import Section, check_words, words

if TYPE_CHECKING:
    from core.design.document import Design


def _plain_values(changes: dict[str, JsonValue]) -> dict[str, JsonValue]:
    """Changes whose texts a file can hold; what each field takes is checked with the variant."""
    _check_texts(changes)
    return changes


def _check_texts(value: JsonValue) -> None:
    if isinstance(value, str):
        check_words(value, lines=True)
    elif isinstance(value, dict):
        for name, entry in value.items():
            check_words(name)
            _check_texts(entry)
    elif isinstance(value, list):
        for entry in value:
            _check_texts(entry)


class Variant(Section):
    """What differs from the design, by dotted path.

    A plain field has its value; an optional part has the mapping of its fields where the variant
    fits it or puts another in its place, and None where the variant leaves it out; a list has all
    its entries.
    """

    name: Annotated[str, words(), Field(title="Name of the variant", min_length=1, max_length=60)]
    changes: Annotated[
        dict[str, JsonValue],
        Field(title="Changed fields and parts", default_factory=dict, max_length=200),
        AfterValidator(_plain_values),
    ]


def variant_design(design: Design, variant: Variant) -> Design:
    """Design with a variant's changes, under the variant's name and without variants.

    Raises
    ------
    InputError
        A change whose field does not exist, whose value is out of its limits, or that belongs to a
        part which is not fitted.
    """
    from core.design.document import with_values

    return with_values(
        design, {**variant.changes, "name": f"{design.name}: {variant.name}"[:120], "variants": ()}
    )


def variant_of(name: str, base: Design, changed: Design) -> Variant:
    """Variant that turns one design into another, parts fitted or removed included.

    Raises
    ------
    InputError
        A name that is empty or too long.
    """
    from core.design.differences import differing_values
    from core.design.document import input_error

    try:
        return Variant(name=name, changes=differing_values(base, changed))
    except ValidationError as error:
        raise input_error(error) from error
