"""Belts and chains round two wheels: pitch diameters, length, wrap."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive

__all__ = [
    "belt_pitch_diameter",
    "belt_wrap",
    "chain_length",
    "chain_pitch_diameter",
    "open_belt_length",
]


@formula(takes={"teeth": "number", "pitch": "mm"}, gives="mm", source="definition of belt pitch (ISO 5288)")
def belt_pitch_diameter(teeth: float, pitch: float) -> float:
    """Pitch diameter of a toothed belt wheel.

    Parameters
    ----------
    teeth : float
        [-]
    pitch : float
        Of the belt, [m]

    Returns
    -------
    float
        Diameter at the belt's cord, a little outside the teeth, [m]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] ISO 5288, Synchronous belt drives: vocabulary.

    Examples
    --------
    >>> round(belt_pitch_diameter(44, 8e-3) * 1e3, 2)
    112.05
    """
    positive(teeth=teeth, pitch=pitch)
    return teeth * pitch / math.pi


@formula(takes={"teeth": "number", "pitch": "mm"}, gives="mm", source="ISO 606: pitch polygon of a chain wheel")
def chain_pitch_diameter(teeth: float, pitch: float) -> float:
    """Pitch diameter of a chain wheel.

    Parameters
    ----------
    teeth : float
        At least 5, [-]
    pitch : float
        Of the chain, [m]

    Returns
    -------
    float
        Diameter through the pins, [m]

    Raises
    ------
    OutOfRange
        When the pitch is not above zero or there are fewer than five teeth.

    References
    ----------
    .. [1] ISO 606, Short-pitch transmission precision roller and bush chains.

    Examples
    --------
    >>> round(chain_pitch_diameter(21, 9.525e-3) * 1e3, 2)
    63.91
    """
    positive(teeth=teeth, pitch=pitch)
    if teeth < 5:
        raise OutOfRange(f"teeth must be at least 5, got {teeth:g}")
    return pitch / math.sin(math.pi / teeth)


def _lean(diameter_a: float, diameter_b: float, centre_distance: float) -> float:
    positive(diameter_a=diameter_a, diameter_b=diameter_b, centre_distance=centre_distance)
    if centre_distance <= (diameter_a + diameter_b) / 2:
        raise OutOfRange(
            f"centre_distance must be above {(diameter_a + diameter_b) * 500:g} mm, or the wheels touch; "
            f"got {centre_distance * 1e3:g} mm"
        )
    return math.asin((diameter_b - diameter_a) / (2 * centre_distance))


@formula(
    takes={"diameter_a": "mm", "diameter_b": "mm", "centre_distance": "mm"},
    gives="mm",
    source="Shigley, Mechanical Engineering Design, ch. 17: open belt",
)
def open_belt_length(diameter_a: float, diameter_b: float, centre_distance: float) -> float:
    """Length of an open belt round two wheels.

    Parameters
    ----------
    diameter_a, diameter_b : float
        Pitch diameters, [m]
    centre_distance : float
        Between the shafts, [m]

    Returns
    -------
    float
        Length, [m]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the wheels touch.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, ch. 17.

    Examples
    --------
    >>> round(open_belt_length(0.150, 0.060, 0.300) * 1e3, 1)
    936.6
    """
    lean = _lean(diameter_a, diameter_b, centre_distance)
    straight = 2 * centre_distance * math.cos(lean)
    return straight + (diameter_a * (math.pi - 2 * lean) + diameter_b * (math.pi + 2 * lean)) / 2


@formula(
    takes={"small_diameter": "mm", "large_diameter": "mm", "centre_distance": "mm"},
    gives="deg",
    source="Shigley, Mechanical Engineering Design, ch. 17: open belt",
)
def belt_wrap(small_diameter: float, large_diameter: float, centre_distance: float) -> float:
    """Angle over which an open belt lies on the smaller of two pulleys.

    Parameters
    ----------
    small_diameter, large_diameter : float
        Pitch diameters; the angle belongs to the first, [m]
    centre_distance : float
        Between the shafts, [m]

    Returns
    -------
    float
        Angle of wrap, [rad]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the pulleys touch.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, ch. 17.

    Examples
    --------
    >>> round(math.degrees(belt_wrap(0.070, 0.150, 0.250)), 1)
    161.6
    """
    return math.pi - 2 * _lean(small_diameter, large_diameter, centre_distance)


@formula(
    takes={"teeth_a": "number", "teeth_b": "number", "pitch": "mm", "centre_distance": "mm"},
    gives="number",
    source="Shigley, Mechanical Engineering Design, ch. 17: roller chain",
)
def chain_length(teeth_a: float, teeth_b: float, pitch: float, centre_distance: float) -> float:
    """Links of a chain drawn straight round two wheels.

    Parameters
    ----------
    teeth_a, teeth_b : float
        Of the wheels, [-]
    pitch : float
        Of the chain, [m]
    centre_distance : float
        Between the shafts, [m]

    Returns
    -------
    float
        Links, before rounding up to an even number, [-]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the wheels touch.

    Notes
    -----
    Arcs are counted by teeth, as chain makers do.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, ch. 17.

    Examples
    --------
    >>> round(chain_length(21, 42, 9.525e-3, 0.300), 1)
    94.8
    """
    positive(teeth_a=teeth_a, teeth_b=teeth_b, pitch=pitch)
    return open_belt_length(teeth_a * pitch / math.pi, teeth_b * pitch / math.pi, centre_distance) / pitch
