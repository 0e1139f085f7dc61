"""Low-voltage supply, bulk capacitors, heat sink: reference figures and time simulations."""

import numpy as np
import pytest
from interrupter_formulas import (
    Air,
    adjustable_output,
    constant_current_droop,
    constant_power_end,
    full_wave_ripple,
    limited_burst,
    plate_heat_sink,
    resistive_end,
)

from burstwise.core.errors import InputError
from burstwise.core.interrupter.bulk import decoupling_capacitance, pulse_train
from burstwise.core.interrupter.supply import (
    LinearRegulator,
    SeparateSupply,
    ZenerSupply,
    smallest_peak_input,
)


def codes(findings):
    return {finding.code for finding in findings}


def test_droops_match_the_figures(figures):
    given, expected = figures("supply", "N-DROOP-1")
    drop = constant_current_droop(given["I_A"], given["tp_s"], capacitance=given["C_F"])
    assert drop == pytest.approx(float(expected["dV_cap_V"]), rel=1e-9)
    total = constant_current_droop(
        given["I_A"], given["tp_s"], capacitance=given["C_F"], esr=given["ESR_ohm"]
    )
    assert total == pytest.approx(float(expected["dV_total_V"]), rel=1e-9)
    given, expected = figures("supply", "N-DROOP-2")
    end = constant_power_end(given["V0_V"], given["P_W"], given["t_s"], capacitance=given["C_F"])
    assert end == pytest.approx(float(expected["V_end_V"]), rel=1e-9)
    given, expected = figures("supply", "N-DROOP-3")
    end = resistive_end(given["V0_V"], given["R_ohm"], given["t_s"], capacitance=given["C_F"])
    assert end == pytest.approx(float(expected["V_end_V"]), rel=1e-9)


def test_pulse_train_matches_the_figures(figures):
    given, expected = figures("supply", "N-DROOP-4")
    train = pulse_train(given["I_pulse_A"], given["tp_s"], given["T_s"], capacitance=given["C_F"])
    assert train.source_current == pytest.approx(float(expected["I_source_avg_A"]), rel=1e-9)
    assert train.ripple == pytest.approx(float(expected["dV_pp_V"]), rel=1e-9)
    assert train.ripple_current == pytest.approx(float(expected["I_cap_rms_A"]), rel=1e-9)


def test_rectifier_ripple_matches_the_figures(figures):
    given, expected = figures("supply", "N-RIP-3")
    ripple = full_wave_ripple(
        given["V_peak_V"], given["f_mains_Hz"], current=given["I_A"], capacitance=given["C_F"]
    )
    assert ripple.ripple == pytest.approx(float(expected["ripple_pp_V"]), rel=1e-8)
    assert ripple.valley == pytest.approx(float(expected["V_min_V"]), rel=1e-8)
    assert ripple.discharge_time == pytest.approx(float(expected["discharge_time_s"]), rel=1e-8)


@pytest.mark.parametrize("current", [0.05, 1.0, 3.0])
def test_rectifier_ripple_matches_a_stepped_simulation(current):
    peak, mains, C = 34.0, 50.0, 2200e-6
    t = np.linspace(0, 0.06, 1_200_001)
    source = peak * np.abs(np.sin(2 * np.pi * mains * t))
    # the capacitor is the larger of the source and the running straight line below it
    line = np.maximum.accumulate(source + current / C * t) - current / C * t
    settled = line[t > 0.02]
    ripple = full_wave_ripple(peak, mains, current=current, capacitance=C)
    assert ripple.ripple == pytest.approx(settled.max() - settled.min(), rel=1e-5)


def test_regulator_matches_the_figures(figures):
    given, expected = figures("supply", "N-REG-2")
    out = adjustable_output(
        given["R1_ohm"], given["R2_ohm"], reference=given["Vref_V"], adjust_current=given["Iadj_A"]
    )
    assert out == pytest.approx(float(expected["Vout_V"]), rel=1e-9)
    given, expected = figures("supply", "N-REG-3")
    needed = smallest_peak_input(
        given["Vout_V"], dropout=given["dropout_V"], ripple=given["ripple_pp_V"]
    )
    assert needed == pytest.approx(float(expected["V_peak_min_V"]), rel=1e-9)


