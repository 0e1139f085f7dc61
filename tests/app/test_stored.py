"""Settings that a disk or a hand has damaged: each falls back alone, and the window opens."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QByteArray, QSettings

from burstwise.app.places import Places, RecentFiles
from burstwise.app.session import Job, Session
from burstwise.app.stored import stored
from burstwise.app.theme import Theme
from burstwise.app.window import MainWindow


def settings_of(file: Path, text: bytes) -> QSettings:
    file.write_bytes(text)
    return QSettings(str(file), QSettings.Format.IniFormat)


@pytest.mark.parametrize(
    ("text", "default", "expected"),
    [
        (b"true", False, True),
        (b"false", True, False),
        (b"yes", True, True),
        (b"1, 2", False, False),
        (b"7", 3, 7),
        (b"-7", 3, 3),
        ("³".encode(), 3, 3),
        (b"99999999999999999999", 3, 3),
        (b"true", 3, 3),
        (b"some/where", "", "some/where"),
        (b"@ByteArray(x)", "", ""),
        (b"one, two", "", ""),
        (b"one", [], ["one"]),
        (b"one, two", [], ["one", "two"]),
        (b"@ByteArray(x)", [], []),
        (b"", ["kept"], []),
        (b"@ByteArray(x)", QByteArray(), QByteArray(b"x")),
        (b"x", QByteArray(), QByteArray()),
        (b"@Invalid()", QByteArray(b"y"), QByteArray(b"y")),
    ],
)
def test_a_setting_of_another_kind_is_the_default(
    tmp_path: Path, text: bytes, default: object, expected: object
) -> None:
    settings = settings_of(tmp_path / "settings.ini", b"[a]\nb=" + text + b"\n")
    assert stored(settings, "a/b", default) == expected
    assert stored(settings, "a/other", default) == default or default == ["kept"]


def test_what_is_stored_comes_back_in_the_same_session_too(tmp_path: Path) -> None:
    file = tmp_path / "settings.ini"
    for value in (True, 7, "text", ["one"], ["one", "two"], QByteArray(b"\0\xff")):
        settings = QSettings(str(file), QSettings.Format.IniFormat)
        settings.setValue("a", value)
        assert stored(settings, "a", type(value)()) == value
        settings.sync()
        again = QSettings(str(file), QSettings.Format.IniFormat)
        assert stored(again, "a", type(value)()) == value


KEYS = (
    b"[window]\ngeometry=%s\nscreen=%s\n[look]\ndark=%s\nsymbols=%s\nbands=%s\n[files]\nrecent=%s\n"
    b"folder=%s\n[start]\ncautions-read=%s\n"
)


@pytest.mark.parametrize("text", [b"nonsense", b"1, 2", b"-1", b"@ByteArray(\\x1\\xd9)", b""])
def test_a_window_opens_whatever_its_settings_hold(
    qtbot, theme: Theme, toy_job: Job, places: Places, text: bytes
) -> None:
    places.settings.mkdir(parents=True, exist_ok=True)
    settings = settings_of(places.settings / "settings.ini", KEYS.replace(b"%s", text))
    assert RecentFiles(settings).files == ()
    window = MainWindow(Session(toy_job), theme, places)
    qtbot.addWidget(window)
    window.show()
    assert window.current_screen == 0
    window.close()
