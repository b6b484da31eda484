"""The ways of running that a crank train is held against, and the forces of a cylinder in each of them."""

import math
from collections.abc import Callable
from functools import lru_cache
from typing import Annotated, NamedTuple

from compat.engineering.formula import OutOfRange, positive
from compat.engineering.numerics.ranges import finite, not_negative, whole
from compat.engineering.running_gear.cycle_forces import CycleForces, cycle_forces
from compat.engineering.running_gear.gas_trace import CA50_BEST, gas_trace, motored_trace
from compat.engineering.running_gear.main_loads import FIRING, NUMBERING, Throw, throws_beside_mains
from compat.record import record

__all__ = [
    "PULL_AWAY",
    "CrankTrain",
    "GasCase",
    "case_forces",
    "check_crank_train",
    "gas_cases",
    "pull_away_cases",
]

PULL_AWAY = 1500 * math.pi / 30
"""Lowest speed at which the throttle is opened wide; common practice, no source [rad/s]."""

AIR = 101325.0
"""What fills an engine that no compressor helps yet, [Pa]."""


@record(kw_only=True)
class CrankTrain:
    """Cylinder, rod and crank with the pressures and speeds of the goal."""

    bore: Annotated[float, "mm", "Cylinder diameter [m]"]
    stroke: Annotated[float, "mm", "Piston travel [m]"]
    centre_length: Annotated[float, "mm", "Rod length between bore centres [m]"]
    compression_ratio: Annotated[float, "number", "Geometric [-]"]
    reciprocating_mass: Annotated[
        float, "g", "Piston, pin, clips, rings and the reciprocating share of the rod [kg]"
    ]
    rod_rotating_mass: Annotated[float, "g", "Rotating share of the rod with its bolts and shells [kg]"]
    peak_pressure: Annotated[float, "bar", "Highest cylinder pressure, at `torque_speed`, absolute [Pa]"]
    manifold_pressure: Annotated[float, "kPa", "At full load, absolute [Pa]"]
    torque_speed: Annotated[float, "rpm", "Lowest speed at which the peak pressure is reached [rad/s]"]
    rev_limit: Annotated[float, "rpm", "Highest speed [rad/s]"]
    power_speed: Annotated[
        float | None,
        "rpm",
        "Speed from which `power_peak_pressure` holds up to the limit; default the rev limit [rad/s]",
    ] = None
    power_peak_pressure: Annotated[
        float | None, "bar", "Highest cylinder pressure there, absolute; default `peak_pressure` [Pa]"
    ] = None
    overrun_pressure: Annotated[
        float, "kPa", "Manifold pressure with the throttle shut at the rev limit, absolute [Pa]"
    ] = 30e3
    exhaust_pressure: Annotated[
        float, "kPa", "Cylinder pressure on the exhaust stroke at full load, absolute [Pa]"
    ] = 105e3
    cylinders: Annotated[float, "number", "On the crank; evenly firing where torques are asked for [-]"] = 4
    main_bearings: Annotated[float, "number", "Of the engine [-]"] = 5
    firing_order: Annotated[str, (), "Numbers of the cylinders as they fire, with hyphens"] = "1-3-4-2"
    numbering: Annotated[str, NUMBERING, "Cylinders numbered in line, by bank, or across the crank"] = "in_line"
    bank_angle: Annotated[float, "deg", "Between the banks of a V [rad]"] = 0.0
    firing: Annotated[
        str, FIRING, "Intervals even, or uneven where the two rods of a bay share one crankpin"
    ] = "even"
    net_throw_mass: Annotated[
        float,
        "g",
        "What crankpin and webs of a rod leave over after their counterweights, as a mass at the crank "
        "radius; below zero where the weights outweigh them [kg]",
    ] = 0.0
    ca50: Annotated[
        float, "deg", "Half the charge burned, after top dead centre; later where knock holds it back [rad]"
    ] = CA50_BEST

    @property
    def top(self) -> tuple[float, float]:
        """Speed of peak power and the peak pressure there [rad/s, Pa]."""
        return (
            self.rev_limit if self.power_speed is None else self.power_speed,
            self.peak_pressure if self.power_peak_pressure is None else self.power_peak_pressure,
        )

    @property
    def mains(self) -> tuple[tuple[Throw, ...], ...]:
        """Rods beside each of the main bearings that are loaded differently."""
        return throws_beside_mains(
            whole("cylinders", self.cylinders, 1, 12),
            whole("main_bearings", self.main_bearings, 2, 13),
            self.firing_order,
            self.numbering,
            self.bank_angle,
            self.firing,
        )


class GasCase(NamedTuple):
    """One way of running that the crank train is held against."""

    name: str
    speed: float
    trace: tuple[float, ...]
    """Absolute cylinder pressure at each crank degree of `gas_trace`, [Pa]"""


def check_crank_train(train: CrankTrain) -> None:
    """Refuse what makes no sense.

    Raises
    ------
    OutOfRange
        Naming the argument, its value and what holds; also when the speeds are out of order.
    """
    positive(
        bore=train.bore,
        reciprocating_mass=train.reciprocating_mass,
        torque_speed=train.torque_speed,
        rev_limit=train.rev_limit,
        overrun_pressure=train.overrun_pressure,
        manifold_pressure=train.manifold_pressure,
    )
    not_negative(rod_rotating_mass=train.rod_rotating_mass)
    finite(net_throw_mass=train.net_throw_mass)
    # refused where the rods do not stand evenly between the mains
    _ = train.mains
    top, _ = train.top
    if not train.torque_speed <= top <= train.rev_limit:
        raise OutOfRange(
            "torque_speed, power_speed and rev_limit must follow in this order, got "
            f"{train.torque_speed * 30 / math.pi:.0f}, {top * 30 / math.pi:.0f} and "
            f"{train.rev_limit * 30 / math.pi:.0f} rpm"
        )


