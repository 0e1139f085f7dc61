"""The heat's way to the air against Ohm's law of heat, and other heat sinks against their own run.

The sum of mean heat times resistance is the closed form of a chain without other ways out (common
practice, no source).
"""

from __future__ import annotations

import pytest

from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.studies.cooling import heat_way, sink_study


def test_each_place_is_warmer_by_heat_times_resistance(interrupted) -> None:
    way, device = heat_way(interrupted), interrupted.design.device
    assert [place.name for place in way.places] == ["Junction", "Case", "Heat sink", "Air"]
    temperature = interrupted.design.cooling.ambient
    for place in reversed(way.places):
        temperature += way.heat * place.resistance
        assert place.temperature == pytest.approx(temperature, abs=0.05)
    assert way.places[0].resistance == pytest.approx(
        sum(p.resistance for p in device.thermal_network)
    )
    assert way.junction_peak > way.places[0].temperature


def test_another_sink_is_what_its_own_evaluation_finds(interrupted) -> None:
    now = interrupted.design.cooling.sink_resistance
    study = sink_study(interrupted, [0.5 * now, now, 3.0 * now])
    assert study.junction_peak[1] == pytest.approx(interrupted.junction_peak, abs=0.01)
    assert study.junction_peak[0] < study.junction_peak[1] < study.junction_peak[2]
    other = with_values(interrupted.design, {"cooling.sink_resistance": 3.0 * now})
    found = evaluate(other, verify=False)
    assert study.junction_peak[2] == pytest.approx(found.junction_peak, abs=0.3)
    assert study.heat_sink[2] == pytest.approx(float(found.load.heat_sink), abs=0.3)
