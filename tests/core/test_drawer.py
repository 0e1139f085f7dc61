"""The drawer: lists of parts in and out, and what sizing and search make of them."""

from __future__ import annotations

import json
import math
import os
from pathlib import Path

import pytest

from burstwise.core.command import run
from burstwise.core.console import BAD_INPUT, DONE
from burstwise.core.design.document import design_from
from burstwise.core.design.timer_wish import TimerWish
from burstwise.core.drawer import (
    MOST_PARTS,
    Drawer,
    DrawerPart,
    drawer_from_text,
    drawer_text,
    part_from,
    parts_from,
)
from burstwise.core.errors import InputError
from burstwise.core.interrupter.from_drawer import cost_of, from_drawer
from burstwise.core.interrupter.sizing import size_timer
from burstwise.core.limits.device_classes import devices_by_name
from burstwise.core.search.from_drawer import free_from_drawer
from burstwise.core.search.proposals import movable
from burstwise.core.storage import load, save
from burstwise.core.user_data import data_folder

EXAMPLE = Path(__file__).parents[2] / "resources/examples/classroom-gated-interrupted.burstwise"
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
    wish = TimerWish(
        frequency=16.0,
        duty_low=0.05,
        duty_high=0.9,
        supply=12.0,
        circuits=("astable-steered-output",),
    )
    answer = size_timer(wish, from_drawer(wish, drawer))
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
    wish = TimerWish(
        frequency=16.0,
        duty_low=0.05,
        duty_high=0.9,
        supply=12.0,
        circuits=("astable-steered-output",),
    )
    one = size_timer(wish, from_drawer(wish, drawer)).sets[0]
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


def test_several_parts_in_one_entry() -> None:
    listed = parts_from("resistor", "4k7, 10k 22 k;1M", "carbon", "0.1")
    assert [part.value for part in listed] == [4700.0, 10e3, 22e3, 1e6]
    assert {(part.name, part.price) for part in listed} == {("carbon", 0.1)}
    # E6 of IEC 60063 from 1 nF to 1 uF: 6 in each of three decades, and the end.
    series = [part.value for part in parts_from("film capacitor", "e6 1n:1u", "", "")]
    assert len(series) == 19
    assert series[:4] == pytest.approx([1e-9, 1.5e-9, 2.2e-9, 3.3e-9])
    assert parts_from("tube", "50", "", "", bare="mm")[0].value == 0.05
    assert parts_from("tube", "50 mm 63 mm", "", "")[1].value_text == "63 mm"
    with pytest.raises(InputError, match="received many"):
        parts_from("resistor", "4k7 many", "", "")
    assert parts_from("device", "", "a class", "3")[0].price == 3.0
    for kind, values in (
        ("resistor", "  "),
        ("resistor", "4k7 many"),
        ("resistor", "E13 1k:10k"),
        ("resistor", "E12 10k:1k"),
        ("wire", "20 mm"),
    ):
        with pytest.raises(InputError) as told:
            parts_from(kind, values, "", "")
        assert told.value.field == "value"
    with pytest.raises(InputError) as told:
        part_from("wire", "0.2mm", "", "much")
    assert told.value.field == "price"


def test_a_drawer_is_sorted_and_holds_nothing_twice(drawer: Drawer) -> None:
    more = drawer_from_text("\n".join([LINES[0], LINES[1], "wire,0.25mm,,", "resistor,10,,"]))
    both = Drawer().with_parts(drawer.parts).with_parts(more.parts)
    assert len(both.parts) == len(drawer.parts) + 2
    assert both.values("wire") == (0.2e-3, 0.25e-3, 0.315e-3)
    assert both.parts[0].value == 10.0, "resistors first, by their value"
    less = both.without([part for part in both.parts if part.kind == "wire"])
    assert not less.values("wire")
    assert len(less.parts) == len(both.parts) - 3
    with pytest.raises(InputError):
        both.with_parts(parts_from("resistor", " ".join(map(str, range(10, 2010))), "", ""))


