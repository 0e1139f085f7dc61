"""Whether a window can be opened at all, found out before Qt would abort the process."""

from __future__ import annotations

import ctypes
import sys
from collections.abc import Callable, Mapping
from typing import Final

HEADLESS_PLATFORMS: Final = frozenset({"offscreen", "minimal", "vnc", "linuxfb", "eglfs"})

ALWAYS: Final[Mapping[str, str]] = {
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libfontconfig.so.1": "libfontconfig1",
    "libdbus-1.so.3": "libdbus-1-3",
    "libX11.so.6": "libx11-6",
    "libglib-2.0.so.0": "libglib2.0-0",
}
"""Libraries that Qt's base modules are linked to, with their Debian packages."""
XCB: Final[Mapping[str, str]] = {
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-image.so.0": "libxcb-image0",
    "libxcb-render-util.so.0": "libxcb-render-util0",
    "libxcb-randr.so.0": "libxcb-randr0",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxcb-xkb.so.1": "libxcb-xkb1",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libX11-xcb.so.1": "libx11-xcb1",
}
"""Libraries that a window on X11 needs."""
WAYLAND: Final[Mapping[str, str]] = {
    "libwayland-client.so.0": "libwayland-client0",
    "libwayland-cursor.so.0": "libwayland-cursor0",
}
"""Libraries that a window on Wayland needs."""


def can_load(library: str) -> bool:
    """Whether the dynamic loader finds a library."""
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def no_window_reason(
    environment: Mapping[str, str],
    *,
    platform: str = sys.platform,
    loads: Callable[[str], bool] = can_load,
) -> str | None:
    """Why no window can be opened, in words for standard error; None if one can.

    Parameters
    ----------
    environment : mapping
        Environment variables.
    platform : str
        Name of the operating system as in `sys.platform`; only Linux is checked.
    loads : callable
        Tells whether a shared library can be loaded.
    """
    if not platform.startswith("linux"):
        return None
    missing = _missing(ALWAYS, loads)
    wanted = environment.get("QT_QPA_PLATFORM", "").split(":")[0].split(";")[0]
    if wanted in HEADLESS_PLATFORMS:
        return _need(missing) if missing else None
    ways = []
    if environment.get("WAYLAND_DISPLAY") and wanted in ("", "wayland"):
        ways.append(_missing(WAYLAND, loads))
    if environment.get("DISPLAY") and wanted in ("", "xcb"):
        ways.append(_missing(XCB, loads))
    if not ways:
        return (
            "no window can be opened: neither DISPLAY nor WAYLAND_DISPLAY is set. The commands "
            "evaluate, timer, forecast and sheet work without a display."
        )
    packages = missing + min(ways, key=len)
    return _need(packages) if packages else None


def _missing(libraries: Mapping[str, str], loads: Callable[[str], bool]) -> list[str]:
    return [package for library, package in libraries.items() if not loads(library)]


def _need(packages: list[str]) -> str:
    return (
        "no window can be opened: system libraries are missing. On Debian or Ubuntu: "
        f"sudo apt install {' '.join(packages)}"
    )
