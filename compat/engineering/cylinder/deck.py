"""The stack of heights from crank axis to head and down the piston, and what a cut does to it.

A deck clearance is positive with the piston below the deck at top dead centre; a gasket
thickness is the compressed one.
"""

from __future__ import annotations

import math

from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import finite, not_negative

__all__ = [
    "cam_retard",
    "deck_clearance",
    "pin_top_margin",
    "quench_gap",
    "ring_pack_depth",
    "skim_volume",
]


@formula(
    takes={
        "deck_height": "mm",
        "stroke": "mm",
        "centre_length": "mm",
        "compression_height": "mm",
    },
    gives="mm",
    source="common practice: stack of heights from crank axis to deck",
    sum_of={"deck_height": 1.0, "stroke": -0.5, "centre_length": -1.0, "compression_height": -1.0},
)
def deck_clearance(deck_height: float, stroke: float, centre_length: float, compression_height: float) -> float:
    """Depth of the piston's flat below the deck at top dead centre; negative means proud.

    Parameters
    ----------
    deck_height : float
        Crank axis to block deck, [m]
    stroke : float
        Piston travel, of which half stands in the stack, [m]
    centre_length : float
        Rod length between bore centres, [m]
    compression_height : float
        Pin axis to the flat of the crown, not to the top of a dome, [m]

    Returns
    -------
    float
        Deck clearance, positive below the deck, [m]

    Raises
    ------
    OutOfRange
        When a length is not above zero.

    Notes
    -----
    Exact for a pin on the cylinder axis; a pin offset of 1 mm alters it by a few micrometres.
    Running, the piston rises further by bearing clearance and stretch.

    References
    ----------
    .. [1] Common practice; plain geometry of the slider-crank.

    Examples
    --------
    >>> round(deck_clearance(0.2225, 0.087, 0.148, 0.0308) * 1e3, 3)
    0.2
    """
    positive(
        deck_height=deck_height,
        stroke=stroke,
        centre_length=centre_length,
        compression_height=compression_height,
    )
    return deck_height - stroke / 2 - centre_length - compression_height


@formula(
    takes={"deck_clearance": "mm", "gasket_thickness": "mm"},
    gives="mm",
    source="common practice: flat of the piston to flat of the head",
    sum_of={"deck_clearance": 1.0, "gasket_thickness": 1.0},
)
def quench_gap(deck_clearance: float, gasket_thickness: float) -> float:
    """Height between the piston's flat and the head's flat at top dead centre, cold.

    Parameters
    ----------
    deck_clearance : float
        Positive below the deck, [m]
    gasket_thickness : float
        Compressed thickness, [m]

    Returns
    -------
    float
        Gap, [m]; negative says that piston and head overlap.

    Raises
    ------
    OutOfRange
        When the thickness is not above zero or the clearance is not a number.

    References
    ----------
    .. [1] Common practice; plain geometry.

    Examples
    --------
    >>> round(quench_gap(deck_clearance=0.0002, gasket_thickness=0.0012) * 1e3, 2)
    1.4
    """
    finite(deck_clearance=deck_clearance)
    positive(gasket_thickness=gasket_thickness)
    return deck_clearance + gasket_thickness


@formula(
    takes={"chamber_face_area": "cm^2", "depth": "mm"},
    gives="cm^3",
    source="common practice: area of the chamber at the head's face times the cut",
)
def skim_volume(chamber_face_area: float, depth: float) -> float:
    """Chamber volume that a cut off the head's face takes away, each cylinder.

    Parameters
    ----------
    chamber_face_area : float
        Opening of the chamber at the face, [m^2]
    depth : float
        Depth of cut, [m]

    Returns
    -------
    float
        Volume lost by each chamber, [m^3]

    Raises
    ------
    OutOfRange
        When the area is not above zero or the depth is negative.

    Notes
    -----
    Holds while the chamber wall is upright near the face: for cuts of a few tenths.

    References
    ----------
    .. [1] Common practice; plain geometry.

    Examples
    --------
    >>> round(skim_volume(chamber_face_area=48e-4, depth=0.3e-3) * 1e6, 2)
    1.44
    """
    positive(chamber_face_area=chamber_face_area)
    not_negative(depth=depth)
    return chamber_face_area * depth


