"""Closed cycle of a four-stroke spark-ignition engine: what one cycle gives, summed up."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.cycle.cycle_input import CycleInput
from compat.engineering.cycle.cycle_integration import integrate
from compat.engineering.cycle.cycle_passes import ClosedPeriod
from compat.engineering.cycle.knock import end_gas_history
from compat.engineering.cycle.open_period import open_period
from compat.engineering.formula import formula

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = [
    "ClosedCycle",
    "closed_cycle",
    "cycle_results",
    "peak",
]


class ClosedCycle(NamedTuple):
    """What one closed cycle gives; SI units."""

    peak_pressure: float
    peak_pressure_angle: float
    imep: float
    indicated_efficiency: float
    exhaust_temperature: float
    heat_loss_fraction: float
    exhaust_energy_fraction: float
    end_gas_temperature: float
    knock_integral: float
    trapped_air: float
    residual_fraction: float
    pressure_at_ignition: float
    burn_duration: float


def peak(angle: Floats, pressure: Floats) -> tuple[float, float]:
    """Highest pressure and its angle between the grid points, by a quartic through five neighbours.

    >>> import numpy
    >>> x = numpy.linspace(-0.5, 0.6, 12)
    >>> top, at = peak(x, numpy.cos(x - 0.03))
    >>> round(top, 6), round(at, 4)
    (1.0, 0.03)
    """
    place = int(pressure.argmax())
    if not 1 < place < pressure.size - 2:
        return float(pressure[place]), float(angle[place])
    a, b, c, d, e = pressure[place - 2 : place + 3].tolist()
    first = (a - 8.0 * b + 8.0 * d - e) / 12.0
    second = (-a + 16.0 * b - 30.0 * c + 16.0 * d - e) / 24.0
    third = (-a + 2.0 * b - 2.0 * d + e) / 12.0
    fourth = (a - 4.0 * b + 6.0 * c - 4.0 * d + e) / 24.0
    if second >= 0.0:
        return c, float(angle[place])
    x = 0.0
    for _ in range(4):
        slope = first + x * (2.0 * second + x * (3.0 * third + x * 4.0 * fourth))
        bend = 2.0 * second + x * (6.0 * third + x * 12.0 * fourth)
        if bend >= 0.0:
            break
        before, x = x, min(max(x - slope / bend, -1.0), 1.0)
        if abs(x - before) < 1e-7:
            break
    top = c + x * (first + x * (second + x * (third + x * fourth)))
    return max(top, c), float(angle[place] + x * (angle[1] - angle[0]))


def cycle_results(given: CycleInput, period: ClosedPeriod) -> ClosedCycle:
    """Sum up an integrated cycle."""
    import numpy as np

    charge = period.charge
    swept = math.pi / 4 * given.bore**2 * given.stroke
    fuel_energy = charge.fuel * given.heating_value
    outside = open_period(given, period)
    work = period.work + outside.work_near_bottom
    end = end_gas_history(period, given, to_the_end=False)
    highest, at = peak(period.geometry.crank_angle, period.pressure)
    return ClosedCycle(
        peak_pressure=highest,
        peak_pressure_angle=at,
        imep=work / swept,
        indicated_efficiency=work / fuel_energy,
        exhaust_temperature=outside.exhaust_temperature,
        heat_loss_fraction=period.heat_loss / fuel_energy,
        exhaust_energy_fraction=outside.exhaust_energy / fuel_energy,
        end_gas_temperature=end.highest,
        knock_integral=end.knock_integral,
        trapped_air=charge.air,
        residual_fraction=charge.residual_fraction,
        pressure_at_ignition=float(np.interp(period.burn_start, period.geometry.crank_angle, period.pressure)),
        burn_duration=period.burn_10_to_90,
    )


@formula(
    takes={"given": CycleInput},
    gives={
        "peak_pressure": "bar",
        "peak_pressure_angle": "deg",
        "imep": "kPa",
        "indicated_efficiency": "%",
        "exhaust_temperature": "degC",
        "heat_loss_fraction": "%",
        "exhaust_energy_fraction": "%",
        "end_gas_temperature": "degC",
        "knock_integral": "number",
        "trapped_air": "mg",
        "residual_fraction": "%",
        "pressure_at_ignition": "bar",
        "burn_duration": "deg",
    },
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 9 and 14; Hohenberg, SAE 790825; "
    "Douaud & Eyzat, SAE 780080",
    scatter={
        "peak_pressure": 0.10,
        "imep": 0.05,
        "indicated_efficiency": 0.05,
        "exhaust_temperature": 0.06,
        "heat_loss_fraction": 0.30,
        "exhaust_energy_fraction": 0.10,
        "end_gas_temperature": 0.03,
        "knock_integral": 0.30,
        "residual_fraction": 0.40,
        "pressure_at_ignition": 0.15,
        "burn_duration": 0.20,
    },
    scatter_source="common practice, no source: peak pressure of single cycles spreads by a tenth about "
    "their mean; the rest own judgement of Wiebe burn, single zone and heat-transfer correlation",
    heavy=True,
    sensitive_to=("compression_ratio",),
)
def closed_cycle(given: CycleInput) -> ClosedCycle:
    """Closed cycle of one cylinder: trapped charge, Wiebe burn, heat loss, end gas.

    Parameters
    ----------
    given : CycleInput
        Cylinder, speed, charge and phasing, SI units.

    Returns
    -------
    ClosedCycle
        Peak pressure [Pa] and its angle [rad], gross imep [Pa], indicated efficiency of the fuel energy [-],
        exhaust temperature behind the port [K], shares of the fuel energy lost to the walls of the closed
        cylinder and carried off by the exhaust [-], highest end gas temperature [K], knock integral [-],
        trapped air [kg], residual share [-], pressure where burning starts [Pa], burn duration from 10 to
        90 per cent [rad].

    Raises
    ------
    OutOfRange
        When an argument lies outside what the model describes.

    Notes
    -----
    Single zone for pressure; the end gas is a zone of its own, compressed by that pressure. Fresh charge and
    burned gas each have their own variable specific heats; burned gas dissociates in equilibrium at a fixed
    5 MPa and is frozen below 1700 K. Heat loss by Hohenberg. Gas lost past the rings is left out, as is
    afterburning in the exhaust. Gross imep is taken from bottom to bottom dead centre. Where the burn is very
    late, the trace has two humps and the angle of the higher may change from one to the other.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, chapters 4, 9 and 14.
    2. G. F. Hohenberg, SAE 790825.
    3. A. M. Douaud, P. Eyzat, SAE 780080; J. C. Livengood, P. C. Wu, 5th Symposium on Combustion (1955).

    Examples
    --------
    >>> rpm = math.pi / 30
    >>> c = closed_cycle(CycleInput(
    ...     bore=0.086, stroke=0.086, rod_length=0.145, compression_ratio=10.0, speed=3000 * rpm,
    ...     manifold_pressure=98e3, charge_temperature=305.0, volumetric_efficiency=0.88, octane=95.0,
    ...     stoichiometric_ratio=14.6, heating_value=43e6, heat_of_vaporisation=350e3,
    ...     relative_air_fuel_ratio=1.0, exhaust_pressure=105e3))
    >>> 45 < c.peak_pressure / 1e5 < 70
    True
    >>> round(c.indicated_efficiency + c.heat_loss_fraction + c.exhaust_energy_fraction, 3)
    1.0
    """
    return cycle_results(given, integrate(given))
