"""The list of parts follows design and results; the drawing agrees with the list.

Who checks whom: values against the design document, heat against the energy books of the
evaluation, the bias divider against Thevenin's theorem solved as a node equation.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from burstwise.core.assembly.bias_parts import bias_divider, trimmed_bias
from burstwise.core.assembly.circuit import circuit, combined_svg, svg_size
from burstwise.core.assembly.parts import parts_csv, parts_list
from burstwise.core.assembly.references import references
from burstwise.core.design.document import value_at, with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.chain import chain_of
from burstwise.core.evaluate.results import Results
from burstwise.core.storage import load

Evaluated = Callable[[str], Results]
NO_BREAK = "\N{NO-BREAK SPACE}"
EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"

FROM_THE_DESIGN = {
    "supply": "supply.voltage",
    "bulk": "supply.bulk_capacitance",
    "shunt": "drive.shunt_resistance",
    "fuse": "protection.fuse_rating",
    "snubber_resistor": "protection.snubber.resistance",
    "snubber_capacitor": "protection.snubber.capacitance",
    "drain_clamp": "protection.drain_clamp.voltage",
    "reservoir_capacitor": "protection.reservoir_clamp.capacitance",
    "gate_resistor": "drive.gated.gate_resistor",
    "gate_source_resistor": "drive.gated.gate_source_resistor",
    "input_clamp_high": "drive.gated.input_clamp_high",
    "gate_clamp_low": "drive.direct.clamp_low",
    "charge_resistor": "interrupter.parts.charge_resistor",
    "timing_capacitor": "interrupter.parts.timing_capacitor",
    "potentiometer": "interrupter.parts.potentiometer",
    "pulse_capacitor": "interrupter.parts.pulse_capacitor",
}


def test_every_part_in_the_drawing_is_in_the_list_with_the_same_value_and_the_other_way_round(
    evaluated: Evaluated, variety: str, by_hand: ModuleType
) -> None:
    results = evaluated(variety)
    parts = parts_list(results)
    drawn = Counter(
        (item.reference, item.text) for sheet in circuit(results, parts) for item in sheet.drawn
    )
    assert drawn == Counter(
        (part.reference, part.drawn_text)
        for part in parts.parts
        if part.role not in by_hand.NOT_DRAWN
    )


def test_reference_and_value_stand_in_the_svg_itself(evaluated: Evaluated, variety: str) -> None:
    results = evaluated(variety)
    for sheet in circuit(results):
        words = re.findall(r"<text[^>]*>([^<]*)</text>", sheet.svg)
        run_together = " ".join(words).replace("\N{NO-BREAK SPACE}", " ")
        for item in sheet.drawn:
            assert item.reference in words
            assert item.text in run_together


def test_no_two_words_of_a_drawing_lie_on_each_other(evaluated: Evaluated, variety: str) -> None:
    pattern = re.compile(
        r'<text x="([^"]+)" y="([^"]+)" font-size="([^"]+)"[^>]*text-anchor="([^"]+)"[^>]*>([^<]*)<'
    )
    for sheet in circuit(evaluated(variety)):
        boxes = []
        for x, y, size, anchor, words in pattern.findall(sheet.svg):
            wide = 0.5 * float(size) * len(words)
            left = float(x) - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide
            boxes.append((left, float(y) - 0.6 * float(size), left + wide, float(y), words))
        for number, one in enumerate(boxes):
            for two in boxes[number + 1 :]:
                apart = one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] or two[3] <= one[1]
                assert apart, (sheet.name, one, two)


def test_values_are_those_of_the_design(evaluated: Evaluated, variety: str) -> None:
    results = evaluated(variety)
    found = parts_list(results).by_role
    compared = 0
    for role, path in FROM_THE_DESIGN.items():
        if role in found:
            assert found[role].value == value_at(results.design, path)
            compared += 1
    assert compared >= 2
    assert found["secondary"].value == results.coil.secondary_inductance


def worst(results: Results, name: str) -> float:
    """Largest loss in one place while on, over the stage as designed and its corners [W]."""
    return max(
        run.losses.get(name, 0.0)
        for run in (results.carrier, *(item.run for item in results.corners))
    )


def test_ratings_come_from_the_worst_corner_with_a_part_left_free(
    evaluated: Evaluated,
) -> None:
    results = evaluated("classroom-gated-interrupted")
    found = parts_list(results).by_role
    needs = {need.name: need for need in found["switch"].requirements}
    rows = {item.rating: item for item in results.limits}
    # The limits look at every corner by themselves.
    assert needs["drain voltage"].asked == rows["drain_voltage"].value
    assert needs["drain voltage"].asked > results.load.drain_voltage_peak
    assert needs["drain voltage"].least == results.design.device.drain_voltage_rating == 650.0
    assert needs["pulsed current"].asked == rows["pulsed_current"].value
    assert needs["pulsed current"].least * 0.8 == pytest.approx(needs["pulsed current"].asked)
    bulk = {need.name: need for need in found["bulk"].requirements}
    assert bulk["voltage"].asked == pytest.approx(1.05 * 36.0)
    snubber = found["snubber_resistor"].requirements[0]
    assert snubber.asked == pytest.approx(worst(results, "snubber") * results.duty)
    assert snubber.asked > results.carrier.losses["snubber"] * results.duty


MADE_BY_HAND_OR_JUDGED_BY_THE_LIMITS = {
    "primary", "secondary", "top_load", "breakout_point", "switch", "trip",
    "current_transformer", "antenna",
}  # fmt: skip


def test_every_part_exists_as_a_kind_that_is_sold_with_ratings_above_the_need(
    evaluated: Evaluated, variety: str
) -> None:
    for part in parts_list(evaluated(variety)).parts:
        if part.role in MADE_BY_HAND_OR_JUDGED_BY_THE_LIMITS:
            assert not part.family
            continue
        assert part.made is not None, part
        assert part.made.kind.source
        for need in part.requirements:
            assert part.made.rating(need.name) >= need.least >= need.asked, (part, need)
        assert part.made.kind.name in part.to_buy


def test_heat_of_resistors_is_half_their_rating_and_the_burst_counts(evaluated: Evaluated) -> None:
    results = evaluated("demonstration-gated-large")
    found = parts_list(results).by_role
    power, burst, _ = found["snubber_resistor"].requirements
    assert power.least == pytest.approx(2 * worst(results, "snubber") * results.duty)
    assert burst.asked == worst(results, "snubber")
    # All heat of a snubber arises in its resistor, so I^2 R is the books' heat of a burst.
    current = found["snubber_capacitor"].requirements[1].asked
    assert current**2 * found["snubber_resistor"].value == pytest.approx(burst.asked)


def test_a_snubber_is_never_of_wound_wire_and_a_bleeder_may_be(evaluated: Evaluated) -> None:
    found = parts_list(evaluated("demonstration-gated-large")).by_role
    assert not found["snubber_resistor"].made.kind.wound
    assert found["bleed"].made.kind.wound


def test_what_is_not_sold_is_said(evaluated: Evaluated) -> None:
    results = evaluated("demonstration-gated-large")
    hot = replace(results.carrier, losses={**results.carrier.losses, "snubber": 1e5})
    parts = parts_list(replace(results, carrier=hot))
    part = parts.by_role["snubber_resistor"]
    assert part.made is None
    assert "nothing that is sold" in part.to_buy
    assert parts.not_sold == (part, parts.by_role["snubber_capacitor"])
    assert parts_list(results).not_sold == ()


def test_base_clamps_share_the_heat_by_voltage(evaluated: Evaluated) -> None:
    """The same charge passes both, so 5.6 V beside 0.6 V takes most of it.

    The pulse current against the engine's books of energy in the worst corner: the heat of both
    diodes while on is that of a sine of the peak I, (5.6 V + 0.6 V) I/pi + 2 ohm I^2/2, a
    quadratic equation for I.
    """
    for variety in ("classroom-gated-interrupted", "demonstration-gated-large"):
        results = evaluated(variety)
        found = parts_list(results).by_role
        high, low = (
            {need.name: need.asked for need in found[f"input_clamp_{side}"].requirements}
            for side in ("high", "low")
        )
        burst = worst(results, "input_clamp")
        assert high["power"] + low["power"] == pytest.approx(burst * results.duty)
        slope = 6.2 / math.pi
        current = (math.sqrt(slope**2 + 4 * burst) - slope) / 2
        assert high["pulse current"] == low["pulse current"] == pytest.approx(current, rel=0.05)
        # The part of the higher voltage, by the same current; the slopes' heat is shared evenly.
        share = (5.6 * current / math.pi + 2.0 * current**2 / 4) / burst
        assert high["power"] / (burst * results.duty) == pytest.approx(share, rel=0.05)
        assert 0.5 < share < 5.6 / 6.2


def test_a_part_on_a_heat_sink_says_which(evaluated: Evaluated) -> None:
    """Rise over heat, from 25 °C ambient to the case temperature of the listed power."""
    results = evaluated("demonstration-gated-large")
    part = parts_list(results).by_role["snubber_resistor"]
    assert part.made.kind.on_sink
    largest = float(re.search(r"at most ([\d.]+) K/W", part.why.replace(NO_BREAK, " ")).group(1))
    heat = worst(results, "snubber") * results.duty
    assert largest == pytest.approx((85 - results.design.cooling.ambient) / heat, rel=0.02)
    assert "heat sink of its own" not in parts_list(results).by_role["bleed"].why


def test_what_is_not_fitted_is_not_listed(evaluated: Evaluated) -> None:
    roles = set(parts_list(evaluated("bare")).by_role)
    assert not roles & {
        "shunt",
        "fuse",
        "gate_resistor",
        "gate_source_resistor",
        "snubber_resistor",
        "drain_clamp",
    }
    assert "timer" not in parts_list(evaluated("classroom-direct-continuous")).by_role


def test_gate_clamp_and_bulk_capacitor_can_be_left_out(evaluated: Evaluated) -> None:
    roles = set(parts_list(evaluated("unclamped-interrupted")).by_role)
    assert not roles & {"gate_clamp_high", "gate_clamp_low", "bulk"}
    assert {"bleed", "bus_film", "gate_bias_upper", "pull_down"} <= roles
    bleed = parts_list(evaluated("no-bulk")).by_role["bleed"]
    assert bleed.value == 100e3
    assert bleed.made.kind.ratings["power"] <= 0.25
    assert "film capacitor" in bleed.title


def test_an_endless_name_of_a_device_is_cut(evaluated: Evaluated) -> None:
    results = evaluated("bare")
    named = replace(results, design=with_values(results.design, {"device.name": "8" * 5000}))
    assert "8" * 40 in parts_list(named).by_role["switch"].to_buy
    assert len(parts_list(named).by_role["switch"].to_buy) < 200


def test_two_timers_are_listed_where_the_circuit_has_two(evaluated: Evaluated) -> None:
    assert "pulse_timer" in parts_list(evaluated("two-timer")).by_role
    assert "pulse_timer" not in parts_list(evaluated("astable-classic")).by_role


def test_references_are_unique_and_numbered_without_gaps(
    evaluated: Evaluated, variety: str
) -> None:
    references = [part.reference for part in parts_list(evaluated(variety)).parts]
    assert len(set(references)) == len(references)
    numbers: dict[str, list[int]] = {}
    for reference in references:
        letter, number = re.fullmatch(r"([A-Z]+)(\d+)", reference).groups()
        numbers.setdefault(letter, []).append(int(number))
    assert all(found == list(range(1, len(found) + 1)) for found in numbers.values())


FITTED = {
    "bare": "G1 supply, C1 bulk, R1 bleed, C2 bus_film, L1 primary, L2 secondary, E1 top_load, "
    "E2 breakout_point, Q1 switch, U1 trip, U2 driver, C3 driver_decoupling, R2 input_bias_upper, "
    "R3 input_bias_lower, D1 input_clamp_high, D2 input_clamp_low, U3 timer, G2 low_supply",
    "zener": "G1 supply, F1 fuse, C1 bulk, R1 bleed, C2 bus_film, L1 primary, L2 secondary, "
    "E1 top_load, E2 breakout_point, Q1 switch, R2 shunt, R3 gate_bias_upper, "
    "RV1 gate_bias_trimmer, R4 gate_bias_lower, D1 gate_clamp_high, D2 gate_clamp_low, "
    "Q2 pull_down, U1 timer, R5 zener_resistor, D3 zener, C3 low_output",
    "unclamped-interrupted": "G1 supply, F1 fuse, R1 bleed, C1 bus_film, L1 primary, L2 secondary, "
    "E1 top_load, E2 breakout_point, Q1 switch, R2 shunt, R3 gate_bias_upper, "
    "RV1 gate_bias_trimmer, R4 gate_bias_lower, Q2 pull_down, U1 timer, R5 charge_resistor, "
    "R6 discharge_resistor, RV2 potentiometer, C2 timing_capacitor, D1 steering_diode_1, "
    "D2 steering_diode_2, C3 timer_control, C4 timer_decoupling, Q3 buffer, R7 buffer_collector, "
    "R8 buffer_base, R9 indicator_resistor, D3 indicator, G2 low_supply",
}
"""What three designs have, read off their fields by hand and numbered letter by letter."""


@pytest.mark.parametrize("name", FITTED)
def test_parts_and_their_references_are_those_that_the_design_has(
    evaluated: Evaluated, name: str
) -> None:
    results = evaluated(name)
    told = ", ".join(f"{number} {role}" for role, number in references(results.design).items())
    assert told == FITTED[name]
    parts = parts_list(results).parts
    assert ", ".join(f"{part.reference} {part.role}" for part in parts) == told


def test_chain_parts_have_the_sizes_of_the_drive_chain(evaluated: Evaluated) -> None:
    for variety in ("astable-classic", "two-timer"):
        results = evaluated(variety)
        found, report = parts_list(results).by_role, chain_of(results)
        assert found["buffer_base"].value == report.buffer.base_resistor
        assert found["indicator_resistor"].value == report.indicator.resistor
    unlit = parts_list(evaluated("unlit")).by_role["indicator_resistor"]
    assert unlit.value is None
    assert "No value works" in unlit.why


def test_a_switched_supply_has_its_switch_between_pulses_and_driver(evaluated: Evaluated) -> None:
    for variety in ("supply-gated", "supply-gated-plain"):
        sheets = {sheet.name: sheet for sheet in circuit(evaluated(variety))}
        assert "LOW +, SWITCHED" in sheets["chain"].nets
        assert "LOW +, SWITCHED" in sheets["drive"].nets
        assert "ENABLE" not in sheets["chain"].nets


def test_every_net_that_leaves_a_sheet_arrives_on_another(
    evaluated: Evaluated, variety: str
) -> None:
    sheets = circuit(evaluated(variety))
    for net in ("PULSES", "ENABLE", "PULL DOWN", "LOW +, SWITCHED", "GATE", "BASE"):
        places = [sheet.name for sheet in sheets if net in sheet.nets]
        assert len(places) != 1, (net, places)


@pytest.mark.parametrize(("rail", "voltage"), [(12.0, 5.0), (12.0, 3.9), (5.0, 4.6), (15.0, 0.7)])
def test_bias_divider_meets_its_source_within_the_steps_of_the_series(
    rail: float, voltage: float
) -> None:
    made = bias_divider(rail, voltage, resistance=10e3)
    assert made.upper is not None
    assert made.lower is not None
    # Node equation with a test current of 10 microamperes drawn from the tap.
    conductance = 1 / made.upper + 1 / made.lower
    open_circuit = rail / made.upper / conductance
    loaded = (rail / made.upper - 1e-5) / conductance
    assert made.voltage == pytest.approx(open_circuit, rel=1e-12)
    assert made.resistance == pytest.approx((open_circuit - loaded) / 1e-5, rel=1e-9)
    assert open_circuit == pytest.approx(voltage, rel=0.1)
    assert made.resistance == pytest.approx(10e3, rel=0.06)


def test_the_gate_bias_is_trimmed_by_a_volt_either_way_and_an_open_slider_is_safe(
    evaluated: Evaluated,
) -> None:
    """Node equation of the divider at both ends of the trimmer and with its slider open."""
    results = evaluated("classroom-direct-continuous")
    found = parts_list(results).by_role
    rail, wanted = 12.0, results.design.drive.direct.bias_voltage
    upper, trimmer, lower = (
        found[f"gate_bias_{end}"].value for end in ("upper", "trimmer", "lower")
    )

    def rest(in_use: float) -> float:
        return rail / (upper + in_use) / (1 / (upper + in_use) + 1 / lower)

    assert rest(0.0) >= wanted + 1.0
    assert rest(0.0) < wanted + 1.6
    assert rest(trimmer) <= wanted - 1.0
    assert rest(1e12) == pytest.approx(0.0, abs=1e-6)
    made = trimmed_bias(rail, wanted, resistance=results.design.drive.direct.bias_resistance)
    assert rest(made.setting) == pytest.approx(wanted, rel=1e-9)
    assert "oscillate" in found["gate_bias_trimmer"].why
    assert trimmed_bias(12.0, 0.0, resistance=1e3) is None
    assert trimmed_bias(4.5, 3.9, resistance=1e3) is None


def test_no_part_is_a_formula_to_a_spreadsheet(evaluated: Evaluated) -> None:
    parts = parts_list(evaluated("two-timer")).parts
    odd = [replace(part, title="=A1", kind="+A1", family="", value=-1e-9) for part in parts]
    for row in csv.DictReader(io.StringIO(parts_csv(odd))):
        assert (row["part"], row["kind"], row["value [SI]"]) == ("'=A1", "'+A1", "-1e-09")


def test_csv_holds_every_part_with_its_si_value(evaluated: Evaluated) -> None:
    parts = parts_list(evaluated("two-timer")).parts
    rows = list(csv.DictReader(io.StringIO(parts_csv(parts))))
    assert [row["reference"] for row in rows] == [part.reference for part in parts]
    assert [row["value [SI]"] for row in rows] == [
        "" if part.value is None else repr(part.value) for part in parts
    ]


def test_reversed_sense_moves_the_mark_of_the_primary(evaluated: Evaluated) -> None:
    def marks(name: str) -> str:
        return circuit(evaluated(name))[0].svg

    normal, swapped = marks("classroom-gated-interrupted"), marks("bare")
    pattern = re.compile(r'<circle cx="([^"]+)" cy="([^"]+)" r="4.68')
    heights = [min(float(y) for _, y in pattern.findall(svg)) for svg in (normal, swapped)]
    assert heights[0] < heights[1]


def test_combined_drawing_holds_all_sheets_below_each_other(evaluated: Evaluated) -> None:
    sheets = circuit(evaluated("two-timer"))
    whole = combined_svg(sheets)
    width, height = svg_size(whole)
    assert width == pytest.approx(max(svg_size(sheet.svg)[0] for sheet in sheets), abs=0.1)
    assert height > sum(svg_size(sheet.svg)[1] for sheet in sheets)
    assert all(item.reference in whole for sheet in sheets for item in sheet.drawn)


def test_sized_resistors_are_those_of_the_drive_chain(evaluated: Evaluated) -> None:
    """One bill, one screen: a bipolar timer's output drop counts in both."""
    chain = {
        "supply.low_voltage": {"kind": "zener"},
        "interrupter.parts.timer": "bipolar",
        "interrupter.chain.buffer": {},
        "interrupter.chain.indicator": {},
    }
    plain = evaluated("classroom-gated-interrupted")
    results = evaluate(with_values(plain.design, chain), table=plain.table, verify=False)
    report, parts = chain_of(results), parts_list(results).by_role
    assert report.buffer is not None
    assert report.indicator is not None
    assert report.low_supply is not None
    assert parts["buffer_base"].value == report.buffer.base_resistor
    assert parts["indicator_resistor"].value == report.indicator.resistor
    assert parts["zener_resistor"].value == report.low_supply.series_resistor
    (power,) = parts["zener_resistor"].requirements
    assert power.asked == report.low_supply.resistor_dissipation


