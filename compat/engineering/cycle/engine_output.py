"""Brake output of a whole engine from its cycle, and the search for the charge that a goal asks for."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.cycle.closed_cycle import cycle_results, peak
from compat.engineering.cycle.cycle_input import CycleInput
from compat.engineering.cycle.cycle_integration import integrate
from compat.engineering.cycle.cycle_passes import ClosedPeriod
from compat.engineering.cycle.engine import Engine
from compat.engineering.cycle.friction import friction_mean_effective_pressure, pumping_mean_effective_pressure
from compat.engineering.cycle.knock import integral_limit, octane_extrapolation
from compat.engineering.cycle.knock_phase import knock_phase
from compat.engineering.cycle.open_period import exchange_pressures_at, open_period, work_between
from compat.engineering.formula import GoalOutOfReach

__all__ = [
    "POINT_GIVES",
    "POINT_SCATTER",
    "POINT_SCATTER_SOURCE",
    "POINT_SLOPES",
    "POINT_SOURCE",
    "Balance",
    "OperatingPoint",
    "Shares",
    "balance_at",
    "report",
]

LOWEST_MANIFOLD_PRESSURE = 15e3
MOST_RESIDUAL = 0.35
"""Burned gas in the charge above which it no longer burns steadily; common practice 0.25 to 0.35."""

FRICTION_TO_COOLANT = 0.5
"""Share of the friction heat that reaches the coolant, the rest goes to the oil; common practice."""


class OperatingPoint(NamedTuple):
    """One point of running at full load or part load; SI units."""

    power: float
    manifold_pressure: float
    boost: float
    exhaust_pressure: float
    trapped_air: float
    residual_fraction: float
    peak_pressure: float
    peak_pressure_angle: float
    bmep: float
    fmep: float
    pmep: float
    imep: float
    mechanical_efficiency: float
    brake_efficiency: float
    bsfc: float
    air_flow: float
    fuel_flow: float
    fuel_volume_flow: float
    ca50: float
    knock_integral: float
    knock_margin: float
    knock_retard: float
    boost_cost: float
    knock_phase: float
    phase_per_log: float
    phase_per_ratio: float
    phase_per_kelvin: float
    phase_per_octane: float
    cost_curve: float
    octane_extrapolation: float
    end_gas_temperature: float
    pressure_at_ignition: float
    exhaust_temperature: float
    heat_to_coolant: float


POINT_GIVES = {
    "power": "kW",
    "manifold_pressure": "kPa",
    "boost": "kPa",
    "exhaust_pressure": "kPa",
    "trapped_air": "mg",
    "residual_fraction": "%",
    "peak_pressure": "bar",
    "peak_pressure_angle": "deg",
    "bmep": "kPa",
    "fmep": "kPa",
    "pmep": "kPa",
    "imep": "kPa",
    "mechanical_efficiency": "%",
    "brake_efficiency": "%",
    "bsfc": "g/(kW*h)",
    "air_flow": "kg/h",
    "fuel_flow": "kg/h",
    "fuel_volume_flow": "L/h",
    "ca50": "deg",
    "knock_integral": "number",
    "knock_margin": "%",
    "knock_retard": "deg",
    "boost_cost": "kPa",
    "knock_phase": "deg",
    "phase_per_log": "deg",
    "phase_per_ratio": "deg",
    "phase_per_kelvin": "deg/K",
    "phase_per_octane": "deg",
    "cost_curve": "kPa/deg^2",
    "octane_extrapolation": "number",
    "end_gas_temperature": "degC",
    "pressure_at_ignition": "bar",
    "exhaust_temperature": "degC",
    "heat_to_coolant": "kW",
}
POINT_SOURCE = (
    "Heywood, Internal Combustion Engine Fundamentals, ch. 9, 13, 14; Chen & Flynn, SAE 650733; "
    "Hohenberg, SAE 790825; Livengood & Wu 1955 with Douaud & Eyzat, SAE 780080"
)
POINT_SLOPES = {
    "knock_phase": {
        "compression_ratio": "phase_per_ratio",
        "charge_temperature": "phase_per_kelvin",
        "octane": "phase_per_octane",
    }
}
POINT_SCATTER = {
    "manifold_pressure": 0.08,
    "exhaust_pressure": 0.10,
    "trapped_air": 0.06,
    "residual_fraction": 0.40,
    "peak_pressure": 0.10,
    "fmep": 0.20,
    "pmep": 0.30,
    "imep": 0.05,
    "mechanical_efficiency": 0.05,
    "brake_efficiency": 0.06,
    "bsfc": 0.06,
    "air_flow": 0.06,
    "fuel_flow": 0.06,
    "fuel_volume_flow": 0.06,
    "ca50": 0.25,
    "knock_integral": 0.30,
    "end_gas_temperature": 0.03,
    "pressure_at_ignition": 0.15,
    "exhaust_temperature": 0.06,
    "heat_to_coolant": 0.30,
}
POINT_SCATTER_SOURCE = (
    "common practice, no source: peak pressure of single cycles spreads by a tenth about their mean; "
    "the rest own judgement of friction, burn, heat-transfer and delay correlations"
)


class Balance(NamedTuple):
    """Mean effective pressures of one cycle [Pa]."""

    given: CycleInput
    period: ClosedPeriod
    peak_pressure: float
    imep: float
    pmep: float
    fmep: float

    @property
    def bmep(self) -> float:
        return self.imep - self.pmep - self.fmep


def balance_at(
    engine: Engine, manifold_pressure: float, ca50: float, near: ClosedPeriod | None = None
) -> Balance:
    """Cycle, pumping and friction at a manifold pressure and phasing; quicker from a cycle that is near."""
    given = engine.at(manifold_pressure, ca50)
    period = integrate(given, checked=True, near=near)
    highest, _ = peak(period.geometry.crank_angle, period.pressure)
    shares = Shares(engine).of(
        manifold_pressure, period.work, highest, period.charge.pressure, float(period.pressure[-1])
    )
    return Balance(given, period, highest, *shares)


class Shares:
    """What pumping and friction leave of a cycle's work to the brake, of one engine.

    Raises
    ------
    OutOfRange
        When the pistons are faster than friction is known for.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._swept = math.pi / 4 * engine.bore**2 * engine.stroke
        # friction is straight in the highest pressure, pumping in those of manifold and exhaust
        at_one, at_two = (
            engine.friction_factor * friction_mean_effective_pressure(bar * 1e5, engine.stroke, engine.speed)
            for bar in (1.0, 2.0)
        )
        self._by_peak = (at_two - at_one) / 1e5
        self._level = at_one - 1e5 * self._by_peak
        self._valves = pumping_mean_effective_pressure(
            1.0, 1.0, engine.stroke, engine.speed, engine.charge_temperature
        )

    def lost(self, manifold_pressure: float, highest: float) -> tuple[float, float]:
        """Mean effective pressures of pumping and friction [Pa]."""
        pumping = self._engine.exhaust_pressure(manifold_pressure) - manifold_pressure
        return pumping + self._valves * manifold_pressure, self._level + self._by_peak * highest

    def of(
        self, manifold_pressure: float, work: float, highest: float, at_closing: float, at_opening: float
    ) -> tuple[float, float, float]:
        """Mean effective pressures: gross indicated, of pumping and of friction [Pa].

        Parameters
        ----------
        manifold_pressure : float
            Absolute [Pa].
        work : float
            Of the closed period [J].
        highest, at_closing, at_opening : float
            Pressures in the cylinder: the peak, where the inlet closes, where the exhaust opens [Pa].
        """
        engine = self._engine
        between = exchange_pressures_at(engine, manifold_pressure, engine.exhaust_pressure(manifold_pressure))
        outside = work_between(engine, between, at_closing, at_opening)
        return (work + outside) / self._swept, *self.lost(manifold_pressure, highest)

    def rise(self, manifold_pressure: float, highest: float, imep: float) -> float:
        """About how much bmep rises with manifold pressure [-]: work and peak grow as the charge does."""
        more = 1e-3
        pumping, friction = self.lost(manifold_pressure, highest)
        then_pumping, then_friction = self.lost((1.0 + more) * manifold_pressure, (1.0 + more) * highest)
        return (more * imep - (then_pumping - pumping) - (then_friction - friction)) / (
            more * manifold_pressure
        )


