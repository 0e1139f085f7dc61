"""Polarity of the chain from timer and feedback to the gate, and the indicator LED."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, note, stop
from burstwise.core.interrupter.buffer import positive
from burstwise.core.series import value_above


@dataclass(frozen=True, slots=True)
class Link:
    """One link of a signal chain and whether it inverts."""

    name: str
    inverts: bool


@dataclass(frozen=True, slots=True)
class Polarity:
    """What a high level at the start of a chain means at its end.

    Parameters
    ----------
    inversions : int
        Number of inverting links on the enabling way.
    on_when_high : bool
        Whether the stage is on while the timer's output is high.
    feedback_sense : str
        Sense of the feedback winding that makes the loop regenerative: ``"normal"`` or
        ``"reversed"``, as the design's ``drive.feedback_sense``.
    findings : tuple of Finding
        Stop where the stage would be on in the timer's off-time.
    """

    inversions: int
    on_when_high: bool
    feedback_sense: str
    findings: tuple[Finding, ...]


def polarity(
    enabling: Sequence[Link],
    carrier: Sequence[Link],
    *,
    advice: str = "Add or remove one inversion.",
) -> Polarity:
    """Inversions from the timer to the enable, and from the feedback to the gate.

    Parameters
    ----------
    enabling : sequence of Link
        Links from the timer's output to the gating of the driver.
    carrier : sequence of Link
        Links from the feedback input to the gate.
    advice : str
        What to change where the stage would run in the timer's off-time.

    Examples
    --------
    >>> chain = polarity([Link("buffer", True), Link("active-low enable", True)],
    ...                  [Link("driver", True)])
    >>> chain.on_when_high, chain.feedback_sense, len(chain.findings)
    (True, 'reversed', 1)
    """
    count = sum(link.inverts for link in enabling)
    sense = "reversed" if sum(link.inverts for link in carrier) % 2 else "normal"
    findings: list[Finding] = []
    if count % 2:
        names = ", ".join(link.name for link in enabling if link.inverts)
        findings.append(
            stop(
                "chain-inverted",
                "interrupter.chain",
                f"{count} inverting link{'s' if count > 1 else ''} ({names}): the stage would "
                f"run while the timer is off. {advice}",
            )
        )
    elif count:
        findings.append(
            note(
                "chain-inversions",
                "interrupter.chain",
                f"{count} inversions on the way to the enable cancel each other.",
            )
        )
    return Polarity(count, count % 2 == 0, sense, tuple(findings))


@dataclass(frozen=True, slots=True)
class Indicator:
    """Resistor of an indicator LED: value [ohm], current in a burst [A], mean power [W]."""

    resistor: float
    current: float
    resistor_power: float


def indicator_led(
    level: float, *, forward: float = 2.0, current: float = 5e-3, duty: float = 1.0
) -> Indicator:
    """LED resistor at the next E12 value above, and what flows then.

    Raises
    ------
    InputError
        Level not above the LED's forward voltage, or a current that is not positive.

    Examples
    --------
    >>> indicator_led(12.0).resistor
    2200.0
    """
    positive("indicator.current", current, "A")
    if level <= forward:
        raise InputError("indicator.level", level, f"above the forward voltage of {forward:g} V")
    resistor = value_above((level - forward) / current, series="E12")
    flows = (level - forward) / resistor
    return Indicator(resistor, flows, flows**2 * resistor * duty)
