"""First power-up with one reading that passes and one that stops."""

SCREEN = "Build"


def prepare(window, screen, wait):
    """Type two readings into the first stage with the coil."""
    wait(lambda: screen.ready)
    screen.tabs.setCurrentWidget(screen.powerup)
    screen.powerup.stages.setCurrentRow(4)
    for name, text in (("drain_peak", "91 V"), ("supply_current", "200 mA")):
        field = screen.powerup.fields[name]
        field.setText(text)
        field.editingFinished.emit()
    wait(lambda: screen.ready and not window.session.worker.busy)
