"""The engine's stepping: which array is read and written where, and how a border is met."""

from __future__ import annotations

import numpy as np

from burstwise.app.theme import LIGHT
from burstwise.core.stage.kernel import layout
from burstwise.core.stage.kernel.cubics import cubic_root
from diagrams.sheet import Axes, Sheet

_TOP, _HIGH, _EACH = 66.0, 44.0, 54.0
_LEFT, _MIDDLE, _RIGHT = (16.0, 262.0), (338.0, 224.0), (622.0, 262.0)
_READ = (
    ("slot_of, base_ticks", "(regions,) tables of a region; (slots,)"),
    ("steps", f"(slots · {layout.LENGTHS} · {layout.BLOCK},) to later coordinates"),
    ("views", f"(slots · {layout.VIEW},) coordinates to monitors"),
    ("bounds, channel", f"(slots · {2 * layout.MONITORS},) lowest, highest inside; law"),
    ("borders, comparator, slack", "the law's; how far behind is near"),
    ("steps, views", "again, to places within the step"),
    ("across, shifts", "charge kept where a capacitance changes"),
)
_DONE = (
    ("take_event", "the drive's level changes"),
    ("move", "a whole step, exact"),
    ("look", "monitors and rates at its end"),
    ("region_at, turning", "still inside, and all the way?"),
    ("locate", "shorten to just behind the border"),
    ("book_move, note_inside", "outer products, peaks"),
    ("keep_charge", "next region, or back for one"),
)
_CHANGED = (
    ("events, numbers", f"({layout.EVENT_SLOTS}, 2) time, level; ({layout.STATE_SIZE},) now, ..."),
    ("end", f"({layout.COLUMNS},) coordinates, from point of that shape"),
    ("end", "monitors and rates"),
    ("trial", f"({layout.COLUMNS},) a place within the step"),
    ("end, here, trial", "the crossing between here and end"),
    ("sums, booked, peaks, cycles, trace", "what remains of the step"),
    ("point, numbers", "end becomes point; region, counts"),
)


def arrays() -> str:
    """Arrays beside the parts of a step that read and write them."""
    sheet = Sheet(900, 560)
    heads = (
        (_LEFT, "read: tables and law"),
        (_MIDDLE, "advance: one step"),
        (_RIGHT, "written: run and books"),
    )
    for (left, width), words in heads:
        sheet.text((left + width / 2, 40), words, align="centre", colour=LIGHT.muted)
    for row in range(len(_DONE)):
        middle = _TOP + row * _EACH + _HIGH / 2
        sheet.arrow((_LEFT[0] + _LEFT[1], middle), (_MIDDLE[0], middle))
        sheet.arrow((_MIDDLE[0] + _MIDDLE[1], middle), (_RIGHT[0], middle))
        if row:
            x = _MIDDLE[0] + _MIDDLE[1] / 2
            sheet.arrow((x, middle - _EACH + _HIGH / 2), (x, middle - _HIGH / 2))
    for (left, width), boxes in ((_LEFT, _READ), (_MIDDLE, _DONE), (_RIGHT, _CHANGED)):
        for row, (title, words) in enumerate(boxes):
            _box(sheet, left, _TOP + row * _EACH, width, title, words)
    _point(sheet, 470.0)
    return sheet.svg()


def _box(sheet: Sheet, left: float, top: float, width: float, title: str, words: str) -> None:
    middle = left + width / 2
    sheet.box(left, top, width, _HIGH)
    # A space of no width: names of code are no symbols with an index.
    sheet.text((middle, top + 18), title.replace("_", "_\u200b"), align="centre")
    sheet.text((middle, top + 35), words, align="centre", colour=LIGHT.muted, size=11)


def _point(sheet: Sheet, top: float) -> None:
    """Columns of a point."""
    left, each = 172.0, 26.0
    kinds = (
        (0, layout.INNER, "coordinates", LIGHT.window),
        (layout.FIRST, layout.MONITORS, "monitors: gate, drain, top, input, ...", LIGHT.panel),
        (layout.FIRST + layout.RATE, layout.MONITORS, "their rates per tick", LIGHT.window),
    )
    sheet.text((left - 14, top + 21), "columns of a point", align="right")
    for first, count, words, fill in kinds:
        for column in range(first, first + count):
            sheet.box(left + column * each, top, each, 30.0, fill=fill)
            middle = left + (column + 0.5) * each
            sheet.text((middle, top + 20), f"{column}", align="centre", size=11)
        sheet.text((left + (first + count / 2) * each, top + 50), words, align="centre", size=11,
                   colour=LIGHT.muted)  # fmt: skip


def _course(share: np.ndarray) -> np.ndarray:
    """Distance to a border in the course of a step, made up for the picture."""
    return 1.0 - 2.1 * share + 0.55 * np.sin(3.4 * share)


def border() -> str:
    """Distance to the border over one step, with the cubic that finds the crossing."""
    sheet = Sheet(820, 380)
    axes = Axes(sheet, (70, 40, 480, 270), x=(0.0, 1.0), y=(-1.5, 1.3))
    whole = 16
    axes.ticks([(n / whole, f"{n}") for n in range(0, whole + 1, 4)], [(0.0, "0")])
    axes.titles("ticks of the step", "distance to the border")
    share = np.linspace(0.0, 1.0, 201)
    small = 1e-6
    rates = [float((_course(at + small) - _course(at - small)) / (2 * small)) for at in (0.0, 1.0)]
    ends = [float(_course(np.asarray(at))) for at in (0.0, 1.0)]
    guess = float(cubic_root.py_func(ends[0], rates[0], ends[1], rates[1]))
    h = share
    cubic = (
        ends[0] * (1 + 2 * h) * (1 - h) ** 2 + rates[0] * h * (1 - h) ** 2
        + ends[1] * h**2 * (3 - 2 * h) + rates[1] * h**2 * (h - 1)
    )  # fmt: skip
    sheet.line([axes.at(0.0, 0.0), axes.at(1.0, 0.0)], colour=LIGHT.stop, width=1.5)
    axes.curve(share, _course(share), series=0)
    axes.curve(share, cubic, series=1, width=1.5)
    new = (np.floor(guess * whole) + 1) / whole
    for at in (0.0, 1.0):
        sheet.circle(axes.at(at, float(_course(np.asarray(at)))), 5.0, fill=LIGHT.text)
    sheet.line([axes.at(guess, -1.5), axes.at(guess, 0.0)], colour=LIGHT.muted, width=1)
    sheet.circle(axes.at(new, float(_course(np.asarray(new)))), 5.0, fill=LIGHT.accent)
    words = (
        (60, LIGHT.stop, ("border of the region",)),
        (90, LIGHT.series[0],
         ("thick: the exact course, of which", "the looked-at points are known")),
        (138, LIGHT.series[1],
         ("thin: the cubic through value and", "rate at both ends, and its root")),
        (
            186,
            LIGHT.accent,
            ("point: a little on from the root the", "step is taken again, exactly; until",
             "it ends behind the border, and near"),
        ),
    )  # fmt: skip
    for top, colour, lines in words:
        sheet.lines_of_text((566, top), lines, colour=colour)
    sheet.text(axes.at(0.03, 1.08), "start", colour=LIGHT.muted)
    sheet.text(axes.at(0.97, -1.38), "end of the whole step", align="right", colour=LIGHT.muted)
    return sheet.svg()
