"""A variant of a design, kept in the design's own file: a named set of changed fields and parts."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field, JsonValue

from burstwise.core.design.fields import Section, check_words, words


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
