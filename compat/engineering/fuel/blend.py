"""Petrol with ethanol in it: what the blend is like."""

from __future__ import annotations

from typing import NamedTuple

from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import within

__all__ = ["Blend", "ethanol_blend"]

ETHANOL_OCTANE, ETHANOL_MOTOR_OCTANE = 109.0, 90.0
ETHANOL_DENSITY, ETHANOL_MOLAR_MASS = 792.0, 0.04607
ETHANOL_RATIO, ETHANOL_HEAT, ETHANOL_EVAPORATION = 9.0, 26.8e6, 910e3
"""Neat ethanol: octane numbers, density at 15 degC [kg/m^3], molar mass [kg/mol], air for fuel, lower heating
value and heat of vaporisation [J/kg]."""


class Blend(NamedTuple):
    """A blend of petrol and ethanol; SI units."""

    octane: float
    motor_octane: float
    stoichiometric_ratio: float
    heating_value: float
    density: float
    heat_of_vaporisation: float
    by_mass: float
    by_moles: float


@formula(
    takes={
        "ethanol_share": "number",
        "petrol_octane": "number",
        "petrol_motor_octane": "number",
        "petrol_density": "kg/L",
        "petrol_molar_mass": "g/mol",
        "petrol_stoichiometric_ratio": "number",
        "petrol_heating_value": "MJ/kg",
        "petrol_heat_of_vaporisation": "kJ/kg",
    },
    gives={
        "octane": "number",
        "motor_octane": "number",
        "stoichiometric_ratio": "number",
        "heating_value": "MJ/kg",
        "density": "kg/L",
        "heat_of_vaporisation": "kJ/kg",
        "by_mass": "%",
        "by_moles": "%",
    },
    source="Anderson et al., Energy and Fuels 24 (2010) 6576 and SAE 2012-01-1274 (from memory)",
    scatter={
        "octane": 0.015,
        "motor_octane": 0.015,
        "stoichiometric_ratio": 0.01,
        "heat_of_vaporisation": 0.03,
    },
    scatter_source="own judgement: petrols of one octane number differ in what they are made of",
)
def ethanol_blend(
    ethanol_share: float,
    petrol_octane: float = 95.0,
    petrol_motor_octane: float = 85.0,
    petrol_density: float = 745.0,
    petrol_molar_mass: float = 0.100,
    petrol_stoichiometric_ratio: float = 14.6,
    petrol_heating_value: float = 42.7e6,
    petrol_heat_of_vaporisation: float = 350e3,
) -> Blend:
    """Octane numbers, air, heat and density of petrol with ethanol in it.

    Parameters
    ----------
    ethanol_share : float
        Ethanol in the blend by volume, [-]
    petrol_octane, petrol_motor_octane : float, optional
        Of the petrol without ethanol, [-]
    petrol_density : float, optional
        [kg/m^3]
    petrol_molar_mass : float, optional
        [kg/mol]
    petrol_stoichiometric_ratio : float, optional
        [-]
    petrol_heating_value, petrol_heat_of_vaporisation : float, optional
        [J/kg]

    Returns
    -------
    Blend
        Research and motor octane number [-], stoichiometric air/fuel ratio [-], lower heating value [J/kg],
        density [kg/m^3], heat of vaporisation [J/kg], ethanol by mass and by moles [-].

    Raises
    ------
    OutOfRange
        When the share lies outside 0 to 1 or an argument is not above zero.

    Notes
    -----
    Octane numbers mix by moles: a molecule of ethanol weighs less than half of one of petrol, so a tenth of it
    by volume is a fifth of the molecules, and the first tenths bring most of the octane. Air, heat and
    evaporation mix by mass, density by volume (the shrinkage, below 0.5 %, is left out).

    References
    ----------
    .. [1] J. E. Anderson et al., Octane numbers of ethanol- and methanol-gasoline blends estimated from molar
       concentrations, Energy and Fuels 24 (2010) 6576.
    .. [2] J. E. Anderson et al., SAE 2012-01-1274.

    Examples
    --------
    >>> blend = ethanol_blend(0.85)
    >>> round(blend.octane, 1), round(blend.motor_octane, 1), round(blend.stoichiometric_ratio, 1)
    (108.0, 89.6, 9.8)
    >>> round(ethanol_blend(0.10, petrol_octane=91.0).octane, 1)
    94.7
    """
    within("ethanol_share", ethanol_share, 0.0, 1.0)
    positive(
        petrol_octane=petrol_octane,
        petrol_motor_octane=petrol_motor_octane,
        petrol_density=petrol_density,
        petrol_molar_mass=petrol_molar_mass,
        petrol_stoichiometric_ratio=petrol_stoichiometric_ratio,
        petrol_heating_value=petrol_heating_value,
        petrol_heat_of_vaporisation=petrol_heat_of_vaporisation,
    )
    alcohol, petrol = ethanol_share * ETHANOL_DENSITY, (1.0 - ethanol_share) * petrol_density
    by_mass = alcohol / (alcohol + petrol)
    by_moles = alcohol / ETHANOL_MOLAR_MASS
    by_moles /= by_moles + petrol / petrol_molar_mass

    def mixed(share: float, ethanol: float, rest: float) -> float:
        return share * ethanol + (1.0 - share) * rest

    return Blend(
        octane=mixed(by_moles, ETHANOL_OCTANE, petrol_octane),
        motor_octane=mixed(by_moles, ETHANOL_MOTOR_OCTANE, petrol_motor_octane),
        stoichiometric_ratio=mixed(by_mass, ETHANOL_RATIO, petrol_stoichiometric_ratio),
        heating_value=mixed(by_mass, ETHANOL_HEAT, petrol_heating_value),
        density=alcohol + petrol,
        heat_of_vaporisation=mixed(by_mass, ETHANOL_EVAPORATION, petrol_heat_of_vaporisation),
        by_mass=by_mass,
        by_moles=by_moles,
    )
