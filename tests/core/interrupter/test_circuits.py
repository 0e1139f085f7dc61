"""Half-cycles and circuits.

Who checks whom: reference figures (closed forms and quadrature worked out elsewhere); an event
simulation of the RC network with nodal analysis and a bracketed diode law; limits and scaling.
"""

import numpy as np
import pytest

from burstwise.core.errors import InputError
from burstwise.core.interrupter.build import Cycle, pulse_time, timer_values
from burstwise.core.interrupter.circuits import (
    CIRCUITS,
    Capped,
    ClassicAstable,
    SteeredDischarge,
    SteeredOutput,
    TwoTimer,
    circuit_named,
)
from burstwise.core.interrupter.halfcycle import ConstantDrop, Path, ShockleyDiode
from burstwise.core.interrupter.stock import taper_fraction
from burstwise.core.interrupter.timer import BIPOLAR, CMOS

IDEAL = {
    "upper": 2 / 3,
    "lower": 1 / 3,
    "pulse_upper": 2 / 3,
    "discharge_saturation": 0.0,
    "discharge_resistance": 0.0,
    "output_high_drop": 0.0,
    "output_high_resistance": 0.0,
    "output_low": 0.0,
    "output_low_resistance": 0.0,
    "charge_drop": 0.0,
    "discharge_drop": 0.0,
    "potentiometer": 0.0,
    "frequency_potentiometer": 0.0,
    "frequency_travel": 1.0,
    "pot_end": 0.0,
    "pot_middle": 0.5,
    "supply": 9.0,
}
PARTS = {
    "charge_resistor": 3.9e3,
    "discharge_resistor": 4.7e3,
    "potentiometer": 100e3,
    "timing_capacitor": 330e-9,
    "pulse_resistor": 20e3,
    "pulse_capacitor": 470e-9,
}


def build_of(timer, supply, **parts):
    values = {**IDEAL, **timer_values(timer, supply), "charge_drop": 0.6, "discharge_drop": 0.6}
    return {**values, "pot_end": 0.005, **PARTS, **parts}


def model_of(timer, supply, drop):
    return {
        "supply_V": supply,
        "upper_level_V": supply * timer.upper,
        "lower_level_V": supply * timer.lower,
        "discharge_saturation_V": timer.discharge_saturation,
        "discharge_resistance_ohm": timer.discharge_resistance,
        "output_high_V": supply - timer.output_high_drop,
        "output_high_resistance_ohm": timer.output_high_resistance,
        "output_low_V": timer.output_low,
        "output_low_resistance_ohm": timer.output_low_resistance,
        "diode_drop_V": drop,
        "pot_end_fraction": 0.005,
    }


@pytest.mark.parametrize("case", ["G-AST-1", "G-AST-2"])
def test_classic_astable_matches_the_figures(figures, case):
    given, expected = figures("timer", case)
    build = {**IDEAL, "charge_resistor": given["RA_ohm"], "discharge_resistor": given["RB_ohm"]}
    cycle = ClassicAstable().cycle({**build, "timing_capacitor": given["C_F"]})
    assert cycle.on == pytest.approx(float(expected["tH_s_exact"]), rel=1e-9)
    assert cycle.off == pytest.approx(float(expected["tL_s_exact"]), rel=1e-9)
    assert cycle.frequency == pytest.approx(float(expected["f_Hz_exact"]), rel=1e-9)
    assert cycle.duty == pytest.approx(float(expected["duty_high"]), rel=1e-9)


@pytest.mark.parametrize("case", ["G-MONO-1", "G-MONO-2"])
def test_pulse_matches_the_figures(figures, case):
    given, expected = figures("timer", case)
    build = {**IDEAL, "pulse_capacitor": given["C_F"]}
    time = pulse_time(build, given["RA_ohm"])
    assert time == pytest.approx(float(expected["t_s_exact_ln3"]), rel=1e-9)


def test_control_voltage_matches_the_figures(figures):
    given, expected = figures("timer", "G-CTRL-2")
    timer = CMOS.with_control(given["Vctl_V"], given["Vcc_V"])
    build = {
        **IDEAL,
        "supply": given["Vcc_V"],
        "upper": timer.upper,
        "lower": timer.lower,
        "charge_resistor": given["RA_ohm"],
        "discharge_resistor": given["RB_ohm"],
        "timing_capacitor": given["C_F"],
    }
    cycle = ClassicAstable().cycle(build)
    assert cycle.on == pytest.approx(float(expected["tH_s"]), rel=1e-9)
    assert cycle.off == pytest.approx(float(expected["tL_s"]), rel=1e-9)


