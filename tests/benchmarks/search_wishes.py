"""Ten wishes that the scripts on the search share: invented ones, over the example designs."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from burstwise.core.design.document import Design
from burstwise.core.search import Free, Keep, Objective, Wish
from burstwise.core.search.space import free_from_text
from burstwise.core.storage import load

_EXAMPLES: Final = Path(__file__).parents[2] / "resources" / "examples"
_SMALL: Final = "classroom-gated-interrupted"
_LARGE: Final = "demonstration-gated-large"
_MARGIN: Final = Keep("margin", 0.2)
_REACHED: Final = "burst.top_voltage_reached_V"
_TOP: Final = Objective(_REACHED, highest=True)
_DRIVE: Final = ("supply.voltage=12:60", "interrupter.duty=2%:50%")


@dataclass(frozen=True, slots=True)
class Case:
    """One wish on one example, with what may move."""

    name: str
    file: str
    wish: Wish
    texts: tuple[str, ...]

    @property
    def design(self) -> Design:
        """Design that the search starts from."""
        return load(_EXAMPLES / f"{self.file}.burstwise")

    @property
    def free(self) -> tuple[Free, ...]:
        """What may move."""
        design = self.design
        return tuple(free_from_text(design, text) for text in self.texts)


def _least(name: str, *keeps: Keep) -> Wish:
    return Wish(Objective(name, highest=False), (_MARGIN, *keeps))


CASES: Final = (
    Case(
        "top voltage, primary and drive",
        _SMALL,
        Wish(_TOP, (_MARGIN,)),
        (
            *_DRIVE,
            "coil.geometry.primary.turns=3:11",
            "coil.geometry.primary.start_height=-10mm:40mm",
            "coil.geometry.primary.inner_radius=38mm:60mm",
        ),
    ),
    Case(
        "least heat at 12 kV",
        _SMALL,
        _least("burst.device_power_W", Keep(_REACHED, 12e3)),
        (
            *_DRIVE,
            "coil.geometry.primary.turns=3:11",
            "drive.gated.gate_resistor=1,2.2,4.7,10,22",
        ),
    ),
    Case(
        "margin of the large coil",
        _LARGE,
        Wish(Objective("margin", highest=True), (Keep(_REACHED, 30e3),)),
        (
            "supply.voltage=30:80",
            "coil.geometry.primary.turns=5:10",
            "protection.snubber.resistance=5:40",
            "protection.snubber.capacitance=0.5n:4n",
        ),
    ),
    Case(
        "top voltage for 10 W",
        _SMALL,
        Wish(_TOP, (_MARGIN, Keep("burst.average_power_W", 10.0, most=True))),
        (*_DRIVE, "interrupter.frequency=50:450"),
    ),
    Case(
        "quietest junction at 12 kV",
        _SMALL,
        _least("thermal.junction_ripple_K", Keep(_REACHED, 12e3)),
        (*_DRIVE, "interrupter.frequency=50:450"),
    ),
    Case(
        "lowest supply for 12 kV",
        _SMALL,
        _least("carrier.supply_voltage_V", Keep(_REACHED, 12e3)),
        (
            *_DRIVE,
            "coil.geometry.primary.turns=3:11",
            "coil.geometry.primary.inner_radius=38mm:60mm",
        ),
    ),
    Case(
        "coolest junction of the large coil at 30 kV",
        _LARGE,
        _least("thermal.junction_peak_C", Keep(_REACHED, 30e3)),
        (
            "supply.voltage=30:80",
            "coil.geometry.primary.turns=5:10",
            "drive.gated.gate_resistor=2.2,4.7,10,22",
        ),
    ),
    Case(
        "top voltage of a coil not wound yet",
        _SMALL,
        Wish(_TOP, (_MARGIN, Keep("coil.coupling", 0.45, most=True))),
        (
            *_DRIVE,
            "coil.geometry.primary.turns=3:11",
            "coil.geometry.secondary.turns=500:1300",
            "coil.geometry.secondary.wire_diameter=0.16mm,0.2mm,0.25mm,0.315mm",
            "coil.geometry.secondary.former_diameter=40mm,50mm,63mm",
            "coil.geometry.top_load.diameter=30mm:100mm",
        ),
    ),
    Case(
        "least power at 12 kV",
        _SMALL,
        _least("burst.average_power_W", Keep(_REACHED, 12e3)),
        (*_DRIVE, "coil.geometry.primary.turns=3:11", "coil.geometry.top_load.diameter=30mm:100mm"),
    ),
    Case(
        "top voltage behind a snubber",
        _SMALL,
        Wish(_TOP, (Keep("margin", 0.05), Keep("margin.drain_voltage", 0.3))),
        (
            *_DRIVE,
            "protection.snubber.resistance=10,22,47,100",
            "protection.snubber.capacitance=220p,470p,1n,2.2n",
        ),
    ),
)
