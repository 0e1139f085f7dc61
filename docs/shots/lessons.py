"""A lesson with its answer."""

SCREEN = "Lessons"


def prepare(window, screen, wait):
    """Do the lesson on average and peak with a wrong prediction."""
    screen.begin_number(3)
    wait(lambda: screen.run.before is not None)
    screen.run.predict(1)
    window.session.document.edit("interrupter.duty", 0.15)
    wait(lambda: screen.run.answer is not None)
