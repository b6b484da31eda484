"""Phasing that keeps the end gas from igniting by itself."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

from compat.engineering.cycle.closed_cycle import (
    BEST_CA50,
    CYCLE_TAKES,
    EXHAUST_OPENS,
    INLET_CLOSES,
    WALL_TEMPERATURE,
    cycle_results,
)
from compat.engineering.cycle.cycle_input import CycleInput, check_cycle_input
from compat.engineering.cycle.cycle_integration import integrate
from compat.engineering.cycle.knock import integral_limit, knock_excess, octane_extrapolation
from compat.engineering.formula import OutOfRange, formula
from compat.engineering.numerics.bracketing import bracketed_root

__all__ = ["LATEST_CA50", "KnockLimit", "knock_limited_ca50", "least_retard"]

LATEST_CA50 = math.radians(35.0)
"""Later than this combustion is unsteady and the exhaust too hot to hold; common practice."""

_ANGLE_TOLERANCE = 1e-6


class KnockLimit(NamedTuple):
    """Phasing at the limit of knock and what it costs; SI units."""

    ca50: float
    retard: float
    knock_integral: float
    integral_limit: float
    efficiency_cost: float
    octane_extrapolation: float


def least_retard(excess: Callable[[float], float], best: float, latest: float) -> float | None:
    """Earliest phasing from `best` on at which there is no knock; None when it knocks up to `latest`."""
    at_best = excess(best)
    if at_best <= 0.0:
        return best
    low, at_low = best, at_best
    # The log of the integral falls nearly straight; go by the slope with a little over, then close in.
    stride = math.radians(3.0)
    while low < latest:
        high = min(low + stride, latest)
        at_high = excess(high)
        if at_high <= 0.0:
            return bracketed_root(excess, low, high, at_low, at_high, _ANGLE_TOLERANCE)
        slope = (at_low - at_high) / (high - low)
        wanted = 1.15 * at_high / slope if slope > 0.0 else stride
        stride = min(max(wanted, math.radians(1.0)), math.radians(8.0))
        low, at_low = high, at_high
    return None


@formula(
    takes=CYCLE_TAKES | {"ca50_best": "deg", "ca50_latest": "deg"},
    gives={
        "ca50": "deg",
        "retard": "deg",
        "knock_integral": "number",
        "integral_limit": "number",
        "efficiency_cost": "%",
        "octane_extrapolation": "number",
    },
    source="Livengood & Wu 1955 with Douaud & Eyzat, SAE 780080, on the closed cycle",
    scatter={"ca50": 0.25, "retard": 0.4, "knock_integral": 0.30, "efficiency_cost": 0.4},
    scatter_source="own judgement: spread of the delay fit, of chambers and of single cycles",
    heavy=True,
)
def knock_limited_ca50(
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
    ca50_best: float = BEST_CA50,
    ca50_latest: float = LATEST_CA50,
    burn_factor: float = 1.0,
    wall_temperature: float = WALL_TEMPERATURE,
    inlet_closes: float = INLET_CLOSES,
    exhaust_opens: float = EXHAUST_OPENS,
    evaporated_share: float = 0.30,
    octane_sensitivity: float = 10.0,
) -> KnockLimit:
    """Phasing of the burn to which knock forces the ignition, at a given charge.

    Parameters
    ----------
    bore, stroke, rod_length, compression_ratio, speed, manifold_pressure, charge_temperature : float
        As `closed_cycle`.
    volumetric_efficiency, octane, stoichiometric_ratio, heating_value, heat_of_vaporisation : float
        As `closed_cycle`.
    relative_air_fuel_ratio, exhaust_pressure, burn_factor, wall_temperature, inlet_closes : float
        As `closed_cycle`.
    exhaust_opens, evaporated_share, octane_sensitivity : float
        As `closed_cycle`.
    ca50_best : float
        Angle of half the charge burned at which torque is best [rad].
    ca50_latest : float
        Latest such angle that is run [rad].

    Returns
    -------
    KnockLimit
        The angle and how far it lies past the best [rad]; knock integral there and the limit it is held
        below [-]; what the retard costs in indicated efficiency, relative [-]; points by which the octane
        number lies outside 80 to 100 [-].

    Raises
    ------
    OutOfRange
        When it knocks however late it burns, or an argument lies outside the model.

    Notes
    -----
    The integral of the mean cycle is held at 0.8, so that the quick cycles stay below one. Where the octane
    number lies outside 80 to 100 the delay is extrapolated: the limit is then lowered further, and the number
    of points is given so that a reader sees it. Knock must be settled by listening to the engine:
    the figure is a guide to what the charge asks for, no ignition map.

    References
    ----------
    1. J. C. Livengood, P. C. Wu, 5th Symposium (International) on Combustion (1955) 347.
    2. A. M. Douaud, P. Eyzat, SAE 780080.
    3. J. B. Heywood, Internal Combustion Engine Fundamentals, section 9.6.

    Examples
    --------
    >>> k = knock_limited_ca50(
    ...     0.086, 0.086, 0.145, 9.0, 314.0, 180e3, 320.0, 0.9, 95.0, 14.6, 43e6, 350e3, 0.9, 190e3)
    >>> k.retard > 0, round(k.knock_integral, 4)
    (True, 0.8)
    """
    given = CycleInput(
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
        ca50_best,
        burn_factor,
        wall_temperature,
        inlet_closes,
        exhaust_opens,
        evaporated_share,
        octane_sensitivity,
    )
    check_cycle_input(given)
    check_cycle_input(replace(given, ca50=ca50_latest))
    if ca50_latest < ca50_best:
        raise OutOfRange(
            f"ca50_latest ({math.degrees(ca50_latest):g} deg) lies before "
            f"ca50_best ({math.degrees(ca50_best):g} deg)"
        )

    def excess(angle: float) -> float:
        late = replace(given, ca50=angle)
        return knock_excess(integrate(late, checked=True), late)

    ca50 = least_retard(excess, ca50_best, ca50_latest)
    if ca50 is None:
        raise OutOfRange(
            f"octane {octane:g} knocks at {manifold_pressure / 1e3:.0f} kPa manifold pressure, compression "
            f"ratio {compression_ratio:g} even with half the charge burned as late as "
            f"{math.degrees(ca50_latest):g} deg after top dead centre"
        )
    best = cycle_results(given, integrate(given, checked=True))
    late = replace(given, ca50=ca50)
    held = cycle_results(late, integrate(late, checked=True))
    return KnockLimit(
        ca50=ca50,
        retard=ca50 - ca50_best,
        knock_integral=held.knock_integral,
        integral_limit=integral_limit(given.octane_in_engine),
        efficiency_cost=1.0 - held.indicated_efficiency / best.indicated_efficiency,
        octane_extrapolation=octane_extrapolation(given.octane_in_engine),
    )
