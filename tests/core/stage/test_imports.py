"""The core runs where there is no Qt and no plotting."""

from __future__ import annotations

import subprocess
import sys

SCRIPT = """
import sys
for name in ("PySide6", "pyqtgraph", "shiboken6", "burstwise.app"):
    sys.modules[name] = None
import burstwise.core.stage
import importlib, pkgutil
import burstwise.core
names = [each.name for each in pkgutil.walk_packages(burstwise.core.__path__, "burstwise.core.")]
for name in names:
    if not name.endswith("__main__"):
        importlib.import_module(name)
loaded = [n for n in sys.modules if n.split(".")[0] in ("PySide6", "pyqtgraph") and sys.modules[n]]
assert not loaded, loaded
print(len(names))
"""


def test_core_needs_no_qt_and_no_plotting():
    run = subprocess.run(
        [sys.executable, "-c", SCRIPT], capture_output=True, text=True, timeout=300, check=False
    )
    assert run.returncode == 0, run.stderr
    assert int(run.stdout) > 20
