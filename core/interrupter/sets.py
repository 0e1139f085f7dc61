"""What sizing gives: parts, and sets of them with their bands."""

from __future__ import annotations

from dataclasses import dataclass

from burstwise.core.design.interrupter import TimerParts
from burstwise.core.design.timer_wish import CircuitName, TimerWish
from burstwise.core.findings import Finding
from burstwise.core.interrupter.build import timer_values
from burstwise.core.interrupter.stock import (
    DIODES,
    CapacitorKind,
    DiodeStock,
    PotentiometerStock,
    ResistorStock,
)
from burstwise.core.interrupter.timer import TIMERS, Timer
from burstwise.core.series import SERIES


@dataclass(frozen=True, slots=True)
class Part:
    """One part that sets the timing.

    Parameters
    ----------
    role : str
        What it does in the circuit, as in `Circuit.roles`.
    value : float
        Nominal value in the SI unit.
    unit : str
        ``"ohm"`` or ``"F"``.
    series : str
        E series that the value is in.
    tolerance : float
        Fraction.
    drift : float
        Magnitude of the temperature coefficient [1/K].
    kind : str
        Words for the parts list.
    """

    role: str
    value: float
    unit: str
    series: str
    tolerance: float
    drift: float
    kind: str


def part_from(
    role: str,
    value: float,
    stock: CapacitorKind | PotentiometerStock | ResistorStock,
    *,
    series: str = "",
) -> Part:
    """Part of a value out of a stock; its series is the smallest that holds it unless given."""
    unit = "F" if isinstance(stock, CapacitorKind) else "ohm"
    within = series or series_holding(value)
    return Part(role, value, unit, within, stock.tolerance, stock.drift, stock.label)


def series_holding(value: float) -> str:
    """Smallest E series with the value; potentiometers of 25 and 50 kilohm are in none.

    Examples
    --------
    >>> series_holding(4700.0), series_holding(390e-9), series_holding(25e3)
    ('E3', 'E12', '1-2.5-5')
    """
    digits = float(f"{value:.3e}".split("e")[0])
    return next((s.name for s in SERIES.values() if digits in s.values), "1-2.5-5")


@dataclass(frozen=True, slots=True)
class Band:
    """Nominal value with the worst case of both sides."""

    nominal: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class TimerSet:
    """A circuit with its parts, and what they make.

    Parameters
    ----------
    given : TimerParts
        Circuit, timer, values and tolerances, as a design holds them.
    parts : tuple of Part
        Parts that set the timing.
    frequency : Band
        At half travel; low and high over tolerance and over the whole travel [Hz].
    frequency_range : Band or None
        Only with a frequency knob: nominal is its lowest setting at half travel of the duty
        knob, low and high as above [Hz].
    duty_low, duty_high : Band
        Duty at the end stops.
    duty_middle : float
        Duty at half travel.
    part_count : int
        All parts including timers, diodes and the control pin's capacitor.
    frequency_error, duty_error : float
        Largest logarithmic errors against the wish, of frequency and of duty/(1 - duty).
    score : float
        Rank; lower is better.
    findings : tuple of Finding
        What to know about it.
    """

    given: TimerParts
    parts: tuple[Part, ...]
    frequency: Band
    duty_low: Band
    duty_high: Band
    duty_middle: float
    part_count: int
    frequency_range: Band | None = None
    frequency_error: float = 0.0
    duty_error: float = 0.0
    score: float = 0.0
    findings: tuple[Finding, ...] = ()

    @property
    def circuit(self) -> CircuitName:
        """Name in `CIRCUITS`."""
        return self.given.circuit

    @property
    def supply(self) -> float:
        """Timer supply [V]."""
        return self.given.supply

    @property
    def timer(self) -> Timer:
        """Model of the timer, with its control pin as it is held."""
        timer, held = TIMERS[self.given.timer], self.given.control_voltage
        return timer if held is None else timer.with_control(held, self.supply)

    @property
    def diode(self) -> DiodeStock:
        """Model of the steering diodes."""
        return DIODES[self.given.diode]

    @property
    def potentiometer(self) -> PotentiometerStock:
        """Potentiometers by their tolerance, end resistance and taper."""
        return potentiometer_of(self.given)

    def build(self) -> dict[str, float]:
        """Nominal build: value by role, parts and timer together."""
        return (
            bare_build(self.timer, self.supply, self.diode, self.potentiometer)
            | {part.role: part.value for part in self.parts}
            | {"frequency_travel": self.given.frequency_travel}
        )


def potentiometer_of(given: TimerParts) -> PotentiometerStock:
    """Potentiometers that a design's timer has."""
    return PotentiometerStock(
        (given.potentiometer, given.frequency_potentiometer),
        tolerance=given.potentiometer_tolerance,
        middle=given.potentiometer_middle,
        end_fraction=given.potentiometer_end,
    )


def bare_build(
    timer: Timer, supply: float, diode: DiodeStock, pot: PotentiometerStock
) -> dict[str, float]:
    """Build without its parts: timer, supply [V], diodes, end stops; no potentiometer."""
    return timer_values(timer, supply) | {
        "potentiometer": 0.0,
        "frequency_potentiometer": 0.0,
        "charge_drop": diode.drop,
        "discharge_drop": diode.drop,
        "pot_end": pot.end_fraction / 2,
        "pot_middle": pot.middle,
    }


@dataclass(frozen=True, slots=True)
class TimerSets:
    """Answer to a wish: ranked sets, else the nearest possible one, and why.

    Parameters
    ----------
    wish : TimerWish
        What was asked.
    sets : tuple of TimerSet
        Best first; empty where nothing fulfils the wish.
    nearest : TimerSet or None
        Where no set fulfils the wish, the one that comes nearest.
    findings : tuple of Finding
        Why circuits were refused; a stop where nothing fulfils the wish.
    """

    wish: TimerWish
    sets: tuple[TimerSet, ...]
    nearest: TimerSet | None
    findings: tuple[Finding, ...]
