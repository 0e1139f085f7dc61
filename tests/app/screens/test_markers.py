"""The mark of the present design lies on the curve that it is drawn on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.plots.temperature_plots import SinkPlot
from burstwise.app.screens.interrupter.chosen import Chosen
from burstwise.app.screens.interrupter.knob_page import KnobPage
from burstwise.app.screens.operating_point.screen import OperatingPoint
from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme
from burstwise.app.wiring import examples, summary_of
from burstwise.core.design.document import with_value
from burstwise.core.evaluate import evaluate
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.storage import load

SUPPLY = "supply.voltage"
CLOSE = 0.01
"""A mark may be this part off the straight line between two points of its curve."""
NAMES = sorted(file.stem for file in examples().values())


def example(name: str):
    return load(next(file for file in examples().values() if file.stem == name))


def assert_on_curves(plot: LinePlot, marked: Sequence[float] | None = None) -> None:
    """Each dot lies on its curve, by the curve's own points and a straight line between them."""
    at, dots = plot._point
    assert at is not None
    assert len(dots) == sum(1 for name in range(len(plot.names)) if len(plot.curve(name)[0]))
    for index, dot in enumerate(dots):
        xs, ys = plot.curve(index)
        assert xs[0] <= at <= xs[-1]
        line = float(np.interp(at, xs, ys))
        if not np.isfinite(line):
            assert not np.isfinite(dot)
            continue
        assert dot == pytest.approx(line, rel=CLOSE), (plot.title, index, at)
    if marked is not None:
        assert dots == pytest.approx(tuple(marked), rel=1e-6)


def shown_page(session: Session, theme: Theme, qtbot) -> OperatingPoint:
    made = OperatingPoint(session, theme)
    qtbot.addWidget(made)
    made.resize(1114, 666)
    with qtbot.waitActive(made):
        made.show()
    return made


@pytest.fixture
def page(still_session, theme, qtbot) -> OperatingPoint:
    return shown_page(still_session, theme, qtbot)


def told(results) -> Evaluated:
    return Evaluated(results.design, results, summary_of(results))


@pytest.mark.parametrize(
    ("name", "part"),
    [
        *((name, 1.0) for name in NAMES),
        ("classroom-direct-continuous", 1.4),
        ("classroom-gated-spiking", 0.6),
    ],
)
def test_the_operating_point_lies_on_its_duty_curves(page, name, part) -> None:
    design = example(name)
    design = with_value(design, SUPPLY, part * design.supply.voltage)
    results = evaluate(design, verify=False)
    page.show_full(told(results))
    plots = page.duty_plots
    for plot in (plots.power, plots.current, plots.temperature):
        assert plot.point_x == resolved_interrupter(design).duty
        assert_on_curves(plot)


def test_the_point_stays_on_its_curves_while_the_supply_is_edited(full_session, theme, qtbot):
    session, seen = full_session, []
    plots = shown_page(session, theme, qtbot).duty_plots

    def look(evaluated: Evaluated) -> None:
        seen.append(evaluated.design.supply.voltage)
        for plot in (plots.power, plots.current, plots.temperature):
            assert_on_curves(plot)

    # Connected after the page: it has drawn what came when this looks.
    session.glimpsed.connect(look)
    session.evaluated.connect(look)
    session.refresh()
    qtbot.waitUntil(lambda: session.latest is not None, timeout=60_000)
    now = session.document.value(SUPPLY)
    for part in (0.97, 1.03):
        session.document.edit(SUPPLY, part * now, live=True)
    assert seen[-2:] == [0.97 * now, 1.03 * now]
    session.document.edit(SUPPLY, 1.3 * now)
    qtbot.waitUntil(lambda: session.latest.design.supply.voltage == 1.3 * now, timeout=60_000)
    assert seen[-1] == 1.3 * now


@pytest.mark.parametrize("sink", [0.5, 2.0, 12.0])
def test_the_fitted_sink_lies_on_the_curves_of_other_sinks(theme, qtbot, sink) -> None:
    design = with_value(example("classroom-gated-interrupted"), "cooling.sink_resistance", sink)
    results = evaluate(design, verify=False)
    plot = SinkPlot(theme)
    qtbot.addWidget(plot)
    plot.show_results(results)
    assert plot.point_x == sink
    assert_on_curves(plot, (results.junction_peak, results.load.heat_sink))


@pytest.mark.parametrize("circuit", ["astable-steered-discharge", "two-timer"])
@pytest.mark.parametrize("travel", [0.0, 0.37, 1.0])
def test_the_knob_marks_the_duty_and_frequency_that_its_parts_give(
    session, theme, qtbot, circuit, travel
) -> None:
    session.document.edit_many(
        {"interrupter.given_by": "parts", "interrupter.parts.circuit": circuit}
    )
    page = KnobPage(Chosen(session, theme), theme)
    qtbot.addWidget(page)
    with qtbot.waitExposed(page):
        page.show()
    for edits in ({"interrupter.parts.travel": travel}, {"interrupter.parts.supply": 10.0}):
        session.document.edit_many(edits)
        page._marks.flush()
        assert page.duty_plot.point_x == travel
        stage = resolved_interrupter(session.document.design)
        for plot, wanted in ((page.duty_plot, stage.duty), (page.frequency_plot, stage.frequency)):
            assert_on_curves(plot)
            assert plot._point[1][0] == pytest.approx(wanted, rel=CLOSE)
