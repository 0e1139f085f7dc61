"""Engine runs over supply voltages and on-resistances, some at a time."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

from burstwise.core.arrays import Array
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stage.engine import NOTHING_VISITED
from burstwise.core.stopping import StoppedError, carried


class GridRuns:
    """Runs the engine at supplies and on-resistances, each once, and tells how far it is.

    Parameters
    ----------
    circuit : StageCircuit
        The stage; its own supply voltage and on-resistance are replaced.
    progress : callable, optional
        Told the share done (0 to 1); returning False stops the work.
    expected : int
        Runs that will be asked for, at most.
    trace : bool
        Keep one steady carrier cycle of each run.
    workers : int
        Threads; the engine releases the interpreter's lock.
    """

    def __init__(
        self,
        circuit: StageCircuit,
        progress: Callable[[float], bool] | None = None,
        *,
        expected: int = 1,
        trace: bool = False,
        workers: int = 2,
    ) -> None:
        self._circuit, self._progress = circuit, progress
        self._expected, self._trace, self._workers = expected, trace, workers
        self._hint = NOTHING_VISITED
        self._made: dict[tuple[float, float], Carrier] = {}

    def rows(self, volts: Array, ohms: Array) -> tuple[tuple[Carrier, ...], ...]:
        """One row of runs per supply voltage [V], over the on-resistances [ohm].

        Runs that were made before are taken again.

        Raises
        ------
        StoppedError
            `progress` asked to stop.
        """
        grid = [[(float(v), float(r)) for r in ohms] for v in volts]
        jobs = [job for row in grid[::-1] for job in row if job not in self._made]
        if jobs and not self._hint.codes:
            # The regions of the strongest run are built at once for all others.
            strongest = jobs.pop(0)
            self._made[strongest] = self._run(strongest)
            self._hint = self._made[strongest].regions
        with ThreadPoolExecutor(max_workers=self._workers) as pool:
            for job, result in zip(jobs, pool.map(carried(self._run), jobs), strict=True):
                self._made[job] = result
                share = min(len(self._made) / self._expected, 1.0)
                if self._progress is not None and not self._progress(share):
                    pool.shutdown(cancel_futures=True)
                    raise StoppedError("the carrier table was stopped")
        return tuple(tuple(self._made[job] for job in row) for row in grid)

    def _run(self, job: tuple[float, float]) -> Carrier:
        at = self._circuit.with_supply(job[0]).with_on_resistance(job[1])
        return carrier(at, hint=self._hint, trace=self._trace)
