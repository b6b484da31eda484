"""Integration of one closed cycle over crank angle.

First law for the gas in the cylinder, dU = q dx - p dV - dQ, written in the form
dU/dtheta = -(g dlnV/dtheta + k) U + source with g = p V / U and k the heat-transfer rate over the
heat capacity U/T. Both hardly move from one pass to the next, so each pass solves the linear
equation exactly over the whole period and a handful of passes meets the tolerance.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.cycle.cycle_input import CycleInput, check_cycle_input
from compat.engineering.cycle.trapped_charge import (
    CylinderGeometry,
    TrappedCharge,
    burn_duration,
    closed_period,
    trapped_charge,
)
from compat.engineering.formula import OutOfRange

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = [
    "COMBUSTION_EFFICIENCY",
    "ClosedPeriod",
    "burn_angles",
    "end_gas",
    "integrate",
    "share_of_burn",
    "wiebe",
]

COMBUSTION_EFFICIENCY = 0.98
"""Share of the heat of combustion set free in the cylinder; the rest leaves unburned from crevices
(Heywood, section 3.5: 0.95 to 0.98 lean of stoichiometric)."""

WIEBE_EFFICIENCY = math.log(1000.0)  # a: 99.9 % burned at the end
WIEBE_FORM = 2.0  # m

_TOLERANCE = 1e-8  # of pressure; the last pass leaves about a twentieth of it
_PASSES = 60


class ClosedPeriod(NamedTuple):
    """Traces of the closed period and the sums over it [J]; conductance of the wall in J/(K rad)."""

    geometry: CylinderGeometry
    charge: TrappedCharge
    burned: Floats
    pressure: Floats
    temperature: Floats
    energy: Floats
    conductance: Floats
    wall_temperature: float
    work: float
    burn_start: float
    burn_10_to_90: float
    mean_piston_speed: float

    @property
    def heat_loss(self) -> float:
        """Heat that the gas gives to the walls [J]."""
        flow = self.conductance * (self.temperature - self.wall_temperature)
        return float((flow[1:] + flow[:-1]).sum()) * 0.5 * self.geometry.angle_step


def share_of_burn(burned: float) -> float:
    """Where in the burn a burned fraction is reached, from its start at 0 to its end at 1.

    >>> round(share_of_burn(0.999), 9)
    1.0
    """
    return float((-math.log(1.0 - burned) / WIEBE_EFFICIENCY) ** (1.0 / (WIEBE_FORM + 1.0)))


_AT_10, _AT_50, _AT_90 = (share_of_burn(x) for x in (0.1, 0.5, 0.9))


def burn_angles(ca50: float, ten_to_ninety: float) -> tuple[float, float]:
    """Start and whole length of a Wiebe burn with the given middle and duration [rad].

    >>> start, length = burn_angles(0.15, 0.45)
    >>> round(start + length * share_of_burn(0.5), 12)
    0.15
    """
    length = ten_to_ninety / (_AT_90 - _AT_10)
    return ca50 - _AT_50 * length, length


def wiebe(angle: Floats, start: float, length: float) -> Floats:
    """Burned fraction by crank angle, 1 - exp(-a ((angle - start)/length)^(m+1)), running on past the end.

    Angle, start and length in one unit of angle; nothing is burned before the start.

    >>> import numpy
    >>> wiebe(numpy.array([-10.0, 50.0]), 0.0, 50.0).round(4).tolist()  # at its end, 1 - exp(-a)
    [0.0, 0.999]
    """
    import numpy as np

    share = np.maximum((angle - start) / length, 0.0)
    burned: Floats = -np.expm1(-WIEBE_EFFICIENCY * share ** (WIEBE_FORM + 1.0))
    return burned


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
    2. G. F. Hohenberg, Advanced approaches for heat transfer calculations, SAE 790825.
    """
    import numpy as np

    if not checked:
        check_cycle_input(given)
    geometry = closed_period(
        given.bore,
        given.stroke,
        given.rod_length,
        given.compression_ratio,
        given.inlet_closes,
        given.exhaust_opens,
    )
    charge = trapped_charge(given)
    gas = charge.gas
    duration = burn_duration(given.speed, given.relative_air_fuel_ratio, given.burn_factor)
    start, length = burn_angles(given.ca50, duration)
    if start < geometry.crank_angle[0]:
        raise OutOfRange(
            f"burning would start {math.degrees(-start):.0f} deg before top dead centre, before the inlet "
            "closes; ca50 is too early or inlet_closes too late"
        )
    burned = wiebe(geometry.crank_angle, start, length)
    mass, share = charge.mass, charge.residual_fraction
    whole = share + (1.0 - share) * burned
    fresh_part = 1.0 - whole
    heat_steps = (burned[1:] - burned[:-1]) * (
        COMBUSTION_EFFICIENCY * gas.heat_of_combustion * (charge.air + charge.fuel)
    )

    # Hohenberg: 130 V^-0.06 p^0.8 T^-0.4 (w + 1.4)^0.8, p in bar, w the mean piston speed.
    piston_speed = given.stroke * given.speed / math.pi
    transfer = geometry.wall_area * geometry.volume_factor
    transfer = transfer * (130.0 * (piston_speed + 1.4) ** 0.8 * 1e-4 / given.speed)  # per Pa^0.8 and radian

    lowest, highest, step = gas.temperature[0], gas.temperature[-2], gas.step
    volume, wall = geometry.volume, given.wall_temperature
    fresh_constant = fresh_part * gas.fresh_gas_constant
    # numpy takes a number as an array of no dimension in half the time that it takes a float
    of_mass, of_lowest, of_highest, of_step, tenths = map(np.array, (mass, lowest, highest, step, 0.4))
    half_step, quarter_step_wall = map(np.array, (0.5 * geometry.angle_step, 0.25 * geometry.angle_step * wall))
    half_log_step, half_heat_steps = 0.5 * geometry.log_step, 0.5 * heat_steps

    # First guess: polytropic compression, plus what the burn would add at constant volume. From a cycle at hand
    # only what the burn adds earlier or later is to be made good.
    rise = COMBUSTION_EFFICIENCY * gas.heat_of_combustion * (1.0 - share) / 1300.0
    if near is None:
        temperature = (charge.temperature + 0.6 * rise * burned) * (volume[0] / volume) ** 0.3
    elif near.burn_start == start and near.burn_10_to_90 == duration:
        temperature = near.temperature
    else:
        temperature = near.temperature + 0.6 * rise * (burned - near.burned) * (volume[0] / volume) ** 0.3
    temperature = np.minimum(np.maximum(temperature, lowest), highest)
    temperature[0] = charge.temperature
    pressure = np.zeros_like(volume)
    exponent, energy = np.zeros_like(volume), np.empty_like(volume)
    for _ in range(_PASSES):
        place = (temperature - of_lowest) / of_step
        index = place.astype(np.intp)
        found = gas.by_step.take(index, axis=1)
        slope = found[3:]
        fresh_energy, burned_energy, burned_constant = found[:3] + (place - index) * slope
        specific = fresh_part * fresh_energy + whole * burned_energy
        constant = fresh_constant + whole * burned_constant
        previous, pressure = pressure, of_mass * constant * temperature / volume
        if np.maximum.reduce(np.abs(pressure - previous) / pressure) < _TOLERANCE:
            break
        g = constant * temperature / specific
        conductance = transfer * np.exp(tenths * np.log(pressure * pressure / temperature))  # J/(K rad)
        k = conductance * temperature / (of_mass * specific)
        steps = (g[1:] + g[:-1]) * half_log_step + half_step * (k[1:] + k[:-1])
        np.add.accumulate(steps, out=exponent[1:])
        factor = np.exp(exponent)
        half_source = half_heat_steps + quarter_step_wall * (conductance[1:] + conductance[:-1])
        energy[0] = mass * specific[0]
        gained = np.add.accumulate((factor[1:] + factor[:-1]) * half_source)
        np.add(energy[0], gained, out=energy[1:])
        energy /= factor
        heat_capacity = (fresh_part * slope[0] + whole * slope[1]) / of_step
        temperature = temperature + (energy / of_mass - specific) / heat_capacity
        temperature = np.minimum(np.maximum(temperature, of_lowest), of_highest)
    else:
        raise OutOfRange(
            "the closed cycle does not settle for these arguments; they lie outside what it describes"
        )
    coldest, hottest = float(np.minimum.reduce(temperature)), float(np.maximum.reduce(temperature))
    if not (lowest + step < coldest and hottest < highest - step):
        raise OutOfRange(
            f"the gas would run from {coldest:.0f} to {hottest:.0f} K; "
            f"the gas tables hold from {lowest:g} to {highest:g} K"
        )
    return ClosedPeriod(
        geometry=geometry,
        charge=charge,
        burned=burned,
        pressure=pressure,
        temperature=temperature,
        energy=energy,
        conductance=conductance,
        wall_temperature=wall,
        work=float((0.5 * (pressure[1:] + pressure[:-1]) * geometry.volume_step).sum()),
        burn_start=start,
        burn_10_to_90=duration,
        mean_piston_speed=piston_speed,
    )


def end_gas(period: ClosedPeriod, wall_temperature: float) -> Floats:
    """Temperature of the gas the flame has not yet reached [K].

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
    entropy = ((1.0 - share) * gas.fresh_entropy + share * gas.burned_entropy) / constant
    at_closing = float(np.interp(charge.temperature, gas.temperature, entropy))
    adiabatic = at_closing + np.log(period.pressure / charge.pressure)
    rate = period.conductance * (0.5 * period.geometry.angle_step / (charge.mass * constant))
    temperature = np.interp(adiabatic, entropy, gas.temperature)
    lost = np.zeros_like(temperature)
    for _ in range(8):
        cooling = rate * (1.0 - wall_temperature / temperature)
        np.add.accumulate(cooling[1:] + cooling[:-1], out=lost[1:])
        previous, temperature = temperature, np.interp(adiabatic - lost, entropy, gas.temperature)
        if np.maximum.reduce(np.abs(temperature - previous)) < 1e-4:
            break
    return temperature
