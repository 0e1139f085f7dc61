from __future__ import annotations

import subprocess
import sys

import pytest

from burstwise.app.display_check import ALWAYS, WAYLAND, XCB, can_load, no_window_reason


def reason(environment: dict[str, str], *, missing: set[str] = frozenset()) -> str | None:
    return no_window_reason(
        environment, platform="linux", loads=lambda library: library not in missing
    )


def test_no_display_is_said_with_what_still_works() -> None:
    told = reason({})
    assert told is not None
    assert "neither DISPLAY nor WAYLAND_DISPLAY" in told
    assert "evaluate" in told


@pytest.mark.parametrize("library", [*ALWAYS, *XCB])
def test_each_missing_library_names_its_package(library: str) -> None:
    told = reason({"DISPLAY": ":0"}, missing={library})
    assert told is not None
    assert told.endswith(f"sudo apt install {(ALWAYS | XCB)[library]}")


def test_one_way_to_a_window_is_enough() -> None:
    both = {"DISPLAY": ":0", "WAYLAND_DISPLAY": "wayland-0"}
    assert reason(both) is None
    assert reason(both, missing=set(XCB)) is None
    assert reason(both, missing=set(WAYLAND)) is None
    assert reason(both, missing={*XCB, *WAYLAND}) is not None
    assert reason(both | {"QT_QPA_PLATFORM": "xcb"}, missing=set(XCB)) is not None


def test_offscreen_needs_no_display_but_the_base_libraries() -> None:
    offscreen = {"QT_QPA_PLATFORM": "offscreen:size=800x600"}
    assert reason(offscreen, missing=set(XCB)) is None
    told = reason(offscreen, missing={"libEGL.so.1"})
    assert told is not None
    assert "libegl1" in told


def test_other_systems_are_not_checked() -> None:
    assert no_window_reason({}, platform="win32", loads=lambda library: False) is None


def test_loading_is_really_tried() -> None:
    assert can_load("libc.so.6") or not sys.platform.startswith("linux")
    assert not can_load("libno-such-library.so.9")


def test_the_program_says_so_instead_of_aborting() -> None:
    ended = subprocess.run(
        [sys.executable, "-m", "burstwise.app.launch"],
        env={"PATH": "/usr/bin", "HOME": "/nonexistent"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 3
    assert ended.stderr.startswith("burstwise: no window can be opened")
    assert len(ended.stderr.splitlines()) == 1
