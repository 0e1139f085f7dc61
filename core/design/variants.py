"""From a variant to its design, and from two designs to the variant between them."""

from __future__ import annotations

from pydantic import ValidationError

from burstwise.core.design.differences import differing_values
from burstwise.core.design.document import Design, with_values
from burstwise.core.design.fields import input_error
from burstwise.core.design.variant import Variant


def variant_design(design: Design, variant: Variant) -> Design:
    """Design with a variant's changes, under the variant's name and without variants.

    Raises
    ------
    InputError
        A change whose field does not exist, whose value is out of its limits, or that belongs to a
        part which is not fitted.
    """
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
    try:
        return Variant(name=name, changes=differing_values(base, changed))
    except ValidationError as error:
        raise input_error(error) from error
