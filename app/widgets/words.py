"""Words on screen: a number and its unit stay on one line."""

from __future__ import annotations

import math
import re
from typing import Final

from burstwise.core.units import limits_text

_UNIT: Final = (
    r"(?:%|°C|(?:[GMkmµnp]?(?:K/W|J/K|[VA]/[nµ]?s|V|A|W|Ω|F|H|Hz|s|m|K|J|g)|turns|min)\b)"
)
_NUMBER_AND_UNIT: Final = re.compile(rf"(?<=[\d∞]) (?={_UNIT})")
_NEGATIVE: Final = re.compile(r"(?<!\S)-(?=\d)")
_HARD_SPACE: Final = "\u00a0"


def unbroken(text: str) -> str:
    """Text in which no line ends between a number and its unit.

    Examples
    --------
    >>> unbroken("at least 2.19 A (sees 1.75 A), 4 rows").replace(_HARD_SPACE, "_")
    'at least 2.19_A (sees 1.75_A), 4 rows'
    >>> unbroken("coupling 3 %, 200 µm wire").replace(_HARD_SPACE, "_")
    'coupling 3_%, 200_µm wire'
    """
    return _NUMBER_AND_UNIT.sub(_HARD_SPACE, text)


def minus(text: str) -> str:
    """Text whose negative numbers have a true minus sign; hyphens within words stay.

    Examples
    --------
    >>> minus("-35 %, n-channel, -0.4")
    '−35 %, n-channel, −0.4'
    """
    return _NEGATIVE.sub("−", text)


def sentence_start(text: str) -> str:
    """Text with a capital first letter, the others as they are.

    Examples
    --------
    >>> sentence_start("mean current"), sentence_start("RMS current")
    ('Mean current', 'RMS current')
    """
    return text[:1].upper() + text[1:]


def range_tip(unit: str, low: float, high: float) -> str:
    """Unit and limits of a quantity in one line.

    Examples
    --------
    >>> range_tip("A", 0.0, math.inf), range_tip("%", 0.0, 1.0)
    ('Unit: A. At least 0 A.', 'Unit: %. Between 0 % and 100 %.')
    """
    said = f"Unit: {unit}." if unit else "Without unit."
    if math.isinf(low) and math.isinf(high):
        return said
    return f"{said} {sentence_start(limits_text(low, high, unit))}."


def plain(text: str) -> str:
    """Text with ordinary spaces again.

    Examples
    --------
    >>> plain(unbroken("36 V"))
    '36 V'
    """
    return text.replace(_HARD_SPACE, " ")
