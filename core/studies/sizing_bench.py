"""Bench for sizing protection: a changed design through the engine, at corners of tolerance."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from burstwise.core.design.document import with_values
from burstwise.core.evaluate.results import Results
from burstwise.core.findings import Finding, caution
from burstwise.core.limits.sold_kinds import made_of
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stopping import StoppedError
from burstwise.core.units import shown

POWER_USE: Final = 0.5
"""Part of its power rating that a clamp or resistor is used at; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Tolerances:
    """Relative tolerances of parts, coupling and supply [1]; common practice, no source."""

    clamp_voltage: float = 0.05
    resistor: float = 0.05
    capacitor: float = 0.10
    coupling: float = 0.05
    supply: float = 0.05


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a proposal: role, value in SI and unit."""

    role: str
    value: float
    unit: str

    @property
    def text(self) -> str:
        """Role and value in words."""
        return f"{self.role} {shown(self.value, self.unit, digits=3)}"


@dataclass(frozen=True, slots=True)
class Proposal:
    """One protection with what the engine says of it.

    Attributes
    ----------
    kind, title : str
        Stable name and words.
    parts : tuple of Part
        What to fit.
    edits : mapping
        Dotted path to value; empty if there is nothing to set in the design.
    quantity : str
        What `peak` and `worst_peak` are of: drain voltage, gate voltage, driver input or current.
    unit : str
        Its unit.
    peak, worst_peak, limit : float
        As drawn, at the worst corner of the tolerances, and what is allowed.
    heat, worst_heat : float
        Mean dissipation in the protection at the present duty [W].
    holds : bool
        Whether the worst corner stays below the limit.
    findings : tuple of Finding
        What to watch.
    """

    kind: str
    title: str
    parts: tuple[Part, ...]
    edits: dict[str, Any]
    quantity: str
    unit: str
    peak: float
    worst_peak: float
    limit: float
    heat: float
    worst_heat: float
    holds: bool
    findings: tuple[Finding, ...] = ()


class Bench:
    """Runs the engine with a changed design, as drawn and at the corners of its tolerances."""

    def __init__(
        self, results: Results, tolerances: Tolerances, ask: Callable[[float], bool] | None
    ) -> None:
        self.results, self.design, self.tolerances = results, results.design, tolerances
        self.duty = results.duty
        self._ask = ask
        self._share = 0.0

    @property
    def drain_limit(self) -> float:
        """Drain voltage allowed [V]."""
        return self.design.device.drain_voltage_rating * self.design.device.voltage_use

    def check(self, share: float | None = None) -> None:
        """Ask whether to go on."""
        self._share = self._share if share is None else share
        if self._ask is not None and not self._ask(self._share):
            raise StoppedError("the sizing was stopped")

    def run(
        self,
        edits: Mapping[str, object],
        *,
        coupling: float = 0.0,
        supply: float = 0.0,
        change: Callable[[StageCircuit], StageCircuit] | None = None,
    ) -> Carrier:
        """Engine run of the changed design; coupling and supply off by relative amounts."""
        self.check()
        design = with_values(self.design, edits)
        point = self.results.operation
        volts = point.voltage * (1.0 + supply)
        circuit = stage_circuit(design, self.results.coil, supply_voltage=volts)
        circuit = circuit.with_on_resistance(point.on_resistance)
        coil = replace(circuit.coil, coupling=circuit.coil.coupling * (1.0 + coupling))
        circuit = replace(circuit, coil=coil)
        if change is not None:
            circuit = change(circuit)
        return carrier(circuit, hint=self.results.carrier.regions)

    def corners(
        self, edits: Mapping[str, object], spread: Callable[[StageCircuit, float], StageCircuit]
    ) -> list[Carrier]:
        """Runs at the corners: parts up or down, coupling up or down, supply up."""
        tol = self.tolerances
        return [
            self.run(
                edits,
                coupling=side * tol.coupling,
                supply=tol.supply,
                change=lambda circuit, sign=sign: spread(circuit, sign),  # type: ignore[misc]
            )
            for side, sign in itertools.product((1.0, -1.0), (1.0, -1.0))
        ]


def heat_in(run: Carrier, name: str, duty: float) -> float:
    """Mean heat of one loss [W]."""
    return run.losses.get(name, 0.0) * duty


def resistor_part(role: str, resistance: float, heat: float, burst: float) -> Part:
    """What carries the heat of a resistor in a clamp or snubber [ohm, W], used at `POWER_USE`.

    `burst` is its heat while the drive is on [W].
    """
    needs = {"power": heat / POWER_USE, "burst power": burst}
    return sold_part(role, "resistor", needs, value=resistance, rating="power")


def sold_part(
    role: str, family: str, needs: Mapping[str, float], *, value: float | None, rating: str
) -> Part:
    """Kind that is sold for the needs with its rating [W]; says so where there is none."""
    made = made_of(family, needs, value=value)
    if made is None:
        return Part(f"{role}: nothing that is sold carries", needs[rating], "W")
    return Part(f"{role}: {made.words}; in all", made.rating(rating), "W")


def hot_findings(heat: float, field: str) -> tuple[Finding, ...]:
    """Caution for a protection that burns a lot [W]."""
    if heat <= 5.0:
        return ()
    return (
        caution(
            "protection-hot",
            field,
            f"The protection turns {shown(heat, 'W', digits=3)} into heat: lower the coupling or "
            "the supply instead of burning it.",
        ),
    )
