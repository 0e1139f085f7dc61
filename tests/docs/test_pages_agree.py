"""Pages of theory against the code: every figure of these sentences is read from the page.

A sentence has ``{}`` where a figure stands; the code's figures follow in the same order. A figure
of the code that is no whole number may be rounded on the page to the decimals written there.
"""

from __future__ import annotations

import math
import re
from inspect import signature
from pathlib import Path

import numpy as np
import pytest

from burstwise.core.bench import (
    bootstrap,
    capture_bursts,
    diagnose,
    fit_parameters,
    forecast,
    law_fit,
)
from burstwise.core.bench.bench_model import (
    CURRENT_FLOOR,
    CURRENT_PEAK_FLOOR,
    FREQUENCY_FLOOR,
    PEAK_FLOOR,
    RING_DOWN_FLOOR,
)
from burstwise.core.bench.calibrate import STEP, STEPS
from burstwise.core.bench.calibrate_findings import _NEAR_ONSET
from burstwise.core.bench.fit_parameters import Parameter
from burstwise.core.bench.identify import KNOWN
from burstwise.core.bench.symptoms import FIGURES
from burstwise.core.bench.trend import MINIMUM_ROWS
from burstwise.core.burst.operation import HOTTEST, ROUNDS
from burstwise.core.coil import coil_findings, proximity
from burstwise.core.coil.bounded_solve import STEPS as SOLVE_STEPS
from burstwise.core.coil.breakout import Electrode
from burstwise.core.coil.geometry import (
    ConductorKind,
    PrimaryConductor,
    PrimaryGeometry,
    PrimaryShape,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)
from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.coil.summary import coil_constants
from burstwise.core.constants import COPPER_DENSITY, COPPER_TEMPERATURE_COEFFICIENT
from burstwise.core.design.device import Device
from burstwise.core.design.document import FORMAT, Design
from burstwise.core.evaluate import findings as evaluate_findings
from burstwise.core.evaluate.evaluation import _HOT, _JUNCTIONS
from burstwise.core.evaluate.load import TEST_FALL
from burstwise.core.interrupter.candidates import _KEPT, BIAS_MARGIN
from burstwise.core.interrupter.driver import _LARGE_OVERSHOOT
from burstwise.core.interrupter.halfcycle import ShockleyDiode
from burstwise.core.interrupter.stock import SILICON
from burstwise.core.interrupter.timer import BIPOLAR, CMOS
from burstwise.core.interrupter.validity import WIDEST_PULSE
from burstwise.core.limits.fuse import CARRIED, THERMAL_TIME
from burstwise.core.limits.insulation import ENAMEL_STRENGTH
from burstwise.core.limits.rating import TIGHT_BELOW
from burstwise.core.stage.capacitance_law import GRADING, JUNCTION_VOLTAGE, KNEE_RATIO, KNEE_VOLTAGE
from burstwise.core.stage.carrier import BEATING_CYCLES, SLOW_MARKS
from burstwise.core.stage.carrier_result import RESIDUAL_LIMIT
from burstwise.core.stage.device_charges import OUTPUT_PIECES, REVERSE_PIECES
from burstwise.core.stage.engine import STEPS_PER_CYCLE
from burstwise.core.storage import load
from burstwise.core.studies import coil_solving as solve_for
from burstwise.core.studies.fail_order import REACH, SCAN, SideLoading
from burstwise.core.studies.limit_map import NODES, POINTS
from burstwise.core.studies.response import RUNS
from burstwise.core.studies.stage_table import ADDED, REACH_LINES, stage_table

_ROOT = Path(__file__).parents[2]
_DOCS = _ROOT / "docs"
_DIODE = ShockleyDiode()


def _drop(current: float) -> float:
    return float(_DIODE.scale * np.log1p(current / _DIODE.saturation_current))


def _current(drop: float) -> float:
    return float(_DIODE.saturation_current * np.expm1(drop / _DIODE.scale))


def _worth(name: str) -> float:
    return 100 * next(figure.spread for figure in FIGURES if figure.field == name)


def _spread(name: str) -> float:
    return 100 * Parameter(name).spread


_SPREADS = (
    "coupling", "quality_factor", "secondary_capacitance", "breakout_voltage", "on_resistance",
    "output_capacitance",
)  # fmt: skip
_LOW, _HIGH = SILICON.drop - SILICON.spread, SILICON.drop + SILICON.spread

