"""Make reference rows again with mpmath, from the equations that they name.

Usage: python tests/reference/make_rows.py [--write]
Says which figures in the tables differ from what mpmath gives, and writes them anew on demand.
Nothing of the project is imported. What is not made here: the moments and loop sums of
coil_example.csv and coil_solenoid.csv, the fields of coil_torus.csv, and all rows from a book.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from pathlib import Path

from mpmath import mp, mpf

mp.dps = 20
HERE = Path(__file__).parent
MU0, EPS0 = mpf("1.25663706212e-6"), mpf("8.8541878128e-12")
"""CODATA 2018."""
RHO = mpf("1.7241e-8")
"""Copper at 20 degrees, IEC 60028."""
Row = Mapping[str, str]
Made = Mapping[str, mpf]


def nagaoka(row: Row) -> Made:
    """Coefficient of a current sheet: Lorenz 1879 with complete elliptic integrals."""
    return {"coefficient": _sheet(mpf(row["diameter_over_length"]))}


def _sheet(ratio: mpf) -> mpf:
    k2 = ratio**2 / (1 + ratio**2)
    k, other = mp.sqrt(k2), 1 / mp.sqrt(1 + ratio**2)
    whole = (other**2 / k2) * (mp.ellipk(k2) - mp.ellipe(k2)) + mp.ellipe(k2) - k
    return 4 / (3 * mp.pi * other) * whole


def wheeler(row: Row) -> Made:
    """Relative errors of Wheeler's formulas of 1928 (inches) and 1982 against the sheet."""
    x = mpf(row["length_over_radius"])
    exact = _sheet(2 / x)
    # The table takes 4 pi 1e-7 H/m, the constant of Wheeler's day.
    old = x * mpf("1e-6") / ((9 + 10 * x) * 4 * mp.pi**2 * mpf("1e-7") * mpf("0.0254"))
    bracket = mp.log(1 + mp.pi / x) + 1 / (mpf("2.3") + mpf("1.6") * x + mpf("0.44") * x**2)
    new = x / mp.pi * bracket
    return {"wheeler_1928": old / exact - 1, "wheeler_1982": new / exact - 1}


def rosa(row: Row) -> Made:
    """Rosa's B: filaments at whole pitches against strips of one pitch, by their mean distances."""
    if row["turns"] == "inf":
        return {"B": mp.log(2 * mp.pi) - mpf(3) / 2}
    turns = int(row["turns"])

    def nearer(m: int) -> mpf:
        outer = mpf(m + 1) ** 2 / 2 * mp.log(m + 1)
        inner = mpf(m - 1) ** 2 / 2 * mp.log(m - 1) if m > 1 else mpf(0)
        return mp.log(m) - (outer + inner - mpf(m) ** 2 * mp.log(m) - mpf(3) / 2)

    return {"B": mpf(2) / turns * mp.fsum((turns - m) * nearer(m) for m in range(1, turns))}


def _kelvin(x: mpf) -> mp.mpc:
    """Impedance of a round wire over its dc resistance, x = radius times root(omega mu sigma)."""
    ka = x * mp.expj(-mp.pi / 4)
    return ka / 2 * mp.besselj(0, ka) / mp.besselj(1, ka)


def skin(row: Row) -> Made:
    """Kelvin's solution: resistance and internal inductance over those at dc."""
    x = mpf(row["x"])
    found = _kelvin(x)
    return {"resistance_ratio": found.real, "inductance_ratio": 8 * abs(found.imag) / x**2}


def wire(row: Row) -> Made:
    """Ac resistance of a copper wire."""
    diameter, omega = mpf(row["diameter_m"]), 2 * mp.pi * mpf(row["frequency_Hz"])
    depth = mp.sqrt(2 * RHO / (omega * MU0))
    dc = 4 * RHO / (mp.pi * diameter**2)
    ac = dc * _kelvin(diameter / (mp.sqrt(2) * depth)).real
    return {"skin_depth_m": depth, "dc_ohm_per_m": dc, "ac_ohm_per_m": ac}


def loops(row: Row) -> Made:
    """Coaxial circles: Maxwell 1873, art. 701."""
    a, b, d = (mpf(row[name]) for name in ("radius_a_m", "radius_b_m", "distance_m"))
    k2 = 4 * a * b / ((a + b) ** 2 + d**2)
    k = mp.sqrt(k2)
    return {
        "mutual_H": MU0 * mp.sqrt(a * b) * ((2 / k - k) * mp.ellipk(k2) - 2 / k * mp.ellipe(k2))
    }