def test_fields_that_may_move_take_what_is_at_hand(drawer: Drawer) -> None:
    design = load(EXAMPLE)
    name = list(devices_by_name())[3]
    more = [DrawerPart("device", math.nan, name), *parts_from("c0g capacitor", "470p 1u", "", "")]
    listed = drawer.with_parts([*more, *parts_from("resistor", "4.7 10", "", "")])
    usual = {item.free.path: item.free for item in movable(design, classes=devices_by_name())}
    found = movable(design, classes=devices_by_name(), drawer=listed)
    at_hand = {item.free.path: item.free for item in found}
    assert at_hand["coil.geometry.secondary.wire_diameter"].choices == (0.2e-3, 0.315e-3)
    assert at_hand["coil.geometry.secondary.former_diameter"].choices == (0.05,)
    assert at_hand["coil.geometry.top_load.diameter"].choices == (0.08,)
    assert at_hand["device"].choices == (devices_by_name()[name],)
    # The gate resistor stands at 10 ohm or so: of ten resistors those near it.
    assert max(at_hand["drive.gated.gate_resistor"].choices) <= 10.0
    # 330 pF is fitted; 1 uF is no snubber for it, 470 pF is one.
    assert at_hand["protection.snubber.capacitance"].choices == (470e-12,)
    same = ("supply.voltage", "coil.geometry.primary.turns")
    assert all(at_hand[path] == usual[path] for path in same)
    wires = Drawer(parts_from("wire", "0.2mm", "", ""))
    some = {item.free.path: item.free for item in movable(design, drawer=wires)}
    assert some["drive.gated.gate_resistor"] == usual["drive.gated.gate_resistor"]
    unknown = Drawer((DrawerPart("device", math.nan, "no such class"),))
    with pytest.raises(InputError):
        movable(design, classes=devices_by_name(), drawer=unknown)


def test_a_resistor_that_the_field_does_not_take_is_left_out(drawer: Drawer) -> None:
    design = load(EXAMPLE)
    free = free_from_drawer(design, "drive.gated.gate_resistor", drawer)
    assert free.choices == (1e3,), "a gate resistor has 1 kohm at most"
    large = Drawer(parts_from("resistor", "47k", "", ""))
    with pytest.raises(InputError):
        free_from_drawer(design, "drive.gated.gate_resistor", large)


def test_the_search_command_chooses_from_the_drawer(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    design, out = tmp_path / "coil.burstwise", tmp_path / "best.burstwise"
    save(load(EXAMPLE), design)
    lines = ["kind,value,name,price", "wire,0.25mm,,", "wire,0.315mm,,", "tube,54mm,,"]
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "data"))
    monkeypatch.setattr(Path, "home", lambda: tmp_path / "home")
    own = data_folder(os.environ) / "drawer.csv"
    aim = ["search", str(design), "--minimise", "coil.resonance_Hz", "--keep", "margin=-90%"]
    secondary = "coil.geometry.secondary"
    free = ["--free", f"{secondary}.wire_diameter=drawer", f"{secondary}.former_diameter=drawer"]
    spent = ["--evaluations", "12", "--builds", "0", "-o", str(out), "--json"]
    assert run([*aim, *free, "--drawer", *spent]) == BAD_INPUT, "no list is kept yet"
    assert str(own) in capsys.readouterr().err
    own.parent.mkdir(parents=True)
    own.write_text("\n".join(lines), encoding="utf-8")
    assert run([*aim, *free, *spent]) == BAD_INPUT, "no drawer was named"
    assert "--drawer" in capsys.readouterr().err
    assert run([*aim, *free, "--drawer", *spent]) == DONE
    values = json.loads(capsys.readouterr().out)["best"]["values"]
    # The same turns of thicker wire make a longer winding, which has less inductance and rings
    # higher (Wheeler's formula): the lower resonance is that of the thinner wire.
    assert values == {
        f"{secondary}.wire_diameter": 0.25e-3,
        f"{secondary}.former_diameter": 0.054,
    }
    best = load(out).coil.geometry.secondary
    assert (best.wire_diameter, best.former_diameter) == (0.25e-3, 0.054)
