"""Start the installed program on the screen of DISPLAY for the first time, and close it by keys.

The cautions of a first start come before the window is free; they are read and closed first.

Not collected by pytest: `.ci/run` calls it under a virtual X screen. Needs xdotool.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "resources" / "examples" / "classroom-gated-interrupted.burstwise"
PATIENCE = 120.0
CAUTIONS = "Before you build"


def windows(title: str) -> list[str]:
    found = subprocess.run(
        ["xdotool", "search", "--onlyvisible", "--name", title],
        capture_output=True,
        text=True,
        check=False,
    )
    return found.stdout.split()


def seen(title: str, running: subprocess.Popen[bytes]) -> str:
    """Window of a title, once it is there."""
    started = time.monotonic()
    while not (found := windows(title)):
        if running.poll() is not None:
            raise SystemExit(f"the program ended with status {running.returncode}")
        if time.monotonic() - started > PATIENCE:
            raise SystemExit(f"no window '{title}' appeared")
        time.sleep(0.1)
    print(f"'{title}' visible after {time.monotonic() - started:.1f} s")
    return found[0]


def press(key: str, window: str) -> None:
    time.sleep(3.0)
    subprocess.run(["xdotool", "windowfocus", window, "key", key], check=True)


def main() -> int:
    with tempfile.TemporaryDirectory() as settings:
        return start(Path(settings))


def start(settings: Path) -> int:
    program = Path(sys.executable).with_name("burstwise")
    environment = {key: value for key, value in os.environ.items() if key != "QT_QPA_PLATFORM"}
    environment["XDG_CONFIG_HOME"] = str(settings)
    running = subprocess.Popen([program, EXAMPLE], env=environment)
    try:
        press("Return", seen(CAUTIONS, running))
        while windows(CAUTIONS):
            time.sleep(0.1)
        press("ctrl+q", seen("Burstwise", running))
        status = running.wait(timeout=30)
        print(f"closed by keyboard with status {status}")
        return status
    finally:
        if running.poll() is None:
            running.kill()


if __name__ == "__main__":
    sys.exit(main())
