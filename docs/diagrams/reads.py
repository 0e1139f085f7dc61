"""What reads what: from the design's sections to the results and their readers."""

from __future__ import annotations

from burstwise.app.theme import LIGHT
from diagrams.sheet import Sheet

Box = tuple[float, float, float, float, str, str]
_BOXES: dict[str, Box] = {
    "coil": (20, 70, 170, 50, "coil", "geometry or measured"),
    "device": (20, 140, 170, 50, "device, drive, protection", "datasheet figures"),
    "interrupter": (20, 210, 170, 50, "interrupter", "numbers or timer parts"),
    "supply": (20, 280, 170, 50, "supply", "source, bulk capacitor"),
    "cooling": (20, 350, 170, 50, "cooling", "interface, heat sink"),
    "readings": (20, 440, 170, 50, "readings", "of the bench"),
    "rings": (250, 70, 180, 50, "ring model", "L, C, R, k, ρ, breakout"),
    "engine": (250, 160, 180, 50, "stage's engine", "exact carrier runs"),
    "table": (490, 160, 170, 50, "carrier table", "over supply and R_{on}"),
    "burst": (490, 270, 170, 50, "burst scale", "energy, droop, junction"),
    "ratings": (720, 215, 160, 50, "ratings", "asked against allowed"),
    "results": (720, 330, 160, 60, "Results", "figures and findings"),
    "bench": (250, 440, 180, 50, "bench", "fit, forecast, faults"),
    "screens": (720, 440, 160, 50, "screens, sheet, JSON", "read, compute nothing"),
}
_WAYS: tuple[tuple[str, str], ...] = (
    ("coil", "rings"), ("rings", "engine"), ("device", "engine"), ("engine", "table"),
    ("table", "burst"), ("interrupter", "burst"), ("supply", "burst"), ("cooling", "burst"),
    ("table", "ratings"), ("burst", "ratings"), ("ratings", "results"), ("burst", "results"),
    ("readings", "bench"), ("engine", "bench"), ("results", "screens"), ("bench", "screens"),
)  # fmt: skip


def svg() -> str:
    """Text of the diagram."""
    sheet = Sheet(900, 520)
    for x, words in ((105, "the design"), (340, "carrier, µs"), (575, "burst, ms to minutes")):
        sheet.text((x, 40), words, align="centre", colour=LIGHT.muted)
    sheet.text((800, 40), "what is told", align="centre", colour=LIGHT.muted)
    for start, end in _WAYS:
        sheet.arrow(*_ends(_BOXES[start], _BOXES[end]))
    for left, top, width, height, title, words in _BOXES.values():
        sheet.box(left, top, width, height)
        sheet.text((left + width / 2, top + 21), title, align="centre")
        sheet.text((left + width / 2, top + 38), words, align="centre", colour=LIGHT.muted, size=11)
    return sheet.svg()


def _ends(start: Box, end: Box) -> tuple[tuple[float, float], tuple[float, float]]:
    """Where an arrow leaves one box and meets the other."""
    left, top, width, height = start[:4]
    there, upper, wide, high = end[:4]
    if there > left + width:
        return (left + width, top + height / 2), (there, upper + high / 2)
    middle = max(left, there) + min(width, wide) / 2
    return (
        ((middle, top + height), (middle, upper))
        if upper > top
        else ((middle, top), (middle, upper + high))
    )
