"""Interrupter: from a wish to purchasable parts, their circuit, knob, tolerance and chain."""

from burstwise.app.screens.interrupter.screen import InterrupterScreen, interrupter_screen

__all__ = ["InterrupterScreen", "interrupter_screen"]
