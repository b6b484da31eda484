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
    Trapping,
    burn_duration,
    closed_period,
)
from compat.engineering.cycle.working_gas import HIGHEST, LOWEST, STEP
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

TOLERANCE = 1e-7
"""Of pressure, for a pass to move; what is left to go then is less than a hundredth of it."""

_PASSES = 60
_FAR = 1e-3
"""So far a pass moves pressure while how it lags behind is still worked out anew."""


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

    Notes
    -----
    A pass takes g and k from the temperatures at hand, so that the energies it finds are off by what these
    move with them: about a twentieth of the step. The same linear equation, with that as its source, tells the
    most of it beforehand, and a few hundredths of it are left.

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
        self._trapping = Trapping(given)
        # Hohenberg: 130 V^-0.06 p^0.8 T^-0.4 (w + 1.4)^0.8, p in bar, w the mean piston speed. With p V = m R T the
        # gas gives (R^2 T)^0.4 of it, the geometry V^-0.86 and the charge m^0.8.
        self._piston_speed = given.stroke * given.speed / math.pi
        self._film = 130.0 * (self._piston_speed + 1.4) ** 0.8 * 1e-4 / given.speed
        self._wall = given.wall_temperature
        self._half_step = 0.5 * geometry.angle_step
        self._half_log_step = 0.5 * geometry.log_step
        # numpy takes a number as an array of no dimension in half the time that it takes a float
        self._nought, self._one, self._two_fifths, self._lowest, self._step, self._last = (
            np.array(number) for number in (0.0, 1.0, 0.4, LOWEST, STEP, (HIGHEST - LOWEST) / STEP - 1.0)
        )
        points = geometry.volume.size
        self._exponent, self._energy, self._ahead = np.zeros(points), np.empty(points), np.zeros(points)
        self._moved = math.inf
        if near is None:
            self._temperature, self._guess = self._nought, self._nought
        else:
            self._temperature, self._guess = near.temperature, near.first_guess
        self._start = math.nan
        self.aim(given.manifold_pressure, given.exhaust_pressure, given.ca50)

    def aim(self, manifold_pressure: float, exhaust_pressure: float, ca50: float) -> None:
        """Turn to another charge or phasing of the same cylinder at the same speed; pressures absolute [Pa]."""
        import numpy as np

        charge = self.charge = self._trapping.at(manifold_pressure, exhaust_pressure)
        gas, geometry = charge.gas, self._geometry
        start, length = burn_angles(ca50, self._duration)
        turned = start != self._start
        if turned:
            if start < geometry.crank_angle[0]:
                raise OutOfRange(
                    f"burning would start {math.degrees(-start):.0f} deg before top dead centre, before the "
                    "inlet closes; ca50 is too early or inlet_closes too late"
                )
            self._start, self._burned = start, wiebe(geometry.crank_angle, start, length)
            self._unburned = 1.0 - self._burned
            self._burned_steps = self._burned[1:] - self._burned[:-1]
        mass = self._mass = charge.mass
        fresh = 1.0 - charge.residual_fraction
        heat = COMBUSTION_EFFICIENCY * gas.heat_of_combustion * fresh  # for a kilogram of gas
        self._fresh_constant = gas.fresh_gas_constant
        self._fresh = self._unburned * np.array(fresh)
        self._half_heat_steps = self._burned_steps * np.array(0.5 * heat)
        film = self._film * mass**-0.2  # for a kilogram
        self._half_step_film = np.array(self._half_step * film)
        self._quarter_step_film_wall = np.array(0.5 * self._half_step * film * self._wall)
        if turned:
            # First guess: polytropic compression, plus what the burn would add at constant volume. Of a cycle
            # at hand only what it would be off by the same guess is made good.
            before = self._guess
            self._guess = (charge.temperature + 0.6 * heat / 1300.0 * self._burned) * geometry.polytropic
            place = (self._temperature + (self._guess - before) - LOWEST) / STEP
            place[0] = (charge.temperature - LOWEST) / STEP
            self._look(place)
        else:
            # other charge at the same phasing hardly moves temperatures but at inlet closing
            off = charge.temperature - float(self._temperature[0])
            self._found[:, 0] += self._slope[:, 0] * (off / STEP)
            self._place[0] += off / STEP
            self._temperature[0] = charge.temperature
            self._mix()

    def _look(self, place: Floats) -> None:
        """Energy and pressure of the gas at temperatures given by their place in the tables."""
        import numpy as np

        table = self._trapping.gas.by_step
        np.maximum(place, self._nought, out=place)
        np.minimum(place, self._last, out=place)
        index = place.astype(np.intp)
        found = table.take(index, axis=1)
        self._slope = found[3:]
        part = place - index
        self._found = part * self._slope
        self._found += found[:3]
        self._place = place
        self._temperature = place * self._step
        self._temperature += self._lowest
        self._mix()

    def _mix(self) -> None:
        """What fresh charge and burned gas come to together."""
        burned_energy, more, burned_constant = self._found
        specific = self._fresh * more
        specific += burned_energy
        constant = self._fresh_constant - burned_constant
        constant *= self._fresh
        constant += burned_constant
        self._specific, self._constant = specific, constant
        self._specific_work = constant * self._temperature  # p V / m

    def _film_by_gas(self) -> Floats:
        """Conductance of the walls, but for what is the same all through the cycle."""
        import numpy as np

        film = self._specific_work * self._constant
        np.log(film, out=film)
        film *= self._two_fifths
        np.exp(film, out=film)
        film *= self._geometry.film
        return film

    def once(self) -> float:
        """One pass; by how much it moved pressure, at the most and relative."""
        import numpy as np

        specific, before = self._specific, self._specific_work
        exponent, energy, ahead = self._exponent, self._energy, self._ahead
        add, accumulate = np.add, np.add.accumulate
        g = before / specific
        film = self._film_by_gas()
        k = film * self._temperature
        k /= specific
        steps = add(g[1:], g[:-1])
        steps *= self._half_log_step
        of_film = add(k[1:], k[:-1])
        of_film *= self._half_step_film
        steps += of_film
        accumulate(steps, out=exponent[1:])
        factor = np.exp(exponent)
        source = add(film[1:], film[:-1])
        source *= self._quarter_step_film_wall
        source += self._half_heat_steps
        gains = add(factor[1:], factor[:-1])
        gains *= source
        gains[0] += specific[0]
        energy[0] = specific[0]
        accumulate(gains, out=energy[1:])
        energy /= factor
        place = energy - specific
        heat_capacity = self._fresh * self._slope[1]  # for a step of the tables
        heat_capacity += self._slope[0]
        if self._moved > _FAR:
            self._lag = self._lagging(g, k, film, factor, heat_capacity)
        lag = self._lag * place
        accumulate(add(lag[1:], lag[:-1]), out=ahead[1:])
        ahead /= factor
        place -= ahead
        place /= heat_capacity
        place += self._place
        self._look(place)
        share = self._specific_work / before
        share -= self._one
        share *= share
        self._moved = math.sqrt(share[share.argmax()])
        return self._moved

    def _lagging(self, g: Floats, k: Floats, film: Floats, factor: Floats, heat_capacity: Floats) -> Floats:
        """Half a step of how g and k move with the energy that they multiply, as a pass takes them to stand."""
        capacity = heat_capacity * (1.0 / STEP)
        rising = self._fresh * self._slope[2]  # of R with temperature, taken from what burned gas alone would do
        rising -= self._slope[2]
        rising *= self._temperature * (-1.0 / STEP)
        rising += self._constant
        rising /= capacity
        rising -= g
        rising *= self._geometry.log_slope * self._half_step
        film = film * (1.4 - (0.4 * self._wall) / self._temperature)
        film /= capacity
        film -= k
        film *= self._half_step_film
        rising += film
        rising *= factor
        return rising

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

    @property
    def angle(self) -> Floats:
        """Crank angles of the traces [rad]."""
        return self._geometry.crank_angle

    @property
    def work(self) -> float:
        """Work of the closed period [J]."""
        return self._mass * float(self._specific_work @ self._geometry.work_weight)

    @property
    def pressure(self) -> Floats:
        """Pressure by crank angle [Pa]."""
        pressure = self._specific_work / self._geometry.volume
        pressure *= self._mass
        return pressure

    def period(self) -> ClosedPeriod:
        """The cycle as far as it has come."""
        mass, pressure = self._mass, self.pressure
        return ClosedPeriod(
            geometry=self._geometry,
            charge=self.charge,
            burned=self._burned,
            pressure=pressure,
            temperature=self._temperature.copy(),
            energy=mass * self._specific,
            conductance=(self._film * mass**0.8) * self._film_by_gas(),
            wall_temperature=self._wall,
            first_guess=self._guess,
            work=float(pressure @ self._geometry.volume_weight),
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
        coldest, hottest = float(self._temperature.min()), float(self._temperature.max())
        if not (LOWEST + STEP < coldest and hottest < HIGHEST - 2.0 * STEP):
            raise OutOfRange(
                f"the gas would run from {coldest:.0f} to {hottest:.0f} K; "
                f"the gas tables hold from {LOWEST:g} to {HIGHEST - STEP:g} K"
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