def _tracer(train: CrankTrain) -> Callable[[float, float], tuple[float, ...]]:
    """The trace of a peak and a manifold pressure."""

    def traced(peak: float, manifold: float) -> tuple[float, ...]:
        return gas_trace(
            train.stroke,
            train.centre_length,
            train.compression_ratio,
            peak,
            manifold,
            train.exhaust_pressure,
            train.ca50,
        )

    return traced


def gas_cases(train: CrankTrain) -> list[GasCase]:
    """Gas traces of the ways of running among which the worst loads of the crank train are sought.

    Parameters
    ----------
    train : CrankTrain
        Cylinder, rod, crank, pressures and speeds.

    Returns
    -------
    list of GasCase
        Full load at peak torque, half way to peak power, at peak power and at the rev limit, as far as these
        differ, then the overrun at the rev limit; speeds [rad/s].

    Raises
    ------
    OutOfRange
        When the speeds are out of order, or the peak pressure is below that of compression alone.

    Examples
    --------
    >>> rpm = math.pi / 30
    >>> cases = gas_cases(CrankTrain(
    ...     bore=0.0855, stroke=0.087, centre_length=0.148, compression_ratio=10.0, reciprocating_mass=0.605,
    ...     rod_rotating_mass=0.36, peak_pressure=63e5, manifold_pressure=98e3, torque_speed=4200 * rpm,
    ...     rev_limit=6500 * rpm, power_speed=5800 * rpm, power_peak_pressure=57e5))
    >>> [(case.name, round(case.speed / rpm), round(max(case.trace) / 1e5)) for case in cases][::2]
    [('peak torque', 4200, 63), ('peak power', 5800, 57), ('overrun', 6500, 6)]
    """
    check_crank_train(train)
    top, top_pressure = train.top
    points = [
        ("peak torque", train.torque_speed, train.peak_pressure),
        ("rev limit", train.rev_limit, top_pressure),
    ]
    if train.torque_speed < top:
        half = ("half way", (train.torque_speed + top) / 2, (train.peak_pressure + top_pressure) / 2)
        points[1:1] = [half, ("peak power", top, top_pressure)]
    traced = _tracer(train)
    cases = [GasCase(name, speed, traced(peak, train.manifold_pressure)) for name, speed, peak in points]
    overrun = motored_trace(train.stroke, train.centre_length, train.compression_ratio, train.overrun_pressure)
    return [*cases, GasCase("overrun", train.rev_limit, overrun)]


def pull_away_cases(train: CrankTrain, pull_away_speed: float) -> list[GasCase]:
    """Full load below the speed of peak torque: gas presses longest where oil is carried round slowest.

    Parameters
    ----------
    train : CrankTrain
        Cylinder, rod, crank, pressures and speeds.
    pull_away_speed : float
        Lowest speed at which the throttle is opened wide, [rad/s]

    Returns
    -------
    list of GasCase
        At that speed and half way to peak torque; none where peak torque lies no higher.

    Notes
    -----
    No compressor has built up pressure at the lowest speed: the peak is that of peak torque, less by as much as
    the air that fills the cylinder; half way it is half way.

    Examples
    --------
    >>> rpm = math.pi / 30
    >>> cases = pull_away_cases(CrankTrain(
    ...     bore=0.0855, stroke=0.087, centre_length=0.148, compression_ratio=8.8, reciprocating_mass=0.678,
    ...     rod_rotating_mass=0.42, peak_pressure=92e5, manifold_pressure=171e3, torque_speed=3200 * rpm,
    ...     rev_limit=6500 * rpm), 1500 * rpm)
    >>> [(case.name, round(case.speed / rpm), round(max(case.trace) / 1e5)) for case in cases]
    [('pull away', 1500, 55), ('gathering', 2350, 73)]
    """
    positive(pull_away_speed=pull_away_speed)
    if pull_away_speed >= train.torque_speed:
        return []
    air = min(train.manifold_pressure, AIR)
    peak = train.peak_pressure * air / train.manifold_pressure
    traced = _tracer(train)
    half_air, half_peak = (air + train.manifold_pressure) / 2, (peak + train.peak_pressure) / 2
    return [
        GasCase("pull away", pull_away_speed, traced(peak, air)),
        GasCase("gathering", (pull_away_speed + train.torque_speed) / 2, traced(half_peak, half_air)),
    ]


@lru_cache(maxsize=4)
def case_forces(train: CrankTrain, pull_away_speed: float) -> tuple[tuple[GasCase, ...], CycleForces]:
    """Ways of running from pulling away to the overrun, and the forces of a cylinder in each.

    Parameters
    ----------
    train : CrankTrain
        Cylinder, rod, crank, pressures and speeds.
    pull_away_speed : float
        As for `pull_away_cases`, [rad/s]

    Returns
    -------
    tuple
        Cases, and forces with a row for each of them; loads and films of one engine share them.

    Raises
    ------
    OutOfRange
        As for `gas_cases`.
    """
    cases = (*pull_away_cases(train, pull_away_speed), *gas_cases(train))
    forces = cycle_forces(
        [case.trace for case in cases],
        train.bore,
        train.stroke,
        train.centre_length,
        train.reciprocating_mass,
        train.rod_rotating_mass,
        [case.speed for case in cases],
    )
    return cases, forces