def test_a_part_that_cannot_be_sized_has_no_value(
    evaluated: Evaluated, by_hand: ModuleType
) -> None:
    plain = evaluated("classroom-gated-interrupted")
    starved = {
        "interrupter.parts.supply": 3.0,
        "interrupter.chain.indicator": {"forward_voltage": 3.2},
        "supply.low_voltage": {"kind": "zener", "output": 30.0},
        "supply.voltage": 20.0,
    }
    results = evaluate(with_values(plain.design, starved), table=plain.table, verify=False)
    codes = {item.code for item in results.findings}
    assert {"chain-part", "low-supply-input"} <= codes
    parts = parts_list(results)
    assert parts.by_role["indicator_resistor"].value is None
    assert parts.by_role["zener_resistor"].value is None
    drawn = Counter(
        (item.reference, item.text) for sheet in circuit(results, parts) for item in sheet.drawn
    )
    assert drawn == Counter(
        (part.reference, part.drawn_text)
        for part in parts.parts
        if part.role not in by_hand.NOT_DRAWN
    )


def test_a_stage_that_hardly_moves_loses_nothing_below_zero_and_has_a_list_of_parts() -> None:
    design = with_values(
        load(EXAMPLES / "classroom-gated-spiking.burstwise"),
        {"coil.geometry.primary.start_height": 1.75, "protection.snubber": {}},
    )
    results = evaluate(design)
    assert not results.carrier.oscillates
    for run in (results.carrier, *(corner.run for corner in results.corners)):
        assert min(run.losses.values()) >= 0.0
    assert any(part.role == "snubber_capacitor" for part in parts_list(results).parts)