@pytest.mark.parametrize("case", ["N-HS-1", "N-HS-2"])
def test_heat_sink_matches_the_figures(figures, case):
    given, expected = figures("supply", case)
    sink = plate_heat_sink(
        given["height_m"],
        given["width_m"],
        rise=given["dT_K"],
        film=given["T_film_K"],
        emissivity=given["emissivity"],
        air=Air(given["nu_m2_s"], given["k_W_mK"], given["Pr"]),
    )
    assert sink.nusselt == pytest.approx(float(expected["Nu"]), rel=1e-6)
    assert sink.convection == pytest.approx(float(expected["h_conv_W_m2K"]), rel=1e-6)
    assert sink.radiation == pytest.approx(float(expected["h_rad_W_m2K"]), rel=1e-6)
    assert sink.resistance == pytest.approx(float(expected["Rth_K_per_W"]), rel=1e-6)
    with pytest.raises(InputError, match="rise"):
        plate_heat_sink(0.05, 0.05, rise=0.0)


def test_pulse_train_ripple_matches_a_stepped_simulation():
    current, on, period, C = 8.0, 2e-3, 11e-3, 1e-3
    t = np.linspace(0, period, 1_100_001)
    into = current * on / period - np.where(t < on, current, 0.0)
    dt = np.diff(t)
    v = np.concatenate([[0], np.cumsum((into[1:] + into[:-1]) / 2 * dt)]) / C
    train = pulse_train(current, on, period, capacitance=C, esr=0.05)
    assert train.ripple == pytest.approx(v.max() - v.min(), rel=1e-4)
    rms = np.sqrt(np.trapezoid(into**2, t) / period)
    assert train.ripple_current == pytest.approx(rms, rel=1e-4)
    assert train.esr_power == pytest.approx(0.05 * rms**2, rel=1e-4)


def test_supply_limit_and_ripple_rating_are_judged():
    def judged(**limits):
        return codes(pulse_train(10.0, 1e-3, 5e-3, capacitance=1e-3, **limits).findings)

    assert judged(supply_limit=1.0) == {"supply-cannot-refill"}
    assert judged(supply_limit=3.0) == {"supply-limits-in-burst"}
    assert judged(supply_limit=20.0) == set()
    assert judged(ripple_rating=3.9) == {"bulk-ripple-current"}
    with pytest.raises(InputError, match="on_time"):
        pulse_train(1.0, 2e-3, 1e-3, capacitance=1e-3)
    with pytest.raises(InputError, match="capacitance"):
        pulse_train(1.0, 1e-3, 2e-3, capacitance=0.0)


def test_limited_burst_balances_its_charge():
    burst = limited_burst(
        24.0, 10.0, on_time=1e-3, off_time=9e-3, capacitance=4.7e-3, supply_limit=2.0
    )
    assert (24.0 - burst.lowest) * 4.7e-3 == pytest.approx(2.0 * burst.refill_time)
    assert burst.refills
    assert not limited_burst(
        24.0, 10.0, on_time=5e-3, off_time=5e-3, capacitance=4.7e-3, supply_limit=2.0
    ).refills


def test_an_empty_capacitor_is_refused():
    with pytest.raises(InputError, match="empty"):
        constant_power_end(10.0, 100.0, 1.0, capacitance=1e-3)
    with pytest.raises(InputError, match="capacitance"):
        full_wave_ripple(10.0, 50.0, current=5.0, capacitance=1e-6)
    with pytest.raises(InputError, match="droop"):
        decoupling_capacitance(1e-9, 0.0)


def test_regulator_heat_balances_and_is_judged():
    cool = LinearRegulator().at(input_low=18, input_high=24, load=0.03, ambient=25)
    assert cool.dissipation == pytest.approx(24 * (0.03 + 0.005) - 12 * 0.03)
    assert cool.findings == ()
    hot = LinearRegulator().at(input_low=13, input_high=36, load=0.2, ambient=40)
    assert codes(hot.findings) == {"regulator-dropout", "regulator-input", "low-supply-heat"}
    assert hot.output_low == pytest.approx(11.0)
    with pytest.raises(InputError, match="input"):
        LinearRegulator().at(input_low=20, input_high=18, load=0.0, ambient=25)


def test_zener_keeps_its_least_current_and_its_heat_is_the_worst():
    supply = ZenerSupply()
    result = supply.at(input_low=20, input_high=26, load=0.015, ambient=25)
    assert (20 - 12 * 1.05) / result.series_resistor - 0.015 >= 0.005
    for zener in np.linspace(12 * 0.95, 12 * 1.05, 21):
        assert zener * (26 - zener) / result.series_resistor <= result.dissipation * (1 + 1e-12)
    with pytest.raises(InputError, match="input"):
        supply.at(input_low=12, input_high=26, load=0.015, ambient=25)


def test_a_separate_supply_only_minds_its_current():
    fine = SeparateSupply().at(input_low=0, input_high=0, load=0.2, ambient=25)
    assert fine.findings == ()
    over = SeparateSupply().at(input_low=0, input_high=0, load=2.0, ambient=25)
    assert codes(over.findings) == {"low-supply-current"}
