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
from compat.engineering.cycle.working_gas import working_gas
from compat.engineering.formula import OutOfRange

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = [
    "COMBUSTION_EFFICIENCY",
    "TOLERANCE",
    "ClosedPeriod",
    "Passes",
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

TOLERANCE = 1e-8
"""Of pressure, for a pass to move; what is left to go then is about a twentieth of it."""

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
    first_guess: Floats
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
    """Burned fraction by crank angle, 1 - exp(-a ((angle - start)/length)^(m+1)), running on past the end."""
    import numpy as np

    share = np.maximum((angle - start) / length, 0.0)
    burned: Floats = -np.expm1(-WIEBE_EFFICIENCY * share ** (WIEBE_FORM + 1.0))
    return burned


class Passes:
    """A cycle on its way: each pass brings its traces nearer to what charge, burn and walls ask for.

    A search may turn to another charge or phasing between passes, long before the traces have settled.

    Parameters
    ----------
    given : CycleInput
        What the cycle is worked out from, known to lie inside the model.
    near : ClosedPeriod, optional
        A cycle that differs little, whose temperatures are a better first guess.

    Raises
    ------
    OutOfRange
        When the charge leaves what is described.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, chapters 9 and 14.
    2. G. F. Hohenberg, Advanced approaches for heat transfer calculations, SAE 790825.
    """

    def __init__(self, given: CycleInput, near: ClosedPeriod | None = None) -> None:
        import numpy as np

        geometry = self._geometry = closed_period(
            given.bore,
            given.stroke,
            given.rod_length,
            given.compression_ratio,
            given.inlet_closes,
            given.exhaust_opens,
        )
        self._duration = burn_duration(given.speed, given.relative_air_fuel_ratio, given.burn_factor)
        # Hohenberg: 130 V^-0.06 p^0.8 T^-0.4 (w + 1.4)^0.8, p in bar, w the mean piston speed.
        self._piston_speed = given.stroke * given.speed / math.pi
        transfer = geometry.wall_area * geometry.volume_factor
        transfer *= 130.0 * (self._piston_speed + 1.4) ** 0.8 * 1e-4 / given.speed
        self._transfer = transfer  # per Pa^0.8 and radian
        self._wall = given.wall_temperature
        # numpy takes a number as an array of no dimension in half the time that it takes a float
        self._half_step = np.array(0.5 * geometry.angle_step)
        self._quarter_step_wall = np.array(0.25 * geometry.angle_step * self._wall)
        self._half_log_step = 0.5 * geometry.log_step
        self._exponent, self._energy = np.zeros_like(geometry.volume), np.empty_like(geometry.volume)
        self._tenths = np.array(0.4)
        if near is None:
            self._temperature, self._guess = np.array(0.0), np.array(0.0)
        else:
            self._temperature, self._guess = near.temperature, near.first_guess
        self._start = math.nan
        gas = working_gas(given.stoichiometric_ratio, given.heating_value, given.relative_air_fuel_ratio)
        self._lowest, self._highest, self._step = map(
            np.array, (gas.temperature[0], gas.temperature[-2], gas.step)
        )
        self._by_step = gas.by_step
        self.aim(given)

    def aim(self, given: CycleInput) -> None:
        """Turn to another charge or phasing of the same cylinder at the same speed."""
        import numpy as np

        charge = self._charge = trapped_charge(given)
        gas, geometry = charge.gas, self._geometry
        start, length = burn_angles(given.ca50, self._duration)
        turned = start != self._start
        if turned:
            if start < geometry.crank_angle[0]:
                raise OutOfRange(
                    f"burning would start {math.degrees(-start):.0f} deg before top dead centre, before the "
                    "inlet closes; ca50 is too early or inlet_closes too late"
                )
            self._start, self._burned = start, wiebe(geometry.crank_angle, start, length)
            self._burned_steps = self._burned[1:] - self._burned[:-1]
        burned, share = self._burned, charge.residual_fraction
        fresh = 1.0 - share
        heat = COMBUSTION_EFFICIENCY * gas.heat_of_combustion * fresh  # for a kilogram of gas
        self._fresh_part = fresh - fresh * burned
        self._whole = 1.0 - self._fresh_part
        self._fresh_constant = self._fresh_part * gas.fresh_gas_constant
        self._half_heat_steps = self._burned_steps * (0.5 * heat)
        self._mass_by_volume = charge.mass / geometry.volume
        self._transfer_by_mass = self._transfer / charge.mass
        if turned:
            # First guess: polytropic compression, plus what the burn would add at constant volume. Of a cycle
            # at hand only what it would be off by the same guess is made good.
            before = self._guess
            self._guess = (charge.temperature + 0.6 * heat / 1300.0 * burned) * geometry.polytropic
            temperature = self._temperature + (self._guess - before)
            self._temperature = np.minimum(np.maximum(temperature, self._lowest), self._highest)
            self._temperature[0] = charge.temperature
            self._look()
        else:
            # other charge at the same phasing hardly moves temperatures but at inlet closing
            self._found[:, 0] += self._slope[:, 0] * ((charge.temperature - self._temperature[0]) / self._step)
            self._temperature = self._temperature.copy()  # a period that was handed out keeps its own
            self._temperature[0] = charge.temperature
            self._mix()

    def _look(self) -> None:
        """Energy and pressure of the gas at the temperatures at hand."""
        import numpy as np

        place = (self._temperature - self._lowest) / self._step
        index = place.astype(np.intp)
        found = self._by_step.take(index, axis=1)
        self._slope = found[3:]
        self._found = found[:3] + (place - index) * self._slope
        self._mix()

    def _mix(self) -> None:
        """What fresh charge and burned gas come to together."""
        fresh_energy, burned_energy, burned_constant = self._found
        self._specific = self._fresh_part * fresh_energy + self._whole * burned_energy
        constant = self._fresh_constant + self._whole * burned_constant
        self._specific_work = constant * self._temperature  # p V / m
        self._pressure = self._mass_by_volume * self._specific_work

    def once(self) -> float:
        """One pass; by how much it moved pressure, at the most and relative."""
        import numpy as np

        temperature, pressure, specific = self._temperature, self._pressure, self._specific
        exponent, energy = self._exponent, self._energy
        g = self._specific_work / specific
        conductance = self._transfer_by_mass * np.exp(self._tenths * np.log(pressure * pressure / temperature))
        k = conductance * (temperature / specific)
        steps = (g[1:] + g[:-1]) * self._half_log_step + self._half_step * (k[1:] + k[:-1])
        np.add.accumulate(steps, out=exponent[1:])
        factor = np.exp(exponent)
        half_source = self._half_heat_steps + self._quarter_step_wall * (conductance[1:] + conductance[:-1])
        first = energy[0] = specific[0]
        gained = np.add.accumulate((factor[1:] + factor[:-1]) * half_source)
        np.add(first, gained, out=energy[1:])
        energy /= factor
        heat_capacity = (self._fresh_part * self._slope[0] + self._whole * self._slope[1]) / self._step
        temperature = temperature + (energy - specific) / heat_capacity
        self._conductance = conductance  # of the walls and for a kilogram of gas [J/(K rad kg)]
        self._temperature = np.minimum(np.maximum(temperature, self._lowest), self._highest)
        self._look()
        share = self._pressure / pressure
        return max(float(np.maximum.reduce(share)) - 1.0, 1.0 - float(np.minimum.reduce(share)))

    def within(self, off: float) -> float:
        """Go on until a pass moves pressure by no more than so much of it; by how much the last one did.

        Raises
        ------
        OutOfRange
            When the cycle does not settle.
        """
        for _ in range(_PASSES):
            moved = self.once()
            if moved < off:
                return moved
        raise OutOfRange(
            "the closed cycle does not settle for these arguments; they lie outside what it describes"
        )

    def period(self) -> ClosedPeriod:
        """The cycle as far as it has come."""
        pressure, geometry = self._pressure, self._geometry
        return ClosedPeriod(
            geometry=geometry,
            charge=self._charge,
            burned=self._burned,
            pressure=pressure,
            temperature=self._temperature,
            energy=self._charge.mass * self._energy,
            conductance=self._charge.mass * self._conductance,
            wall_temperature=self._wall,
            first_guess=self._guess,
            work=float(pressure @ geometry.volume_weight),
            burn_start=self._start,
            burn_10_to_90=self._duration,
            mean_piston_speed=self._piston_speed,
        )

    def check(self) -> None:
        """Refuse a settled cycle whose gas leaves the tables.

        Raises
        ------
        OutOfRange
            Saying how cold or hot it would be.
        """
        import numpy as np

        lowest, highest, step = float(self._lowest), float(self._highest), float(self._step)
        coldest = float(np.minimum.reduce(self._temperature))
        hottest = float(np.maximum.reduce(self._temperature))
        if not (lowest + step < coldest and hottest < highest - step):
            raise OutOfRange(
                f"the gas would run from {coldest:.0f} to {hottest:.0f} K; "
                f"the gas tables hold from {lowest:g} to {highest:g} K"
            )


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
    passes = Passes(given, near)
    passes.within(TOLERANCE)
    passes.check()
    return passes.period()


def end_gas(period: ClosedPeriod, wall_temperature: float, lost: Floats | None = None) -> Floats:
    """Temperature of the gas the flame has not yet reached [K].

    Parameters
    ----------
    period : ClosedPeriod
        The closed cycle.
    wall_temperature : float
        Mean temperature of the walls [K].
    lost : array, optional
        Entropy that it has lost to the walls by then, over its gas constant [-], in a cycle that differs
        little: a first guess, in the place of which that of this cycle is left.

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
    if lost is None:
        lost = np.zeros_like(adiabatic)
    temperature = np.interp(adiabatic - lost, entropy, gas.temperature)
    for _ in range(8):
        cooling = rate * (1.0 - wall_temperature / temperature)
        np.add.accumulate(cooling[1:] + cooling[:-1], out=lost[1:])
        previous, temperature = temperature, np.interp(adiabatic - lost, entropy, gas.temperature)
        if np.maximum.reduce(np.abs(temperature - previous)) < 1e-4:
            break
    return temperature
