"""Where each figure of the device stands in a datasheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

NETWORK: Final = "thermal_network"
"""Figure of the sheet that stands for several values: its sum."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One figure: its path below ``device``, and where a datasheet has it."""

    name: str
    where: str

    @property
    def path(self) -> str:
        """Dotted path in the design."""
        return f"device.{self.name}"


@dataclass(frozen=True, slots=True)
class Section:
    """Figures that stand together."""

    title: str
    entries: tuple[Entry, ...]


SHEET: Final[tuple[Section, ...]] = (
    Section(
        "Voltage and avalanche",
        (
            Entry("drain_voltage_rating", "Absolute maximum ratings: drain-source voltage V(DSS)"),
            Entry("voltage_use", "Yours: how much of it you want to use; 80 to 90 % is careful"),
            Entry("avalanche_voltage", "Not printed: about 1.1 to 1.3 times the rating"),
            Entry("avalanche_resistance", "Not printed: 2 Ω for high, 0.1 Ω for low voltage"),
            Entry("avalanche_energy", "Absolute maximum: single-pulse avalanche energy E(AS)"),
            Entry("repetitive_avalanche_energy", "Absolute maximum: repetitive energy E(AR)"),
            Entry("avalanche_current", "Absolute maximum: avalanche current I(AR) or I(AS)"),
        ),
    ),
    Section(
        "Current and heat",
        (
            Entry("continuous_current", "Absolute maximum: I(D) at a case of 25 °C, first line"),
            Entry("pulsed_current", "Absolute maximum: pulsed drain current I(DM)"),
            Entry("power_rating", "Absolute maximum: total dissipation P(tot) at 25 °C case"),
            Entry("junction_limit", "Absolute maximum: operating junction temperature, upper end"),
            Entry(NETWORK, "Thermal characteristics: R(th)JC, the maximum; scales the network"),
            Entry("kept_junction", "Your own choice: a lower one lets the part live longer"),
        ),
    ),
    Section(
        "Channel",
        (
            Entry("on_resistance", "Static characteristics: R(DS)on, the maximum, at 25 °C"),
            Entry("hot_resistance_ratio", "Curve of normalised R(DS)on over T(j): value at 150 °C"),
            Entry("threshold_voltage", "Static characteristics: V(GS)th, the typical value"),
            Entry("transconductance", "Dynamic characteristics: forward transconductance g(fs)"),
        ),
    ),
    Section(
        "Gate and capacitances",
        (
            Entry("gate_voltage_rating", "Absolute maximum: gate-source voltage, positive"),
            Entry("negative_gate_rating", "The negative one; silicon carbide: often 4 to 10 V"),
            Entry("recommended_gate_low", "Recommended V(GS) while on; silicon carbide: 15 V"),
            Entry("recommended_gate_high", "Upper end of it; silicon carbide: often 18 V"),
            Entry("gate_charge", "Dynamic characteristics: total gate charge Q(g) at 10 V"),
            Entry("internal_gate_resistance", "Dynamic: internal gate resistance R(G); 1 to 5 Ω"),
            Entry("input_capacitance", "Dynamic: C(iss) at the test voltage"),
            Entry("reverse_capacitance", "Dynamic: C(rss) at the test voltage"),
            Entry("capacitance_voltage", "Conditions of C(iss), C(oss), C(rss): V(DS) of the test"),
            Entry("capacitance_law", "By technology; 'curve' takes the points of the curve"),
            Entry("output_capacitance", "Dynamic: C(oss) at the test voltage, or C(o(er))"),
            Entry("output_capacitance_is", "Which of the two the figure above is"),
            Entry("time_related_capacitance", "Dynamic: C(o(tr)), where printed; bends the law"),
            Entry("stored_energy", "E(oss), where printed or from its curve; the law keeps it"),
            Entry("stored_charge", "Q(oss), where printed; says the same as C(o(tr))"),
            Entry("effective_voltage", "V(DS) of C(o(er)), C(o(tr)), E(oss) and Q(oss)"),
        ),
    ),
    Section(
        "Body diode",
        (
            Entry("body_diode_voltage", "Source-drain diode: forward voltage V(SD)"),
            Entry("body_diode_resistance", "Slope of the diode's forward curve; 0.01 to 0.1 Ω"),
            Entry("body_diode_dv_dt", "Absolute maximum: peak diode recovery dv/dt"),
        ),
    ),
)
"""The whole sheet in the order in which datasheets have it."""
