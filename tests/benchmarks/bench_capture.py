"""Times of loading and measuring a capture of five million points, and of a forecast."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np

from burstwise.core.bench.capture_file import load_capture
from burstwise.core.bench.capture_measure import capture_measures
from burstwise.core.bench.derived import BenchSetup
from burstwise.core.bench.forecast import forecast
from burstwise.core.bench.instruments import Shunt
from burstwise.core.bench.overlay import plot_line
from burstwise.core.bench.reached import Rating
from burstwise.core.bench.readings import Reading, ReadingsTable

_POINTS = 5_000_000
_STEP = 1e-8


def _written(path: Path, *, decimal_comma: bool) -> None:
    instants = _STEP * np.arange(_POINTS)
    since = instants % 5e-3
    envelope = np.where(since < 2e-3, -np.expm1(-since / 3e-5), np.exp(-(since - 2e-3) / 4e-5))
    values = 100.0 * envelope * np.sin(2 * np.pi * 3e5 * since)
    with path.open("w", encoding="utf-8") as stream:
        stream.write("time;drain\ns;V\n" if decimal_comma else "time,drain\ns,V\n")
        for begin in range(0, _POINTS, 100_000):
            pairs = zip(
                instants[begin : begin + 100_000].tolist(),
                values[begin : begin + 100_000].tolist(),
                strict=True,
            )
            if decimal_comma:
                text = "".join(f"{t:.8E};{v:.5f}\n" for t, v in pairs).replace(".", ",")
            else:
                text = "".join(f"{t:.8E},{v:.5f}\n" for t, v in pairs)
            stream.write(text)


def _timed(name: str, work: Callable[[], object]) -> None:
    begin = time.perf_counter()
    work()
    print(f"{name:48s} {time.perf_counter() - begin:7.3f} s")


def main() -> None:
    """Print the times."""
    with tempfile.TemporaryDirectory() as folder:
        for comma in (False, True):
            path = Path(folder) / "capture.csv"
            _written(path, decimal_comma=comma)
            kind = "decimal comma" if comma else "decimal point"
            for turn in ("first", "second"):
                _timed(f"load 5 million points, {kind}, {turn} time", partial(load_capture, path))
        capture = load_capture(path)
    _timed("measure 5 million points", lambda: capture_measures(capture, "drain"))
    values = capture.channel("drain").values
    _timed(
        "reduce 5 million points to 2000 columns",
        lambda: plot_line(values, first=0, last=len(values), buckets=2000),
    )
    supplies = (20.0, 30.0, 40.0, 50.0, 60.0)
    rows = tuple(Reading(supply=v, shunt_rms=0.005 * v, drain_peak=6.0 * v) for v in supplies)
    ratings = {Rating.POWER: 30.0, Rating.VOLTAGE: 500.0, Rating.CURRENT: 5.0}
    setup = BenchSetup(Shunt(0.1), 2.0)
    _timed("forecast of three ratings", lambda: forecast(ReadingsTable(rows), setup, ratings))


if __name__ == "__main__":
    main()
