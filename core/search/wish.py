"""What is wanted: a figure to make as high or as low as can be, and what must be kept."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, TypeVar

from burstwise.core.arrays import Array
from burstwise.core.errors import InputError
from burstwise.core.evaluate.report import FIELD_DISTANCE, figures_object, results_object
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.ratings import RATINGS, title_of
from burstwise.core.units import quantity, shown

MARGIN: Final = "margin"
"""Name of the smallest margin of all ratings."""
DEAD: Final = 10.0
"""Miss of a stage that does not oscillate; ratings and figures miss by about one at most."""
_UNITS: Final = {
    "V": "V",
    "A": "A",
    "W": "W",
    "J": "J",
    "H": "H",
    "F": "F",
    "s": "s",
    "Hz": "Hz",
    "C": "°C",
    "K": "K",
    "ohm": "Ω",
}
Value = TypeVar("Value", float, Array)
_SIGN: Final = re.compile(r"^([^<>=]+)([<>=])([^<>=]+)$")


@dataclass(frozen=True, slots=True)
class Objective:
    """Figure to make as high or as low as can be.

    Attributes
    ----------
    name : str
        Path in `results_object`, as ``carrier.top_voltage_peak_V``, or ``margin``.
    highest : bool
        Whether high is good.
    """

    name: str
    highest: bool

    def value(self, figures: Mapping[str, Any]) -> float:
        """The figure; nan where the design does not have it."""
        return figure(figures, self.name)

    def better(self, value: float) -> float:
        """Value turned so that higher is better; the worst there is where it is not a number."""
        if math.isnan(value):
            return -math.inf
        return value if self.highest else -value


@dataclass(frozen=True, slots=True)
class Keep:
    """One thing that must hold.

    Attributes
    ----------
    name : str
        ``margin``, ``margin.RATING`` or a path in `results_object`.
    limit : float
        In SI units; margins as a ratio.
    most : bool
        Whether the figure may be at most the limit, instead of at least.
    """

    name: str
    limit: float
    most: bool = False

    def value(self, figures: Mapping[str, Any]) -> float:
        """The figure that is kept; nan where the design does not have it."""
        return figure(figures, self.name)

    def miss(self, figures: Mapping[str, Any]) -> float:
        """How far the figure is on the wrong side [1]; 0 where it holds.

        Margins count as they are, other figures over their limit. A rating that a design does not
        have cannot break.
        """
        slack = self.slack(self.value(figures))
        if math.isnan(slack):
            return 0.0 if self.name.startswith(f"{MARGIN}.") else 1.0
        return min(max(-slack, 0.0), DEAD)

    def slack(self, value: Value) -> Value:
        """Room of a value, or of many, up to the limit, on the scale of `miss` [1]; nan for nan."""
        apart = self.limit - value if self.most else value - self.limit
        margin = self.name.split(".")[0] == MARGIN
        return apart if margin else apart / max(abs(self.limit), 1e-12)

    def eased(self, value: float) -> Keep | None:
        """The condition, or one that a value it misses holds, rounded to the easy side.

        None where there is no value.

        Examples
        --------
        >>> Keep("margin", 0.2).eased(0.03794)
        Keep(name='margin', limit=0.037, most=False)
        >>> Keep("burst.average_power_W", 10.0, most=True).eased(12.3456)
        Keep(name='burst.average_power_W', limit=12.4, most=True)
        """
        slack = self.slack(value)
        if math.isnan(slack):
            return self if self.name.startswith(f"{MARGIN}.") else None
        if slack >= 0.0:
            return self
        if self.name.split(".")[0] == MARGIN:
            step = 1e-3
        else:
            step = 10.0 ** (math.floor(math.log10(max(abs(value), 1e-300))) - 2)
        steps = math.ceil(value / step) if self.most else math.floor(value / step)
        return replace(self, limit=float(f"{steps * step:.6g}"))

    @property
    def text(self) -> str:
        """The condition in words."""
        sign = "at most" if self.most else "at least"
        return f"{name_in_words(self.name)} {sign} {in_words(self.name, self.limit)}"


@dataclass(frozen=True, slots=True)
class Wish:
    """Objective and conditions; without one on margins no rating may be exceeded."""

    objective: Objective
    keeps: tuple[Keep, ...] = ()

    @property
    def conditions(self) -> tuple[Keep, ...]:
        """All conditions, with the one that no rating is exceeded."""
        if any(keep.name == MARGIN and not keep.most for keep in self.keeps):
            return self.keeps
        return (*self.keeps, Keep(MARGIN, 0.0))

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all figures that it asks for."""
        return (self.objective.name, *(keep.name for keep in self.conditions))

    def figures(self, results: Results) -> dict[str, Any]:
        """Figures of results that the wish asks for, by section."""
        around = any(name.split(".")[0] == FIELD_DISTANCE for name in self.names)
        return results_object(results) if around else figures_object(results)

    def eased(self, figures: Mapping[str, Any]) -> Wish | None:
        """The wish with the conditions that some figures miss brought to what they reach.

        Parameters
        ----------
        figures : mapping
            Of a design without stop findings, as `figures` gives them.

        Returns
        -------
        Wish or None
            None where a condition is on a figure that the design does not have.
        """
        keeps = [keep.eased(keep.value(figures)) for keep in self.keeps]
        if any(keep is None for keep in keeps):
            return None
        return replace(self, keeps=tuple(keep for keep in keeps if keep is not None))

    def miss(self, figures: Mapping[str, Any]) -> float:
        """Sum of what is missed [1]; 0 where all holds."""
        if not figures["carrier"]["oscillates"]:
            return DEAD
        return sum(keep.miss(figures) for keep in self.conditions)


