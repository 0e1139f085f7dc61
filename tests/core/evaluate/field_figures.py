"""Designs in which every field has a say, and the named figures of the tool by group."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import BaseModel

from burstwise.core.assembly.parts import parts_list
from burstwise.core.assembly.powerup import PowerupPlan
from burstwise.core.assembly.powerup_stages import powerup_plan
from burstwise.core.bench.bench_model import BenchModel
from burstwise.core.bench.capture import Channel, Probe
from burstwise.core.bench.derived import derived_table
from burstwise.core.bench.fit_parameters import prior_values
from burstwise.core.bench.forecast import forecast
from burstwise.core.bench.sheet import bench_ratings, bench_setup, sheet_of
from burstwise.core.bench.symptoms import symptoms_of_rows
from burstwise.core.burst.table import CarrierTable
from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import Design, with_values
from burstwise.core.design.variants import variant_design
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.evaluate.chain import chain_of
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.report import sets_report
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.interrupter.sizing import size_timer
from burstwise.core.interrupter.tolerance import temperature_drift
from burstwise.core.limits.datasheet import fitted_network, plausibility
from burstwise.core.report.sheet_content import build_sheet
from burstwise.core.stage.device_charges import device_charges
from burstwise.core.storage import load
from burstwise.core.studies.quick import warm_up_of

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
Figures = Mapping[str, object]

_COIL = {
    "primary_inductance": 3e-6, "primary_resistance": 0.08, "secondary_inductance": 9e-3,
    "secondary_capacitance": 7e-12, "quality_factor": 150.0, "coupling": 0.22,
    "breakout_voltage": 9e3,
}  # fmt: skip
_MEASURED = {"coil.given_by": "measured", "coil.measured": _COIL}
_CURVES = {
    "device.impedance_curve": [
        {"time": t, "impedance": z}
        for t, z in ((1e-5, 0.02), (1e-4, 0.08), (1e-3, 0.3), (1e-2, 0.8), (0.1, 1.6), (1.0, 3.0))
    ],
    "device.capacitance_curve": [
        {"voltage": v, "capacitance": c} for v, c in ((0, 9e-10), (25, 3e-10), (100, 1.2e-10))
    ],
    "device.reverse_curve": [
        {"voltage": v, "capacitance": c} for v, c in ((0, 3e-11), (25, 8e-12), (100, 2e-12))
    ],
    "device.safe_area": [
        {"pulse_length": t, "voltage": v, "current": c * share}
        for t, share in ((1e-4, 1.0), (1e-2, 0.1))
        for v, c in ((10, 38.0), (100, 10.0), (500, 0.6))
    ],
}
_FITTED = _MEASURED | _CURVES | {
    "protection.drain_clamp": {"voltage": 300.0},
    "protection.snubber": {},
    "protection.reservoir_clamp": {},
    "interrupter.chain.buffer": {},
    "interrupter.chain.indicator": {},
    "interrupter.chain.active_level": "low",
    "supply.low_voltage": {},
}  # fmt: skip
_PARTS = _FITTED | {
    "interrupter.given_by": "parts",
    "interrupter.parts.control_voltage": 7.5,
    "interrupter.parts.timing_capacitor_kind": "x7r",
    "interrupter.parts.pulse_capacitor": 2e-8,
    "interrupter.parts.frequency_potentiometer": 20e3,
    "interrupter.parts.frequency_travel": 0.6,
}
_READ = [
    {
        "supply": f"{volts}", "duty": "30 %", "shunt_rms": f"{1.1 * volts} mV",
        "shunt_mean": f"{0.5 * volts} mV", "shunt_peak": f"{9 * volts} mV",
        "drain_peak": f"{4.5 * volts}", "heat_sink_temperature": f"{20 + volts}",
        "breakout_length": f"{0.1 * volts} cm", "note": "with hood",
    }
    for volts in (20, 26, 32, 36, 40)
]  # fmt: skip

_SPIKING, _SOUND = "classroom-gated-spiking", "classroom-gated-interrupted"
_DIRECT, _LARGE = "classroom-direct-continuous", "demonstration-gated-large"
BASES: Mapping[str, tuple[str, Mapping[str, object]]] = {
    "gated": (_SPIKING, _FITTED),
    "bare": (_SPIKING, _MEASURED),
    "sound": (_SOUND, {}),
    "slewed": (
        _SOUND,
        {
            "drive.gated.fast_slew": 2e9,
            "drive.gated.slow_slew": 1e8,
            "drive.gated.slow_delay": 2.5e-7,
        },
    ),
    "transformed": (
        _SOUND,
        {"drive.gated.feedback": "current transformer", "drive.gated.input_bias": 2.4},
    ),
    "aerial": (
        _SOUND,
        {
            "drive.gated.feedback": "antenna",
            "drive.gated.input_bias": 2.4,
            "drive.feedback_sense": "reversed",
        },
    ),
    "curved": (_SPIKING, _FITTED | {"device.capacitance_law": "curve"}),
    "kneed": (
        _LARGE,
        _CURVES | {"device.time_related_capacitance": 6e-10, "device.effective_voltage": 400},
    ),
    "direct": (_DIRECT, _MEASURED | {"interrupter.enabled": True}),
    "switched": (_SPIKING, _FITTED | {"interrupter.chain.gating": "supply"}),
    "inductive": (_SPIKING, _FITTED | {"interrupter.chain.loop_inductance": 1e-7}),
    "low": (_SPIKING, _FITTED | {"supply.voltage": 13.5}),
    "zener": (
        _SPIKING,
        _FITTED | {
            "supply.low_voltage": {"kind": "zener", "thermal_resistance": 150.0},
            "supply.voltage": 20.0,
        },
    ),
    "separate": (
        _SPIKING,
        _FITTED | {"supply.low_voltage": {"kind": "separate", "current_limit": 0.03}},
    ),
    "parts": (_SPIKING, _PARTS),
    "capped": (_SPIKING, _PARTS | {"interrupter.parts.circuit": "astable-capped-discharge"}),
    "two timers": (_SPIKING, _PARTS | {"interrupter.parts.circuit": "two-timer"}),
    "wished": (_SOUND, {"interrupter.wish": {"timers": ["bipolar"], "capacitors": ["film"]}}),
    "helical": (
        _SOUND,
        {"coil.geometry.secondary.spacing": 2e-5, "coil.measured.breakout_voltage": None},
    ),
    "tapped": (
        _LARGE,
        {
            "coil.geometry.primary.tap": 5.0,
            "coil.measured.breakout_voltage": None,
            "coil.geometry.secondary.turns": None,
            "coil.geometry.secondary.winding_length": 0.38,
            "coil.geometry.top_load.thickness": 0.04,
            "coil.geometry.top_load.centre_height": 0.12,
            "coil.geometry.top_load.point_fitted": False,
        },
    ),
    "pointed": (_LARGE, {}),
    "strip": (
        _LARGE,
        {
            "coil.geometry.primary.conductor.kind": "strip",
            "coil.geometry.primary.conductor.width": 9e-3,
            "coil.geometry.top_load.kind": "disc",
            "coil.geometry.top_load.thickness": 0.02,
            "coil.measured.breakout_voltage": None,
        },
    ),
    "both": (_SOUND, {"coil.measured": _COIL}),
    "bounded": (_SPIKING, _FITTED | {"calibration": {"coupling": 0.2, "misfit": 1.0}}),
    "resonant": (
        _SOUND,
        {"coil.measured": _COIL | {"secondary_capacitance": None, "resonance": 600e3}},
    ),
    "bench": (_SPIKING, _FITTED | {"readings.rows": _READ, "readings.on_resistance": 0.5}),
    "calibrated": (
        _SPIKING,
        _FITTED
        | {
            "calibration": {
                "coupling": 0.2, "quality_factor": 120.0, "secondary_capacitance": 7.2e-12,
                "breakout_voltage": 8e3, "on_resistance": 0.3, "output_capacitance": 1.3e-10,
                "source": "4 rows", "misfit": 2.1,
            }
        },
    ),
    "varied": (
        _SPIKING,
        _FITTED | {"variants": [{"name": "hotter", "changes": {"supply.voltage": 60.0}}]},
    ),
}  # fmt: skip
"""Example and changes of each design that a field is moved in."""


@cache
def base(name: str) -> Design:
    file, changes = BASES[name]
    return with_values(load(EXAMPLES / f"{file}.burstwise"), changes)


@cache
def _table(name: str) -> CarrierTable:
    return evaluate(base(name), verify=False).table


@cache
def _results(name: str, design: Design) -> Results:
    """Results with the carrier table of the base: the engine's own run shows a changed stage."""
    return evaluate(design, table=_table(name), verify=False)


