"""What a forecast has to say in words, with the numbers in it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from burstwise.core.bench.derived import BenchSetup, DerivedRow
from burstwise.core.bench.law_fit import LawFit
from burstwise.core.bench.reached import Rating, Reached
from burstwise.core.bench.readings import Reading
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution, note, stop
from burstwise.core.units import percent, shown

_WIDE: Final = 0.3
_NAMES: Final[dict[Rating, str]] = {
    Rating.VOLTAGE: "drain voltage",
    Rating.CURRENT: "drain current",
    Rating.POWER: "dissipation",
}


def rows_above_ratings(
    derived: Iterable[DerivedRow], readings: Iterable[Reading], ratings: Mapping[Rating, float]
) -> list[Finding]:
    """Stops for every row that was already measured above a rating."""
    measured = [
        (row.line, rating, value)
        for row in readings
        for rating, value in ((Rating.VOLTAGE, row.drain_peak),)
        if value is not None
    ] + [
        (row.reading.line, rating, estimate.value)
        for row in derived
        for rating, estimate in (
            (Rating.CURRENT, row.current_rms),
            (Rating.POWER, row.device_power),
        )
    ]
    return [
        stop(
            "rating-exceeded",
            f"line {line}, {rating}",
            f"Line {line}: {_NAMES[rating]} of {shown(value, rating.unit, digits=3)} is above the "
            f"rating of {shown(ratings[rating], rating.unit)}. Do not run the stage there.",
        )
        for line, rating, value in measured
        if rating in ratings and value > ratings[rating]
    ]


def refusal(rating: Rating, error: InputError) -> Finding:
    """Stop for a rating that cannot be forecast, so that the first limit is not known."""
    return stop(
        "forecast-refused",
        str(rating),
        f"No forecast of {_NAMES[rating]}: {error}. Which limit is reached first is not known "
        "without it.",
    )


def forecast_findings(
    reached: Sequence[Reached], others: Sequence[Reading], setup: BenchSetup, side_load: float
) -> list[Finding]:
    """Findings about the forecast itself: order, laws, extrapolation, assumptions."""
    said = [_first(reached[0], side_load)] if math.isfinite(reached[0].supply) else []
    rival = max(reached, key=lambda entry: entry.probability_first)
    if rival.probability_first > reached[0].probability_first:
        said.append(_not_settled(reached[0], rival))
    for entry in reached:
        said += _about(entry)
    if others:
        said.append(_other_duties(others))
    ratings = {entry.rating for entry in reached}
    if setup.shunt.tolerance == 0.0 and ratings & {Rating.CURRENT, Rating.POWER}:
        said.append(_no_tolerance())
    if Rating.POWER in ratings:
        said.append(_conduction_only(setup))
    return said


def _first(entry: Reached, side_load: float) -> Finding:
    return note(
        "first-limit",
        str(entry.rating),
        f"{_NAMES[entry.rating].capitalize()} is reached first, at {_volts(entry.supply)} (90 % "
        f"interval {_volts(entry.low)} to {_volts(entry.high)}), with a chance of "
        f"{_chance(entry.probability_first)} of being the first. With side loading that raises "
        f"current and spike by {percent(side_load, digits=3)} it is reached at "
        f"{_volts(entry.side_loaded_supply)}.",
    )


def _not_settled(entry: Reached, rival: Reached) -> Finding:
    """The lowest central forecast is not the likeliest to be the first."""
    return caution(
        "first-not-settled",
        str(rival.rating),
        f"Which comes first is not settled: {_NAMES[rival.rating]} is forecast higher, at "
        f"{_volts(rival.supply)}, but its interval reaches down to {_volts(rival.low)} and it is "
        f"the first with a chance of {_chance(rival.probability_first)}, against "
        f"{_chance(entry.probability_first)} for {_NAMES[entry.rating]}. Watch both.",
    )


def _about(entry: Reached) -> list[Finding]:
    name, field = _NAMES[entry.rating], str(entry.rating)
    highest = float(entry.trend.supply.max())
    if not math.isfinite(entry.supply):
        text = (
            f"The trend of {name} does not reach {shown(entry.limit, entry.rating.unit)} within "
            f"twelve times the highest supply measured, {_volts(highest)}; it may not rise at all."
        )
        return [caution("rating-not-reached", field, text)]
    said = [note("trend-law", field, f"{name.capitalize()}: {_laws(entry.trend.fits)}")]
    if entry.extrapolated:
        text = (
            f"{name.capitalize()} is forecast at {_volts(entry.supply)}, "
            f"{entry.supply / highest:.2g} times the highest supply measured "
            f"({_volts(highest)}). Breakout, heating or a clamp may set in before: measure higher "
            "first."
        )
        said.append(caution("extrapolated", field, text))
    if entry.high - entry.low > _WIDE * entry.supply:
        text = (
            f"The supply at which {name} reaches its rating is known badly, "
            f"{_volts(entry.low)} to {_volts(entry.high)}: add rows or repeat those that stray."
        )
        said.append(caution("interval-wide", field, text))
    return said


def _laws(fits: tuple[LawFit, LawFit]) -> str:
    better, worse = sorted(fits, key=lambda fit: fit.left_out_error)
    return (
        f"a {better.law} predicts a row left out within "
        f"{percent(better.left_out_error, digits=2)}, "
        f"a {worse.law} within {percent(worse.left_out_error, digits=2)}."
    )


def _other_duties(others: Sequence[Reading]) -> Finding:
    lines = ", ".join(str(row.line) for row in others)
    return caution(
        "duty-differs",
        "duty",
        f"The rows of lines {lines} have another duty than most and are left out of the trend, "
        "as average current and dissipation go with the duty.",
    )


def _no_tolerance() -> Finding:
    return note(
        "shunt-tolerance-unknown",
        "shunt",
        "No tolerance of the shunt was given, so the intervals do not hold it: a shunt that is "
        "off by 1 % moves the current by 1 % and the dissipation by 2 %.",
    )


def _conduction_only(setup: BenchSetup) -> Finding:
    return note(
        "conduction-only",
        str(Rating.POWER),
        f"Dissipation is conduction in {shown(setup.on_resistance, 'Ω')} alone; switching, and "
        "linear conduction near the gate threshold, come on top. Compare it with the heat sink's "
        "temperature.",
    )


def _volts(value: float) -> str:
    return shown(value, "V", digits=3)


def _chance(value: float) -> str:
    return "over 99 %" if value > 0.99 else percent(value)
