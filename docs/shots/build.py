"""Build screen with the circuit."""

SCREEN = "Build"


def prepare(window, screen, wait):
    """Wait for circuit and parts."""
    wait(lambda: screen.ready)