def report(engine: Engine, balance: Balance, free: float) -> OperatingPoint:
    """Everything there is to say of one point of running.

    Parameters
    ----------
    engine : Engine
        Engine, speed and surroundings.
    balance : Balance
        Where it runs.
    free : float
        Manifold pressure that would do the same with the best phasing [Pa].

    Raises
    ------
    GoalOutOfReach
        When friction takes all there is, or the charge is too full of burned gas to burn.
    """
    given, period = balance.given, balance.period
    manifold_pressure, ca50 = given.manifold_pressure, given.ca50
    cycle = cycle_results(given, period)
    if cycle.residual_fraction > MOST_RESIDUAL:
        raise GoalOutOfReach(
            f"burned gas stands in the way: the charge would hold {cycle.residual_fraction:.0%} of it at "
            f"compression ratio {given.compression_ratio:g} and {manifold_pressure / 1e3:.0f} kPa manifold "
            f"pressure, and does not burn steadily above {MOST_RESIDUAL:.0%}"
        )
    if balance.bmep <= 0.0:
        raise GoalOutOfReach(
            f"friction and pumping ({(balance.fmep + balance.pmep) / 1e3:.0f} kPa) take all that the cycle "
            f"gives ({balance.imep / 1e3:.0f} kPa) at {manifold_pressure / 1e3:.0f} kPa manifold pressure"
        )
    # at the knock limit the search leaves a few parts in a million over
    excess = math.log(max(cycle.knock_integral, 1e-30) / integral_limit(given.octane_in_engine))
    room = knock_phase(given, period, excess, engine.ca50_best, manifold_pressure - free)
    cycles = engine.cylinders * given.speed / (4.0 * math.pi)  # a second, all cylinders
    outside = open_period(given, period)
    air_flow = cycles * period.charge.air
    fuel_flow = cycles * period.charge.fuel
    power = engine.power_of(balance.bmep)
    friction = engine.power_of(balance.fmep)
    return OperatingPoint(
        power=power,
        manifold_pressure=manifold_pressure,
        boost=manifold_pressure - engine.ambient_pressure,
        exhaust_pressure=given.exhaust_pressure,
        trapped_air=cycle.trapped_air,
        residual_fraction=cycle.residual_fraction,
        peak_pressure=cycle.peak_pressure,
        peak_pressure_angle=cycle.peak_pressure_angle,
        bmep=balance.bmep,
        fmep=balance.fmep,
        pmep=balance.pmep,
        imep=balance.imep,
        mechanical_efficiency=balance.bmep / balance.imep,
        brake_efficiency=power / (fuel_flow * given.heating_value),
        bsfc=fuel_flow / power,
        air_flow=air_flow,
        fuel_flow=fuel_flow,
        fuel_volume_flow=fuel_flow / engine.density,
        ca50=ca50,
        knock_integral=cycle.knock_integral,
        knock_margin=max(0.0, -math.expm1(excess)),
        knock_retard=ca50 - engine.ca50_best,
        boost_cost=manifold_pressure - free,
        knock_phase=room.phase,
        phase_per_log=room.per_log,
        phase_per_ratio=room.per_ratio,
        phase_per_kelvin=room.per_kelvin,
        phase_per_octane=room.per_octane,
        cost_curve=room.cost_curve,
        octane_extrapolation=octane_extrapolation(given.octane_in_engine),
        end_gas_temperature=cycle.end_gas_temperature,
        pressure_at_ignition=cycle.pressure_at_ignition,
        exhaust_temperature=cycle.exhaust_temperature,
        heat_to_coolant=cycles * (period.heat_loss + outside.port_heat) + FRICTION_TO_COOLANT * friction,
    )
