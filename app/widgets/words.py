"""Words on screen: a number and its unit stay on one line."""

from __future__ import annotations

import re
from typing import Final

_UNIT: Final = r"(?:%|°C|(?:[GMkmµnp]?(?:K/W|J/K|V/s|A/s|V|A|W|Ω|F|H|Hz|s|m|K|J|g)|turns|min)\b)"
_NUMBER_AND_UNIT: Final = re.compile(rf"(?<=[\d∞]) (?={_UNIT})")
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


def plain(text: str) -> str:
    """Text with ordinary spaces again.

    Examples
    --------
    >>> plain(unbroken("36 V"))
    '36 V'
    """
    return text.replace(_HARD_SPACE, " ")