def figures(name: str, design: Design, group: str) -> Figures:
    """Named figures of one group; `name` is the base that the design came from."""
    if group in ("coil", "carrier", "burst", "thermal"):
        return _flat(results_object(_results(name, design))[group], group)
    return dict(_GROUPS[group](name, design))


def _limits(name: str, design: Design) -> Iterator[tuple[str, object]]:
    for item in _results(name, design).limits:
        yield f"limits.{item.rating}", _plain(item.margin)


def _findings(name: str, design: Design) -> Iterator[tuple[str, object]]:
    for item in _results(name, design).findings:
        yield f"findings.{item.code}", True


def _chain(name: str, design: Design) -> Iterator[tuple[str, object]]:
    report = chain_of(_results(name, design))
    for part in ("polarity", "buffer", "indicator", "gating", "gate", "low_supply", "bulk"):
        yield from _flat(getattr(report, part), f"chain.{part}").items()
    for part in ("driver_junction", "decoupling_wanted", "low_load", "low_load_burst"):
        yield f"chain.{part}", _plain(getattr(report, part))


def _timer(name: str, design: Design) -> Iterator[tuple[str, object]]:
    found = resolved_interrupter(design)
    yield from _flat((found.frequency_band, found.duty_band), "timer").items()
    if found.chosen is not None:
        ends = found.chosen.duty_low, found.chosen.duty_high
        yield from _flat(ends, "timer.knob").items()
        yield from _flat(temperature_drift(found.chosen), "timer.drift").items()


