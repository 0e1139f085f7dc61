"""Every lesson done as a learner does it: predict, move the control, read the answer."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QLabel, QScrollArea

from burstwise.app.screens.lessons.run import Step
from burstwise.app.screens.lessons.screen import LessonsScreen
from burstwise.app.session import Session
from burstwise.app.widgets.slider_field import SliderField
from burstwise.app.widgets.words import plain
from burstwise.core.lessons.lesson import lessons

PATIENCE = 60_000
RIGHT = {
    "continuous-heat": 0, "winding-sense": 0, "ring-up": 1, "average-and-peak": 0,
    "slow-ripple": 0, "spikes-and-clamps": 0, "timer-and-diodes": 1, "reading-a-shunt": 1,
    "supply-and-power": 1,
    "what-a-turn-costs": 0, "what-margin-costs": 0,
}  # fmt: skip
TYPED = {
    "ring-up": "1 %", "average-and-peak": "15 %", "slow-ripple": "15 Hz", "timer-and-diodes": "5 V",
    "reading-a-shunt": "24 V", "supply-and-power": "18 V", "what-a-turn-costs": "8",
    "what-margin-costs": "36 V",
}  # fmt: skip
NAMES = [lesson.name for lesson in lessons()]


@pytest.fixture
def session(full_session: Session) -> Session:
    return full_session


@pytest.fixture
def screen(qtbot, session: Session, theme) -> LessonsScreen:
    made = LessonsScreen(session, theme)
    qtbot.addWidget(made)
    made.resize(1114, 666)
    with qtbot.waitActive(made):
        made.show()
    return made


def begin(qtbot, screen: LessonsScreen, name: str) -> None:
    screen.list.setCurrentRow(NAMES.index(name))
    qtbot.mouseClick(screen.begin, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: screen.run.before is not None, timeout=PATIENCE)


def move(qtbot, screen: LessonsScreen, name: str) -> None:
    widget = screen.pane.widget
    if isinstance(widget, QComboBox):
        widget.setFocus()
        qtbot.keyClick(widget, Qt.Key.Key_Down)
    else:
        assert isinstance(widget, SliderField)
        entry = widget.field.findChild(type(widget.field.focusProxy())) or widget.field.focusProxy()
        entry.setFocus()
        entry.selectAll()
        qtbot.keyClicks(entry, TYPED[name])
        qtbot.keyClick(entry, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: screen.run.step is Step.ANSWER, timeout=PATIENCE)


@pytest.mark.parametrize("name", NAMES)
def test_a_wrong_prediction_gets_the_right_explanation(
    qtbot, screen: LessonsScreen, name: str
) -> None:
    begin(qtbot, screen, name)
    lesson = screen.run.lesson
    wrong = next(n for n in range(len(lesson.choices)) if n != RIGHT[name])
    qtbot.mouseClick(screen.pane.group.button(wrong), Qt.MouseButton.LeftButton)
    move(qtbot, screen, name)
    said = plain(screen.pane.verdict.text())
    assert said.startswith("▲")
    assert lesson.choices[wrong].reply in said
    assert lesson.choices[RIGHT[name]].text in said
    assert plain(screen.pane.explanation.text()) == screen.run.answer.explanation
    assert screen.pane.explanation.isVisible()


@pytest.mark.parametrize("name", ["winding-sense", "average-and-peak"])
def test_a_right_prediction_is_told_so(qtbot, screen: LessonsScreen, name: str) -> None:
    begin(qtbot, screen, name)
    screen.pane.setFocus()
    qtbot.keyClick(screen.pane, Qt.Key(Qt.Key.Key_1 + RIGHT[name]))
    move(qtbot, screen, name)
    assert screen.pane.verdict.text().startswith("●")
    assert "prediction holds" in screen.pane.verdict.text()


def test_the_control_waits_for_a_prediction(qtbot, screen: LessonsScreen) -> None:
    begin(qtbot, screen, "average-and-peak")
    assert not screen.pane.control.isVisible()
    qtbot.keyClick(screen.pane, Qt.Key.Key_9)
    assert screen.run.step is Step.PREDICT
    qtbot.keyClick(screen.pane, Qt.Key.Key_2)
    assert screen.pane.control.isVisible()


def test_the_learners_own_design_comes_back(qtbot, screen: LessonsScreen, session: Session) -> None:
    session.document.edit("supply.voltage", 31.0)
    own = session.document.design
    begin(qtbot, screen, "average-and-peak")
    assert session.document.design.name.startswith("Lesson")
    qtbot.mouseClick(screen.back, Qt.MouseButton.LeftButton)
    assert session.document.design == own
    assert session.document.undo_stack.undoText() == "supply.voltage"
    begin(qtbot, screen, "slow-ripple")
    session.document.undo()
    assert session.document.design.name.startswith("Lesson")
    qtbot.mouseClick(screen.back, Qt.MouseButton.LeftButton)
    session.document.undo()
    assert session.document.design.supply.voltage != 31.0


def test_numbers_before_and_now_are_those_of_the_results(
    qtbot, screen: LessonsScreen, session: Session
) -> None:
    begin(qtbot, screen, "average-and-peak")
    qtbot.keyClick(screen.pane, Qt.Key.Key_1)
    move(qtbot, screen, "average-and-peak")
    before = screen.pane.numbers["before:burst.average_power_W"].text()
    now = screen.pane.numbers["now:burst.average_power_W"].text()
    assert float(before.split()[0]) == pytest.approx(2 * float(now.split()[0]), rel=0.05)
    assert screen.pane.plot.readout.startswith("now 15 %")


def test_presentation_is_led_by_keys_in_large_type(qtbot, screen: LessonsScreen) -> None:
    begin(qtbot, screen, "average-and-peak")
    qtbot.mouseClick(screen.present, Qt.MouseButton.LeftButton)
    shown = screen.presentation
    qtbot.waitUntil(shown.isActiveWindow)  # a shortcut of a window that is not is none
    assert shown.pane.intro.font().pointSizeF() > 1.4 * screen.pane.intro.font().pointSizeF()
    qtbot.keyClick(shown.pane, Qt.Key.Key_PageDown)
    assert screen.run.lesson.name == NAMES[NAMES.index("average-and-peak") + 1]
    qtbot.keyClick(shown.pane, Qt.Key.Key_PageUp)
    assert screen.run.lesson.name == "average-and-peak"
    qtbot.waitUntil(lambda: screen.run.before is not None, timeout=PATIENCE)
    qtbot.keyClick(shown.pane, Qt.Key.Key_2)
    assert screen.run.step is Step.MOVE
    qtbot.keyClick(shown, Qt.Key.Key_Escape)
    qtbot.waitUntil(lambda: not screen.isHidden())


def test_nothing_runs_before_a_lesson_begins(screen: LessonsScreen) -> None:
    assert screen.welcome.isVisible()
    assert not screen.pane.isVisible()
    assert not screen.back.isEnabled()


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_no_lesson_is_wider_than_the_screen_or_higher_than_its_presentation(
    qtbot, screen: LessonsScreen, name: str
) -> None:
    """At 1366 by 768 the page has 1114 by 666 pixels, and a projector shows no more."""
    begin(qtbot, screen, name)
    screen.run.predict(0)
    move(qtbot, screen, name)
    scroll = screen.findChild(QScrollArea)
    qtbot.waitUntil(lambda: scroll.horizontalScrollBar().maximum() == 0)
    screen.show_presentation()
    shown = screen.presentation
    shown.resize(1366, 768)
    qtbot.wait(50)
    assert (shown.width(), shown.height()) == (1366, 768)
    for label in shown.pane.findChildren(QLabel):
        if label.isVisible() and label.wordWrap() and label.text():
            assert label.height() >= label.heightForWidth(label.width()), label.text()
    with qtbot.waitSignal(shown.destroyed):
        shown.close()


def presented(qtbot, screen: LessonsScreen, name: str):
    screen.list.setCurrentRow(NAMES.index(name))
    screen.show_presentation()
    shown = screen.presentation
    qtbot.addWidget(shown)
    qtbot.waitActive(shown)
    qtbot.waitUntil(lambda: screen.run.before is not None, timeout=PATIENCE)
    return shown


def test_arrows_alone_bring_a_presented_lesson_to_its_aim(qtbot, screen: LessonsScreen) -> None:
    shown = presented(qtbot, screen, "supply-and-power")
    assert shown.isFullScreen()
    qtbot.keyClick(shown.pane, Qt.Key.Key_2)
    field = shown.pane.widget
    assert isinstance(field, SliderField)
    goal = screen.run.lesson.goal
    for _ in range(45):
        if goal.low <= field.value <= goal.high:
            break
        keys = (Qt.Key.Key_Right, Qt.Key.Key_Left)
        qtbot.keyClick(shown.pane, keys[field.value > goal.high])
    assert goal.low <= field.value <= goal.high
    qtbot.waitUntil(lambda: screen.run.step is Step.ANSWER, timeout=PATIENCE)


def test_page_down_goes_on_whatever_has_the_focus(qtbot, screen: LessonsScreen) -> None:
    shown = presented(qtbot, screen, "supply-and-power")
    qtbot.keyClick(shown.pane, Qt.Key.Key_1)
    slider = shown.pane.control_widget
    slider.setFocus()
    before, row = slider.value(), screen.list.currentRow()
    qtbot.keyClick(slider, Qt.Key.Key_PageDown)
    assert slider.value() == before
    assert screen.list.currentRow() == row + 1
    screen.list.setCurrentRow(len(NAMES) - 1)
    qtbot.keyClick(shown.pane, Qt.Key.Key_PageDown)
    assert screen.list.currentRow() == 0
    qtbot.keyClick(shown.pane, Qt.Key.Key_PageUp)
    assert screen.list.currentRow() == len(NAMES) - 1


def test_home_begins_again_with_the_plot_in_hand(qtbot, screen: LessonsScreen) -> None:
    shown = presented(qtbot, screen, "supply-and-power")
    qtbot.keyClick(shown.pane, Qt.Key.Key_1)
    assert screen.run.step is Step.MOVE
    shown.pane.plot.setFocus()
    qtbot.keyClick(shown.pane.plot, Qt.Key.Key_Home)
    assert screen.run.lesson.name == "supply-and-power"
    assert screen.run.step is Step.PREDICT


def test_every_aim_is_wider_than_a_key_step() -> None:
    from burstwise.app.screens.lessons.pane import _key_step
    from burstwise.app.widgets.scale import POSITIONS, SliderScale

    for lesson in lessons():
        control, goal = lesson.control, lesson.goal
        if control.options:
            continue
        scale = SliderScale(control.low, control.high, log=control.log)
        low = scale.position(control.low if goal.low is None else goal.low)
        high = scale.position(control.high if goal.high is None else goal.high)
        assert max(round(_key_step(lesson) * POSITIONS), 1) <= 0.5 * (high - low) + 1, lesson.name


def own_lesson(**changes: object) -> str:
    import json
    from importlib import resources

    text = (
        resources.files("burstwise.resources") / "lessons" / "09-supply-and-power.json"
    ).read_text()
    return json.dumps({**json.loads(text), "name": "own", "title": "My own"} | changes)


def test_own_lessons_of_a_folder_are_listed_and_bad_ones_told(
    qtbot, screen: LessonsScreen, tmp_path
) -> None:
    control = {"path": "supply.volts", "title": "Supply", "low": 1.0, "high": 40.0}
    for name, text in {
        "a.json": own_lesson(),
        "b.json": "{",
        "c.json": own_lesson(name="other", control=control),
        "d.json": own_lesson(name="third", example="nowhere"),
        "e.json": own_lesson(),
        "f.json": own_lesson(name="sixth", goal={"low": 5.0, "high": 4.0}),
    }.items():
        (tmp_path / name).write_text(text)
    screen.take_folder(tmp_path)
    assert [lesson.name for lesson in screen.lessons[len(NAMES) :]] == ["own"]
    said = screen.status.text()
    for words in (
        "1 lessons",
        "b.json",
        "c.json: control.path must be a field of the design",
        "d.json: example must be",
        "e.json: name must be",
        "f.json: goal must be",
    ):
        assert words in said, words
    assert screen.list.currentRow() == len(NAMES)
    qtbot.mouseClick(screen.begin, Qt.MouseButton.LeftButton)
    assert screen.run.lesson.title == "My own"
    qtbot.mouseClick(screen.reset, Qt.MouseButton.LeftButton)
    assert screen.run.lesson is None
    assert screen.list.currentRow() == 0


def test_the_hand_out_has_question_and_choices_but_no_answer(
    screen: LessonsScreen, qtbot, monkeypatch, tmp_path
) -> None:
    from PySide6.QtWidgets import QFileDialog

    file = tmp_path / "sheet.html"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *rest: (str(file), ""))
    screen.list.setCurrentRow(2)
    qtbot.mouseClick(screen.hand_out, Qt.MouseButton.LeftButton)
    said, lesson = file.read_text(), screen.lessons[2]
    assert lesson.question in said
    assert all(choice.text in said for choice in lesson.choices)
    assert all(item.title in said for item in lesson.watch)
    assert not any(choice.reply in said for choice in lesson.choices)
    assert "Shorter on-times lose" not in said
