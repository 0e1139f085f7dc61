"""The page of the model: its pictures are those of the code, its worked example comes out.

By hand means here: from the figures printed on the page, by the closed forms written out below.
"""

from __future__ import annotations

import math
import re
import runpy
from inspect import signature
from pathlib import Path

import numpy as np
import pytest

from burstwise.core.design.document import Design, value_at
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.evaluate.results import Results
from burstwise.core.stage.kernel import advance
from burstwise.core.stage.kernel.crossings import locate
from burstwise.core.storage import load

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "model.md"
TEXT = PAGE.read_text("utf-8")
BY_HAND = TEXT.split("## One design by hand", 1)[1]
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


@pytest.fixture(scope="module")
def design() -> Design:
    return load(ROOT / "resources" / "examples" / "classroom-gated-interrupted.burstwise")


@pytest.fixture(scope="module")
def results(design: Design) -> Results:
    return evaluate(design)


def test_the_pictures_are_those_of_the_code(
    design: Design, results: Results, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.syspath_prepend(ROOT / "docs")
    made = runpy.run_path(str(ROOT / "docs" / "make_diagrams.py"))
    drawn = made["diagrams"](design, results)
    shown = re.findall(r"\(images/model/(\w+)\.svg\)", TEXT)
    assert sorted(shown) == sorted(drawn)
    assert len(shown) >= 6
    for name, svg in drawn.items():
        kept = (made["FOLDER"] / f"{name}.svg").read_text("utf-8")
        assert _NUMBER.sub("#", kept) == _NUMBER.sub("#", svg), f"run docs/make_diagrams.py: {name}"
        places = [[float(n) for n in _NUMBER.findall(text)] for text in (kept, svg)]
        np.testing.assert_allclose(places[0], places[1], atol=0.3, err_msg=name)


@pytest.mark.parametrize("function", [advance, locate])
def test_the_arguments_of_the_engine_are_those_of_the_code(function) -> None:
    name = function.py_func.__name__
    table = TEXT.split(f"| `{name}` | What |", 1)[1].split("\n\n", 1)[0]
    rows = [row.split("|")[1] for row in table.splitlines()[2:]]
    told = [argument for row in rows for argument in re.findall(r"`(\w+)`", row)]
    assert told == list(signature(function.py_func).parameters)


def test_the_fields_and_figures_of_the_symbols_exist(design: Design, results: Results) -> None:
    table = TEXT.split("## Symbols", 1)[1].split("\n## ", 1)[0]
    names = re.findall(r"`([\w.]+)`", table)
    told = results_object(results)
    assert len(names) > 25
    for name in names:
        section, _, rest = name.partition(".")
        if rest not in told.get(section, {}):
            value_at(design, name)


def test_what_is_read_from_the_program_is_what_it_says(results: Results, differing) -> None:
    coil, run = results.coil, results.carrier
    read = "$L_1$ = {} µH, $L_2$ = {} mH, $C_2$ = {} pF, $R_2$ = {} Ω and $k$ = {}."
    values = (
        1e6 * coil.primary_inductance,
        1e3 * coil.secondary_inductance,
        1e12 * coil.secondary_capacitance,
        coil.secondary_resistance,
        coil.coupling,
    )
    assert differing(BY_HAND, read, values) == []
    read = "$P$ = {} W at a bus of {} V, and {} W of heat in the device."
    values = (run.input_power, results.operation.voltage, run.device_power)
    assert differing(BY_HAND, read, values) == []


def test_the_coil_by_hand(results: Results, figures_in, differing) -> None:
    read = "$L_1$ = {} µH, $L_2$ = {} mH, $C_2$ = {} pF, $R_2$ = {} Ω and $k$ = {}."
    l1, l2, c2, r2, k = (value for value, _ in figures_in(BY_HAND, read))
    omega = 1 / math.sqrt(l2 * 1e-3 * c2 * 1e-12)
    hand = (omega / (2e3 * math.pi), omega * l2 * 1e-3 / r2, k * math.sqrt(l1 * l2 * 1e3))
    coil = results.coil
    told = (coil.resonance / 1e3, coil.quality_factor, 1e6 * coil.mutual_inductance)
    sentences = ("{L_2C_2})$ = {} kHz", "L_2/R_2$ = {}.", "{L_1L_2}$ = {} µH")
    for sentence, by_hand, figure in zip(sentences, hand, told, strict=True):
        assert by_hand == pytest.approx(figure, rel=2e-5)
        assert figures_in(BY_HAND, sentence)[0][0] == pytest.approx(by_hand, rel=3e-5)
        assert differing(BY_HAND, sentence, (figure,)) == []


def test_burst_and_bus_by_hand(results: Results, design: Design, figures_in, differing) -> None:
    point, supply = results.operation, design.supply
    on, period = design.interrupter.duty / design.interrupter.frequency, 1 / results.frequency
    energy = 1e-3 * figures_in(BY_HAND, "The program has {} mJ")[0][0]
    current = figures_in(BY_HAND, "$I$ = {} A")[0][0]
    assert differing(BY_HAND, "The program has {} mJ", (1e3 * point.energy_per_burst,)) == []
    assert differing(BY_HAND, "times 150 Hz = {} W", (point.average_power,)) == []
    assert energy / period == pytest.approx(point.average_power, rel=1e-3)
    assert energy / on / point.voltage == pytest.approx(current, abs=6e-3)
    assert differing(BY_HAND, "30 % = {} W", (point.device_power,)) == []
    tau = (supply.source_resistance + supply.bulk_esr) * supply.bulk_capacitance
    assert differing(BY_HAND, r"\,C$ = {} ms", (1e3 * tau,)) == []
    # The capacitor's equation stepped over many periods from full, by the trapezoidal rule.
    start, mean = stepped_capacitor(design, current, on, period)
    share = supply.source_resistance / (supply.source_resistance + supply.bulk_esr)
    floor = supply.voltage - current * supply.source_resistance
    bus = tuple(floor + (volts - floor) * share for volts in (start, mean))
    assert differing(BY_HAND, r"{1-ab} = {}\ ", (start,)) == []
    assert differing(BY_HAND, r"t_{on}$ = {} V.", (mean,)) == []
    assert differing(BY_HAND, "so {} V at the start and {} V on average", bus) == []
    assert bus == pytest.approx((point.bus.start, point.bus.mean), abs=1e-3)


def stepped_capacitor(
    design: Design, current: float, on: float, period: float
) -> tuple[float, float]:
    """Voltage of the bulk capacitor at the start of a burst, and its mean over the on-time [V]."""
    supply = design.supply
    total = supply.source_resistance + supply.bulk_esr
    volts, step = supply.voltage, on / 4000
    for _ in range(6):
        start, seen = volts, [volts]
        for number in range(round(period / step)):
            load = current if number < 4000 else 0.0
            aim = supply.voltage - load * supply.source_resistance
            pace = 0.5 * step / (total * supply.bulk_capacitance)
            volts = (volts * (1 - pace) + 2 * pace * aim) / (1 + pace)
            if number < 4000:
                seen.append(volts)
    return start, float(np.trapezoid(seen) / 4000)


def test_the_heat_by_hand(results: Results, design: Design, figures_in, differing) -> None:
    point = results.operation
    chain = "= {} °C, case 0.5 K/W above it = {} °C, junction 3.78 K/W above that = {} °C"
    values = (point.heat_sink, point.case, point.junction_mean)
    assert differing(BY_HAND, chain, values) == []
    power = figures_in(BY_HAND, "give the device {} W as the mean")[0][0]
    on, period = 2e-3, 1 / 150
    rows = re.findall(r"^\| ([\d.]+) \| ([\d.]+) (µs|ms|s) \| ([\d.]+) \|$", BY_HAND, re.MULTILINE)
    assert len(rows) == len(design.device.thermal_network) + 2
    whole = 0.0
    for ohms, constant, unit, told in rows:
        tau = float(constant) * {"µs": 1e-6, "ms": 1e-3, "s": 1.0}[unit]
        rise = power * float(ohms) * summed_rise(on, period, tau)
        assert float(told) == pytest.approx(rise, abs=5.1e-3)
        whole += float(told)
    assert figures_in(BY_HAND, "Together {} K")[0][0] == pytest.approx(whole, abs=1e-9)
    assert differing(BY_HAND, "the junction peaks at {} °C", (point.junction_peak,)) == []
    assert 25.0 + whole == pytest.approx(point.junction_peak, abs=0.03)


def summed_rise(on: float, period: float, tau: float) -> float:
    """Rise at the end of a pulse over its power and resistance: all pulses before, added up."""
    ages = period * np.arange(math.ceil(40 * tau / period) + 1)
    return float(np.sum(np.exp(-ages / tau) * -math.expm1(-on / tau)))
