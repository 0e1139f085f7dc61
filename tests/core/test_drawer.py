"""The drawer: lists of parts in and out, and what sizing and search make of them."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from burstwise.core.command import run
from burstwise.core.console import BAD_INPUT, DONE
from burstwise.core.design.document import design_from
from burstwise.core.drawer import MOST_PARTS, Drawer, DrawerPart, drawer_from_text, drawer_text
from burstwise.core.errors import InputError
from burstwise.core.interrupter.from_drawer import cost_of, from_drawer
from burstwise.core.interrupter.sets import TimerWish
from burstwise.core.interrupter.sizing import size_timer
from burstwise.core.limits.device_classes import devices_by_name
from burstwise.core.search.from_drawer import free_from_drawer

RESISTORS = ("1k", "2k2", "4k7", "10k", "22k", "33k", "47k", "100k")
LINES = [
    "kind,value,name,price",
    *(f"resistor,{value},,0.10" for value in RESISTORS),
    "potentiometer,100k,knob,2",
    "potentiometer,470k,,2.5",
    *(f"film capacitor,{value},,0.40" for value in ("22nF", "47n", "68n", "100n", "150n", "220n")),
    *(f"film capacitor,{value},,0.40" for value in ("330n", "470n")),
    "electrolytic capacitor,1uF,,0.5",
    "wire,0.2mm,,",
    "wire,0.315 mm,,",
    "tube,50mm,kitchen,",
    "top load,80mm,,",
]
FARADS = {22e-9, 47e-9, 68e-9, 100e-9, 150e-9, 220e-9, 330e-9, 470e-9}
OHMS = {1e3, 2.2e3, 4.7e3, 10e3, 22e3, 33e3, 47e3, 100e3}


@pytest.fixture
def drawer() -> Drawer:
    return drawer_from_text("\n".join(LINES))


def test_parts_go_out_and_come_in_alike(drawer: Drawer) -> None:
    device = DrawerPart("device", math.nan, next(iter(devices_by_name())), 3.0)
    formula = DrawerPart("tube", 0.05, "=1+1", None)
    parts = (*drawer.parts, formula)
    assert drawer_from_text(drawer_text(parts)).parts == parts
    again = drawer_from_text(drawer_text([device])).parts[0]
    assert (again.kind, again.name, again.price) == ("device", device.name, 3.0)
    assert "'=1+1" in drawer_text(parts), "no cell is a formula to a spreadsheet"
    semicolons = "\ufeffkind;value;name;price\r\nresistor;4k7;;0.1\r\n;;;\r\n"
    assert drawer_from_text(semicolons).values("resistor") == (4700.0,)


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("", "line 1"),
        ("kind,value\nresistor,1k", "line 1"),
        ("kind,value,name,price\nspanner,1k,,", "line 2, kind"),
        ("kind,value,name,price\nresistor,1k,,\nresistor,many,,", "line 3, value"),
        ("kind,value,name,price\nresistor,1e12,,", "line 2, value"),
        ("kind,value,name,price\nresistor,1k,,-1", "line 2, price"),
        ("kind,value,name,price\nwire,0.2 Ω,,", "line 2, value"),
        ("kind,value,name,price\ndevice,,,", "line 2"),
        ("kind,value,name,price\nresistor,1k,a,1,2", "line 2"),
        ("kind,value,name,price\n" + "resistor,1k,,\n" * (MOST_PARTS + 1), "drawer"),
    ],
)
def test_lists_that_are_none(text: str, named: str) -> None:
    with pytest.raises(InputError) as told:
        drawer_from_text(text)
    assert named in str(told.value)
    assert "\n" not in str(told.value)


def test_sizing_takes_what_is_there_and_nothing_else(drawer: Drawer) -> None:
    wish = TimerWish(16.0, 0.05, 0.9, 12.0, circuits=("astable-steered-output",))
    answer = size_timer(from_drawer(wish, drawer))
    assert answer.sets
    for one in answer.sets:
        for part in one.parts:
            if part.unit == "F":
                assert part.value in FARADS | {1e-6}
            elif part.kind == "potentiometer":
                assert part.value in {100e3, 470e3}
            else:
                assert part.value in OHMS
    with pytest.raises(InputError):
        from_drawer(wish, drawer_from_text("\n".join(LINES[:1])))
    without = [line for line in LINES if not line.startswith("potentiometer")]
    with pytest.raises(InputError) as told:
        from_drawer(wish, drawer_from_text("\n".join(without)))
    assert "knob" in str(told.value)


def test_a_cost_is_the_sum_of_prices_or_nothing(drawer: Drawer) -> None:
    wish = TimerWish(16.0, 0.05, 0.9, 12.0, circuits=("astable-steered-output",))
    one = size_timer(from_drawer(wish, drawer)).sets[0]
    prices = {
        "potentiometer": {100e3: 2.0, 470e3: 2.5},
        "F": dict.fromkeys(FARADS, 0.4) | {1e-6: 0.5},
    }
    by_hand = sum(
        prices["F"][part.value]
        if part.unit == "F"
        else prices["potentiometer"][part.value]
        if part.kind == "potentiometer"
        else 0.1
        for part in one.parts
    )
    assert cost_of(one, drawer) == pytest.approx(by_hand)
    unpriced = drawer_from_text("\n".join(LINES).replace(",,0.10", ",,"))
    assert cost_of(one, unpriced) is None
    twice = drawer_from_text("\n".join([*LINES, "resistor,1k,,0.02", "resistor,1k,,0.3"]))
    assert twice.price("resistor", 1e3) == 0.02, "the cheaper one is taken"


def test_search_takes_parts_from_the_drawer(drawer: Drawer) -> None:
    design = design_from({"coil": {"given_by": "geometry"}})
    free = free_from_drawer(design, "coil.geometry.secondary.wire_diameter", drawer)
    assert free.choices == (0.2e-3, 0.315e-3)
    assert free_from_drawer(design, "coil.geometry.secondary.former_diameter", drawer).choices == (
        0.05,
    )
    for path in ("supply.voltage", "device"):
        with pytest.raises(InputError):
            free_from_drawer(design, path, drawer)
    name = next(iter(devices_by_name()))
    listed = Drawer((DrawerPart("device", math.nan, name),))
    assert free_from_drawer(design, "device", listed).choices == (devices_by_name()[name],)


def test_the_timer_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "drawer.csv"
    file.write_text("\n".join(LINES), encoding="utf-8")
    flags = ["timer", "--frequency", "16Hz", "--duty", "5%:90%", "--supply", "12V"]
    flags += ["--circuit", "astable-steered-output"]
    assert run([*flags, "--drawer", str(file), "--json"]) == DONE
    told = json.loads(capsys.readouterr().out)
    assert all(one["cost"] > 0 for one in told["sets"])
    assert run([*flags, "--drawer", str(file)]) == DONE
    assert "parts cost" in capsys.readouterr().out
    assert run([*flags, "--json"]) == DONE
    assert "cost" not in json.loads(capsys.readouterr().out)["sets"][0]
    file.write_text("kind,value,name,price\nspanner,1,,\n", encoding="utf-8")
    assert run([*flags, "--drawer", str(file)]) == BAD_INPUT
    assert capsys.readouterr().err.count("\n") == 1
