"""What a working load does to a preloaded bolt and its joint, and the clamp left against the gas."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = [
    "bolt_fatigue_limit",
    "bolt_stress_amplitude",
    "head_lift_pressure",
    "joint_opening_load",
    "preload_for_clamp_ratio",
    "residual_clamp",
    "working_bolt_load",
]


def _share(load_share: float) -> None:
    within("load_share", load_share, 0.0, 0.999)


@formula(
    takes={"preload": "kN", "load_share": "number"},
    gives="kN",
    source="Shigley, Mechanical Engineering Design, ch. 8: joint separation",
    rises_with=("preload", "load_share"),
)
def joint_opening_load(preload: float, load_share: float) -> float:
    """Pull on a bolt at which its joint begins to open.

    Parameters
    ----------
    preload : float
        Of the bolt, [N]
    load_share : float
        Share of the load that the bolt feels, [-]

    Returns
    -------
    float
        Load on this bolt, [N]

    Raises
    ------
    OutOfRange
        When the preload is not above zero or the share lies outside 0 to 0.999.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8.

    Examples
    --------
    >>> round(joint_opening_load(28e3, 0.2))
    35000
    """
    positive(preload=preload)
    _share(load_share)
    return preload / (1 - load_share)


@formula(
    takes={"preload": "kN", "load": "kN", "load_share": "number"},
    gives="kN",
    source="Shigley, Mechanical Engineering Design, ch. 8: bolt under external load",
)
def working_bolt_load(preload: float, load: float, load_share: float) -> float:
    """Force in a preloaded bolt under a working load; the whole load once the joint has opened.

    Parameters
    ----------
    preload, load : float
        Of the bolt, and the pull on it, [N]
    load_share : float
        Share of the load that the bolt feels, [-]

    Returns
    -------
    float
        Force, [N]

    Raises
    ------
    OutOfRange
        When the preload is not above zero, the load is below zero, or the share lies outside 0 to 0.999.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8.

    Examples
    --------
    >>> round(working_bolt_load(28e3, 10e3, 0.2)), round(working_bolt_load(28e3, 40e3, 0.2))
    (30000, 40000)
    """
    positive(preload=preload)
    not_negative(load=load)
    _share(load_share)
    return max(preload + load_share * load, load)


@formula(
    takes={"preload": "kN", "load": "kN", "load_share": "number"},
    gives="kN",
    source="Shigley, Mechanical Engineering Design, ch. 8: members under external load",
)
def residual_clamp(preload: float, load: float, load_share: float) -> float:
    """Clamp left in a joint under a working load; zero once it has opened.

    Parameters
    ----------
    preload, load : float
        Of the bolt, and the pull on it, [N]
    load_share : float
        Share of the load that the bolt feels, [-]

    Returns
    -------
    float
        Force, [N]

    Raises
    ------
    OutOfRange
        When the preload is not above zero, the load is below zero, or the share lies outside 0 to 0.999.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8.

    Examples
    --------
    >>> round(residual_clamp(28e3, 10e3, 0.2)), residual_clamp(28e3, 40e3, 0.2)
    (20000, 0.0)
    """
    return working_bolt_load(preload, load, load_share) - load


@formula(
    takes={"load": "kN", "load_share": "number", "stress_area": "mm^2"},
    gives="MPa",
    source="VDI 2230, part 1: alternating stress of the bolt",
    rises_with=("load", "load_share"),
    falls_with=("stress_area",),
)
def bolt_stress_amplitude(load: float, load_share: float, stress_area: float) -> float:
    """Alternating stress of a bolt whose load comes and goes while its joint stays closed.

    Parameters
    ----------
    load : float
        Greatest pull on the bolt; the least is taken as none, [N]
    load_share : float
        Share of the load that the bolt feels, [-]
    stress_area : float
        Of the thread, [m^2]

    Returns
    -------
    float
        Half the range of stress, [Pa]

    Raises
    ------
    OutOfRange
        When the load is below zero, the area is not above zero, or the share lies outside 0 to 0.999.

    References
    ----------
    .. [1] VDI 2230, part 1.

    Examples
    --------
    >>> round(bolt_stress_amplitude(10.3e3, 0.2, 39.2e-6) / 1e6, 1)
    26.3
    """
    not_negative(load=load)
    positive(stress_area=stress_area)
    _share(load_share)
    return load_share * load / (2 * stress_area)


@formula(
    takes={"nominal_diameter": "mm"},
    gives="MPa",
    source="VDI 2230, part 1: endurance of bolts rolled before heat treatment (from memory)",
    scatter=0.10,
    scatter_source="estimate: the published line stands for 1 % failures; makers' threads differ",
    falls_with=("nominal_diameter",),
)
def bolt_fatigue_limit(nominal_diameter: float) -> float:
    """Alternating stress that a high-strength bolt bears without end: 0.85 (150 mm/d + 45) MPa.

    Parameters
    ----------
    nominal_diameter : float
        Of the thread, [m]

    Returns
    -------
    float
        Stress amplitude on the stress area, [Pa]

    Raises
    ------
    OutOfRange
        When the diameter lies outside 4 to 40 mm.

    Notes
    -----
    Hardly depends on strength class. Threads rolled after heat treatment bear more at low mean stress.

    References
    ----------
    .. [1] VDI 2230, part 1 (from memory).

    Examples
    --------
    >>> round(bolt_fatigue_limit(0.008) / 1e6, 1)
    54.2
    """
    within("nominal_diameter", nominal_diameter, 4e-3, 40e-3, "mm", 1e-3)
    return 0.85 * (0.150 / nominal_diameter + 45) * 1e6


@formula(
    takes={
        "preload": "kN",
        "fasteners_per_cylinder": "number",
        "load_share": "number",
        "gasket_bore": "mm",
        "gasket_line_load": "N/mm",
    },
    gives="bar",
    source="plain statics after Shigley, Mechanical Engineering Design, ch. 8 (gasketed "
    "joints); gasket need common "
    "practice",
    scatter=0.10,
    scatter_source="estimate: fasteners do not share a cylinder evenly, and the head bends between them",
    rises_with=("preload", "fasteners_per_cylinder", "load_share"),
    falls_with=("gasket_bore", "gasket_line_load"),
)
def head_lift_pressure(
    preload: float,
    fasteners_per_cylinder: float,
    load_share: float,
    gasket_bore: float,
    gasket_line_load: float = 60e3,
) -> float:
    """Cylinder pressure at which the clamp on the fire ring falls to what the gasket itself needs.

    Parameters
    ----------
    preload : float
        Of each head fastener: the least that tightening and settling leave, at the worst temperature, [N]
    fasteners_per_cylinder : float
        Head fasteners over cylinders, [-]
    load_share : float
        Share of the load that the fasteners feel, [-]
    gasket_bore : float
        Of the fire ring, [m]
    gasket_line_load : float, optional
        Force for each length of fire ring that keeps it tight; 40 to 100 N/mm is common practice, [N/m]

    Returns
    -------
    float
        Pressure above atmospheric, [Pa]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, or the clamp does not even seat the gasket.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8.

    Examples
    --------
    >>> round(head_lift_pressure(36e3, 2.5, 0.2, 0.087) / 1e5)
    155
    """
    positive(preload=preload, fasteners_per_cylinder=fasteners_per_cylinder, gasket_bore=gasket_bore)
    not_negative(gasket_line_load=gasket_line_load)
    _share(load_share)
    clamp = preload * fasteners_per_cylinder
    need = gasket_line_load * math.pi * gasket_bore
    if clamp <= need:
        raise OutOfRange(
            f"the clamp of a cylinder ({clamp / 1e3:.1f} kN) does not seat its fire ring, which needs "
            f"{need / 1e3:.1f} kN at a gasket_line_load of {gasket_line_load / 1e3:g} N/mm"
        )
    return (clamp - need) / ((1 - load_share) * math.pi / 4 * gasket_bore**2)


@formula(
    takes={"clamp_ratio": "number", "fasteners": "number", "cylinders": "number", "gas_load": "kN"},
    gives="kN",
    source="common practice: clamp ratio solved for the preload",
)
def preload_for_clamp_ratio(clamp_ratio: float, fasteners: float, cylinders: float, gas_load: float) -> float:
    """Preload of each head fastener that reaches a clamp ratio.

    Parameters
    ----------
    clamp_ratio : float
        Clamp for each cylinder over the gas load that lifts the head; 2 on the street, more for long full load
        (common practice), [-]
    fasteners, cylinders : float
        Head fasteners of one head and the cylinders under it, [-]
    gas_load : float
        Peak pressure on the gasket's opening, of one cylinder, [N]

    Returns
    -------
    float
        Preload, [N]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Common practice, no source.

    Examples
    --------
    >>> round(preload_for_clamp_ratio(2.0, 10, 4, 71.1e3) / 1e3, 1)
    56.9
    """
    positive(clamp_ratio=clamp_ratio, fasteners=fasteners, cylinders=cylinders, gas_load=gas_load)
    return clamp_ratio * gas_load * cylinders / fasteners