@pytest.mark.parametrize("case", [f"G-STEER-{n}" for n in range(4, 9)])
def test_steered_half_cycles_match_the_figures(figures, case):
    given, expected = figures("timer", case)
    supply, C = given["Vcc_V"], given["C_F"]
    charge = Path(supply, given["R_charge_ohm"], ConstantDrop(given["Vd_charge_V"]))
    discharge = Path(
        given["Vsat_discharge_V"],
        given["R_discharge_ohm"] + given["R_switch_ohm"],
        ConstantDrop(given["Vd_discharge_V"]),
    )
    cycle = Cycle(
        charge.time(C, supply / 3, 2 * supply / 3), discharge.time(C, 2 * supply / 3, supply / 3)
    )
    assert cycle.on == pytest.approx(float(expected["tH_s"]), rel=1e-9)
    assert cycle.off == pytest.approx(float(expected["tL_s"]), rel=1e-9)
    assert cycle.frequency == pytest.approx(float(expected["f_Hz"]), rel=1e-9)
    assert cycle.duty == pytest.approx(float(expected["duty_high"]), rel=1e-9)


@pytest.mark.parametrize("case", ["G-SHOCK-1", "G-SHOCK-3"])
def test_shockley_half_cycles_match_the_figures(figures, case):
    given, expected = figures("timer", case)
    supply = given["Vcc_V"]
    build = {
        **IDEAL,
        "supply": supply,
        "discharge_saturation": given["Vsat_V"],
        "charge_resistor": given["R_charge_ohm"],
        "discharge_resistor": given["R_discharge_ohm"],
        "timing_capacitor": given["C_F"],
    }
    circuit = SteeredDischarge(ShockleyDiode(given["Is_A"], given["n"], given["T_K"]))
    cycle = circuit.cycle(build)
    assert cycle.on == pytest.approx(float(expected["tH_s"]), rel=1e-8)
    assert cycle.off == pytest.approx(float(expected["tL_s"]), rel=1e-8)
    drops = {
        "charge_drop": float(expected["equivalent_const_Vd_charge_V"]),
        "discharge_drop": float(expected["equivalent_const_Vd_discharge_V"]),
    }
    constant = SteeredDischarge().cycle({**build, **drops})
    assert constant.frequency == pytest.approx(cycle.frequency, rel=1e-8)


@pytest.mark.parametrize("case", ["G-POT-1", "G-POT-2", "G-POT-4"])
def test_potentiometer_matches_the_figures(figures, case):
    given, expected = figures("timer", case)
    build = {
        **IDEAL,
        "supply": given["Vcc_V"],
        "charge_resistor": given["R_series_charge_ohm"],
        "discharge_resistor": given["R_series_discharge_ohm"],
        "potentiometer": given["R_pot_ohm"],
        "timing_capacitor": given["C_F"],
        "charge_drop": given["Vd_V"],
        "discharge_drop": given["Vd_V"],
    }
    cycle = SteeredDischarge().cycle(build, given["alpha_charge_side"])
    assert cycle.on == pytest.approx(float(expected["tH_s"]), rel=1e-9)
    assert cycle.off == pytest.approx(float(expected["tL_s"]), rel=1e-9)
    assert cycle.duty == pytest.approx(float(expected["duty_high"]), rel=1e-9)


def test_stretch_factor_matches_every_figure(table_rows):
    rows = [row for row in table_rows("interrupter_timer.csv") if row["id"] == "G-KFAC"]
    assert len(rows) == 24
    for row in rows:
        supply, drop = (float(pair.split("=")[1]) for pair in row["inputs"].split())
        time = Path(supply, 1.0, ConstantDrop(drop)).time(1.0, supply / 3, 2 * supply / 3)
        expected = {"k": time, "over_ln2": time / np.log(2)}[row["result"]]
        assert expected == pytest.approx(float(row["value"]), rel=1e-9)


def test_bipolar_output_at_five_volts_never_switches(figures):
    given, _ = figures("timer", "G-OUT-3")
    build = build_of(BIPOLAR, given["Vcc_V"], charge_drop=given["Vd_V"])
    cycle = SteeredOutput().cycle(build)
    assert np.isinf(cycle.on)
    assert cycle.frequency == 0
    assert cycle.duty == 0


@pytest.mark.parametrize("timer", [BIPOLAR, CMOS], ids=lambda timer: timer.name)
@pytest.mark.parametrize("name", list(CIRCUITS))
@pytest.mark.parametrize("travel", [0.0, 0.37, 1.0])
def test_circuits_agree_with_event_simulation(simulation, timer, name, travel, figure):
    build = build_of(timer, 12.0, frequency_potentiometer=22e3)
    parts = {k: build[k] for k in (*PARTS, "frequency_potentiometer")}
    if "capped" not in name and name != "two-timer":
        parts = {k: v for k, v in parts.items() if "pulse" not in k}
    on, period = simulation(name, parts, model_of(timer, 12.0, 0.6), travel)
    cycle = CIRCUITS[name].cycle(build, travel)
    swallowed = max(np.ceil(on / period), 1.0)
    figure(
        f"on-time of {name}, {timer.name}, travel {travel:g}",
        cycle.on / on - 1,
        limit="1e-6",
        source="event simulation of the network with SciPy",
    )
    assert cycle.on == pytest.approx(on, rel=1e-6)
    assert cycle.period == pytest.approx(period * swallowed, rel=1e-6)


