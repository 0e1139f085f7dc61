"""One part of a design: that it is fitted, what it has to be, and its line in the list of parts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import KW_ONLY, dataclass
from typing import Final, Generic, ParamSpec, SupportsFloat, TypeVar

from burstwise.core.limits.sold_kinds import SINK_CASE, Made, made_of
from burstwise.core.units import shown

HEADROOM: Final = 0.20
"""Share of a rating that is left free; below it a rating counts as tight."""
HEAT_USE: Final = 0.5
"""Part of its power rating that a resistor is used at; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Requirement:
    """A rating that a part must have.

    Attributes
    ----------
    name : str
        E.g. ``"voltage"``.
    least : float
        Smallest rating to buy, with `HEADROOM` left free.
    unit : str
        SI unit.
    asked : float
        What the design asks of it.
    """

    name: str
    least: float
    unit: str
    asked: float

    @property
    def text(self) -> str:
        """Words for lists.

        Examples
        --------
        >>> requirement("voltage", 40.0, "V").text
        'voltage at least 50 V (sees 40 V)'
        """
        least, asked = shown(self.least, self.unit, digits=3), shown(self.asked, self.unit)
        return f"{self.name} at least {least} (sees {asked})"


def requirement(name: str, asked: SupportsFloat, unit: str) -> Requirement:
    """Requirement with the usual headroom.

    Examples
    --------
    >>> requirement("power", 0.8, "W").least
    1.0
    """
    seen = max(float(asked), 0.0)
    return Requirement(name, seen / (1.0 - HEADROOM), unit, seen)


def heated(power: SupportsFloat, *, name: str = "power") -> Requirement:
    """Power rating of a part that is used at half of it.

    Examples
    --------
    >>> heated(0.8).least
    1.6
    """
    heat = max(float(power), 0.0)
    return Requirement(name, heat / HEAT_USE, "W", heat)


def exactly(name: str, asked: SupportsFloat, unit: str) -> Requirement:
    """Requirement that has its headroom already, as the limit of a supply or a driver's rating.

    Examples
    --------
    >>> exactly("d.c. voltage", 36.0, "V").least
    36.0
    """
    return Requirement(name, float(asked), unit, float(asked))


@dataclass(frozen=True, slots=True)
class Part:
    """One part to buy or wind.

    Attributes
    ----------
    reference : str
        Reference designator, e.g. ``"R3"``.
    role : str
        Stable name.
    title : str
        What it is there for, in words.
    value : float or None
        In `unit`; None where a class says it all.
    unit : str
        SI unit.
    kind : str
        What sort of part it is, in a few words.
    tolerance : float or None
        As a share; None where it does not matter.
    requirements : tuple of Requirement
        Ratings it must have.
    why : str
        Where value and ratings come from.
    family : str
        Family of `burstwise.core.limits.sold_kinds`; empty for what is wound by hand or is a device
        class.
    made : Made or None
        Kind that is sold, and how many of it; None where nothing that is sold has the ratings.
    """

    reference: str
    role: str
    title: str
    value: float | None
    unit: str
    kind: str
    tolerance: float | None
    requirements: tuple[Requirement, ...]
    why: str
    family: str = ""
    made: Made | None = None

    @property
    def to_buy(self) -> str:
        """What to buy, in words, with the number of pieces."""
        if not self.family:
            return self.kind
        found = "nothing that is sold has these ratings" if self.made is None else self.made.words
        return found if self.kind == self.family else f"{self.kind}; {found}"

    @property
    def value_text(self) -> str:
        """Value with unit, empty where there is none."""
        return "" if self.value is None else shown(self.value, self.unit)

    @property
    def drawn_text(self) -> str:
        """What stands beside the part in the drawing."""
        return self.value_text or self.kind

    @property
    def tolerance_text(self) -> str:
        """Tolerance in percent, empty where it does not matter."""
        return "" if self.tolerance is None else f"±{100 * self.tolerance:g} %"


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a part has to be; `made_of` finds a kind of its family that is sold.

    `why` may be words, or a function that makes them from the kind that was found.
    """

    title: str
    value: float | None = None
    unit: str = ""
    _: KW_ONLY
    kind: str = ""
    family: str = ""
    wound_does_no_harm: bool = False
    tolerance: float | None = None
    needs: Sequence[Requirement] = ()
    why: str | Callable[[Made | None], str]


P = ParamSpec("P")
Source = TypeVar("Source", contravariant=True)


@dataclass(frozen=True, slots=True)
class Fitted(Generic[Source]):
    """A part that a design has.

    Attributes
    ----------
    letter : str
        Of its reference designator.
    role : str
        Stable name.
    make : callable
        Says from the evaluated design what the part has to be; one that asks for any object needs
        no evaluation.
    """

    letter: str
    role: str
    make: Callable[[Source], Wanted]


def by_design(
    make: Callable[P, Wanted], *known: P.args, **named: P.kwargs
) -> Callable[[object], Wanted]:
    """Maker of a part that the design alone says all about."""
    return lambda _: make(*known, **named)


def listed(reference: str, role: str, wanted: Wanted, *, ambient: float) -> Part:
    """Line of the list of parts.

    Parameters
    ----------
    reference, role : str
        Reference designator and stable name.
    wanted : Wanted
        What the part has to be.
    ambient : float
        Air temperature [C].
    """
    made, why, needs = None, wanted.why, wanted.needs
    if wanted.family:
        made = made_of(
            wanted.family,
            {need.name: need.least for need in needs},
            value=wanted.value,
            wound_does_no_harm=wanted.wound_does_no_harm,
        )
    return Part(
        reference,
        role,
        wanted.title,
        wanted.value,
        wanted.unit,
        wanted.kind or wanted.family,
        wanted.tolerance,
        tuple(needs),
        (why(made) if callable(why) else why) + _sink_words(made, needs, ambient),
        wanted.family,
        made,
    )


def _sink_words(made: Made | None, needs: Sequence[Requirement], ambient: float) -> str:
    if made is None or not made.kind.on_sink:
        return ""
    heat = max(need.asked for need in needs if need.name == "power")
    if heat <= 0.0:
        return ""
    largest = (SINK_CASE - ambient) / heat
    return (
        f" On a heat sink of its own of at most {shown(largest, 'K/W', digits=2)}, so that "
        f"its case stays below {shown(SINK_CASE, '°C')}."
    )