@formula(
    takes={"height_change": "mm", "sprocket_teeth": "number", "pitch": "mm"},
    gives="deg",
    source="common practice: belt length taken from the tight span over the pitch circumference",
    rises_with=("height_change",),
    falls_with=("sprocket_teeth", "pitch"),
)
def cam_retard(height_change: float, sprocket_teeth: float, pitch: float) -> float:
    """Angle by which the cams lag when deck, head or gasket lose height, in cam degrees.

    Parameters
    ----------
    height_change : float
        Height taken away; negative for height added, [m]
    sprocket_teeth : float
        Teeth of the cam sprocket, [-]
    pitch : float
        Pitch of belt or chain, [m]

    Returns
    -------
    float
        Retard at the cam, [rad]; twice as much at the crank.

    Raises
    ------
    OutOfRange
        When teeth or pitch are not above zero.

    Notes
    -----
    Holds for a tight span that stands nearly upright, with the tensioner in the slack span.

    References
    ----------
    .. [1] Common practice; plain geometry of a toothed drive.

    Examples
    --------
    >>> round(math.degrees(cam_retard(height_change=0.0002, sprocket_teeth=44, pitch=0.008)), 3)
    0.205
    """
    finite(height_change=height_change)
    positive(sprocket_teeth=sprocket_teeth, pitch=pitch)
    return height_change * 2 * math.pi / (sprocket_teeth * pitch)


@formula(
    takes={
        "top_land": "mm",
        "top_groove": "mm",
        "second_land": "mm",
        "second_groove": "mm",
        "third_land": "mm",
        "oil_groove": "mm",
    },
    gives="mm",
    source="common practice: lands and grooves added up",
    sum_of={
        "top_land": 1.0,
        "top_groove": 1.0,
        "second_land": 1.0,
        "second_groove": 1.0,
        "third_land": 1.0,
        "oil_groove": 1.0,
    },
)
def ring_pack_depth(
    top_land: float,
    top_groove: float,
    second_land: float,
    second_groove: float,
    third_land: float,
    oil_groove: float,
) -> float:
    """Crown to the lower edge of the oil groove of a piston with three rings.

    Parameters
    ----------
    top_land, second_land, third_land : float
        Heights of the lands from the crown down, [m]
    top_groove, second_groove, oil_groove : float
        Widths of the grooves from the crown down, [m]

    Returns
    -------
    float
        Depth, [m]

    Raises
    ------
    OutOfRange
        When a height or width is negative.

    References
    ----------
    .. [1] Common practice; plain geometry.

    Examples
    --------
    >>> round(ring_pack_depth(0.006, 0.0012, 0.004, 0.0012, 0.0022, 0.002) * 1e3, 2)
    16.6
    """
    not_negative(
        top_land=top_land,
        top_groove=top_groove,
        second_land=second_land,
        second_groove=second_groove,
        third_land=third_land,
        oil_groove=oil_groove,
    )
    return top_land + top_groove + second_land + second_groove + third_land + oil_groove


@formula(
    takes={"compression_height": "mm", "pin_diameter": "mm", "ring_pack_depth": "mm"},
    gives="mm",
    source="common practice: heights on the piston",
    sum_of={"compression_height": 1.0, "pin_diameter": -0.5, "ring_pack_depth": -1.0},
)
def pin_top_margin(compression_height: float, pin_diameter: float, ring_pack_depth: float) -> float:
    """Metal between the oil groove and the top of the pin bore.

    Parameters
    ----------
    compression_height : float
        Pin axis to the flat of the crown, [m]
    pin_diameter : float
        Diameter of the piston pin, [m]
    ring_pack_depth : float
        Crown to the lower edge of the oil groove, [m]

    Returns
    -------
    float
        Margin, [m]; negative when the pin bore cuts the groove, which wants a support rail.

    Raises
    ------
    OutOfRange
        When a length is not above zero.

    References
    ----------
    .. [1] Common practice; plain geometry.

    Examples
    --------
    >>> round(pin_top_margin(0.0308, 0.021, 0.0166) * 1e3, 2)
    3.7
    """
    positive(
        compression_height=compression_height,
        pin_diameter=pin_diameter,
        ring_pack_depth=ring_pack_depth,
    )
    return compression_height - pin_diameter / 2 - ring_pack_depth