def sphere(row: Row) -> Made:
    """Sphere alone, or above an earth plane by its images (W. R. Smythe)."""
    radius, height = mpf(row["radius_m"]), mpf(row["height_m"])
    alone = 4 * mp.pi * EPS0 * radius
    if mp.isinf(height):
        return {"capacitance_F": alone}
    alpha = mp.acosh(height / radius)
    images = mp.nsum(lambda n: 1 / mp.sinh(n * alpha), [1, mp.inf])
    return {"capacitance_F": alone * mp.sinh(alpha) * images}


def _torus(ring: mpf, tube: mpf) -> mpf:
    """Capacitance of a torus by Legendre functions of half-odd degree [F]."""
    z, reach = ring / tube, mp.sqrt(ring**2 - tube**2)

    def share(n: int) -> mpf:
        degree = mpf(n) - mpf(1) / 2
        return (mp.legenq(degree, 0, z, type=3) / mp.legenp(degree, 0, z, type=3)).real

    total, n = share(0) / 2, 1
    while (more := share(n)) > total * mpf("1e-16"):
        total, n = total + more, n + 1
    return 16 * EPS0 * reach * total


def torus(row: Row) -> Made:
    """A torus far from all else."""
    return {"capacitance_F": _torus(mpf(row["ring_radius_m"]), mpf(row["tube_radius_m"]))}


def torus_sweep(row: Row) -> Made:
    """The same over that of a sphere with the ring's radius."""
    found = _torus(mpf(1), mpf(row["tube_over_ring"])) / (4 * mp.pi * EPS0)
    return {"normalised_capacitance": found}


def steered(row: Row) -> Made:
    """Times of an astable with steering diodes, in closed form."""
    if not row["id"].startswith("G-STEER"):
        return {}
    given = dict(pair.split("=") for pair in row["inputs"].split())
    v, c = mpf(given["Vcc_V"]), mpf(given["C_F"])
    up, down = (mpf(given[f"R_{name}_ohm"]) for name in ("charge", "discharge"))
    first, second = (mpf(given[f"Vd_{name}_V"]) for name in ("charge", "discharge"))
    low, switch = mpf(given["Vsat_discharge_V"]), mpf(given["R_switch_ohm"])
    high = up * c * mp.log((v - first - v / 3) / (v - first - 2 * v / 3))
    rest = (down + switch) * c * mp.log((2 * v / 3 - second - low) / (v / 3 - second - low))
    made = {
        "tH_s": high,
        "tL_s": rest,
        "f_Hz": 1 / (high + rest),
        "duty_high": high / (high + rest),
    }
    return {"value": made[row["result"]]} if row["result"] in made else {}


def ripple(row: Row) -> Made:
    """Capacitor behind a full-wave rectifier that a steady current empties until the next half."""
    if row["id"] != "N-RIP-3":
        return {}
    given = {k: mpf(v) for k, v in (pair.split("=") for pair in row["inputs"].split())}
    peak, omega = given["V_peak_V"], 2 * mp.pi * given["f_mains_Hz"]
    slope = given["I_A"] / given["C_F"]
    leave = mp.asin(slope / (peak * omega)) / omega
    top = peak * mp.cos(omega * leave)
    between = (mp.pi / (2 * omega), mp.pi / omega - leave)
    met = mp.findroot(
        lambda t: top - slope * t + peak * mp.cos(omega * (leave + t)), between, solver="anderson"
    )
    low = top - slope * met
    made = {"discharge_time_s": met, "V_min_V": low, "ripple_pp_V": peak - low}
    return {"value": made[row["result"]]} if row["result"] in made else {}


def hot_channel(row: Row) -> Made:
    """Junction at which the heat of a channel that grows with it is carried off."""
    if row["id"] != "H-COND-3":
        return {}

    def heat(junction: mpf) -> mpf:
        return 36 * mpf("0.077") * ((junction + 273) / 298) ** mpf("2.3")

    junction = mp.findroot(lambda t: t - 40 - 5 * heat(t), 57)
    made = {"junction": junction, "heat": heat(junction)}
    return {"expected": made[row["quantity"]]} if row["quantity"] in made else {}


def waveform(row: Row) -> Made:
    """RMS, mean and highest value of a train over its period, by quadrature."""
    value, ends = _train(row)
    mean = mp.quad(value, ends)
    square = mp.quad(lambda t: value(t) ** 2, ends)
    crest = max(_highest(value, begin, end) for begin, end in pairwise(ends))
    return {
        "rms_A": mp.sqrt(square / _period(row)),
        "mean_A": mean / _period(row),
        "crest_A": crest,
    }


def _period(row: Row) -> mpf:
    return mpf(row["period_s"] or 1)


