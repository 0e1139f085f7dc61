"""Times of loading and measuring a capture of five million points, and of a forecast."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import numpy as np
from figures import Figure, tell

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


def _seconds(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def figures() -> Iterator[Figure]:
    """Loading against the bare reading of the file and NumPy's reader; measuring, forecasting."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "capture.csv"
        for comma in (False, True):
            _written(path, decimal_comma=comma)
            kind = "decimal comma" if comma else "decimal point"
            load_capture(path)  # compiled and in the system's cache from here on
            told = {"floor": _seconds(path.read_bytes), "floor_is": "the bare reading of the file"}
            if not comma:
                theirs = partial(np.loadtxt, path, delimiter=",", skiprows=2)
                told |= {"peer": _seconds(theirs), "peer_is": "numpy.loadtxt"}
            yield Figure(
                f"loading {_POINTS:,} points, {kind}", _seconds(partial(load_capture, path)), **told
            )
        capture = load_capture(path)
    values = capture.channel("drain").values
    yield Figure(
        f"measuring {_POINTS:,} points",
        _seconds(lambda: capture_measures(capture, "drain")),
        floor=_seconds(lambda: np.fft.rfft(values)),
        floor_is="one Fourier transform of them",
    )
    yield Figure(
        f"reducing {_POINTS:,} points to 2000 columns",
        _seconds(lambda: plot_line(values, first=0, last=len(values), buckets=2000)),
        floor=_seconds(lambda: (values.min(), values.max())),
        floor_is="finding their extremes",
    )
    supplies = (20.0, 30.0, 40.0, 50.0, 60.0)
    rows = tuple(Reading(supply=v, shunt_rms=0.005 * v, drain_peak=6.0 * v) for v in supplies)
    ratings = {Rating.POWER: 30.0, Rating.VOLTAGE: 500.0, Rating.CURRENT: 5.0}
    setup = BenchSetup(Shunt(0.1), 2.0)
    yield Figure(
        "a forecast of three ratings",
        _seconds(lambda: forecast(ReadingsTable(rows), setup, ratings)),
    )


if __name__ == "__main__":
    tell(figures())
