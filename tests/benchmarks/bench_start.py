"""Time from the start of Python to the window's first paint, and to the first results.

Starts the program anew, three times, offscreen and, where Xvfb is installed, on a virtual screen;
tells the median of each. The floor is a bare window of the same library, started in the same way.
"""

from __future__ import annotations

import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator

from figures import Figure, tell

STARTS = 3
CHILD = """
import json, sys, time
began = float(sys.argv[1])
from PySide6.QtCore import QTimer
from burstwise.app import launch, window

class Timed(window.MainWindow):
    painted = None

    def paintEvent(self, event):
        super().paintEvent(event)
        if self.painted is None:
            self.painted = time.time() - began
            self.session.evaluated.connect(self.end)
            self.session.failed.connect(self.end)

    def end(self, _what):
        print(json.dumps([self.painted, time.time() - began]), flush=True)
        QTimer.singleShot(0, self.close)

window.MainWindow = Timed
sys.exit(launch.main([]))
"""
BARE = """
import json, os, sys, time
began = float(sys.argv[1])
from PySide6.QtWidgets import QApplication, QMainWindow

class Timed(QMainWindow):
    def paintEvent(self, event):
        print(json.dumps([time.time() - began]), flush=True)
        os._exit(0)

application = QApplication([])
made = Timed()
made.show()
application.exec()
"""
HEADLESS = """
import json, sys, time
began = float(sys.argv[1])
from burstwise import evaluate
from burstwise.app.wiring import new_design
evaluate(new_design())
print(json.dumps([time.time() - began]))
"""


def started(code: str, platform: str, wrapper: list[str]) -> list[float]:
    """Medians of what some starts tell [s]."""
    told = []
    for _ in range(STARTS):
        with tempfile.TemporaryDirectory() as folder:
            surroundings = {
                **os.environ,
                "QT_QPA_PLATFORM": platform,
                "XDG_CONFIG_HOME": folder,
                "XDG_DATA_HOME": folder,
            }
            command = [*wrapper, sys.executable, "-c", code, repr(time.time())]
            done = subprocess.run(
                command, env=surroundings, stdout=subprocess.PIPE, encoding="utf-8", check=True
            )
        told.append(json.loads(done.stdout))
    return [statistics.median(times) for times in zip(*told, strict=True)]


def figures() -> Iterator[Figure]:
    """First paint with a bare window as a floor, first results with those without a window."""
    (headless,) = started(HEADLESS, "offscreen", [])
    for platform, wrapper in (("offscreen", []), ("xcb", ["xvfb-run", "-a"])):
        if wrapper and shutil.which(wrapper[0]) is None:
            continue
        (bare,) = started(BARE, platform, wrapper)
        paint, results = started(CHILD, platform, wrapper)
        where = "on a virtual screen" if wrapper else "offscreen"
        yield Figure(
            f"start to the first paint, {where}",
            paint,
            floor=bare,
            floor_is="a bare window of the library",
        )
        yield Figure(
            f"start to the first results, {where}",
            results,
            floor=headless,
            floor_is="the same evaluation without a window, from the start of Python",
        )


if __name__ == "__main__":
    tell(figures())
