"""Self-ignition of the end gas."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.cycle.burning import burn_angles, share_of_burn
from compat.engineering.cycle.cycle_input import CycleInput
from compat.engineering.cycle.cycle_integration import end_gas
from compat.engineering.cycle.cycle_passes import ClosedPeriod
from compat.engineering.formula import formula
from compat.engineering.numerics.ranges import within

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = [
    "PRESSURE_EXPONENT",
    "EndGas",
    "autoignition_delay",
    "end_gas_history",
    "integral_limit",
    "knock_excess",
    "octane_extrapolation",
    "octane_slope",
]

PRESSURE_EXPONENT = 1.7
_OCTANE_EXPONENT = 3.402
_ATMOSPHERE = 101325.0
_LOWEST_OCTANE, _HIGHEST_OCTANE = 80.0, 100.0
_MARGIN_PER_POINT = 0.02
_QUICK_CYCLES = 1.25
_END_OF_KNOCK = 0.9
"""Burned fraction after which the little end gas left is swept by the flame; common practice."""


def octane_extrapolation(octane: float) -> float:
    """Points by which an octane number lies outside the 80 to 100 that the delay was measured for.

    >>> octane_extrapolation(98.0), octane_extrapolation(107.0)
    (0.0, 7.0)
    """
    return max(octane - _HIGHEST_OCTANE, _LOWEST_OCTANE - octane, 0.0)


def integral_limit(octane: float) -> float:
    """Livengood-Wu integral of the mean cycle that the model lets the engine reach.

    Notes
    -----
    Knock begins where the integral reaches one, and the quick cycles get there first: with peak pressures a
    tenth above the mean their integral is about a quarter larger, so the mean cycle is held at 0.8. Outside
    octane 80 to 100 the delay is extrapolated, and the limit is lowered by another two per cent for each
    point: an own choice that eats up about half of what points above 100 would give.

    >>> integral_limit(95.0), round(integral_limit(110.0), 3)
    (0.8, 0.667)
    """
    return 1.0 / (_QUICK_CYCLES * (1.0 + _MARGIN_PER_POINT * octane_extrapolation(octane)))


def octane_slope(octane: float) -> float:
    """How much the log of the integral over its limit moves with each point of octane [-].

    >>> round(octane_slope(90.0), 4), round(octane_slope(105.0), 4)
    (-0.0378, -0.0142)
    """
    beyond = octane_extrapolation(octane)
    tightens = _MARGIN_PER_POINT / (1.0 + _MARGIN_PER_POINT * beyond) if beyond else 0.0
    return math.copysign(tightens, octane - _HIGHEST_OCTANE) - _OCTANE_EXPONENT / octane


@formula(
    takes={"pressure": "bar", "temperature": "degC", "octane": "number"},
    gives="ms",
    source="Douaud & Eyzat, SAE 780080",
    scatter=0.25,
    scatter_source="own judgement: the fit rests on one engine and primary reference fuels",
)
def autoignition_delay(pressure: float, temperature: float, octane: float) -> float:
    """Time the end gas takes to ignite by itself at a held pressure and temperature.

    Parameters
    ----------
    pressure : float
        Pressure, absolute [Pa].
    temperature : float
        Temperature of the end gas [K].
    octane : float
        Octane number [-].

    Returns
    -------
    float
        Delay [s].

    Raises
    ------
    OutOfRange
        When the pressure lies outside 0.1..1000 bar, the temperature outside 250..3000 K or the octane number
        outside 50..130.

    Notes
    -----
    Measured with fuels of octane 80 to 100; outside, it is an extrapolation.

    References
    ----------
    1. A. M. Douaud, P. Eyzat, Four-octane-number method for predicting the anti-knock behavior of fuels and
       engines, SAE 780080.

    Examples
    --------
    >>> round(autoignition_delay(40 * 101325.0, 850.0, 95.0) * 1e3, 2)
    2.45
    """
    within("octane", octane, 50.0, 130.0)
    within("pressure", pressure, 1e4, 1e8, "bar absolute", 1e5)
    within("temperature", temperature, 250.0, 3000.0, "K")
    level = 17.68e-3 * float((octane / 100.0) ** _OCTANE_EXPONENT)
    return level * float((pressure / _ATMOSPHERE) ** -PRESSURE_EXPONENT) * math.exp(3800.0 / temperature)


class EndGas(NamedTuple):
    """End gas of one cycle: temperature by crank angle [K], the highest [K], and the knock integral [-]."""

    temperature: Floats
    highest: float
    knock_integral: float


def end_gas_history(
    period: ClosedPeriod, given: CycleInput, lost: Floats | None = None, *, to_the_end: bool = True
) -> EndGas:
    """Follow the end gas from inlet closing until nine tenths are burned.

    Parameters
    ----------
    period : ClosedPeriod
        The closed cycle.
    given : CycleInput
        The arguments it was worked out from.
    lost : array, optional
        As for `end_gas`.
    to_the_end : bool, optional
        Whether the temperatures go on until the exhaust opens.

    Notes
    -----
    Knock is expected where the integral of dt over the delay reaches one.

    References
    ----------
    1. J. C. Livengood, P. C. Wu, Correlation of autoignition phenomena in internal combustion engines and
       rapid compression machines, Symposium (International) on Combustion 5 (1955) 347.
    """
    import numpy as np

    angle = period.geometry.crank_angle
    # Nine tenths burned, on the burn's own scale; not later than the exhaust opens.
    _, length = burn_angles(0.0, period.burn_10_to_90)
    last = min(period.burn_start + length * share_of_burn(_END_OF_KNOCK), float(angle[-1]))
    step = period.geometry.angle_step
    whole = min(int((last - float(angle[0])) / step), angle.size - 2)
    part = (last - float(angle[whole])) / step
    points = None if to_the_end else whole + 2
    temperature = end_gas(period, given.wall_temperature, lost, points)
    level = 17.68e-3 * (given.octane_in_engine / 100.0) ** _OCTANE_EXPONENT
    # for each radian; a power by way of the logarithm, in half the time
    rate = np.log(period.pressure[: whole + 2] * (1.0 / _ATMOSPHERE))
    rate *= PRESSURE_EXPONENT
    rate -= 3800.0 / temperature[: whole + 2]
    np.exp(rate, out=rate)
    rate /= level * given.speed
    # Full steps by the trapezium rule, and the started one by the same with the rate where it ends.
    first, begun, beyond = float(rate[0]), float(rate[whole]), float(rate[whole + 1])
    integral = step * (float(rate[:whole].sum()) + 0.5 * (begun - first))
    at_end = begun + part * (beyond - begun)
    integral += 0.5 * part * step * (begun + at_end)
    before, after = float(temperature[whole]), float(temperature[whole + 1])
    highest = max(float(temperature[: whole + 1].max()), before + part * (after - before))
    return EndGas(temperature, highest, integral)


def knock_excess(period: ClosedPeriod, given: CycleInput, lost: Floats | None = None) -> float:
    """Logarithm of the knock integral over its limit: above zero the engine knocks; `lost` as for `end_gas`."""
    end = end_gas_history(period, given, lost, to_the_end=False)
    # An integral that vanishes (cold, slow to ignite) stays a finite number.
    return math.log(max(end.knock_integral, 1e-30) / integral_limit(given.octane_in_engine))
