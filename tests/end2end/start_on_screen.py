"""Start the installed program on the screen of DISPLAY, see its window, close it by keyboard.

Not collected by pytest: `.ci/run` calls it under a virtual X screen. Needs xdotool.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "resources" / "examples" / "classroom-gated-interrupted.burstwise"
PATIENCE = 120.0


def windows(title: str) -> list[str]:
    found = subprocess.run(
        ["xdotool", "search", "--onlyvisible", "--name", title],
        capture_output=True,
        text=True,
        check=False,
    )
    return found.stdout.split()


def main() -> int:
    program = Path(sys.executable).with_name("burstwise")
    environment = {key: value for key, value in os.environ.items() if key != "QT_QPA_PLATFORM"}
    started = time.monotonic()
    running = subprocess.Popen([program, EXAMPLE], env=environment)
    try:
        while not (seen := windows("Burstwise")):
            if running.poll() is not None:
                print(f"the program ended with status {running.returncode}", file=sys.stderr)
                return 1
            if time.monotonic() - started > PATIENCE:
                print("no window appeared", file=sys.stderr)
                return 1
            time.sleep(0.1)
        print(f"window visible after {time.monotonic() - started:.1f} s")
        time.sleep(3.0)
        subprocess.run(["xdotool", "windowfocus", seen[0], "key", "ctrl+q"], check=True)
        status = running.wait(timeout=30)
        print(f"closed by keyboard with status {status}")
        return status
    finally:
        if running.poll() is None:
            running.kill()


if __name__ == "__main__":
    sys.exit(main())
