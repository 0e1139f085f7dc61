"""Figures of a sentence on a page, to be held against those of the code."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

WORDS = {"three": 3, "four": 4, "five": 5, "seven": 7, "eight": 8, "Twelve": 12, "Half": 0.5}
_FIGURE = r"(-?\d[\d,]*(?:\.\d+)?|" + "|".join(WORDS) + ")"
FiguresIn = Callable[[str, str], list[tuple[float, int]]]
Differing = Callable[[str, str, tuple[float, ...]], list[tuple[float, float]]]


def found_figures(text: str, sentence: str) -> list[tuple[float, int]]:
    """Figures of a sentence on a page with the decimals written, each where a ``{}`` stands."""
    parts = (re.escape(part) for part in sentence.split("{}"))
    found = re.findall(_FIGURE.join(parts), text)
    assert len(found) == 1, f"found {len(found)} times: {sentence}"
    groups = [found[0]] if isinstance(found[0], str) else list(found[0])
    return [
        (WORDS[group], 9) if group in WORDS
        else (float(group.replace(",", "")), len(group.partition(".")[2]))
        for group in groups
    ]  # fmt: skip


def found_differing(
    text: str, sentence: str, values: tuple[float, ...]
) -> list[tuple[float, float]]:
    """Figures on the page and in the code that are not the same."""
    written = found_figures(text, sentence)
    assert len(written) == len(values), sentence
    return [
        (page, code)
        for (page, decimals), code in zip(written, values, strict=True)
        if abs(page - code) > (1e-9 if code == round(code) else 0.5001 * 10.0**-decimals)
    ]


@pytest.fixture
def figures_in() -> FiguresIn:
    return found_figures


@pytest.fixture
def differing() -> Differing:
    return found_differing
