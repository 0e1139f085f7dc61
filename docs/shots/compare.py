"""A design beside a variant of its own."""

SCREEN = "Compare"


def prepare(window, screen, wait):
    """Keep a variant and show the curves."""
    wait(lambda: screen.ready)
    window.session.document.edit_many({"interrupter.duty": 0.15, "supply.voltage": 48.0})
    screen.name.setText("Half duty, 48 V")
    screen.keep_variant()
    wait(lambda: screen.ready)
    screen.tabs.setCurrentIndex(3)
    wait(lambda: True)