@pytest.mark.parametrize("timer", [BIPOLAR, CMOS], ids=lambda timer: timer.name)
@pytest.mark.parametrize("form", [SteeredDischarge, SteeredOutput])
@pytest.mark.parametrize("travel", [0.0, 0.8])
def test_shockley_circuits_agree_with_event_simulation(simulation, timer, form, travel, figure):
    diode = {"Is": 4.35e-9, "n": 1.906, "T": 320.0}
    circuit = form(ShockleyDiode(diode["Is"], diode["n"], diode["T"]))
    build = build_of(timer, 12.0)
    parts = {k: v for k, v in PARTS.items() if "pulse" not in k}
    on, period = simulation(circuit.name, parts, model_of(timer, 12.0, 0.6), travel, diode)
    cycle = circuit.cycle(build, travel)
    figure(
        f"on-time with Shockley diodes, {circuit.name}, {timer.name}, travel {travel:g}",
        cycle.on / on - 1,
        limit="1e-6",
        source="event simulation of the network with SciPy",
    )
    assert cycle.on == pytest.approx(on, rel=1e-6)
    assert cycle.period == pytest.approx(period, rel=1e-6)


def test_capped_on_time_never_exceeds_the_pulse():
    build = build_of(CMOS, 12.0)
    cycle = Capped(SteeredDischarge()).cycle(build, np.linspace(0, 1, 21))
    free = SteeredDischarge().cycle(build, np.linspace(0, 1, 21))
    cap = pulse_time(build, build["pulse_resistor"])
    assert cycle.on.max() == pytest.approx(cap)
    assert np.any(free.on > 1.5 * cap)
    assert np.allclose(cycle.period, free.period)


def test_two_timer_knobs_are_independent_until_the_pulse_is_too_long():
    build = build_of(
        CMOS, 12.0, charge_resistor=100e3, discharge_resistor=100e3, frequency_potentiometer=220e3
    )
    slow, fast = (
        TwoTimer().cycle({**build, "frequency_travel": x}, [0.0, 0.3]) for x in (0.0, 1.0)
    )
    assert np.allclose(slow.on, fast.on)
    assert np.allclose(slow.period, slow.period[0])
    assert slow.period[0] > 1.6 * fast.period[0]
    overlong = TwoTimer().cycle({**build, "pulse_capacitor": 10e-6}, 0.1)
    assert overlong.period == pytest.approx(
        fast.period[0] * np.ceil(overlong.on / fast.period[0]), rel=1e-12
    )


def test_time_scales_with_capacitance_and_not_with_supply_without_drops():
    base = {**IDEAL, **{k: PARTS[k] for k in list(PARTS)[:4]}}
    one = SteeredDischarge().cycle(base, 0.3)
    twice = SteeredDischarge().cycle({**base, "timing_capacitor": 660e-9}, 0.3)
    higher = SteeredDischarge().cycle({**base, "supply": 15.0}, 0.3)
    assert twice.period == pytest.approx(2 * one.period)
    assert higher.period == pytest.approx(one.period)


def test_shockley_diode_tends_to_a_wire_at_high_saturation_current():
    nearly_wire = Path(12.0, 1e3, ShockleyDiode(saturation_current=1e3))
    wire = Path(12.0, 1e3, ConstantDrop(0.0))
    assert nearly_wire.time(1e-7, 4.0, 8.0) == pytest.approx(wire.time(1e-7, 4.0, 8.0), rel=1e-6)


def test_a_level_on_the_wrong_side_is_never_reached():
    path = Path(3.0, 1e3, ConstantDrop(0.6))
    assert np.isinf(path.time(1e-7, 4.0, 8.0))
    assert np.isinf(path.time(1e-7, 0.0, 2.5))
    assert np.isinf(Path(3.0, 1e3, ShockleyDiode()).time(1e-7, 0.0, 3.0))


@pytest.mark.parametrize("middle", [0.1, 0.15, 0.5, 0.9])
def test_taper_passes_its_ends_and_its_middle(middle):
    at = taper_fraction(np.array([0.0, 0.5, 1.0]), middle=middle)
    assert np.allclose(at, [0.0, middle, 1.0])
    assert np.all(np.diff(taper_fraction(np.linspace(0, 1, 50), middle=middle)) > 0)


def test_unknown_circuit_and_control_voltage_are_refused():
    with pytest.raises(InputError, match="two-timer"):
        circuit_named("relay")
    with pytest.raises(InputError, match="control_voltage"):
        CMOS.with_control(12.0, 12.0)
