"""Settings that every test needs before Qt is imported."""

from __future__ import annotations

import os

os.environ["QT_QPA_PLATFORM"] = "offscreen"