def _sets(name: str, design: Design) -> Iterator[tuple[str, object]]:
    assert design.interrupter.wish is not None
    answer = size_timer(design.interrupter.wish)
    yield from _flat(sets_report(answer)["sets"], "sets").items()


def _warm_up(name: str, design: Design) -> Iterator[tuple[str, object]]:
    yield from _flat(warm_up_of(_results(name, design)), "warm_up").items()


def _bill(name: str, design: Design) -> Iterator[tuple[str, object]]:
    for part in parts_list(_results(name, design)).parts:
        yield from _flat(part, f"bill.{part.role}").items()


def _datasheet(name: str, design: Design) -> Iterator[tuple[str, object]]:
    device = design.device
    for item in plausibility(device):
        yield f"datasheet.{item.code}", True
    for number, element in enumerate(fitted_network(device.impedance_curve)):
        yield f"datasheet.network.{number}", tuple(element.model_dump().values())
    charges = device_charges(device)
    yield "datasheet.charges", (charges.drain_source, charges.gate_drain)


@cache
def _some_plan() -> PowerupPlan:
    """One plan for all sheets: it takes the engine seconds, and no field is looked for in it."""
    return powerup_plan(_results("gated", base("gated")))


def _sheet(name: str, design: Design) -> Iterator[tuple[str, object]]:
    """Build sheet without its mark, which tells of any change in the file."""
    sheet = build_sheet(_results(name, design), _some_plan())
    yield "sheet.title", sheet.title
    for section in sheet.sections:
        if section.title != "First power-up":
            yield f"sheet.{section.title}", section.blocks


def _bench(name: str, design: Design) -> Iterator[tuple[str, object]]:
    sheet, setup = sheet_of(design.readings), bench_setup(design)
    for item in sheet.findings:
        yield f"bench.findings.{item.code}", True
    yield "bench.note", tuple(row.note for row in sheet.readings)
    table = sheet.table
    for row in derived_table(table.rows, setup).rows:
        told = {
            item.name: getattr(row, item.name) for item in dataclasses.fields(row)
            if item.name != "reading"
        }  # fmt: skip
        yield from _flat(told, f"bench.derived.{row.reading.line}").items()
    side_load = design.readings.side_load
    told = forecast(table, setup, bench_ratings(design), side_load=side_load)
    yield from _flat(told.reached, "bench.forecast").items()
    yield from _flat(symptoms_of_rows(table.rows, setup), "bench.symptoms").items()
    probe = Probe(design.readings.probe.attenuation, design.readings.probe.offset)
    seen = Channel("CH1", "V", np.array([0.5, 2.0])).through(probe)
    yield from _flat(seen.values, "bench.capture").items()


def _model(name: str, design: Design) -> Iterator[tuple[str, object]]:
    """What a calibration compares, with its uncertainties, for the first row."""
    coil, rows = resolved_coil(design.coil), sheet_of(design.readings).table.rows[:1]
    prior = prior_values(design, coil)
    model = BenchModel(design, coil, rows, bench_setup(design), None, prior=prior)
    predicted = model.predicted(prior).tolist()
    for item, value in zip(model.observations, predicted, strict=True):
        yield f"model.{item.name}", (item.measured, item.uncertainty, value)
    yield from _flat(model.breakouts(prior), "model.breakout").items()


def _variant(name: str, design: Design) -> Iterator[tuple[str, object]]:
    made = variant_design(design, design.variants[0])
    yield "variant.name", made.name
    yield from _flat(results_object(_results(name, made))["burst"], "variant.burst").items()


_GROUPS = {
    "limits": _limits,
    "findings": _findings,
    "chain": _chain,
    "timer": _timer,
    "sets": _sets,
    "warm_up": _warm_up,
    "bill": _bill,
    "datasheet": _datasheet,
    "sheet": _sheet,
    "bench": _bench,
    "model": _model,
    "variant": _variant,
}


def _plain(value: object) -> object:
    """A number without the rounding errors that go with the order of a run's steps."""
    return float(f"{value:.9g}") if isinstance(value, float) else value


def _flat(value: object, key: str) -> dict[str, object]:
    """Plain numbers and words by dotted name; sections of the design are no figures."""
    if isinstance(value, BaseModel):
        return {}
    if isinstance(value, np.ndarray):
        return {key: tuple(_plain(item) for item in np.ravel(value).tolist())}
    inside: Mapping[Any, object]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        inside = {item.name: getattr(value, item.name) for item in dataclasses.fields(value)}
    elif isinstance(value, Mapping):
        inside = value
    elif isinstance(value, (tuple, list)):
        inside = dict(enumerate(value))
    else:
        return {key: _plain(value)}
    found: dict[str, object] = {}
    for name, part in inside.items():
        found |= _flat(part, f"{key}.{name}")
    return found
