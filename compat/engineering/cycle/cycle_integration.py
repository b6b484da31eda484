"""One closed cycle, integrated over crank angle, and the gas in it that the flame has not reached."""

from __future__ import annotations

from typing import TYPE_CHECKING

from compat.engineering.cycle.cycle_input import CycleInput, check_cycle_input
from compat.engineering.cycle.cycle_passes import TOLERANCE, ClosedPeriod, Passes

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = ["end_gas", "integrate"]

_SETTLED = 2e-3
"""So far a pass moves the temperature of the end gas when it is done; a thousandth is left to go [K]."""


def integrate(given: CycleInput, checked: bool = False, near: ClosedPeriod | None = None) -> ClosedPeriod:
    """Pressure and temperature from inlet closing to exhaust opening.

    Parameters
    ----------
    given : CycleInput
        What the cycle is worked out from.
    checked : bool, optional
        Whether it is known to lie inside the model.
    near : ClosedPeriod, optional
        A cycle of the same search that differs little, whose temperatures are a better first guess; passes go
        on to the same tolerance from wherever they start.

    Raises
    ------
    OutOfRange
        When an argument lies outside the model, or the charge leaves the range of the gas tables.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, chapters 9 and 14.
    """
    if not checked:
        check_cycle_input(given)
    passes = Passes(given, given.manifold_pressure, given.exhaust_pressure, given.ca50, near)
    passes.within(TOLERANCE)
    passes.check()
    return passes.period()


def end_gas(
    period: ClosedPeriod, wall_temperature: float, lost: Floats | None = None, points: int | None = None
) -> Floats:
    """Temperature of the gas the flame has not yet reached [K].

    Parameters
    ----------
    period : ClosedPeriod
        The closed cycle.
    wall_temperature : float
        Mean temperature of the walls [K].
    lost : array, optional
        Entropy that it has lost to the walls by then [J/(kg K)], in a cycle that differs little: a first
        guess, in the place of which that of this cycle is left.
    points : int, optional
        How many points of the cycle are worked out, from inlet closing on.

    Notes
    -----
    Compressed from inlet closing by the pressure of the whole cylinder, and cooled as the whole charge would
    be if it were as warm: until the burn starts it is the charge. Its entropy falls by
    (1 - Twall/T) h A dt / m; a few passes settle the temperature in that small term.
    """
    import numpy as np

    charge, gas = period.charge, period.charge.gas
    share = charge.residual_fraction
    constant = (1.0 - share) * gas.fresh_gas_constant + share * float(gas.burned_gas_constant[0])
    entropy = gas.entropy_of_burning * share
    entropy += gas.fresh_entropy
    adiabatic = np.log(period.pressure[:points] * (1.0 / charge.pressure))
    adiabatic *= constant
    adiabatic += float(np.interp(charge.temperature, gas.temperature, entropy))
    rate = period.conductance[:points] * (0.5 * period.geometry.angle_step / charge.mass)
    to_wall = rate * wall_temperature
    lost = np.zeros_like(adiabatic) if lost is None else lost[:points]
    level, by_temperature = gas.cooling
    temperature = np.interp(adiabatic - lost, entropy, gas.temperature)
    falls = np.empty_like(temperature)
    for _ in range(8):
        cooling = rate - to_wall / temperature
        np.add.accumulate(cooling[1:] + cooling[:-1], out=falls[1:])
        # where it loses more than was thought it is colder, and so loses less
        falls[0] = 0.0
        falls -= lost
        falls *= level + by_temperature * temperature
        falls *= temperature
        np.subtract(temperature, falls, out=falls)
        cooling = rate - to_wall / falls
        np.add.accumulate(cooling[1:] + cooling[:-1], out=lost[1:])
        previous, temperature = temperature, np.interp(adiabatic - lost, entropy, gas.temperature)
        previous -= temperature
        previous *= previous
        if previous[previous.argmax()] < _SETTLED**2:
            break
    return temperature