def _train(row: Row) -> tuple[Callable[[mpf], mpf], list[mpf]]:
    """One period as a function of time, and the times between which it is smooth."""
    top, duty = mpf(row["peak_A"]), mpf(row["duty"] or 1)
    begin = mpf(row["start_A"] or 0)
    shapes: dict[str, Callable[[mpf], mpf]] = {
        "rectangular pulse": lambda t: top,
        "full-wave rectified sine": lambda t: top * mp.sin(mp.pi * t),
        "half-sine pulses": lambda t: top * mp.sin(mp.pi * t / duty),
        "sawtooth from zero": lambda t: top * t / duty,
        "trapezoid": lambda t: begin + (top - begin) * t / duty,
    }
    if row["waveform"] in shapes:
        return shapes[row["waveform"]], [mpf(0), duty]
    tau, omega = mpf(row["tau_s"]), 2 * mp.pi * mpf(row["carrier_Hz"])
    quarter = mp.pi / (2 * omega)
    if row["on_time_s"]:
        last = int(mp.nint(mpf(row["on_time_s"]) / quarter))
        return lambda t: top * -mp.expm1(-t / tau) * mp.sin(omega * t), _steps(quarter, last)
    last = int(mpf(row["period_s"]) / quarter)
    return lambda t: top * mp.exp(-t / tau) * mp.sin(omega * t), _steps(quarter, last)


def _steps(step: mpf, count: int) -> list[mpf]:
    return [step * n for n in range(count + 1)]


def _highest(value: Callable[[mpf], mpf], begin: mpf, end: mpf) -> mpf:
    """Highest value of a smooth function with one maximum, by golden section."""
    golden = (mp.sqrt(5) - 1) / 2
    for _ in range(60):
        one, two = end - golden * (end - begin), begin + golden * (end - begin)
        begin, end = (begin, two) if value(one) > value(two) else (one, end)
    return max(value(begin), value(end))


def bending(row: Row) -> Made:
    """Charge and energy of a capacitance that falls with voltage; a ring from 0 V into it."""
    first, second, third = (mpf(row[name]) for name in ("first", "second", "third"))

    def law(v: mpf) -> mpf:
        if row["law"] == "junction":
            return first * (1 + v / third) ** -second
        return second + (first - second) / (1 + (v / third) ** 2)

    def charge(v: mpf) -> mpf:
        return mp.quad(law, [0, v])

    def energy(v: mpf) -> mpf:
        return mp.quad(lambda u: u * law(u), [0, v])

    if row["voltage_V"]:
        v = mpf(row["voltage_V"])
        q, e = charge(v), energy(v)
        return {
            "capacitance_F": law(v), "charge_C": q, "energy_J": e,
            "charge_related_F": q / v, "energy_related_F": 2 * e / v**2,
        }  # fmt: skip
    coil, current, supply = (mpf(row[n]) for n in ("inductance_H", "current_A", "supply_V"))
    given = coil * current**2 / 2
    peak = mp.findroot(lambda v: given + supply * charge(v) - energy(v), mpf(row["peak_V"]))
    return {"peak_V": peak}


TABLES: Mapping[str, Callable[[Row], Made]] = {
    "coil_nagaoka.csv": nagaoka,
    "coil_wheeler_error.csv": wheeler,
    "coil_rosa_mutual.csv": rosa,
    "coil_skin.csv": skin,
    "coil_wire_ac.csv": wire,
    "coil_loop_mutual.csv": loops,
    "coil_sphere.csv": sphere,
    "coil_torus.csv": torus,
    "coil_torus_sweep.csv": torus_sweep,
    "interrupter_timer.csv": steered,
    "interrupter_supply.csv": ripple,
    "limits_device.csv": hot_channel,
    "bench_waveforms.csv": waveform,
    "stage_bending.csv": bending,
}


def compared(name: str) -> Iterator[tuple[str, str, str, mpf]]:
    """Case, column, figure in the table, and the same figure made again."""
    with (HERE / name).open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            for column, made in TABLES[name](row).items():
                yield row["id"], column, row[column], made


def written(name: str) -> None:
    """Write a table with the figures made again, to ten digits."""
    path = HERE / name
    with path.open(encoding="utf-8", newline="") as stream:
        reader = csv.DictReader(stream)
        names, rows = list(reader.fieldnames or ()), list(reader)
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, names, lineterminator="\n")
        writer.writeheader()
        for row in rows:
            made = {key: mp.nstr(value, 10) for key, value in TABLES[name](row).items()}
            writer.writerow({**row, **made})


def main() -> int:
    """Compare all tables, or write them."""
    apart = 0
    for name in TABLES:
        if "--write" in sys.argv:
            written(name)
            continue
        for case, column, told, made in compared(name):
            if not told or abs(mpf(told) - made) > mpf("1e-8") * abs(made):
                apart += 1
                print(f"{name} {case} {column}: {told} in the table, {mp.nstr(made, 12)} made")
    print(f"{apart} figures differ")
    return 1 if apart else 0


if __name__ == "__main__":
    sys.exit(main())
