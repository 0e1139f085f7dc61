"""Tip of a field, from the design's own title, description, unit and limits."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtWidgets import QWidget

from burstwise.app.refusals import title_of
from burstwise.app.widgets.text_label import set_tip
from burstwise.app.widgets.words import range_tip
from burstwise.core.design.document import field_info
from burstwise.core.errors import InputError


def tip_of(path: str) -> str:
    """What a field means, its unit and what it takes; empty for no field of the design.

    Examples
    --------
    >>> print(tip_of("supply.voltage"))
    Supply voltage
    Unit: V. Between 1 V and 400 V.
    """
    try:
        info = field_info(path)
    except InputError:
        return ""
    lines = [title_of(path), str(info["description"])]
    if "unit" in info:
        low, high = float(info.get("low", -math.inf)), float(info.get("high", math.inf))
        lines.append(range_tip(str(info["shown_unit"]), low, high))
    return "\n".join(line for line in lines if line)


def give_tip(widget: QWidget, path: str) -> None:
    """Let a widget tell what its field means; words of its own are set after it is bound."""
    set_tip(widget, tip_of(path))


def refusing(widget: QWidget) -> Callable[[str], None]:
    """What writes a refusal above a widget's tip; without a reason the tip stands alone again."""
    tip = widget.toolTip()

    def refuse(reason: str) -> None:
        set_tip(widget, "\n".join(line for line in (reason, tip) if line))

    return refuse
