"""Passes over one closed cycle, each of which brings its traces nearer to the first law.

First law for the gas in the cylinder, dU = q dx - p dV - dQ, written in the form
dU/dtheta = -(g dlnV/dtheta + k) U + source with g = p V / U and k the heat-transfer rate over the
heat capacity U/T. Both hardly move from one pass to the next, so each pass solves the linear
equation exactly over the whole period and a handful of passes meets the tolerance.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.cycle.burning import COMBUSTION_EFFICIENCY, burn_angles, wiebe
from compat.engineering.cycle.cycle_input import Cylinder
from compat.engineering.cycle.trapped_charge import (
    CylinderGeometry,
    TrappedCharge,
    Trapping,
    burn_duration,
)
from compat.engineering.cycle.working_gas import HIGHEST, LOWEST, STEP
from compat.engineering.formula import OutOfRange

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = ["TOLERANCE", "ClosedPeriod", "Passes"]

TOLERANCE = 1e-7
"""Of pressure, for a pass to move; what is left to go then is less than a hundredth of it."""

_PASSES = 60
_FAR = 1e-2
"""So far a pass moves pressure while how it lags behind is still worked out anew."""


class ClosedPeriod(NamedTuple):
    """Traces of the closed period and the sums over it [J]; conductance of the wall in J/(K rad).

    `first_guess` and `lag` help a cycle that is near to settle: where its passes began, and how they lag.
    """

    geometry: CylinderGeometry
    charge: TrappedCharge
    burned: Floats
    pressure: Floats
    temperature: Floats
    energy: Floats
    conductance: Floats
    wall_temperature: float
    first_guess: Floats
    lag: Floats
    work: float
    burn_start: float
    burn_10_to_90: float
    mean_piston_speed: float

    @property
    def heat_loss(self) -> float:
        """Heat that the gas gives to the walls [J]."""
        flow = self.conductance * (self.temperature - self.wall_temperature)
        return float((flow[1:] + flow[:-1]).sum()) * 0.5 * self.geometry.angle_step


class Passes:
    """A cycle on its way: each pass brings its traces nearer to what charge, burn and walls ask for.

    A search may turn to another charge or phasing between passes, long before the traces have settled.

    Parameters
    ----------
    cylinder : Cylinder
        The cylinder, known to lie inside the model.
    manifold_pressure, exhaust_pressure : float
        Absolute [Pa].
    ca50 : float
        Crank angle where half the charge has burned [rad].
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

    def __init__(
        self,
        cylinder: Cylinder,
        manifold_pressure: float,
        exhaust_pressure: float,
        ca50: float,
        near: ClosedPeriod | None = None,
    ) -> None:
        import numpy as np

        self._trapping = Trapping(cylinder)
        geometry = self._geometry = self._trapping.geometry
        self._duration = burn_duration(cylinder.speed, cylinder.relative_air_fuel_ratio, cylinder.burn_factor)
        # Hohenberg: 130 V^-0.06 p^0.8 T^-0.4 (w + 1.4)^0.8, p in bar, w the mean piston speed. With p V = m R T
        # the gas gives (R^2 T)^0.4 of it, the geometry V^-0.86 and the charge m^0.8.
        self._piston_speed = cylinder.stroke * cylinder.speed / math.pi
        self._film = 130.0 * (self._piston_speed + 1.4) ** 0.8 * 1e-4 / cylinder.speed
        self._wall = cylinder.wall_temperature
        self._half_step = 0.5 * geometry.angle_step
        self._half_log_step = 0.5 * geometry.log_step
        # numpy takes a number as an array of no dimension in half the time that it takes a float
        self._nought, self._one, self._two_fifths, self._lowest, self._step, self._last = (
            np.array(number) for number in (0.0, 1.0, 0.4, LOWEST, STEP, (HIGHEST - LOWEST) / STEP - 1.0)
        )
        # room for the traces, made once: a search goes over them some ten times
        points = geometry.volume.size
        self._place, self._temperature, self._specific, self._constant, self._capacity = np.empty((5, points))
        self._specific_work, self._before, self._step_place, self._energy, self._product = np.empty((5, points))
        together, sums = np.empty((3, points)), np.empty((3, points - 1))
        self._share, self._wall_share, self._film_trace = together
        self._pairs, self._sums, self._rows_of_sums = (together[:, 1:], together[:, :-1]), sums, list(sums)
        self._exponent, self._ahead, self._factor = np.zeros((3, points))
        self._found = np.empty((6, points))
        self._values, self._slopes = self._found[:3], self._found[3:]
        self._values_at_closing, self._slopes_at_closing = self._values[:, 0], self._slopes[:, 0]
        self._rows_of_found = list(self._found)
        self._part, self._parts, self._gains = np.empty(points), np.empty((3, points)), np.empty(points - 1)
        if near is None:
            self._moved = math.inf
        else:
            self._moved, self._lag = 0.0, near.lag
        self._guess = self._nought if near is None else near.first_guess
        self._temperature[:] = self._nought if near is None else near.temperature
        self._start = math.nan
        self.aim(manifold_pressure, exhaust_pressure, ca50)

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
        self._fresh_constant = np.array(gas.fresh_gas_constant)
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
            place = np.add(self._temperature, self._guess - before, out=self._place)
            place -= self._lowest
            place /= self._step
            place[0] = (charge.temperature - LOWEST) / STEP
            self._look()
        else:
            # other charge at the same phasing hardly moves temperatures but at inlet closing
            off = charge.temperature - float(self._temperature[0])
            self._values_at_closing += self._slopes_at_closing * (off / STEP)
            self._place[0] += off / STEP
            self._temperature[0] = charge.temperature
            self._mix()

    def _look(self) -> None:
        """Energy and pressure of the gas at the temperatures that have come to hand, by place in the tables."""
        import numpy as np

        place, part = self._place, self._part
        np.maximum(place, self._nought, out=place)
        np.minimum(place, self._last, out=place)
        index = place.astype(np.intp)
        self._trapping.gas.by_step.take(index, axis=1, out=self._found, mode="clip")
        np.subtract(place, index, out=part)
        self._values += np.multiply(part, self._slopes, out=self._parts)
        np.multiply(place, self._step, out=self._temperature)
        self._temperature += self._lowest
        self._mix()

    def _mix(self) -> None:
        """What fresh charge and burned gas come to together."""
        import numpy as np

        burned_energy, more, burned_constant, *_ = self._rows_of_found
        specific = np.multiply(self._fresh, more, out=self._specific)
        specific += burned_energy
        constant = np.subtract(self._fresh_constant, burned_constant, out=self._constant)
        constant *= self._fresh
        constant += burned_constant
        np.multiply(constant, self._temperature, out=self._specific_work)  # p V / m

    def _film_by_gas(self) -> Floats:
        """Conductance of the walls, but for what is the same all through the cycle."""
        import numpy as np

        film = np.multiply(self._specific_work, self._constant, out=self._film_trace)
        np.log(film, out=film)
        film *= self._two_fifths
        np.exp(film, out=film)
        film *= self._geometry.film
        return film

    def once(self) -> float:
        """One pass; by how much it moved pressure, at the most and relative."""
        import numpy as np

        add, accumulate = np.add, np.add.accumulate
        specific, before, factor, gains = self._specific, self._specific_work, self._factor, self._gains
        exponent, energy, ahead, product = self._exponent, self._energy, self._ahead, self._product
        np.divide(before, specific, out=self._share)
        film = self._film_by_gas()
        k = np.multiply(film, self._temperature, out=self._wall_share)
        k /= specific
        add(*self._pairs, out=self._sums)
        steps, of_walls, sources = self._rows_of_sums
        steps *= self._half_log_step
        of_walls *= self._half_step_film
        steps += of_walls
        accumulate(steps, out=exponent[1:])
        np.exp(exponent, out=factor)
        sources *= self._quarter_step_film_wall
        sources += self._half_heat_steps
        add(factor[1:], factor[:-1], out=gains)
        gains *= sources
        energy[0] = first = specific[0]
        gains[0] += first
        accumulate(gains, out=energy[1:])
        energy /= factor
        off = np.subtract(energy, specific, out=self._step_place)
        *_, of_burned, of_more, _ = self._rows_of_found
        capacity = np.multiply(self._fresh, of_more, out=self._capacity)  # for a step of the tables
        capacity += of_burned
        if self._moved > _FAR:
            self._lag = self._lagging()
        np.multiply(self._lag, off, out=product)
        add(product[1:], product[:-1], out=gains)
        accumulate(gains, out=ahead[1:])
        ahead /= factor
        off -= ahead
        off /= capacity
        self._place += off
        self._specific_work, self._before = self._before, before
        self._look()
        share = np.divide(self._specific_work, before, out=product)
        share -= self._one
        share *= share
        self._moved = math.sqrt(share[share.argmax()])
        return self._moved

    def _lagging(self) -> Floats:
        """Half a step of how g and k move with the energy that they multiply, as a pass takes them to stand."""
        capacity = self._capacity * (1.0 / STEP)
        by_temperature = self._rows_of_found[5] * (1.0 / STEP)  # of burned gas
        rising: Floats = by_temperature - self._fresh * by_temperature
        rising *= self._temperature
        rising += self._constant
        rising /= capacity
        rising -= self._share
        rising *= self._geometry.log_slope * self._half_step
        walls = self._film_trace * (1.4 - (0.4 * self._wall) / self._temperature)
        walls /= capacity
        walls -= self._wall_share
        walls *= self._half_step_film
        rising += walls
        rising *= self._factor
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
            lag=self._lag,
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
        if not (coldest > LOWEST + STEP and hottest < HIGHEST - 2.0 * STEP):
            raise OutOfRange(
                f"the gas would run from {coldest:.0f} to {hottest:.0f} K; "
                f"the gas tables hold from {LOWEST:g} to {HIGHEST - STEP:g} K"
            )
