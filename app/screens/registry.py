"""List of the screens in the job's order; a screen's module is imported when it is first shown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from PySide6.QtWidgets import QWidget

from burstwise.app.help.pages import INDEX
from burstwise.app.session import Session
from burstwise.app.theme import Theme

Factory = Callable[[Session, Theme], QWidget]


@dataclass(frozen=True, slots=True)
class Screen:
    """One entry of the list.

    Parameters
    ----------
    title : str
        Name in the list.
    factory : callable
        Makes the screen; imports what is heavy itself.
    fields : tuple of str
        Beginnings of the dotted paths that are edited there, so that a finding leads to it.
    guide : str
        Name of its page in the guide.
    """

    title: str
    factory: Factory
    fields: tuple[str, ...] = ()
    guide: str = INDEX

    def edits(self, field: str) -> bool:
        """Whether a field belongs to this screen."""
        return any(field == head or field.startswith(f"{head}.") for head in self.fields)


def _coil(session: Session, theme: Theme) -> QWidget:
    from burstwise.app.screens.coil.screen import coil_screen

    return coil_screen(session, theme)


def _drive(session: Session, theme: Theme) -> QWidget:
    from burstwise.app.screens.device.screen import device_screen

    return device_screen(session, theme)


def _interrupter(session: Session, theme: Theme) -> QWidget:
    from burstwise.app.screens.interrupter import interrupter_screen

    return interrupter_screen(session, theme)


def _supply(session: Session, theme: Theme) -> QWidget:
    from burstwise.app.screens.supply import supply_screen

    return supply_screen(session, theme)


def _operating_point(session: Session, theme: Theme) -> QWidget:
    from burstwise.app.screens.operating_point.screen import operating_point_screen

    return operating_point_screen(session, theme)


def _limits(session: Session, theme: Theme) -> QWidget:
    from burstwise.app.screens.limits.screen import limits_screen

    return limits_screen(session, theme)


def _bench(session: Session, theme: Theme) -> QWidget:
    from burstwise.app.screens.bench.screen import bench_screen

    return bench_screen(session, theme)


def _build(session: Session, theme: Theme) -> QWidget:
    from burstwise.app.screens.assembly.screen import build_screen

    return build_screen(session, theme)


def _compare(session: Session, theme: Theme) -> QWidget:
    from burstwise.app.screens.compare.screen import compare_screen

    return compare_screen(session, theme)


def _lessons(session: Session, theme: Theme) -> QWidget:
    from burstwise.app.screens.lessons.screen import lessons_screen

    return lessons_screen(session, theme)


SCREENS: Final[tuple[Screen, ...]] = (
    Screen("Coil", _coil, ("coil", "name", "notes"), guide="coil"),
    Screen("Switch and drive", _drive, ("device", "drive", "protection"), guide="device"),
    Screen("Interrupter", _interrupter, ("interrupter", "supply.low_voltage"), guide="interrupter"),
    Screen("Supply and cooling", _supply, ("supply", "cooling"), guide="supply"),
    Screen(
        "Operating point",
        _operating_point,
        ("carrier", "burst", "thermal"),
        guide="operating_point",
    ),
    Screen("Limits", _limits, ("limits",), guide="limits"),
    Screen("Bench", _bench, ("readings", "calibration"), guide="bench"),
    Screen("Build", _build, guide="build"),
    Screen("Compare", _compare, ("variants",), guide="compare"),
    Screen("Lessons", _lessons, guide="lessons"),
)
