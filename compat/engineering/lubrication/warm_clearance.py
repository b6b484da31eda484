"""Oil clearance of a bearing at another temperature than that at which it was measured."""

from __future__ import annotations

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import finite, within

__all__ = ["EXPANSION", "clearance_at_temperature"]

EXPANSION = {
    "iron": 10.5e-6,
    "nodular_cast": 11.0e-6,
    "steel": 11.5e-6,
    "powder_steel": 11.5e-6,
    "forged_steel": 11.5e-6,
    "billet_steel": 11.5e-6,
    "titanium": 9.0e-6,
    "aluminium": 22.5e-6,
}
"""Linear expansion between 20 and 100 degC; handbook values, from memory [1/K]."""

MEASURED_AT = 293.15
"""Reference temperature of ISO 1 for sizes of parts, [K]."""


@formula(
    takes={
        "clearance": "mm",
        "diameter": "mm",
        "temperature": "degC",
        "housing": tuple(EXPANSION),
        "cap": tuple(EXPANSION),
        "shaft": tuple(EXPANSION),
    },
    gives="mm",
    source="linear thermal expansion; coefficients of any materials handbook (from memory)",
)
def clearance_at_temperature(
    clearance: float, diameter: float, temperature: float, housing: str, cap: str, shaft: str
) -> float:
    """Oil clearance of a bearing, all parts of it as warm as stated.

    Parameters
    ----------
    clearance : float
        At 20 degC, on diameter, [m]
    diameter : float
        Of the journal, [m]
    temperature : float
        Of housing, cap and shaft, [K]
    housing, cap, shaft : str
        What the half of the housing away from the cap, the cap and the shaft are made of.

    Returns
    -------
    float
        Clearance across the parting line, on diameter, [m]; below zero says that the shaft is held fast.

    Raises
    ------
    OutOfRange
        When the diameter is not above zero, the temperature lies outside -60 to 200 degC, or a material is not
        known.

    Notes
    -----
    Half of the bore grows with the housing, half with its cap; shells are thin and go with both. A journal that
    runs hotter than its housing has less: 7 um for each 10 K on 60 mm.

    References
    ----------
    .. [1] Any materials handbook: 10.5e-6 to 11.5e-6 a kelvin for irons and steels, 22.5e-6 for cast aluminium.

    Examples
    --------
    An alloy block with iron caps opens by a good fortieth of a millimetre:

    >>> warm = clearance_at_temperature(0.044e-3, 0.062, 373.15, "aluminium", "iron", "forged_steel")
    >>> round(warm * 1e3, 3)
    0.069
    """
    positive(diameter=diameter)
    finite(clearance=clearance)
    within("temperature", temperature, 213.15, 473.15, "K")
    for name, material in (("housing", housing), ("cap", cap), ("shaft", shaft)):
        if material not in EXPANSION:
            raise OutOfRange(f"{name} must be one of {', '.join(EXPANSION)}, got {material}")
    bore = (EXPANSION[housing] + EXPANSION[cap]) / 2
    return clearance + diameter * (bore - EXPANSION[shaft]) * (temperature - MEASURED_AT)
