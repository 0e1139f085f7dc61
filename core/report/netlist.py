"""Netlist of a design: its stage for any simulator, with the figures to expect."""

from __future__ import annotations

from typing import Final

from burstwise.core.evaluate import figures_object
from burstwise.core.evaluate.result_rows import RESULT_ROWS, result_value
from burstwise.core.evaluate.results import Results
from burstwise.core.report.sheet import page_mark
from burstwise.core.stage.netlist import netlist_of
from burstwise.core.units import shown

EXPECTED: Final = (
    "carrier.frequency_Hz",
    "carrier.input_power_W",
    "carrier.drain_voltage_peak_V",
    "carrier.drain_current_peak_A",
    "carrier.top_voltage_peak_V",
)
"""Results that a simulator's waveforms show as well."""
STEADY_PERIODS: Final = 40
"""Periods of the secondary that the steady state is simulated for at least."""
RING_DOWN_PERIODS: Final = 30
"""Periods of the secondary after the drive is held down again."""


def stage_netlist(results: Results) -> str:
    """Netlist of one burst of a design's stage, or of its start where the burst is long.

    Parameters
    ----------
    results : Results
        Evaluated design; bus voltage and on-resistance are those of its operating point.

    Returns
    -------
    str
        Plain text in ASCII, see `burstwise.core.stage.netlist.netlist_of`.
    """
    run = results.carrier
    period = 1.0 / run.circuit.coil.resonance
    steady = float(run.ring_up.time[-1]) + STEADY_PERIODS * period
    on_time = min(steady, results.operation.on_time)
    duration = on_time + RING_DOWN_PERIODS * period
    return netlist_of(
        run.circuit,
        duration=duration,
        on_time=on_time,
        title=page_mark(results),
        notes=(
            "The stage at rest, enabled at time zero and held down again after "
            f"{shown(on_time, 's')}; supply stiff, junction as in the operating point.",
            "Drain against source v(vds), gate against source v(vgs), top v(top), drain current "
            "i(Vdrain), supply current -i(Vsupply).",
            *_expected(results),
            "A simulator checks the arithmetic, not the model: lumped coil, device of straight "
            "pieces, no wiring but what stands here.",
            "All figures are estimates. None is a permission to apply a voltage or to go near "
            "the coil.",
        ),
    )


def _expected(results: Results) -> list[str]:
    """Lines that say what the program itself found."""
    if not results.carrier.oscillates:
        return ["The program finds that this stage does not oscillate."]
    known = figures_object(results)
    rows = {row.path: row for row in RESULT_ROWS}
    found = [
        f"{rows[path].title} {rows[path].text(result_value(known, path))}" for path in EXPECTED
    ]
    return [f"Found by the program in the steady state: {', '.join(found)}."]
