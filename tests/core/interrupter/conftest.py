"""Reference figures, and a simulation of the timers that shares nothing with the package."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq


@pytest.fixture
def figures(table_rows):
    """Inputs and expected results of one reference case: figures("timer", "G-AST-1")."""

    def read(file, case):
        found = [row for row in table_rows(f"interrupter_{file}.csv") if row["id"] == case]
        assert found, case
        pairs = (pair.split("=") for pair in found[0]["inputs"].split())
        inputs = {k: float(v) for k, v in pairs if v[0].isdigit() and "," not in v}
        return inputs, {row["result"]: row["value"] for row in found}

    return read


def branch_current(across, resistance, diode):
    """Current through a resistor and a diode: constant drop, or Shockley by bracketing."""
    if not isinstance(diode, dict):
        return max(across - diode, 0.0) / resistance
    if across <= 0:
        return 0.0
    scale = diode["n"] * 1.380649e-23 * diode["T"] / 1.602176634e-19

    def excess(i):
        return i * resistance + scale * np.log1p(i / diode["Is"]) - across

    return brentq(excess, 0.0, across / resistance, xtol=1e-22, rtol=1e-14)


def moved(current, start, end, capacitance, guess):
    """Time for a capacitor with C dv/dt = current(v) to go from start to end, by events."""

    def arrives(t, v):
        return v[0] - end

    arrives.terminal = True
    total = 0.0
    for _ in range(40):
        run = solve_ivp(
            lambda t, v: [current(v[0]) / capacitance],
            (0.0, guess),
            [start],
            method="DOP853",
            events=arrives,
            rtol=1e-10,
            atol=1e-12,
        )
        total += run.t[-1]
        if run.t_events[0].size:
            return total
        start = run.y[0, -1]
    return np.inf


def switch_voltage(current, saturation, resistance, supply, pull_up):
    """Node of a closed switch that takes `current` and the pull-up's, by nodal analysis."""
    # (v - saturation)/resistance = current + (supply - v)/pull_up
    if resistance == 0:
        return saturation
    return (current + supply / pull_up + saturation / resistance) / (1 / resistance + 1 / pull_up)


def sunk(v, series, diode, saturation, resistance, supply, pull_up):
    """Discharge current of a capacitor at v through series and diode into a loaded switch."""
    if resistance == 0:
        return branch_current(v - saturation, series, diode)

    def excess(i):
        node = switch_voltage(i, saturation, resistance, supply, pull_up)
        return branch_current(v - node, series, diode) - i

    top = v / series
    return 0.0 if excess(0.0) <= 0 else brentq(excess, 0.0, top, xtol=1e-22, rtol=1e-14)


def simulated(circuit, parts, model, travel, diode=None):
    """On-time and period of a circuit by event simulation, from its parts and its model."""
    supply, upper, lower = model["supply_V"], model["upper_level_V"], model["lower_level_V"]
    saturation, on_ohms = model["discharge_saturation_V"], model["discharge_resistance_ohm"]
    drop = model["diode_drop_V"] if diode is None else diode
    pot, end = parts.get("potentiometer", 0.0), model["pot_end_fraction"]
    rising = pot * (end + (1 - 2 * end) * travel)
    falling = pot - rising
    RA, RB, C = (parts[k] for k in ("charge_resistor", "discharge_resistor", "timing_capacitor"))
    scale = 3 * C * (RA + RB + pot + parts.get("frequency_potentiometer", 0.0))
    if circuit.endswith("discharge"):
        pull_up = RA

        def up(v):
            return branch_current(supply - v, RA + rising, drop)

        def down(v):
            return -sunk(v, RB + falling, drop, saturation, on_ohms, supply, pull_up)
    elif circuit.endswith("output"):
        high, low = model["output_high_V"], model["output_low_V"]
        r_high, r_low = model["output_high_resistance_ohm"], model["output_low_resistance_ohm"]

        def up(v):
            return branch_current(high - v, RA + rising + r_high, drop)

        def down(v):
            return -branch_current(v - low, RB + falling + r_low, drop)
    else:
        track = (
            parts.get("frequency_potentiometer", 0.0) * end if circuit == "two-timer" else rising
        )
        pull_up = RA + track

        def up(v):
            return (supply - v) / (pull_up + RB)

        def down(v):
            return -sunk(v, RB, 0.0, saturation, on_ohms, supply, pull_up)

    charging = moved(up, lower, upper, C, scale)
    period = charging + moved(down, upper, lower, C, scale)
    on = charging
    if "pulse_capacitor" in parts:
        R = parts["pulse_resistor"] + (rising if circuit == "two-timer" else 0.0)
        rest = switch_voltage(0.0, saturation, on_ohms, supply, R)
        Cp = parts["pulse_capacitor"]
        pulse = moved(lambda v: (supply - v) / R, rest, upper, Cp, 3 * R * Cp)
        on = pulse if circuit == "two-timer" else min(charging, pulse)
    return on, period


@pytest.fixture
def simulation():
    """The event simulation."""
    return simulated
