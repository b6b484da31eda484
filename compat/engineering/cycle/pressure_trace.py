"""Pressure of a whole four-stroke cycle by crank angle, for gas forces and charts."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.cycle.closed_cycle import BEST_CA50, EXHAUST_OPENS, INLET_CLOSES, WALL_TEMPERATURE
from compat.engineering.cycle.cycle_input import CycleInput, check_cycle_input, cylinder_volume
from compat.engineering.cycle.cycle_integration import integrate
from compat.engineering.cycle.knock import end_gas_history
from compat.engineering.cycle.open_period import open_period, open_pressure

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = ["PressureTrace", "pressure_trace", "trace_of"]


class PressureTrace(NamedTuple):
    """A whole four-stroke cycle, one value a degree, crank angle from -2 pi to 2 pi with firing at 0."""

    crank_angle: Floats
    volume: Floats
    pressure: Floats
    temperature: Floats
    burned_fraction: Floats
    end_gas_temperature: Floats


def trace_of(given: CycleInput) -> PressureTrace:
    """Whole cycle from -2 pi to 2 pi for one set of cycle arguments.

    Raises
    ------
    OutOfRange
        As `closed_cycle`.

    Notes
    -----
    The closed period is the integrated one; the valve-open parts are model shapes between inlet and exhaust
    pressure, good for loads but not for wave action. Temperature there runs on a straight line.
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


def pressure_trace(
    bore: float,
    stroke: float,
    rod_length: float,
    compression_ratio: float,
    speed: float,
    manifold_pressure: float,
    charge_temperature: float,
    volumetric_efficiency: float,
    octane: float,
    stoichiometric_ratio: float,
    heating_value: float,
    heat_of_vaporisation: float,
    relative_air_fuel_ratio: float,
    exhaust_pressure: float,
    ca50: float = BEST_CA50,
    burn_factor: float = 1.0,
    wall_temperature: float = WALL_TEMPERATURE,
    inlet_closes: float = INLET_CLOSES,
    exhaust_opens: float = EXHAUST_OPENS,
    evaporated_share: float = 0.30,
    octane_sensitivity: float = 10.0,
) -> PressureTrace:
    """Pressure of a whole four-stroke cycle by crank angle; arguments as `closed_cycle`.

    Returns
    -------
    PressureTrace
        Crank angle [rad], volume [m^3], pressure, absolute [Pa], mean temperature [K], burned fraction [-],
        end gas temperature [K]: arrays of 721 values, one a degree.

    Raises
    ------
    OutOfRange
        As `closed_cycle`.

    Examples
    --------
    >>> t = pressure_trace(
    ...     0.086, 0.086, 0.145, 10.0, 314.0, 98e3, 305.0, 0.88, 95.0, 14.6, 43e6, 350e3, 1.0, 105e3)
    >>> t.pressure.size, round(math.degrees(float(t.crank_angle[360])))
    (721, 0)
    """
    return trace_of(
        CycleInput(
            bore,
            stroke,
            rod_length,
            compression_ratio,
            speed,
            manifold_pressure,
            charge_temperature,
            volumetric_efficiency,
            octane,
            stoichiometric_ratio,
            heating_value,
            heat_of_vaporisation,
            relative_air_fuel_ratio,
            exhaust_pressure,
            ca50,
            burn_factor,
            wall_temperature,
            inlet_closes,
            exhaust_opens,
            evaporated_share,
            octane_sensitivity,
        )
    )
