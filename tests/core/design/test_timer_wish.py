"""The wish in the design file: older files load, limits hold, sizing takes what is stored."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from burstwise.core.design.differences import differences
from burstwise.core.design.document import Design, with_values
from burstwise.core.design.timer_wish import TimerWish
from burstwise.core.errors import InputError
from burstwise.core.interrupter.circuits import CIRCUITS
from burstwise.core.interrupter.sizing import size_timer
from burstwise.core.interrupter.stock import SCHOTTKY, stock_of
from burstwise.core.interrupter.timer import TIMERS
from burstwise.core.storage import design_from_text, load, save, text_of

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
WISH = "interrupter.wish"


@pytest.fixture
def design() -> Design:
    return load(EXAMPLES / "classroom-gated-interrupted.burstwise")


def test_a_file_from_before_loads_with_the_usual_wish(design: Design) -> None:
    data = json.loads(text_of(design))
    data["interrupter"].pop("wish")
    old = design_from_text(json.dumps(data))
    assert old == design
    usual = old.interrupter.wish_in_use
    assert (usual.frequency, usual.supply) == (150.0, 12.0)
    assert set(usual.circuits) == set(CIRCUITS)
    assert set(usual.timers) == set(TIMERS)


def test_every_field_comes_back_from_the_file(design: Design, tmp_path: Path) -> None:
    wish = {
        "frequency": "15 Hz", "frequency_high": "200Hz", "duty_low": "1%", "duty_high": "40 %",
        "supply": "9V", "supply_tolerance": 0.1, "on_time_cap": "20 ms", "resistor_series": "E96",
        "resistor_tolerance": 0.02, "diode": "schottky", "taper": "reverse",
        "potentiometers": ["47k", "100k"], "potentiometer_tolerance": 0.1,
        "capacitors": ["film", "electrolytic"], "circuits": ["two-timer"], "timers": ["cmos"],
        "weights": {"frequency": 2, "duty": 3, "middle": 0, "spread": 1, "parts": 4},
    }  # fmt: skip
    made = with_values(design, {WISH: wish})
    save(made, tmp_path / "a.burstwise")
    again = load(tmp_path / "a.burstwise")
    assert again == made
    taken = again.interrupter.wish
    stock = stock_of(taken)
    assert (taken.frequency, taken.frequency_high, taken.supply) == (15.0, 200.0, 9.0)
    assert (taken.duty_low, taken.duty_high, taken.on_time_cap) == (0.01, 0.4, 0.02)
    assert (stock.resistors.series, stock.resistors.tolerance) == ("E96", 0.02)
    assert stock.diode == SCHOTTKY
    assert stock.potentiometers.values == (47e3, 100e3)
    assert (stock.potentiometers.middle, stock.potentiometers.tolerance) == (0.85, 0.1)
    names = [kind.name for kind in stock.capacitors]
    assert names == ["film", "film", "electrolytic"]
    assert (taken.circuits, taken.timers) == (("two-timer",), ("cmos",))
    assert (taken.weights.middle, taken.weights.parts) == (0.0, 4.0)


@pytest.mark.parametrize(
    ("field", "value", "limit"),
    [
        ("frequency", 1e-5, "between 100 µHz and 10 MHz"),
        ("duty_high", 0.01, "at least the low stop of 2 %"),
        ("frequency_high", 100.0, "at least the lowest frequency of 150 Hz"),
        ("potentiometers", [], "one or more"),
        ("circuits", [], "one or more"),
        ("timers", [], "one or more"),
        ("capacitors", [], "one or more"),
        ("capacitors.0", "mica", "film"),
        ("potentiometers.0", 1.0, "between 10 Ω and 100 MΩ"),
        ("weights.parts", -1.0, "between 0 and 10"),
    ],
)
def test_what_cannot_be_is_refused_by_field_value_and_limit(
    design: Design, field: str, value: object, limit: str
) -> None:
    name, _, rest = field.partition(".")
    given = {rest: value} if name == "weights" else [value] if rest else value
    with pytest.raises(InputError) as caught:
        with_values(design, {WISH: {name: given}})
    assert caught.value.field == f"{WISH}.{field}"
    assert limit in str(caught.value)
    assert "instead received" in str(caught.value)


@pytest.mark.parametrize("given", [5, [], "x", {1: 2}, {"self": 1}], ids=str)
def test_what_is_no_wish_is_refused_as_one(design: Design, given: object) -> None:
    with pytest.raises(InputError) as caught:
        with_values(design, {WISH: given})
    assert caught.value.field.startswith(WISH)


def test_the_usual_wish_is_sized_like_the_plain_one(design: Design) -> None:
    stored = with_values(design, {WISH: {"frequency": 15.0}}).interrupter.wish_in_use
    plain = TimerWish(frequency=15.0, duty_low=0.02, duty_high=0.98)
    found, wanted = size_timer(stored).sets, size_timer(plain).sets
    assert [one.circuit for one in found] == [one.circuit for one in wanted]
    assert found[0].parts == wanted[0].parts


def test_a_wish_is_no_difference_between_circuits(design: Design) -> None:
    other = with_values(design, {WISH: {"frequency": 15.0}})
    assert differences([design, other]) == ()
