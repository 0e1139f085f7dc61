"""Where tip and clip of an instrument go, reading by reading."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

OSCILLOSCOPE: Final = (
    "The clip of an oscilloscope's probe is tied to the mains earth through the instrument: all "
    "clips go to the one point of 0 V and nowhere else, never to source, drain or a shunt's upper "
    "end. To measure between two other points use a differential probe or an instrument on "
    "batteries. A supply that floats by itself no longer does once an oscilloscope is connected."
)
ZERO: Final = "0 V"


@dataclass(frozen=True, slots=True)
class Hookup:
    """How one reading is taken.

    Attributes
    ----------
    tip, clip : str
        Points that the two leads go to.
    instrument : str
        What to read it with.
    """

    tip: str
    clip: str
    instrument: str

    @property
    def text(self) -> str:
        """In a sentence.

        Examples
        --------
        >>> Hookup("drain", "0 V", "oscilloscope").text
        'oscilloscope: tip at drain, clip at 0 V'
        >>> Hookup("", "", "eyes and ears behind the barrier").text
        'eyes and ears behind the barrier'
        """
        if not self.tip:
            return self.instrument
        clip = f", clip at {self.clip}" if self.clip else ""
        return f"{self.instrument}: tip at {self.tip}{clip}"
