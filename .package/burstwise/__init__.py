"""Burstwise as a library: a design in, its figures out, without a window.

The names below are the ones to rely on, in SI units throughout; docs/scripting.md shows them at
work. Each is loaded when it is first used, so that a plain import costs nothing and changes nothing
in the process.

Examples
--------
>>> from importlib.resources import files
>>> import burstwise
>>> folder = files("burstwise.resources") / "examples"
>>> design = burstwise.load(str(folder / "classroom-gated-interrupted.burstwise"))
>>> burstwise.with_values(design, {"supply.voltage": "36V"}).supply.voltage
36.0
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from burstwise.core.bench.capture import Capture as Capture
    from burstwise.core.bench.capture import Probe as Probe
    from burstwise.core.bench.capture_file import load_capture as load_capture
    from burstwise.core.bench.capture_measure import capture_measures as capture_measures
    from burstwise.core.bench.readings_text import load_readings as load_readings
    from burstwise.core.design.document import Design as Design
    from burstwise.core.design.document import design_from as design_from
    from burstwise.core.design.document import value_at as value_at
    from burstwise.core.design.document import with_values as with_values
    from burstwise.core.design.timer_wish import TimerWish as TimerWish
    from burstwise.core.errors import FileError as FileError
    from burstwise.core.errors import InputError as InputError
    from burstwise.core.evaluate import Results as Results
    from burstwise.core.evaluate import evaluate as evaluate
    from burstwise.core.evaluate import results_object as results_object
    from burstwise.core.explain.explain import sources_of as sources_of
    from burstwise.core.findings import Finding as Finding
    from burstwise.core.findings import Severity as Severity
    from burstwise.core.interrupter.sizing import size_timer as size_timer
    from burstwise.core.storage import load as load
    from burstwise.core.storage import save as save

_HOMES: Final = {
    "Capture": "core.bench.capture",
    "Design": "core.design.document",
    "FileError": "core.errors",
    "Finding": "core.findings",
    "InputError": "core.errors",
    "Probe": "core.bench.capture",
    "Results": "core.evaluate",
    "Severity": "core.findings",
    "TimerWish": "core.design.timer_wish",
    "capture_measures": "core.bench.capture_measure",
    "design_from": "core.design.document",
    "evaluate": "core.evaluate",
    "load": "core.storage",
    "load_capture": "core.bench.capture_file",
    "load_readings": "core.bench.readings_text",
    "results_object": "core.evaluate",
    "save": "core.storage",
    "size_timer": "core.interrupter.sizing",
    "sources_of": "core.explain.explain",
    "value_at": "core.design.document",
    "with_values": "core.design.document",
}
"""Module of each name of the library, within the package."""

__all__ = tuple(_HOMES)


def __getattr__(name: str) -> Any:
    """A name of the library, from where it lives."""
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{home}"), name)


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOMES])
