"""Ideal cycles with a constant ratio of specific heats: bounds and checks for the full model."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.cycle.closed_cycle import peak
from compat.engineering.formula import OutOfRange, positive
from compat.engineering.numerics.ranges import within

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = ["FiniteHeatRelease", "finite_heat_release", "otto_efficiency"]


def _check(compression_ratio: float, heat_capacity_ratio: float) -> None:
    within("compression_ratio", compression_ratio, 1.0, 100.0)
    within("heat_capacity_ratio", heat_capacity_ratio, 1.01, 1.67)
    if compression_ratio <= 1.0:
        raise OutOfRange(f"compression_ratio is {compression_ratio:g}; it must be above 1")


def otto_efficiency(compression_ratio: float, heat_capacity_ratio: float = 1.4) -> float:
    """Efficiency of the air-standard Otto cycle, the bound no spark-ignition engine reaches.

    Parameters
    ----------
    compression_ratio : float
        Compression ratio [-], above 1.
    heat_capacity_ratio : float
        Ratio of specific heats [-]: 1.4 for cold air, about 1.3 for engine gas.

    Returns
    -------
    float
        1 - r^(1 - gamma) [-].

    Raises
    ------
    OutOfRange
        When the compression ratio is not between 1 and 100, or gamma not between 1.01 and 1.67.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, section 5.4.

    Examples
    --------
    >>> round(otto_efficiency(8.0), 3)
    0.565
    """
    _check(compression_ratio, heat_capacity_ratio)
    return -math.expm1((1.0 - heat_capacity_ratio) * math.log(compression_ratio))


class FiniteHeatRelease(NamedTuple):
    """Results of a cycle with finite heat release, over the state at bottom dead centre."""

    peak_pressure_ratio: float
    peak_pressure_angle: float
    work: float
    efficiency: float
    imep_ratio: float


def finite_heat_release(
    compression_ratio: float,
    heat_capacity_ratio: float,
    heat_input: float,
    burn_start: float,
    burn_length: float,
    wiebe_efficiency: float = 5.0,
    wiebe_form: float = 3.0,
) -> FiniteHeatRelease:
    """Cycle of a perfect gas without losses, with heat released after a Wiebe curve.

    Parameters
    ----------
    compression_ratio : float
        Compression ratio [-].
    heat_capacity_ratio : float
        Ratio of specific heats [-].
    heat_input : float
        Heat over the pressure-volume product at bottom dead centre, Q/(p1 V1) [-].
    burn_start : float
        Start of heat release from top dead centre, negative before [rad].
    burn_length : float
        Duration of heat release [rad].
    wiebe_efficiency, wiebe_form : float
        a and n of x = 1 - exp(-a share^n) [-].

    Returns
    -------
    FiniteHeatRelease
        Peak pressure over p1 and its angle [rad], work over p1 V1, efficiency, imep over p1.

    Raises
    ------
    OutOfRange
        When the burn does not lie between the bottom dead centres, or an argument is not above zero.

    Notes
    -----
    Volume follows the harmonic function V/V1 = (1 + (r - 1)/2 (1 - cos theta))/r, a rod without end. The
    pressure equation is linear for a perfect gas and is solved by its integrating factor V^gamma.

    References
    ----------
    1. C. R. Ferguson, A. T. Kirkpatrick, Internal Combustion Engines: Applied Thermosciences, chapter 2.

    Examples
    --------
    >>> c = finite_heat_release(10.0, 1.4, 20.0, math.radians(-20), math.radians(40))
    >>> round(c.peak_pressure_ratio, 1), round(math.degrees(c.peak_pressure_angle)), round(c.efficiency, 3)
    (87.8, 11, 0.592)
    """
    import numpy as np

    _check(compression_ratio, heat_capacity_ratio)
    positive(
        heat_input=heat_input,
        burn_length=burn_length,
        wiebe_efficiency=wiebe_efficiency,
        wiebe_form=wiebe_form,
    )
    within("wiebe_form", wiebe_form, 1.0, 10.0)
    degree = math.pi / 180
    within("burn_start", burn_start, -math.pi, math.pi, "deg", degree)
    within("end of the burn", burn_start + burn_length, -math.pi, math.pi, "deg", degree)
    steps = 3600
    angle = np.linspace(-math.pi, math.pi, steps + 1)
    middle = angle[:-1] + math.pi / steps
    r, gamma = compression_ratio, heat_capacity_ratio

    def volume(theta: Floats) -> Floats:
        return (1.0 + 0.5 * (r - 1.0) * (1.0 - np.cos(theta))) / r

    share = np.clip((angle - burn_start) / burn_length, 0.0, 1.0)
    burned = -np.expm1(-wiebe_efficiency * share**wiebe_form)
    # d(p V^gamma) = (gamma - 1) V^(gamma - 1) dQ for a perfect gas.
    rise = (gamma - 1.0) * heat_input * volume(middle) ** (gamma - 1.0) * np.diff(burned)
    v = volume(angle)
    pressure = (1.0 + np.concatenate(([0.0], np.cumsum(rise)))) / v**gamma
    highest, at = peak(angle, pressure)
    work = float(np.sum(0.5 * (pressure[1:] + pressure[:-1]) * np.diff(v)))
    return FiniteHeatRelease(
        peak_pressure_ratio=highest,
        peak_pressure_angle=at,
        work=work,
        efficiency=work / heat_input,
        imep_ratio=work / (1.0 - 1.0 / r),
    )
