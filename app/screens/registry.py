"""List of the screens in the job's order; a screen's module is imported when it is first shown."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from typing import Final, cast

from PySide6.QtWidgets import QWidget

from burstwise.app.help.pages import INDEX
from burstwise.app.session import Session
from burstwise.app.theme import Theme


@dataclass(frozen=True, slots=True)
class Screen:
    """One entry of the list.

    Parameters
    ----------
    title : str
        Name in the list.
    widget : str
        Module below this package and class, as ``"coil.screen:CoilScreen"``.
    fields : tuple of str
        Beginnings of the dotted paths that are edited there, so that a finding leads to it.
    guide : str
        Name of its page in the guide.
    """

    title: str
    widget: str
    fields: tuple[str, ...] = ()
    guide: str = INDEX

    def made(self, session: Session, theme: Theme) -> QWidget:
        """The screen itself; what it needs is imported now."""
        module, _, name = self.widget.partition(":")
        found = import_module(f"burstwise.app.screens.{module}")
        return cast(QWidget, getattr(found, name)(session, theme))

    def edits(self, field: str) -> bool:
        """Whether a field belongs to this screen."""
        return any(field == head or field.startswith(f"{head}.") for head in self.fields)


SCREENS: Final[tuple[Screen, ...]] = (
    Screen("Coil", "coil.screen:CoilScreen", ("coil", "name", "notes"), guide="coil"),
    Screen(
        "Switch and drive",
        "device.screen:DeviceScreen",
        ("device", "drive", "protection"),
        guide="device",
    ),
    Screen(
        "Interrupter",
        "interrupter.screen:InterrupterScreen",
        ("interrupter", "supply.low_voltage"),
        guide="interrupter",
    ),
    Screen("Supply and cooling", "supply:SupplyScreen", ("supply", "cooling"), guide="supply"),
    Screen(
        "Operating point",
        "operating_point.screen:OperatingPoint",
        ("carrier", "burst", "thermal"),
        guide="operating_point",
    ),
    Screen("Limits", "limits.screen:LimitsScreen", ("limits",), guide="limits"),
    Screen("Bench", "bench.screen:BenchScreen", ("readings", "calibration"), guide="bench"),
    Screen("Build", "assembly.screen:BuildScreen", guide="build"),
    Screen("Compare", "compare.screen:CompareScreen", ("variants",), guide="compare"),
    Screen("Lessons", "lessons.screen:LessonsScreen", guide="lessons"),
)
