"""What the main supply feeds beside the stage: bleed resistor and, if made from it, the rail."""

from __future__ import annotations

from burstwise.core.assembly.low_voltage_parts import made_from_main
from burstwise.core.assembly.parts import PartsList
from burstwise.core.evaluate.chain import chain_of
from burstwise.core.evaluate.results import Results


def bleed_current(parts: PartsList, voltage: float) -> float:
    """Current of the bleed resistor [A].

    Parameters
    ----------
    parts : PartsList
        Parts of the design.
    voltage : float
        Bus voltage [V].
    """
    value = parts.by_role["bleed"].value
    return 0.0 if value is None else voltage / value


def rail_input_current(results: Results, parts: PartsList) -> float:
    """Current from the main supply into the low-voltage supply that is made from it [A].

    A regulator takes its load's current and its own; a Zener supply takes what its series
    resistor lets through, whatever the load. 0 for a supply of its own.
    """
    made = results.design.supply.low_voltage
    if made is None or not made_from_main(parts.by_role):
        return 0.0
    if made.kind == "regulator":
        return chain_of(results).low_load + made.own_current
    resistor = parts.by_role["zener_resistor"].value
    over = results.operation.voltage - made.output
    return 0.0 if resistor is None else max(over, 0.0) / resistor
