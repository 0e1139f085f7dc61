"""One number explained."""

SCREEN = "Build"


def prepare(window, screen, wait):
    """Take the junction's peak in hand."""
    wait(lambda: screen.ready)
    screen.tabs.setCurrentWidget(screen.numbers)
    screen.numbers.choose("thermal.junction_peak_C")
    wait(lambda: True)
