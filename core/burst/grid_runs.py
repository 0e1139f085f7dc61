"""Engine runs over supply voltages and on-resistances, some at a time."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from core.stage.carrier import Carrier, carrier
from core.stage.circuit import StageCircuit
from core.stage.engine import NOTHING_VISITED
from core.stopping import StoppedError, carried

Array = NDArray[np.float64]


class GridRuns:
    """Runs the engine at supplies and on-resistances, and tells how far it is.

    Parameters
    ----------
    circuit : StageCircuit
        The stage; its own supply voltage and on-resistance are replaced.
    resistances : Array
        On-resistances of each row, rising [ohm].
    progress : callable, optional
        Told the share done (0 to 1); returning False stops the work.
    expected : int
        Rows that will be asked for, at most.
    trace : bool
        Keep one steady carrier cycle of each run.
    workers : int
        Threads; the engine releases the interpreter's lock.
    """

    def __init__(
        self,
        circuit: StageCircuit,
        resistances: Array,
        progress: Callable[[float], bool] | None,
        *,
        expected: int,
        trace: bool = False,
        workers: int = 2,
    ) -> None:
        self._circuit, self._ohms, self._progress = circuit, resistances, progress
        self._expected, self._done = expected * len(resistances), 0
        self._trace, self._workers = trace, workers
        self._hint = NOTHING_VISITED

    def rows(self, volts: Array) -> list[tuple[Carrier, ...]]:
        """One row of runs per supply voltage [V].

        Raises
        ------
        StoppedError
            `progress` asked to stop.
        """
        jobs = [(float(v), float(r)) for v in volts[::-1] for r in self._ohms]
        found = []
        if not self._hint.codes:
            # The regions of the strongest run are built at once for all others.
            found.append(self._run(jobs.pop(0)))
            self._hint = found[0].regions
            self._done += 1
        with ThreadPoolExecutor(max_workers=self._workers) as pool:
            for result in pool.map(carried(self._run), jobs):
                found.append(result)
                self._done += 1
                share = min(self._done / self._expected, 1.0)
                if self._progress is not None and not self._progress(share):
                    pool.shutdown(cancel_futures=True)
                    raise StoppedError("the carrier table was stopped")
        count = len(self._ohms)
        return [tuple(found[i : i + count]) for i in range(0, len(found), count)][::-1]

    def _run(self, job: tuple[float, float]) -> Carrier:
        at = self._circuit.with_supply(job[0]).with_on_resistance(job[1])
        return carrier(at, hint=self._hint, trace=self._trace)
