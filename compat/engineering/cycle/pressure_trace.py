"""Pressure of a whole four-stroke cycle by crank angle, for gas forces and charts."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.cycle.cycle_input import CycleInput, check_cycle_input
from compat.engineering.cycle.cycle_integration import integrate
from compat.engineering.cycle.knock import end_gas_history
from compat.engineering.cycle.open_period import open_period, open_pressure
from compat.engineering.cycle.trapped_charge import cylinder_volume

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = ["PressureTrace", "pressure_trace"]


class PressureTrace(NamedTuple):
    """A whole four-stroke cycle, one value a degree, crank angle from -2 pi to 2 pi with firing at 0."""

    crank_angle: Floats
    volume: Floats
    pressure: Floats
    temperature: Floats
    burned_fraction: Floats
    end_gas_temperature: Floats


def pressure_trace(given: CycleInput) -> PressureTrace:
    """Pressure of a whole four-stroke cycle by crank angle.

    Parameters
    ----------
    given : CycleInput
        Cylinder, speed, charge and phasing, SI units.

    Returns
    -------
    PressureTrace
        Crank angle [rad], volume [m^3], pressure, absolute [Pa], mean temperature [K], burned fraction [-],
        end gas temperature [K]: arrays of 721 values, one a degree.

    Raises
    ------
    OutOfRange
        As `closed_cycle`.

    Notes
    -----
    The closed period is the integrated one; the valve-open parts are model shapes between inlet and exhaust
    pressure, good for loads but not for wave action. Temperature there runs on a straight line.

    Examples
    --------
    >>> t = pressure_trace(CycleInput(
    ...     bore=0.086, stroke=0.086, rod_length=0.145, compression_ratio=10.0, speed=314.0,
    ...     manifold_pressure=98e3, charge_temperature=305.0, volumetric_efficiency=0.88, octane=95.0,
    ...     stoichiometric_ratio=14.6, heating_value=43e6, heat_of_vaporisation=350e3,
    ...     relative_air_fuel_ratio=1.0, exhaust_pressure=105e3))
    >>> t.pressure.size, round(math.degrees(float(t.crank_angle[360])))
    (721, 0)
    """
    import numpy as np

    check_cycle_input(given)
    period = integrate(given, checked=True)
    end = end_gas_history(period, given)
    angle = np.linspace(-2 * math.pi, 2 * math.pi, 721)
    inside = period.geometry.crank_angle
    closed = (angle >= inside[0]) & (angle <= inside[-1])

    def over(values: Floats, before: float, after: float) -> Floats:
        return np.interp(angle, inside, values, left=before, right=after)

    pressure = np.where(
        closed,
        np.interp(angle, inside, period.pressure),
        open_pressure(angle, given, period.charge.pressure, float(period.pressure[-1])),
    )
    outside = open_period(given, period)
    ends = [-2 * math.pi, float(inside[0]), float(inside[-1]), 2 * math.pi]
    at_centre = outside.exhaust_temperature
    line = np.interp(
        angle, ends, [at_centre, period.charge.temperature, float(period.temperature[-1]), at_centre]
    )
    temperature = np.where(closed, np.interp(angle, inside, period.temperature), line)
    cold = float(end.temperature[0])
    return PressureTrace(
        crank_angle=angle,
        volume=cylinder_volume(angle, given.bore, given.stroke, given.rod_length, given.compression_ratio),
        pressure=pressure,
        temperature=temperature,
        burned_fraction=over(period.burned, 0.0, float(period.burned[-1])),
        end_gas_temperature=over(end.temperature, cold, cold),
    )
