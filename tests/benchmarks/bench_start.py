"""Time from the start of Python to the window's first paint, and to the first results.

Starts the program anew, three times, offscreen and, where Xvfb is installed, on a virtual screen;
prints seconds. The first start may fill caches.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time

STARTS = 3
CHILD = """
import sys, time
began = float(sys.argv[1])
from PySide6.QtCore import QTimer
from burstwise.app import launch, window

class Timed(window.MainWindow):
    painted = False

    def paintEvent(self, event):
        super().paintEvent(event)
        if not self.painted:
            self.painted = True
            used = time.process_time()
            print(f"first paint {time.time() - began:5.2f} s, processor {used:5.2f} s", end="   ")
            self.session.evaluated.connect(self.end)
            self.session.failed.connect(self.end)

    def end(self, _what):
        print(f"first results {time.time() - began:5.2f} s", flush=True)
        QTimer.singleShot(0, self.close)

window.MainWindow = Timed
sys.exit(launch.main([]))
"""


def start(platform: str, wrapper: list[str]) -> None:
    """Start the window once and let it report."""
    with tempfile.TemporaryDirectory() as folder:
        surroundings = {
            **os.environ,
            "QT_QPA_PLATFORM": platform,
            "XDG_CONFIG_HOME": folder,
            "XDG_DATA_HOME": folder,
        }
        command = [*wrapper, sys.executable, "-c", CHILD, repr(time.time())]
        subprocess.run(command, env=surroundings, check=True)


def main() -> None:
    for platform, wrapper in (("offscreen", []), ("xcb", ["xvfb-run", "-a"])):
        if wrapper and shutil.which(wrapper[0]) is None:
            continue
        print(platform)
        for _ in range(STARTS):
            start(platform, wrapper)


if __name__ == "__main__":
    main()