def figure(figures: Mapping[str, Any], name: str) -> float:
    """Figure of a results object by its name; nan where there is none.

    Raises
    ------
    InputError
        No figure of that name.
    """
    if name == MARGIN:
        return min((_margin(item) for item in figures["limits"]), default=math.nan)
    first, _, rest = name.partition(".")
    if first == MARGIN:
        known = {item["rating"]: _margin(item) for item in figures["limits"]}
        return known.get(rest, math.nan)
    section = figures.get(first)
    if not isinstance(section, Mapping) or rest.split(".")[0] not in section:
        raise InputError("figure", name, "a figure of evaluate --json, as carrier.frequency_Hz")
    value: Any = section
    for part in rest.split("."):
        value = value.get(part) if isinstance(value, Mapping) else None
    if value is None:
        return math.nan
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise InputError("figure", name, "a number of evaluate --json")
    return float(value)


def _margin(item: Mapping[str, Any]) -> float:
    percent = item["margin_percent"]
    return -math.inf if percent is None else float(percent) / 100.0


def keep_from_text(text: str) -> Keep:
    """Condition as it is written on the command line.

    Parameters
    ----------
    text : str
        ``margin=20%``, ``margin.drain_voltage=30%``, ``burst.average_power_W<100``.

    Raises
    ------
    InputError
        Not of that form, an unknown rating, or a value that cannot be read.

    Examples
    --------
    >>> keep_from_text("margin=20%")
    Keep(name='margin', limit=0.2, most=False)
    >>> keep_from_text("burst.average_power_W<100")
    Keep(name='burst.average_power_W', limit=100.0, most=True)
    """
    found = _SIGN.match(text[:200])
    if found is None:
        raise InputError("--keep", text, "NAME=VALUE, NAME<VALUE or NAME>VALUE")
    name, sign, value = (part.strip() for part in found.groups())
    margin = name.split(".")[0] == MARGIN
    if sign == "=" and not margin:
        raise InputError("--keep", text, "with < or > for a figure; = is for margins")
    rating = name.removeprefix(f"{MARGIN}.")
    if margin and name != MARGIN and rating not in {item.name for item in RATINGS}:
        known = ", ".join(item.name for item in RATINGS)
        raise InputError("--keep", text, f"margin or margin.RATING with one of {known}")
    return Keep(name, quantity(value, unit_of(name), field=f"--keep {name}"), sign == "<")


def unit_of(name: str) -> str:
    """Unit of a figure from the end of its name.

    Examples
    --------
    >>> unit_of("carrier.top_voltage_peak_V"), unit_of("margin"), unit_of("coil.coupling")
    ('V', '', '')
    """
    return _UNITS.get(name.rsplit("_", 1)[-1], "") if "_" in name and "." in name else ""


def in_words(name: str, value: float) -> str:
    """Value of a figure as a person writes it."""
    if math.isnan(value):
        return "nothing"
    if name.split(".")[0] == MARGIN:
        return shown(value, "%", digits=3)
    return shown(value, unit_of(name), digits=4)


def name_in_words(name: str) -> str:
    """Name of a figure in words.

    Examples
    --------
    >>> name_in_words("margin"), name_in_words("burst.average_power_W")
    ('smallest margin', 'average power')
    """
    if name == MARGIN:
        return "smallest margin"
    first, _, rest = name.partition(".")
    if first == MARGIN:
        return f"margin of {title_of(rest).lower()}"
    last = rest.split(".")[-1]
    words = last.rsplit("_", 1)[0] if last.rsplit("_", 1)[-1] in _UNITS else last
    return words.replace("_", " ")
