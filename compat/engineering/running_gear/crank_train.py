"""Forces in the crank train over the whole cycle and the speed range: the worst of each.

The worst case of a member is not found at one speed: gas pressure at low speed squeezes the rod, inertia
at the rev limit with the throttle shut stretches it, and the bearings may be worst at either end.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import finite, not_negative, within
from compat.engineering.running_gear.crank_train_directions import FALLS_WITH, RISES_WITH
from compat.engineering.running_gear.cycle_forces import cycle_forces, main_bearing_forces
from compat.engineering.running_gear.gas_trace import CA50_BEST, gas_trace, motored_trace

__all__ = ["CrankTrainLoads", "GasCase", "crank_train_loads", "gas_cases"]


class CrankTrainLoads(NamedTuple):
    """Worst forces of the crank train."""

    rod_compression: float
    rod_compression_speed: float
    rod_tension: float
    side_force: float
    cylinder_torque: float
    crank_torque: float
    mean_torque: float
    big_end_load: float
    big_end_load_speed: float
    big_end_mean_load: float
    main_load: float
    main_load_speed: float
    main_mean_load: float
    main_cap_load: float
    main_cap_side_force: float


class GasCase(NamedTuple):
    """One way of running that the crank train is held against."""

    name: str
    speed: float
    trace: tuple[float, ...]
    """Absolute cylinder pressure at each crank degree of `gas_trace`, [Pa]"""


def gas_cases(
    stroke: float,
    centre_length: float,
    compression_ratio: float,
    peak_pressure: float,
    manifold_pressure: float,
    torque_speed: float,
    rev_limit: float,
    power_speed: float | None = None,
    power_peak_pressure: float | None = None,
    overrun_pressure: float = 30e3,
    exhaust_pressure: float = 105e3,
    ca50: float = CA50_BEST,
) -> list[GasCase]:
    """Gas traces of the ways of running among which the worst loads of the crank train are sought.

    Parameters
    ----------
    stroke, centre_length, compression_ratio, peak_pressure, manifold_pressure, torque_speed, rev_limit, \
    power_speed, power_peak_pressure, overrun_pressure, exhaust_pressure, ca50
        As `crank_train_loads`.

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
    >>> cases = gas_cases(0.087, 0.148, 10.0, 63e5, 98e3, 4200 * rpm, 6500 * rpm, 5800 * rpm, 57e5)
    >>> [(case.name, round(case.speed / rpm), round(max(case.trace) / 1e5)) for case in cases][::2]
    [('peak torque', 4200, 63), ('peak power', 5800, 57), ('overrun', 6500, 6)]
    """
    top = rev_limit if power_speed is None else power_speed
    if not torque_speed <= top <= rev_limit:
        raise OutOfRange(
            "torque_speed, power_speed and rev_limit must follow in this order, got "
            f"{torque_speed * 30 / math.pi:.0f}, {top * 30 / math.pi:.0f} and "
            f"{rev_limit * 30 / math.pi:.0f} rpm"
        )
    top_pressure = peak_pressure if power_peak_pressure is None else power_peak_pressure
    points = [("peak torque", torque_speed, peak_pressure), ("rev limit", rev_limit, top_pressure)]
    if torque_speed < top:
        half = ("half way", (torque_speed + top) / 2, (peak_pressure + top_pressure) / 2)
        points[1:1] = [half, ("peak power", top, top_pressure)]
    shape = (stroke, centre_length, compression_ratio)
    cases = [
        GasCase(name, speed, gas_trace(*shape, pressure, manifold_pressure, exhaust_pressure, ca50))
        for name, speed, pressure in points
    ]
    overrun = motored_trace(*shape, overrun_pressure)
    return [*cases, GasCase("overrun", rev_limit, overrun)]


@formula(
    takes={
        "bore": "mm",
        "stroke": "mm",
        "centre_length": "mm",
        "compression_ratio": "number",
        "reciprocating_mass": "g",
        "rod_rotating_mass": "g",
        "peak_pressure": "bar",
        "manifold_pressure": "kPa",
        "torque_speed": "rpm",
        "rev_limit": "rpm",
        "power_speed": "rpm",
        "power_peak_pressure": "bar",
        "overrun_pressure": "kPa",
        "exhaust_pressure": "kPa",
        "cylinders": "number",
        "net_throw_mass": "g",
        "main_firing_offset": "deg",
        "ca50": "deg",
    },
    gives={
        "rod_compression": "kN",
        "rod_compression_speed": "rpm",
        "rod_tension": "kN",
        "side_force": "kN",
        "cylinder_torque": "N*m",
        "crank_torque": "N*m",
        "mean_torque": "N*m",
        "big_end_load": "kN",
        "big_end_load_speed": "rpm",
        "big_end_mean_load": "kN",
        "main_load": "kN",
        "main_load_speed": "rpm",
        "main_mean_load": "kN",
        "main_cap_load": "kN",
        "main_cap_side_force": "kN",
    },
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2; Taylor, The "
    "Internal-Combustion Engine in "
    "Theory and Practice, vol. 2; gas trace after Eriksson and Andersson, SAE 2002-01-0371",
    scatter={
        "side_force": 0.07,
        "cylinder_torque": 0.05,
        "crank_torque": 0.07,
        "mean_torque": 0.05,
        "big_end_mean_load": 0.05,
        "main_load": 0.20,
        "main_mean_load": 0.20,
        "main_cap_load": 0.20,
        "main_cap_side_force": 0.20,
    },
    scatter_source="gas trace against computed cycles of the same peak; estimate: sharing of a throw's "
    "load between two mains",
    heavy=True,
    sensitive_to=(),
    rises_with=RISES_WITH,
    falls_with=FALLS_WITH,
)
def crank_train_loads(
    bore: float,
    stroke: float,
    centre_length: float,
    compression_ratio: float,
    reciprocating_mass: float,
    rod_rotating_mass: float,
    peak_pressure: float,
    manifold_pressure: float,
    torque_speed: float,
    rev_limit: float,
    power_speed: float | None = None,
    power_peak_pressure: float | None = None,
    overrun_pressure: float = 30e3,
    exhaust_pressure: float = 105e3,
    cylinders: float = 4,
    net_throw_mass: float = 0.0,
    main_firing_offset: float = math.radians(360),
    ca50: float = CA50_BEST,
) -> CrankTrainLoads:
    """Worst loads of rod, bearings and crank from lowest full-load speed to the overrun at the rev limit.

    Parameters
    ----------
    bore, stroke, centre_length : float
        Cylinder, piston travel and rod length between bore centres, [m]
    compression_ratio : float
        Geometric, [-]
    reciprocating_mass : float
        Piston, pin, clips, rings and the reciprocating share of the rod, [kg]
    rod_rotating_mass : float
        Rotating share of the rod with its bolts and shells, [kg]
    peak_pressure : float
        Highest cylinder pressure, at `torque_speed`, absolute, [Pa]
    manifold_pressure : float
        At full load, absolute, [Pa]
    torque_speed : float
        Lowest speed at which the peak pressure is reached, [rad/s]
    rev_limit : float
        Highest speed, [rad/s]
    power_speed : float, optional
        Speed from which `power_peak_pressure` holds up to the limit; default the rev limit, [rad/s]
    power_peak_pressure : float, optional
        Highest cylinder pressure there, absolute; default `peak_pressure`, [Pa]
    overrun_pressure : float, optional
        Manifold pressure with the throttle shut at the rev limit, absolute, [Pa]
    exhaust_pressure : float, optional
        Cylinder pressure on the exhaust stroke at full load, absolute, [Pa]
    cylinders : float, optional
        Evenly firing cylinders on the crank, [-]
    net_throw_mass : float, optional
        What crankpin and webs of a throw leave over after their counterweights, as a mass at the crank
        radius; below zero where the weights outweigh them, [kg]
    main_firing_offset : float, optional
        Crank angle between the firings of the two cylinders beside the main bearing; 360 deg is the centre
        main of an in-line four, 180 deg its neighbours, [rad]
    ca50 : float, optional
        Half the charge burned, after top dead centre; later where knock holds the ignition back, [rad]

    Returns
    -------
    CrankTrainLoads
        `rod_compression` and `rod_tension` of the shank; `side_force` of the piston on the wall;
        `cylinder_torque` and `crank_torque`, the highest of one cylinder and of all, and `mean_torque`, the
        indicated mean at `torque_speed`; highest and cycle-mean loads of the big end and of the main bearing;
        `main_cap_load` and `main_cap_side_force`, the parts of the main load that pull on the cap and push
        it sideways, [N, N*m, rad/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, the speeds are out of order, or the peak pressure is below that of
        compression alone.

    Notes
    -----
    Full load at the torque speed, the power speed, the rev limit and between, plus the overrun. Pressures
    between torque and power speed run straight from one to the other. Each throw is taken as carried half and
    half by the mains beside it; a stiff crank in a soft block shares otherwise, hence the scatter.
    Torsional vibration of the crank is left out. Rod and piston forces rest on kinematics alone and carry no
    scatter of their own: that of the peak pressure comes in with the argument.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.
    .. [2] Eriksson and Andersson, SAE 2002-01-0371.

    Examples
    --------
    >>> rpm = math.pi / 30
    >>> loads = crank_train_loads(
    ...     0.0855, 0.087, 0.148, 10.0, 0.605, 0.36, 63e5, 98e3, 4200 * rpm, 6500 * rpm, 5800 * rpm, 57e5)
    >>> round(loads.rod_compression), round(loads.rod_tension)
    (29562, 15777)
    """
    positive(bore=bore, reciprocating_mass=reciprocating_mass, torque_speed=torque_speed, rev_limit=rev_limit)
    positive(overrun_pressure=overrun_pressure, manifold_pressure=manifold_pressure)
    not_negative(rod_rotating_mass=rod_rotating_mass)
    finite(net_throw_mass=net_throw_mass, main_firing_offset=main_firing_offset)
    within("cylinders", cylinders, 1, 12)
    count = round(cylinders)
    if abs(count - cylinders) > 1e-9 or 720 % count:
        raise OutOfRange(f"cylinders must be a whole number that divides 720 degrees evenly, got {cylinders:g}")
    cases = gas_cases(
        stroke, centre_length, compression_ratio, peak_pressure, manifold_pressure, torque_speed, rev_limit,
        power_speed, power_peak_pressure, overrun_pressure, exhaust_pressure, ca50,
    )  # fmt: skip
    offset = round(math.degrees(main_firing_offset)) % 720

    def add(worst: dict[str, float], name: str, value: float, speed: float) -> None:
        if value > worst.get(name, -math.inf):
            worst[name] = value
            worst[name + "_speed"] = speed

    worst: dict[str, float] = {}
    for _, speed, trace in cases:
        forces = cycle_forces(trace, bore, stroke, centre_length, reciprocating_mass, rod_rotating_mass, speed)
        add(worst, "rod_compression", max(forces.rod), speed)
        add(worst, "rod_tension", -min(forces.rod), speed)
        add(worst, "side_force", max(max(forces.side), -min(forces.side)), speed)
        add(worst, "cylinder_torque", max(forces.torque), speed)
        step = 720 // count
        sums = [sum(forces.torque[(i + k * step) % 720] for k in range(count)) for i in range(step)]
        add(worst, "crank_torque", max(sums), speed)
        worst.setdefault("mean_torque", sum(sums) / len(sums))
        pin = [math.hypot(x, y) for x, y in zip(forces.pin_axial, forces.pin_lateral, strict=True)]
        add(worst, "big_end_load", max(pin), speed)
        add(worst, "big_end_mean_load", sum(pin) / len(pin), speed)
        axial, lateral = main_bearing_forces(forces, net_throw_mass * stroke / 2 * speed**2, offset)
        main = [math.hypot(x, y) for x, y in zip(axial, lateral, strict=True)]
        add(worst, "main_load", max(main), speed)
        add(worst, "main_mean_load", sum(main) / len(main), speed)
        add(worst, "main_cap_load", max(axial), speed)
        add(worst, "main_cap_side_force", max(max(lateral), -min(lateral)), speed)
    return CrankTrainLoads(**{name: worst[name] for name in CrankTrainLoads._fields})
