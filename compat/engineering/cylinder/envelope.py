"""Room round the moving parts: skirt, counterweight, big end."""

from __future__ import annotations

import math

from compat.engineering.cylinder.crank_motion import rod_angle
from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import finite

__all__ = [
    "big_end_swing",
    "bore_overhang",
    "rod_to_bore_gap",
    "skirt_to_counterweight",
]


@formula(
    takes={
        "centre_length": "mm",
        "stroke": "mm",
        "skirt_below_pin": "mm",
        "counterweight_radius": "mm",
    },
    gives="mm",
    source="common practice: heights on the cylinder axis at bottom dead centre",
    sum_of={"centre_length": 1.0, "stroke": -0.5, "skirt_below_pin": -1.0, "counterweight_radius": -1.0},
)
def skirt_to_counterweight(
    centre_length: float, stroke: float, skirt_below_pin: float, counterweight_radius: float
) -> float:
    """Gap between skirt and counterweight at bottom dead centre.

    Parameters
    ----------
    centre_length, stroke : float
        Rod length between bore centres and piston travel, [m]
    skirt_below_pin : float
        Pin axis to the lowest edge of skirt or boss above the weights, [m]
    counterweight_radius : float
        Greatest radius of the counterweights from the crank axis, [m]

    Returns
    -------
    float
        Gap, [m]; negative says that they meet.

    Raises
    ------
    OutOfRange
        When a length is not above zero.

    Notes
    -----
    Taken on the cylinder axis, where a round counterweight comes closest.

    References
    ----------
    .. [1] Common practice; plain geometry.

    Examples
    --------
    >>> round(skirt_to_counterweight(0.148, 0.087, 0.024, 0.076) * 1e3, 2)
    4.5
    """
    positive(
        centre_length=centre_length,
        stroke=stroke,
        skirt_below_pin=skirt_below_pin,
        counterweight_radius=counterweight_radius,
    )
    return centre_length - stroke / 2 - skirt_below_pin - counterweight_radius


@formula(
    takes={"stroke": "mm", "big_end_reach": "mm"},
    gives="mm",
    source="common practice: crank throw and reach in one line",
    sum_of={"stroke": 0.5, "big_end_reach": 1.0},
)
def big_end_swing(stroke: float, big_end_reach: float) -> float:
    """Greatest radius that cap, shoulder or bolt of the big end sweeps about the crank axis.

    Parameters
    ----------
    stroke : float
        Piston travel, [m]
    big_end_reach : float
        Big-end centre to the outermost corner of cap, shoulder or bolt, [m]

    Returns
    -------
    float
        Radius, [m]

    Raises
    ------
    OutOfRange
        When either length is not above zero.

    Notes
    -----
    Reached once each turn, when the corner lies in line with the throw; where in the crankcase that
    happens depends on the lean of the rod, which `rod_to_bore_gap` follows.

    References
    ----------
    .. [1] Common practice; plain geometry.

    Examples
    --------
    >>> round(big_end_swing(stroke=0.087, big_end_reach=0.035) * 1e3, 2)
    78.5
    """
    positive(stroke=stroke, big_end_reach=big_end_reach)
    return stroke / 2 + big_end_reach


