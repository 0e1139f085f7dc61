"""What sizing takes and gives: the wish, the parts, and sets of them with their bands."""

from __future__ import annotations

from dataclasses import dataclass, field

from burstwise.core.design.sizing_wish import RankingWeights
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding
from burstwise.core.interrupter.build import timer_values
from burstwise.core.interrupter.circuits import CIRCUITS, circuit_named
from burstwise.core.interrupter.stock import (
    CAPACITORS,
    SILICON,
    CapacitorKind,
    DiodeStock,
    PotentiometerStock,
    ResistorStock,
)
from burstwise.core.interrupter.timer import TIMERS, Timer
from burstwise.core.series import SERIES
from burstwise.core.units import limits_text


@dataclass(frozen=True, slots=True)
class TimerWish:
    """What the builder wants of the interrupter's timer.

    Parameters
    ----------
    frequency : float
        Burst frequency [Hz]; the lowest one where `frequency_high` is given.
    duty_low, duty_high : float
        Duty at the end stops of the potentiometer, 0 to 1; equal for a fixed duty.
    supply : float
        Timer supply [V].
    frequency_high : float or None
        Highest frequency where the frequency is to be adjustable [Hz].
    supply_tolerance : float
        Spread of the supply as a fraction.
    circuits, timers : tuple of str
        Names out of `CIRCUITS` and `TIMERS` to choose from.
    resistors, potentiometers, capacitors, diode
        Stock to choose from.
    control_voltage : float or None
        Voltage forced on the control pin [V]; None leaves it open.
    on_time_cap : float or None
        Longest on-time that the capping circuits shall allow [s]; None takes 1.5 times the
        longest wanted one.
    frequency_tolerance : float
        Largest nominal error of the frequency that counts as fulfilled, as a fraction.
    duty_tolerance : float
        Largest nominal error of duty/(1 - duty) at an end stop, as a fraction.
    weights : RankingWeights
        What matters in the ranking; 0 takes a term out.
    count : int
        Most sets to give.
    """

    frequency: float
    duty_low: float
    duty_high: float
    supply: float
    frequency_high: float | None = None
    supply_tolerance: float = 0.05
    circuits: tuple[str, ...] = tuple(CIRCUITS)
    timers: tuple[str, ...] = tuple(TIMERS)
    resistors: ResistorStock = field(default_factory=ResistorStock)
    potentiometers: PotentiometerStock = field(default_factory=PotentiometerStock)
    capacitors: tuple[CapacitorKind, ...] = tuple(CAPACITORS.values())
    diode: DiodeStock = SILICON
    control_voltage: float | None = None
    on_time_cap: float | None = None
    frequency_tolerance: float = 0.05
    duty_tolerance: float = 0.25
    weights: RankingWeights = field(default_factory=RankingWeights)
    count: int = 8

    def __post_init__(self) -> None:
        _check("frequency", self.frequency, 1e-4, 1e7, "Hz")
        if self.frequency_high is not None:
            _check("frequency_high", self.frequency_high, self.frequency, 1e7, "Hz")
        _check("duty", self.duty_low, 0.0, 1.0, "")
        _check("duty", self.duty_high, self.duty_low, 1.0, "")
        _check("supply", self.supply, 1.0, 100.0, "V")
        _check("supply_tolerance", self.supply_tolerance, 0.0, 0.5, "")
        if self.on_time_cap is not None:
            _check("on_time_cap", self.on_time_cap, 1e-7, 1e4, "s")
        if self.count < 1:
            raise InputError("count", self.count, "at least 1")
        if not self.capacitors:
            raise InputError("capacitors", "none", "one or more kinds")
        for name in self.circuits:
            circuit_named(name)
        for name in self.timers:
            if name not in TIMERS:
                raise InputError("timer", name, "one of " + ", ".join(TIMERS))

    @property
    def top_frequency(self) -> float:
        """Highest frequency wanted [Hz]."""
        return self.frequency if self.frequency_high is None else self.frequency_high

    @property
    def fixed_duty(self) -> bool:
        """Whether no duty knob is wanted."""
        return self.duty_high - self.duty_low < 1e-9

    def timer(self, name: str) -> Timer:
        """Timer of that name with the control voltage of the wish."""
        timer = TIMERS[name]
        if self.control_voltage is None:
            return timer
        return timer.with_control(self.control_voltage, self.supply)


def _check(name: str, value: float, low: float, high: float, unit: str) -> None:
    if not low <= value <= high:
        raise InputError(name, value, limits_text(low, high, unit))


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
    circuit : str
        Name in `CIRCUITS`.
    timer : Timer
        Model of the timer.
    supply, supply_tolerance : float
        Timer supply [V] and its spread.
    parts : tuple of Part
        Parts that set the timing.
    potentiometer, diode
        Stock that the potentiometer and the steering diodes come from.
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
    frequency_travel : float
        Where the frequency knob stands, 0 to 1, in a circuit that has one.
    """

    circuit: str
    timer: Timer
    supply: float
    supply_tolerance: float
    parts: tuple[Part, ...]
    potentiometer: PotentiometerStock
    diode: DiodeStock
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
    frequency_travel: float = 1.0

    def build(self) -> dict[str, float]:
        """Nominal build: value by role, parts and timer together."""
        return (
            timer_values(self.timer, self.supply)
            | absent_parts()
            | diode_and_stop_values(self.diode, self.potentiometer)
            | {part.role: part.value for part in self.parts}
            | {"frequency_travel": self.frequency_travel}
        )


def absent_parts() -> dict[str, float]:
    """Values of potentiometers that a circuit can do without."""
    return {"potentiometer": 0.0, "frequency_potentiometer": 0.0}


def diode_and_stop_values(diode: DiodeStock, pot: PotentiometerStock) -> dict[str, float]:
    """Part of a build that diodes and the potentiometer's construction give."""
    return {
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
