"""The simple series picture beside the honest split of power, with the difference in numbers."""

from __future__ import annotations

from dataclasses import dataclass

from burstwise.core.bench.series_model import PowerSplit, Switching, form_factor, power_split
from burstwise.core.units import shown


@dataclass(frozen=True, slots=True)
class SeriesExplanation:
    """The simple series picture beside the honest split, with their difference in numbers.

    Attributes
    ----------
    simple, honest : PowerSplit
        RMS current taken for both, no switching loss; mean and RMS apart, switching included.
    form_factor : float
        RMS over mean current [-]; 1 where no mean was measured.
    overstated_power : float
        Input power of the simple picture above the honest one [W].
    missing_device_power : float
        Device dissipation of the honest split above the simple one [W].
    sentences : tuple of str
        The same in words, for the screen and the sheet.
    """

    simple: PowerSplit
    honest: PowerSplit
    form_factor: float
    overstated_power: float
    missing_device_power: float
    sentences: tuple[str, ...]


def series_explanation(
    supply: float,
    *,
    rms_current: float,
    mean_current: float | None,
    shunt: float,
    on_resistance: float,
    switching: Switching | float | None = None,
) -> SeriesExplanation:
    """Both views of one row of readings and what separates them.

    Parameters
    ----------
    supply : float
        Supply voltage [V].
    rms_current : float
        RMS supply current [A].
    mean_current : float or None
        Mean supply current [A], None where it was not measured.
    shunt, on_resistance : float
        Resistances [ohm].
    switching : Switching, float or None
        The edges, or their loss [W] where that is known, None where nothing is.

    Examples
    --------
    >>> told = series_explanation(
    ...     60.0, rms_current=3.0, mean_current=2.0, shunt=0.1, on_resistance=1.5
    ... )
    >>> told.form_factor, told.overstated_power
    (1.5, 60.0)
    """
    mean = rms_current if mean_current is None else mean_current
    simple = power_split(
        supply,
        mean_current=rms_current,
        rms_current=rms_current,
        shunt=shunt,
        on_resistance=on_resistance,
    )
    honest = power_split(
        supply,
        mean_current=mean,
        rms_current=rms_current,
        shunt=shunt,
        on_resistance=on_resistance,
        switching_loss=_loss(switching),
    )
    factor = form_factor(rms_current, mean)
    return SeriesExplanation(
        simple=simple,
        honest=honest,
        form_factor=factor,
        overstated_power=simple.input_power - honest.input_power,
        missing_device_power=honest.device_power - simple.device_power,
        sentences=(
            _power_sentence(simple, honest, factor, mean_known=mean_current is not None),
            _device_sentence(honest, known=switching is not None),
            _coil_sentence(simple, honest),
        ),
    )


def _loss(switching: Switching | float | None) -> float:
    if switching is None:
        return 0.0
    return switching.loss if isinstance(switching, Switching) else switching


def _power_sentence(
    simple: PowerSplit, honest: PowerSplit, factor: float, *, mean_known: bool
) -> str:
    high = shown(simple.input_power, "W", digits=3)
    if not mean_known:
        return (
            f"No mean current was measured, so the RMS current stands for it and {high} is an "
            "upper bound of the input power: half-sine pulses over half of the period would make "
            f"it {shown(simple.input_power / 1.5708, 'W', digits=3)}."
        )
    return (
        f"Supply times RMS current gives {high}; supply times mean current, the power really "
        f"drawn, is {shown(honest.input_power, 'W', digits=3)}: the form factor is {factor:.3g}."
    )


def _device_sentence(honest: PowerSplit, *, known: bool) -> str:
    conduction = shown(honest.conduction_loss, "W", digits=3)
    if not known:
        return (
            f"Conduction in the device takes {conduction}; nothing is known of its switching "
            "edges, whose loss comes on top."
        )
    return (
        f"Conduction in the device takes {conduction} and switching "
        f"{shown(honest.switching_loss, 'W', digits=3)}, together "
        f"{shown(honest.device_power, 'W', digits=3)}."
    )


def _coil_sentence(simple: PowerSplit, honest: PowerSplit) -> str:
    return (
        f"The coil's effective resistance is {shown(simple.coil_resistance, 'Ω', digits=3)} in "
        f"the simple picture and {shown(honest.coil_resistance, 'Ω', digits=3)} in the honest one."
    )
