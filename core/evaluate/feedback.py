"""What moves the input of a gate driver: base current, current transformer or antenna."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from burstwise.core.coil.resolve import ResolvedCoil
from burstwise.core.design.document import Design
from burstwise.core.findings import Finding, caution
from burstwise.core.limits.clamp_heat import base_current
from burstwise.core.stage.carrier import Carrier
from burstwise.core.stage.elements import Monitor
from burstwise.core.units import shown

START_ROOM: Final = 1.5
"""First swing over the one that the thresholds need, below which a stage starts only just; common
practice, no source."""
LEAD: Final = 20.0
"""Lead of a current transformer's voltage above which a caution is made [degrees]; common practice,
no source."""
ABOVE_SUPPLY: Final = 0.5
"""How far a driver's input may stand above its supply [V]; common practice, no source."""
FLUX_DENSITY: Final = 0.05
"""Peak flux density that a ferrite core of a current transformer is used at [T]; common practice,
no source."""


def foot_current(coil: ResolvedCoil, run: Carrier) -> float:
    """Peak current at the foot of the secondary of a run [A]."""
    return base_current(
        coil.secondary_capacitance,
        run.top_voltage_peak,
        frequency=run.frequency,
        ratio=coil.base_current_ratio,
    )


def input_share(design: Design, coil: ResolvedCoil) -> float:
    """Current into gate or driver's input over that at the secondary's foot [1].

    1, a transformer's 1/N, or an antenna's ``C_a/(C rho)``: both currents go with the top's
    voltage, one through the antenna's capacitance, one through the coil's own.
    """
    part = design.drive.gated
    if design.drive.kind == "direct" or part.feedback == "base current":
        return 1.0
    if part.feedback == "current transformer":
        return 1.0 / part.transformer_turns
    return part.antenna_capacitance / (coil.secondary_capacitance * coil.base_current_ratio)


@dataclass(frozen=True, slots=True)
class InputSwing:
    """Swing of a driver's input behind a current transformer or an antenna.

    Attributes
    ----------
    frequency : float
        Carrier; the secondary's resonance where nothing oscillates [Hz].
    current : float
        Steady peak current of transformer or antenna; 0 where nothing oscillates [A].
    first_current : float
        Its peak in the first swing after the device turns on [A].
    impedance : float
        What it meets while no clamp conducts [ohm].
    needed : float
        Distance from the bias to the further threshold [V].
    clamped : float
        Distance from the bias to the further clamp [V].
    """

    frequency: float
    current: float
    first_current: float
    impedance: float
    needed: float
    clamped: float

    @property
    def free(self) -> float:
        """Steady peak to either side of the bias if no clamp conducted, ``I |Z|`` [V]."""
        return self.current * self.impedance

    @property
    def first(self) -> float:
        """Peak of the first swing to either side of the bias [V]."""
        return self.first_current * self.impedance

    @property
    def held(self) -> float:
        """Steady peak to the further side as the clamps let it be [V]."""
        return min(self.free, self.clamped)


def input_swing(design: Design, coil: ResolvedCoil, run: Carrier) -> InputSwing | None:
    """Swing of the driver's input; None for a base current.

    A transformer's current meets burden, winding and input capacitance side by side; an antenna's
    meets bias resistance and input capacitance, the antenna's own capacitance with it. The first
    swing is that of the secondary on a step of ``V M/L``, L being the primary with its leads.

    Parameters
    ----------
    design, coil
        The design and its coil.
    run : Carrier
        Engine run at the operating point.
    """
    part, circuit = design.drive.gated, run.circuit.coil
    if not design.drive.past_input:
        return None
    pace = 2.0 * math.pi * (run.frequency if run.oscillates else circuit.resonance)
    if part.feedback == "antenna":
        ohms, winding = part.input_bias_resistance, math.inf
        farad = part.input_capacitance + part.antenna_capacitance
    else:
        ohms, winding = part.burden, part.transformer_inductance
        farad = part.input_capacitance
    share = input_share(design, coil)
    step = run.circuit.supply_voltage * circuit.mutual_inductance / circuit.loop_inductance
    return InputSwing(
        frequency=pace / (2.0 * math.pi),
        current=share * foot_current(coil, run) if run.oscillates else 0.0,
        first_current=share
        * base_current(
            coil.secondary_capacitance,
            step,
            frequency=circuit.resonance,
            ratio=coil.base_current_ratio,
        ),
        impedance=1.0 / abs(complex(1.0 / ohms, pace * farad - 1.0 / (pace * winding))),
        needed=max(
            abs(part.input_threshold_high - part.input_bias),
            abs(part.input_bias - part.input_threshold_low),
        ),
        clamped=max(
            part.input_clamp_high - part.input_bias, part.input_bias + part.input_clamp_low
        ),
    )


def magnetising_lead(design: Design, swing: InputSwing) -> float:
    """Angle by which a current transformer's voltage leads its current [degrees]; 0 without one.

    The winding takes ``v/(w L)`` of the current, a quarter of a period late.
    """
    part = design.drive.gated
    if part.feedback != "current transformer" or swing.current <= 0.0:
        return 0.0
    reactance = 2.0 * math.pi * swing.frequency * part.transformer_inductance
    return math.degrees(math.asin(min(swing.held / (reactance * swing.current), 1.0)))


def feedback_findings(design: Design, coil: ResolvedCoil, run: Carrier) -> Iterator[Finding]:
    """What to change at a driver's input.

    Parameters
    ----------
    design, coil
        The design and its coil.
    run : Carrier
        Engine run at the operating point.
    """
    if design.drive.kind == "direct":
        return
    part = design.drive.gated
    highest, most = float(run.peaks[Monitor.INPUT]), part.driver_supply + ABOVE_SUPPLY
    if run.oscillates and highest > most:
        yield caution(
            "input-above-supply",
            "drive.gated.input_clamp_high",
            f"The driver's input reaches {shown(highest, 'V', digits=3)}; most drivers stand no "
            f"more than {shown(most, 'V', digits=3)} on this supply. Clamp it lower.",
        )
    swing = input_swing(design, coil, run)
    if swing is None:
        return
    transformer = part.feedback == "current transformer"
    if swing.first < START_ROOM * swing.needed:
        field = "burden" if transformer else "antenna_capacitance"
        remedy = "fewer turns, a larger burden" if transformer else "a larger antenna"
        yield caution(
            "feedback-start",
            f"drive.gated.{field}",
            "The coil's first swing moves the driver's input by "
            f"{shown(swing.first, 'V', digits=2)}, and from its bias to the further threshold it "
            f"is {shown(swing.needed, 'V', digits=2)}: the loop starts only just, or not at all. "
            f"Take {remedy}, or a bias nearer to the thresholds.",
        )
    lead = magnetising_lead(design, swing)
    if lead > LEAD:
        yield caution(
            "transformer-inductance-low",
            "drive.gated.transformer_inductance",
            f"The current transformer's winding takes so much of its current that the input leads "
            f"by {lead:.0f} degrees. Take more turns or a core of higher permeability.",
        )
