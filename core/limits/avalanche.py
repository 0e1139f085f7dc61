"""Energy that a turn-off dumps into the avalanching device."""

from __future__ import annotations

from burstwise.core.limits.load import Value


def avalanche_energy(
    inductance: float, current: Value, *, breakdown: float, supply: Value
) -> Value:
    """Energy of one unclamped inductive turn-off [J].

    ``E = L I^2/2 · BV/(BV - Vdd)``: the supply goes on feeding the inductance while it discharges,
    so half L I squared alone is too small.

    Parameters
    ----------
    inductance : float
        [H].
    current : Value
        At turn-off [A].
    breakdown : float
        Voltage in avalanche [V].
    supply : Value
        Supply voltage [V], below the breakdown.

    Notes
    -----
    Source: form as in makers' application notes on avalanche ruggedness (from memory), checked by
    quadrature in the tests.

    Examples
    --------
    >>> round(avalanche_energy(1e-4, 20.0, breakdown=100.0, supply=24.0), 8)
    0.02631579
    """
    return 0.5 * inductance * current**2 * breakdown / (breakdown - supply)
