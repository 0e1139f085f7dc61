"""Parts are made of what is sold.

Who checks whom: the sharing of pieces against Ohm's and Kirchhoff's laws, piece by piece; the
choice against a search through all kinds and numbers; sizes of constructions against common
practice, no source.
"""

from __future__ import annotations

import itertools
import math

import pytest

from burstwise.core.errors import InputError
from burstwise.core.limits.sold_kinds import (
    FAMILIES,
    Made,
    made_of,
    sold_kinds,
    suppressor_capacitance,
)

LARGEST_POWER = {
    "carbon composition": 2.0,
    "metal film": 3.0,
    "metal oxide": 5.0,
    "cement": 20.0,
}
"""Watts that a resistor of a construction is sold for; common practice, no source."""


def test_no_resistor_is_larger_than_its_construction_is_sold() -> None:
    named = set()
    for kind in sold_kinds():
        for words, most in LARGEST_POWER.items():
            if kind.family == "resistor" and words in kind.name:
                named.add(words)
                assert kind.ratings["power"] <= most
    assert named == set(LARGEST_POWER)


def test_every_kind_says_where_its_figures_are_from_and_has_no_empty_rating() -> None:
    for kind in sold_kinds():
        assert kind.source
        assert all(value > 0 for value in kind.ratings.values())
        assert kind.smallest < kind.largest
    assert len({(kind.family, kind.name) for kind in sold_kinds()}) == len(sold_kinds())
    assert set(FAMILIES) <= {kind.family for kind in sold_kinds()}


@pytest.mark.parametrize(
    ("power", "ohms", "wound"),
    [(0.1, 1e3, False), (10.9 * 2, 15.0, False), (15.3, 470.0, True), (70.0, 22.0, False)],
)
def test_no_piece_of_a_resistor_is_beyond_its_own_rating(
    power: float, ohms: float, wound: bool
) -> None:
    made = made_of("resistor", {"power": power}, value=ohms, wound_does_no_harm=wound)
    assert made is not None
    assert made.each is not None
    volts = math.sqrt(power * ohms)
    across, through = volts / made.series, volts / ohms / made.parallel
    assert across * through <= made.kind.ratings["power"] * 1.0001
    assert across == pytest.approx(through * made.each, rel=0.07)
    assert wound or not made.kind.wound


def test_capacitors_in_parallel_share_the_current_and_suppressors_in_series_the_heat() -> None:
    made = made_of("pulse capacitor", {"voltage": 643.0, "RMS current": 2.63}, value=1.5e-9)
    assert made is not None
    assert made.each is not None
    assert made.each * made.parallel == pytest.approx(1.5e-9, rel=0.06)
    assert 2.63 * made.each / 1.5e-9 <= 1.06 * made.kind.ratings["RMS current"]
    assert made.kind.ratings["voltage"] >= 643.0
    row = made_of("suppressor", {"mean power": 20.0}, value=400.0)
    assert row is not None
    assert row.each is not None
    assert row.series >= 3
    assert 20.0 / row.series <= row.kind.ratings["mean power"]
    assert row.each * row.series == pytest.approx(400.0, rel=0.06)
    one = Made(row.kind, 1, 1, row.each)
    assert suppressor_capacitance(row) == pytest.approx(suppressor_capacitance(one) / row.series)


def test_in_series_the_current_is_the_same_and_in_parallel_the_voltage() -> None:
    kind = next(item for item in sold_kinds() if item.family == "pulse capacitor")
    row, bank = Made(kind, 3, 1, 1e-9), Made(kind, 1, 3, 1e-9)
    assert row.rating("RMS current") == kind.ratings["RMS current"]
    assert row.rating("voltage") == 3 * kind.ratings["voltage"]
    assert bank.rating("RMS current") == 3 * kind.ratings["RMS current"]
    assert bank.rating("voltage") == kind.ratings["voltage"]


def test_twenty_watts_at_400_volts_are_not_one_suppressor() -> None:
    assert not any(
        kind.ratings["mean power"] >= 20.0 for kind in sold_kinds() if kind.family == "suppressor"
    )


def test_pulse_current_of_a_zener_diode_is_its_pulse_power_over_its_voltage() -> None:
    made = made_of("Zener diode", {"pulse current": 5.0}, value=12.0)
    assert made is not None
    assert made.kind.ratings["pulse power"] >= 5.0 * 12.0
    assert made.rating("pulse current") == pytest.approx(made.kind.ratings["pulse power"] / 12.0)
    assert made_of("clamp diode", {"pulse current": 0.4}).rating("pulse current") == 0.45


def test_the_fewest_pieces_are_taken_over_all_kinds_and_numbers() -> None:
    """Brute force over kinds and numbers, for heat and voltage of a snubber's resistor."""
    for power, volts in itertools.product((0.2, 1.0, 2.9, 6.0), (100.0, 640.0)):
        made = made_of("resistor", {"power": power, "voltage": volts}, value=22.0)
        assert made is not None
        fewest = min(
            count + 2 * kind.on_sink
            for kind in sold_kinds()
            for count, rows in itertools.product(range(1, 5), ("series", "parallel"))
            if kind.family == "resistor"
            and not kind.wound
            and count * kind.ratings["power"] >= power
            and (count if rows == "series" else 1) * kind.ratings["voltage"] >= volts
        )
        assert made.pieces + 2 * made.kind.on_sink == fewest


@pytest.mark.parametrize(
    ("family", "name", "value", "pieces"),
    [
        ("electrolytic capacitor", "ripple current", 60e-3, 6),
        ("film capacitor", "RMS current", 40e-6, 4),
        ("pulse capacitor", "RMS current", 0.6e-6, 6),
    ],
)
def test_a_current_is_shared_by_as_many_as_the_family_allows(family, name, value, pieces) -> None:
    """Kirchhoff: equal pieces in parallel carry equal currents, and their farads add up."""
    best = max(k.ratings[name] for k in sold_kinds() if k.family == family)
    made = made_of(family, {name: (pieces - 0.5) * best}, value=value)
    assert made is not None
    assert (made.series, made.parallel) == (1, pieces)
    assert pieces * made.each == pytest.approx(value)
    assert made_of(family, {name: (pieces + 0.1) * best}, value=value) is None
    alone = made_of(family, {name: 0.9 * best}, value=value)
    assert alone is not None
    assert alone.pieces == 1


def test_what_nothing_sold_carries_is_none_and_an_unknown_family_is_refused() -> None:
    assert made_of("resistor", {"power": 1e4}, value=22.0) is None
    assert made_of("Zener diode", {}, value=1.0) is None
    with pytest.raises(InputError):
        made_of("rheostat", {})
