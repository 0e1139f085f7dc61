"""Words of an SVG drawing: placed alike by every renderer, and all within the picture."""

from __future__ import annotations

import re
from typing import Final

_BASELINES: Final = {"central": 0.36, "hanging": 0.75, "ideographic": -0.2, "alphabetic": 0.0}
"""Way from a named baseline down to the alphabetic one, over the type size."""
_TEXT: Final = re.compile(
    r'<text x="(?P<x>[^"]+)" y="(?P<y>[^"]+)" dominant-baseline="(?P<baseline>[^"]+)"'
    r'[^>]*?font-size="(?P<size>[^"]+)"[^>]*?text-anchor="(?P<anchor>[^"]+)"[^>]*>'
    r'<tspan x="[^"]+" dy="(?P<dy>[^"]+)">(?P<words>[^<]*)</tspan></text>'
)
_HEAD: Final = re.compile(r'height="[^"]+" width="[^"]+" viewBox="(?P<box>[^"]+)"')
_PLACED: Final = re.compile(
    r'<text x="(?P<x>[^"]+)" y="(?P<y>[^"]+)" font-size="(?P<size>[^"]+)"'
    r'[^>]*?text-anchor="(?P<anchor>[^"]+)"[^>]*>(?P<words>[^<]*)'
)
_LETTER: Final = 0.62
"""Mean width of a letter over the type size, on the safe side."""


def text_width(words: str, size: float) -> float:
    """Room that words need at a type size, in its unit, on the safe side.

    Examples
    --------
    >>> text_width("ABCDE", 10.0)
    31.0
    """
    return _LETTER * size * len(words)


def plain_text(svg: str) -> str:
    """SVG text whose words stand on plain baselines.

    Renderers differ in how they take `dominant-baseline`; Qt's leaves it out. The shift is put into
    the coordinate instead, by the usual proportions of a sans-serif face.
    """

    def plain(found: re.Match[str]) -> str:
        size = float(found["size"])
        y = float(found["y"]) + float(found["dy"]) + _BASELINES[found["baseline"]] * size
        return (
            f'<text x="{float(found["x"]):.2f}" y="{y:.2f}" font-size="{size:g}" '
            f'font-family="sans-serif" text-anchor="{found["anchor"]}" fill="black">'
            f"{found['words']}</text>"
        )

    return _TEXT.sub(plain, svg)


def room_for_text(svg: str) -> str:
    """SVG text whose view box holds all words; schemdraw's own leaves some of them outside."""
    left, top, width, height = map(float, _HEAD.search(svg)["box"].split())  # type: ignore[index]
    right, bottom = left + width, top + height
    for found in _PLACED.finditer(svg):
        x, y, size = float(found["x"]), float(found["y"]), float(found["size"])
        wide = text_width(found["words"], size)
        start = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[found["anchor"]] * wide
        left, right = min(left, start), max(right, start + wide)
        top, bottom = min(top, y - size), max(bottom, y + 0.4 * size)
    left, top, right, bottom = left - 4, top - 4, right + 4, bottom + 4
    width, height = right - left, bottom - top
    head = (
        f'height="{height:.1f}pt" width="{width:.1f}pt" '
        f'viewBox="{left:.1f} {top:.1f} {width:.1f} {height:.1f}"'
    )
    return _HEAD.sub(head, svg, count=1)
