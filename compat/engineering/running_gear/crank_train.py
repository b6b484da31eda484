"""Worst loads of the crank train over the whole cycle and the speed range.

The worst case of a member is not found at one speed: gas pressure at low speed squeezes the rod, inertia
at the rev limit with the throttle shut stretches it, and the bearings may be worst at either end.
"""

from __future__ import annotations

from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula
from compat.engineering.numerics.ranges import whole
from compat.engineering.running_gear.crank_train_directions import FALLS_WITH, RISES_WITH
from compat.engineering.running_gear.cycle_forces import CycleForces
from compat.engineering.running_gear.main_loads import main_bearing_forces
from compat.engineering.running_gear.ways_of_running import PULL_AWAY, CrankTrain, case_forces

__all__ = ["CrankTrainLoads", "crank_train_loads"]


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


@formula(
    takes={"train": CrankTrain},
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
def crank_train_loads(train: CrankTrain) -> CrankTrainLoads:
    """Worst loads of rod, bearings and crank from lowest full-load speed to the overrun at the rev limit.

    Parameters
    ----------
    train : CrankTrain
        Cylinder, rod, crank, pressures and speeds, SI units.

    Returns
    -------
    CrankTrainLoads
        `rod_compression` and `rod_tension` of the shank; `side_force` of the piston on the wall;
        `cylinder_torque` and `crank_torque`, the highest of one cylinder and of all, and `mean_torque`, the
        indicated mean at `torque_speed`; highest and cycle-mean loads of the big end and of the main bearing
        that has most of each; `main_cap_load` and `main_cap_side_force`, the parts of a main load that pull
        on the cap and push it sideways, [N, N*m, rad/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, the speeds are out of order, or the peak pressure is below that of
        compression alone.

    Notes
    -----
    Full load at the torque speed, the power speed, the rev limit and between, plus the overrun. Pressures
    between torque and power speed run straight from one to the other. Each throw is taken as carried half and
    half by the mains beside it, whichever rods stand there; a stiff crank in a soft block shares otherwise,
    hence the scatter. In a V the cap's own axis is the plane between the banks.
    Torsional vibration of the crank is left out. Rod and piston forces rest on kinematics alone and carry no
    scatter of their own: that of the peak pressure comes in with the argument.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.
    .. [2] Eriksson and Andersson, SAE 2002-01-0371.

    Examples
    --------
    >>> from math import pi
    >>> rpm = pi / 30
    >>> loads = crank_train_loads(CrankTrain(
    ...     bore=0.0855, stroke=0.087, centre_length=0.148, compression_ratio=10.0, reciprocating_mass=0.605,
    ...     rod_rotating_mass=0.36, peak_pressure=63e5, manifold_pressure=98e3, torque_speed=4200 * rpm,
    ...     rev_limit=6500 * rpm, power_speed=5800 * rpm, power_peak_pressure=57e5))
    >>> round(loads.rod_compression), round(loads.rod_tension)
    (29562, 15777)
    """
    import numpy as np

    count = whole("cylinders", train.cylinders, 1, 12)
    if 720 % count:
        raise OutOfRange(f"cylinders must be a whole number that divides 720 degrees evenly, got {count}")
    mains = train.mains
    cases, every = case_forces(train, PULL_AWAY)
    # what stands below the speed of peak torque is for films alone
    first = next(index for index, case in enumerate(cases) if case.name == "peak torque")
    forces = CycleForces(*(force[first:] for force in every))
    speeds = np.array([case.speed for case in cases[first:]])
    pin = np.hypot(forces.pin_axial, forces.pin_lateral)
    sums = forces.torque.reshape(len(speeds), count, -1).sum(axis=1)
    centrifugal = train.net_throw_mass * train.stroke / 2 * speeds**2
    beside = [main_bearing_forces(forces, centrifugal, throws) for throws in mains]
    along, across = np.array([down for down, _ in beside]), np.array([side for _, side in beside])
    main = np.hypot(along, across)
    by_speed = {
        "rod_compression": forces.rod.max(axis=1),
        "big_end_load": pin.max(axis=1),
        "main_load": main.max(axis=(0, 2)),
    }
    return CrankTrainLoads(
        **{name: float(values.max()) for name, values in by_speed.items()},
        **{f"{name}_speed": float(speeds[values.argmax()]) for name, values in by_speed.items()},
        rod_tension=float(-forces.rod.min()),
        side_force=float(np.abs(forces.side).max()),
        cylinder_torque=float(forces.torque.max()),
        crank_torque=float(sums.max()),
        mean_torque=float(sums[0].mean()),
        big_end_mean_load=float(pin.mean(axis=1).max()),
        main_mean_load=float(main.mean(axis=2).max()),
        main_cap_load=float(along.max()),
        main_cap_side_force=float(np.abs(across).max()),
    )
