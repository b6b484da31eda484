"""Clamp of the head fasteners against the gas that lifts the head."""

from __future__ import annotations

from compat.engineering.formula import formula, positive

__all__ = ["clamp_ratio", "preload_for_clamp_ratio"]


@formula(
    takes={"fasteners": "number", "cylinders": "number", "preload": "kN", "gas_load": "kN"},
    gives="number",
    source="common practice: clamp for each cylinder over the gas load on the gasket's opening",
)
def clamp_ratio(fasteners: float, cylinders: float, preload: float, gas_load: float) -> float:
    """Clamp load for each cylinder over the gas load that lifts the head.

    Parameters
    ----------
    fasteners, cylinders : float
        Head fasteners of one head and the cylinders under it, [-]
    preload : float
        Of each fastener, [N]
    gas_load : float
        Peak pressure on the gasket's opening, of one cylinder, [N]

    Returns
    -------
    float
        Ratio, [-]; common practice asks for 2 on the street and more for long full load.

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    Notes
    -----
    Shares the fasteners evenly; end cylinders and stiffness of head and block are left out.

    References
    ----------
    .. [1] Common practice, no source.

    Examples
    --------
    >>> round(clamp_ratio(fasteners=10, cylinders=4, preload=44e3, gas_load=37.67e3), 2)
    2.92
    """
    positive(fasteners=fasteners, cylinders=cylinders, preload=preload, gas_load=gas_load)
    return fasteners / cylinders * preload / gas_load


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
        Ratio wanted, [-]
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