@formula(
    takes={
        "stroke": "mm",
        "centre_length": "mm",
        "shoulder_half_width": "mm",
        "shoulder_height": "mm",
        "bore": "mm",
        "bore_bottom_height": "mm",
    },
    gives="mm",
    source="plain geometry of the slider-crank, searched over the crank angle",
    rises_with=("bore", "bore_bottom_height"),
    falls_with=("stroke", "shoulder_half_width"),
)
def rod_to_bore_gap(
    stroke: float,
    centre_length: float,
    shoulder_half_width: float,
    shoulder_height: float,
    bore: float,
    bore_bottom_height: float,
) -> float:
    """Least gap between the rod's shoulder and the lower end of the cylinder over a whole turn.

    Parameters
    ----------
    stroke, centre_length : float
        Piston travel and rod length between bore centres, [m]
    shoulder_half_width : float
        From the rod's centre line out to the shoulder's corner, [m]
    shoulder_height : float
        From the big-end centre up the rod to that corner, negative below it, [m]
    bore : float
        Cylinder diameter, [m]
    bore_bottom_height : float
        Crank axis to the lower edge of the bore: deck height less cylinder length, [m]

    Returns
    -------
    float
        Distance from the corner's path to wall, edge or lower face, [m]; negative when it cuts into metal.

    Raises
    ------
    OutOfRange
        When a length is not above zero or the rod is no longer than the crank throw.

    Notes
    -----
    In the plane square to the crank, with the cylinder's lower face flat.
    Bearing clearance, piston rock and casting tolerance come on top.

    References
    ----------
    .. [1] Plain geometry.

    Examples
    --------
    >>> round(rod_to_bore_gap(0.087, 0.148, 0.034, 0.012, 0.0855, 0.0865) * 1e3, 1)
    29.9
    """
    positive(
        shoulder_half_width=shoulder_half_width,
        bore=bore,
        bore_bottom_height=bore_bottom_height,
    )
    finite(shoulder_height=shoulder_height)
    rod_angle(stroke, centre_length, 0.0)  # refuses a rod that cannot turn
    throw = stroke / 2

    def gap(turn: float) -> float:
        lean = math.asin(throw * math.sin(turn) / centre_length)
        sine, cosine = math.sin(lean), math.cos(lean)
        # The rod leans back towards the cylinder axis as the crankpin goes out.
        across = throw * math.sin(turn) + shoulder_half_width * cosine - shoulder_height * sine
        up = throw * math.cos(turn) + shoulder_half_width * sine + shoulder_height * cosine
        out, below = bore / 2 - across, bore_bottom_height - up
        # Metal fills the corner outside the bore and above its lower edge.
        if out >= 0 and below >= 0:
            return math.hypot(out, below)
        return max(out, below)

    step = math.radians(10)
    best = min(range(36), key=lambda number: gap(number * step)) * step
    # Near the closest point the gap is smooth, so halving the step round it closes in.
    while step > 3e-5:
        step /= 2
        best = min((best - step, best, best + step), key=gap)
    return gap(best)


@formula(
    takes={
        "deck_height": "mm",
        "cylinder_length": "mm",
        "centre_length": "mm",
        "stroke": "mm",
        "skirt_below_pin": "mm",
    },
    gives="mm",
    source="common practice: heights on the cylinder axis at bottom dead centre",
    sum_of={
        "deck_height": 1.0,
        "cylinder_length": -1.0,
        "centre_length": -1.0,
        "stroke": 0.5,
        "skirt_below_pin": 1.0,
    },
)
def bore_overhang(
    deck_height: float, cylinder_length: float, centre_length: float, stroke: float, skirt_below_pin: float
) -> float:
    """Length of skirt that hangs out of the bore at bottom dead centre.

    Parameters
    ----------
    deck_height : float
        Crank axis to block deck, [m]
    cylinder_length : float
        Deck to the lower edge of the bore, [m]
    centre_length, stroke : float
        Rod length between bore centres and piston travel, [m]
    skirt_below_pin : float
        Pin axis to the lower edge of the skirt, [m]

    Returns
    -------
    float
        Overhang, [m]; negative when the skirt stays inside.

    Raises
    ------
    OutOfRange
        When a length is not above zero.

    References
    ----------
    .. [1] Common practice; plain geometry.

    Examples
    --------
    >>> round(bore_overhang(0.2225, 0.136, 0.148, 0.087, 0.024) * 1e3, 2)
    6.0
    """
    positive(
        deck_height=deck_height,
        cylinder_length=cylinder_length,
        centre_length=centre_length,
        stroke=stroke,
        skirt_below_pin=skirt_below_pin,
    )
    return (deck_height - cylinder_length) - (centre_length - stroke / 2 - skirt_below_pin)