AGREE: list[tuple[str, str, tuple[float, ...]]] = [
    ("theory_interrupter", "Diode drops spread by {} V around {} V: {} to {} V",
     (SILICON.spread, SILICON.drop, _LOW, _HIGH)),
    ("theory_interrupter", "({} nA, emission {}, {} K) has from {} uA to {} mA",
     (1e9 * _DIODE.saturation_current, _DIODE.emission, _DIODE.temperature, 1e6 * _current(_LOW),
      1e3 * _current(_HIGH))),
    ("theory_interrupter", "At 10 uA it drops {} V and at 10 mA {} V", (_drop(1e-5), _drop(1e-2))),
    ("theory_interrupter", "Drift is {} mV/K", (1e3 * SILICON.drift,)),
    ("theory_interrupter", "| supply | {} to {} V | {} to {} V |",
     (BIPOLAR.supply_low, BIPOLAR.supply_high, CMOS.supply_low, CMOS.supply_high)),
    ("theory_interrupter", "| output high | Vcc - {} V, {} ohm | Vcc, {} ohm |",
     (BIPOLAR.output_high_drop, BIPOLAR.output_high_resistance, CMOS.output_high_resistance)),
    ("theory_interrupter", "| output low | {} V, {} ohm | {} V, {} ohm |",
     (BIPOLAR.output_low, BIPOLAR.output_low_resistance, CMOS.output_low,
      CMOS.output_low_resistance)),
    ("theory_interrupter", "| discharge switch | {} V, {} ohm | {} V, {} ohm |",
     (BIPOLAR.discharge_saturation, BIPOLAR.discharge_resistance, CMOS.discharge_saturation,
      CMOS.discharge_resistance)),
    ("theory_interrupter", "| spread of these | {} % | {} % |",
     (100 * BIPOLAR.level_spread, 100 * CMOS.level_spread)),
    ("theory_interrupter", "| input bias | {} uA | {} nA |",
     (1e6 * BIPOLAR.bias_current, 1e9 * CMOS.bias_current)),
    ("theory_interrupter", "The {} best in duty are kept", (_KEPT,)),
    ("theory_interrupter", "timing currents below {} times input bias", (BIAS_MARGIN,)),
    ("theory_interrupter", "must stay below {} % of the period", (100 * WIDEST_PULSE,)),
    ("theory_interrupter", "and above {} % the design says so", (100 * _LARGE_OVERSHOOT,)),
    ("theory_limits", "{} supplies × the on-resistances of the [carrier table](theory_burst.md), "
     "{} of a gated stage and {} of a direct one",
     (len(REACH_LINES), len(_JUNCTIONS["gated"]), len(_JUNCTIONS["direct"]))),
    ("theory_limits", "then {} rounds of up to {} lines",
     (signature(stage_table).parameters["refine"].default, ADDED)),
    ("theory_limits", "The lines at {}, {} and {} °C are for one operating point alone: "
     "beyond {} °C",
     (*_HOT, _JUNCTIONS["direct"][-1])),
    ("theory_limits", "51 × 51 and {} × {} points", (POINTS, POINTS)),
    ("theory_limits", "computed at {}, {} and {} values with a table each", NODES),
    ("theory_limits", "{} supplies up to {} times the present one", (SCAN, REACH)),
    ("theory_limits", "secondary loss ({} % and {} % unless you say otherwise",
     (100 * SideLoading().capacitance, 100 * SideLoading().loss)),
    ("theory_limits", "the first that leaves {} % everywhere", (100 * TIGHT_BELOW,)),
    ("theory_limits", "the period or {} s, the shorter", (THERMAL_TIME,)),
    ("theory_limits", "| {} of its rating (common practice", (CARRIED,)),
    ("theory_limits", "two enamel films at {} V/µm", (1e-6 * ENAMEL_STRENGTH,)),
    ("theory_limits", "I'/{}\\ \\text{A/µs}", (1e-6 * TEST_FALL,)),
    ("theory_limits", "{} engine runs at evenly scattered builds", (RUNS,)),
    ("theory_burst", "(junction at {}, {} and {} °C)", _JUNCTIONS["gated"]),
    ("theory_burst", "between seven ({}, {}, {}, {}, {}, {}, {} °C)", _JUNCTIONS["direct"]),
    ("theory_burst", "made again with lines at {}, {} and {} °C besides", _HOT),
    ("theory_burst", "by more than {} % the results say so", (100 * evaluate_findings._APART,)),
    ("theory_burst", "A droop of more than {} % is a finding",
     (100 * evaluate_findings._LARGE_DROOP,)),
    ("theory_burst", "looked for on a ladder up to {} °C", (HOTTEST,)),
    ("theory_burst", "(fixed point, at most {} rounds)", (ROUNDS,)),
    ("theory_bench", "(coupling {} %, Q {} %, capacitance {} %, breakout {} %, on-resistance {} %, "
     "output capacitance {} %; estimates", tuple(_spread(name) for name in _SPREADS)),
    ("theory_bench", "at most {} in $\\ln p$", (fit_parameters._WIDEST,)),
    ("theory_bench", "floor for the model: {} % current, {} % peak current, {} % peak voltage, "
     "{} % frequency, {} % ring-down",
     (100 * CURRENT_FLOOR, 100 * CURRENT_PEAK_FLOOR, 100 * PEAK_FLOOR, 100 * FREQUENCY_FLOOR,
      100 * RING_DOWN_FLOOR)),
    ("theory_bench", "a discharge more than {} % below the onset", (100 * _NEAR_ONSET,)),
    ("theory_bench", "forward differences of {} % ({} % for the capacitance)",
     (100 * STEP, 100 * STEPS[Parameter.SECONDARY_CAPACITANCE])),
    ("theory_bench", "leave at most {} % of its prior spread", (100 * KNOWN,)),
    ("theory_bench", "({} % mean current and peaks, {} % RMS current, {} % frequency, "
     "{} % ring-down time, {} % heat)",
     tuple(_worth(name) for name in
           ("current_mean", "current_rms", "frequency", "ring_down_time", "device_power"))),
    ("theory_bench", "a sound build counts {} times a fault", (diagnose.SOUND_ODDS,)),
    ("theory_bench", "standard deviation {} per e-fold (belief {}: one regime) or {} "
     "(belief {}: a stage",
     (law_fit.EXPECTED_DRIFTS[0], law_fit.DRIFT_ODDS[0], law_fit.EXPECTED_DRIFTS[1],
      law_fit.DRIFT_ODDS[1])),
    ("theory_bench", "no further beyond {} times the highest supply", (law_fit._DRIFT_HOLDS_TO,)),
    ("theory_bench", "$s$ itself, between {} and {} %",
     (100 * law_fit.SMALLEST_SCATTER, 100 * law_fit._LARGEST_SCATTER)),
    ("theory_bench", "{} of the draws therefore have a turn between the highest row and {} times "
     "its supply, by up to {} in the exponent",
     (bootstrap.TURN_CHANCE, bootstrap.TURN_REACH, bootstrap.LARGEST_TURN)),
    ("theory_bench", "a parametric bootstrap of {} draws", (bootstrap.DRAWS,)),
    ("theory_bench", "Limits are the {} % and {} % quantiles",
     (100 * forecast.TAIL, 100 * (1 - forecast.TAIL))),
    ("theory_bench", "unchanged supply; {} % is assumed", (100 * forecast.SIDE_LOAD,)),
    ("theory_bench", "It is refused below {} rows", (MINIMUM_ROWS,)),
    ("theory_bench", "marked beyond {} times the highest supply", (forecast.EXTRAPOLATION,)),
    ("theory_bench", "end of the drive and {} % of the amplitude",
     (100 * capture_bursts._RING_DOWN_FLOOR,)),
    ("theory_bench", "given only where it fits within {} %",
     (100 * capture_bursts._RING_UP_MISFIT,)),
    ("theory_coil", "{} kg/m³ · l · A", (COPPER_DENSITY,)),
    ("theory_coil", "[1 + {} (T − 20 °C)]", (COPPER_TEMPERATURE_COEFFICIENT,)),
    ("theory_coil", "{} orders are taken", (proximity._ORDERS,)),
    ("theory_coil", "d/p ≤ {} (held there", (coil_findings._CLOSEST_WINDING,)),
    ("theory_coil", "parallel wires {} kV/cm and {}, coaxial cylinders {} and {}, "
     "spheres\n{} and {}",
     tuple(figure for one in (Electrode.PARALLEL_WIRES, Electrode.COAXIAL_CYLINDERS,
                              Electrode.SPHERE)
           for figure in (one.value[0] / 1e5, one.value[1]))),
    ("theory_coil", "from X = {} √R", (Electrode.SPHERE.value[1],)),
    ("theory_coil", "| k above {}, below {} |",
     (coil_findings._TIGHT_COUPLING, coil_findings._LOOSE_COUPLING)),
    ("theory_coil", "second mode within {} % of a multiple",
     (100 * coil_findings._HARMONIC_SHARE,)),
    ("theory_coil", "The sweep uses {} rings", (solve_for._RINGS,)),
    ("theory_coil", "are bounded: {} steps over the range", (SOLVE_STEPS,)),
    ("theory_stage", "$C_0(1 + v/{})^{-m}$, m = {} unless", (JUNCTION_VOLTAGE, GRADING)),
    ("theory_stage", "(1+(v/{})^2)$, $C_{lo}/C_{hi}$ = {} unless", (KNEE_VOLTAGE, KNEE_RATIO)),
    ("theory_stage", "Straight pieces, {} for drain-source and {} for gate-drain",
     (OUTPUT_PIECES, REVERSE_PIECES)),
    ("theory_stage", "$h$ being 1/{} of the secondary's period", (STEPS_PER_CYCLE,)),
    ("theory_stage", "above $10^{{}}$ the result is refused", (math.log10(RESIDUAL_LIMIT),)),
    ("theory_stage", "a reservoir is given up to {} cycles", (SLOW_MARKS[-1],)),
    ("theory_stage", "means over {} cycles with their", (BEATING_CYCLES,)),
    ("file-format", "`format` is the number of the file format, now {}.", (FORMAT,)),
    ("file-format", "| `format` | {} |", (FORMAT,)),
    ("file-format", "up to {} `rows`", (1000,)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("page", "sentence", "values"), AGREE, ids=[f"{row[0]}: {row[1][:50]}" for row in AGREE]
)
def test_a_sentence_of_a_page_has_the_figures_of_the_code(page, sentence, values, differing):
    text = (_DOCS / f"{page}.md").read_text(encoding="utf-8")
    assert differing(text, sentence, values) == []


def test_a_page_that_departs_is_found(differing, figures_in):
    text = "It holds 12 supplies and 0.46 V, within 5.5 % of four rows."
    assert differing(text, "{} supplies", (12,)) == []
    assert differing(text, "{} supplies", (13,)) == [(12.0, 13)]
    assert differing(text, "and {} V, within", (0.4649,)) == []
    assert differing(text, "and {} V, within", (0.466,)) == [(0.46, 0.466)]
    assert differing(text, "of {} rows", (3,)) == [(4, 3)]
    with pytest.raises(AssertionError, match="found 0 times"):
        figures_in(text, "{} builds")


def test_every_field_of_a_file_has_its_row():
    text = (_DOCS / "file-format.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `(\w+)` \|", text, flags=re.MULTILINE)
    assert rows == [name for name in Design.model_fields if name in rows]
    assert set(rows) == set(Design.model_fields)


def test_the_examples_resonances_are_those_of_the_pages(differing):
    text = (_DOCS / "theory_coil.md").read_text(encoding="utf-8")
    found = []
    for name in ("classroom-gated-interrupted", "demonstration-gated-large"):
        design = load(_ROOT / "resources" / "examples" / f"{name}.burstwise")
        coil = resolved_coil(design.coil, temperature_c=25.0)
        found.append(coil.resonance / 1e3)
    sentence = "the classroom coil is at {} kHz, that of the\ndemonstration at {} kHz"
    assert differing(text, sentence, tuple(found)) == []


def test_the_worked_coil_is_what_the_page_says_of_it(differing):
    text = (_DOCS / "theory_coil.md").read_text(encoding="utf-8")
    wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    turns, former, ring, tube = 1000, 0.11, 0.25, 0.05
    values = coil_constants(
        PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 8, 0.01),
        SecondaryGeometry(former - 0.00036, 0.000315, 0.00036, turns),
        TopLoad(TopLoadKind.TOROID, ring, tube, centre_height=0.05),
        base_height=0.1,
    )
    size = "({} turns on {} mm, toroid of\n{} × {} mm)"
    assert differing(text, size, (turns, 1e3 * former, 1e3 * ring, 1e3 * tube)) == []
    both = "that sum is {} pF against {} pF and puts f0 at\n{} kHz against {} kHz, {} % low"
    table, own = values.table, values.resonance
    told = (1e12 * table.capacitance, 1e12 * values.secondary_capacitance, table.resonance / 1e3,
            own / 1e3, 100 * (1 - table.resonance / own))  # fmt: skip
    assert differing(text, both, told) == []


def test_standards_are_those_of_the_device():
    """IEC 60747-8 is on field-effect transistors, 60747-9 on IGBTs (from memory)."""
    for page in _DOCS.glob("*.md"):
        assert "60747-9" not in page.read_text(encoding="utf-8"), page.name


def test_the_law_of_capacitance_that_the_page_calls_usual_is_the_default():
    text = (_DOCS / "theory.md").read_text(encoding="utf-8")
    assert f"(`{Device().capacitance_law}` unless the design says otherwise)" in text
