"""Figures of calibration and diagnosis: accuracy over builds, engine runs and seconds.

Run: ``python tests/benchmarks/bench_calibrate.py [BUILDS]``.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import importlib.util

import numpy as np

from burstwise.core.bench.burst_waveform import Signal
from burstwise.core.bench.calibrate import calibrate
from burstwise.core.bench.diagnose import signatures
from burstwise.core.bench.fit_parameters import Parameter

_TESTS = Path(__file__).parents[1] / "core" / "bench" / "test_calibrate.py"
_CASES = (("classroom-gated-interrupted", 24.0), ("demonstration-gated-large", 30.0))


def main(builds: int) -> None:
    """Print one line per build, then medians and worst cases."""
    spec = importlib.util.spec_from_file_location("calibrate_builds", _TESTS)
    assert spec is not None
    assert spec.loader is not None
    shared = importlib.util.module_from_spec(spec)
    sys.modules["calibrate_builds"] = shared
    spec.loader.exec_module(shared)
    errors = []
    for number in range(builds):
        name, supply = _CASES[number % len(_CASES)]
        build = shared._build(name, 500 + number)
        rows = build.readings(shared._SUPPLIES[name])
        capture = build.capture(Signal.TOP, supply)
        began = time.perf_counter()
        got = calibrate(build.design, rows, shared._setup(build.design), capture=capture)
        spent = time.perf_counter() - began
        found = {item.parameter: item for item in got.parameters}
        pair = [
            found[one].value / build.values[one] - 1.0
            for one in (Parameter.COUPLING, Parameter.QUALITY_FACTOR)
        ]
        errors.append(pair)
        print(
            f"{name:30s} coupling {100 * pair[0]:+6.2f} %  Q {100 * pair[1]:+6.2f} %  misfit "
            f"{got.misfit_before:6.2f} -> {got.misfit_after:5.2f}  {got.runs} runs, {spent:.1f} s"
        )
    size = np.abs(errors)
    print("median", np.round(100 * np.median(size, axis=0), 2), "%")
    print("within 3 % and 10 %:", np.mean((size[:, 0] < 0.03) & (size[:, 1] < 0.10)))
    began = time.perf_counter()
    signatures(build.circuit(24.0, 60.0), (14.0, 26.0))
    print(f"signatures of all faults at two supplies: {time.perf_counter() - began:.2f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 8)
