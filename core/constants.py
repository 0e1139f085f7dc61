"""Physical constants, CODATA 2022, pinned here so that results do not move with a library update.

Source: NIST, CODATA Recommended Values of the Fundamental Physical Constants 2022.
"""

from __future__ import annotations

from typing import Final

MU_0: Final = 1.25663706127e-6
"""Vacuum magnetic permeability [H/m], CODATA 2022."""
EPSILON_0: Final = 8.8541878188e-12
"""Vacuum electric permittivity [F/m], CODATA 2022."""
BOLTZMANN: Final = 1.380649e-23
"""Boltzmann constant [J/K], exact in the SI."""
ELEMENTARY_CHARGE: Final = 1.602176634e-19
"""Elementary charge [C], exact in the SI."""
COPPER_RESISTIVITY_20C: Final = 1.7241e-8
"""Resistivity of annealed copper at 20 C [ohm m], IACS 100 % (IEC 60028:1925)."""
COPPER_TEMPERATURE_COEFFICIENT: Final = 0.00393
"""Temperature coefficient of copper's resistivity at 20 C [1/K] (IEC 60028:1925)."""
COPPER_DENSITY: Final = 8890.0
"""Density of annealed copper at 20 C [kg/m^3] (IEC 60028:1925)."""
