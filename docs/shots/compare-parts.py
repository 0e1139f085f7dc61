"""A design beside variants with a part left out, fitted and exchanged."""

SCREEN = "Compare"


def prepare(window, screen, wait):
    """Make three variants by one part each and show what differs."""
    wait(lambda: screen.ready)
    for words in ("Without drain snubber", "With reservoir clamp", "With direct drive"):
        screen.parts.box.setCurrentIndex(screen.parts.box.findText(words))
        screen.parts.button.click()
    wait(lambda: screen.ready and len(screen.shown) == 4)
    wait(lambda: not window.session.worker.busy)
