"""Thermodynamic data of the gases in a spark-ignition engine, and the make-up of its liquid fuels.

Specific heats and enthalpies of the gases are NASA seven-coefficient polynomials in the
version of the GRI-Mech 3.0 data set: cp/R = a1 + a2 T + a3 T^2 + a4 T^3 + a5 T^4,
h/(R T) = a1 + a2 T/2 + a3 T^2/3 + a4 T^3/4 + a5 T^4/5 + a6/T, and s/R with a7.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from compat.engineering.formula import OutOfRange

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = [
    "AIR_MOLAR_MASS",
    "MOLAR_MASS",
    "MOLE_FRACTIONS_OF_AIR",
    "SPECIES",
    "UNIVERSAL_GAS_CONSTANT",
    "FuelElements",
    "fuel_elements",
    "fuel_vapour_enthalpy",
    "fuel_vapour_gas_constant",
    "species_properties",
]

UNIVERSAL_GAS_CONSTANT = 8.314462618
"""J/(mol K), CODATA 2018."""

REFERENCE_TEMPERATURE = 298.15

# Columns a1..a7: above 1000 K first, then below. Source: GRI-Mech 3.0 thermodynamic data (Smith et al.).
_POLYNOMIALS: dict[str, tuple[tuple[float, ...], tuple[float, ...]]] = {
    "CO2": (
        (3.85746029, 4.41437026e-3, -2.21481404e-6, 5.23490188e-10, -4.72084164e-14, -48759.166, 2.27163806),
        (2.35677352, 8.98459677e-3, -7.12356269e-6, 2.45919022e-9, -1.43699548e-13, -48371.9697, 9.90105222),
    ),
    "H2O": (
        (3.03399249, 2.17691804e-3, -1.64072518e-7, -9.7041987e-11, 1.68200992e-14, -30004.2971, 4.9667701),
        (4.19864056, -2.0364341e-3, 6.52040211e-6, -5.48797062e-9, 1.77197817e-12, -30293.7267, -0.849032208),
    ),
    "N2": (
        (2.92664, 1.4879768e-3, -5.68476e-7, 1.0097038e-10, -6.753351e-15, -922.7977, 5.980528),
        (3.298677, 1.4082404e-3, -3.963222e-6, 5.641515e-9, -2.444854e-12, -1020.8999, 3.950372),
    ),
    "O2": (
        (3.28253784, 1.48308754e-3, -7.57966669e-7, 2.09470555e-10, -2.16717794e-14, -1088.45772, 5.45323129),
        (3.78245636, -2.99673416e-3, 9.84730201e-6, -9.68129509e-9, 3.24372837e-12, -1063.94356, 3.65767573),
    ),
    "CO": (
        (2.71518561, 2.06252743e-3, -9.98825771e-7, 2.30053008e-10, -2.03647716e-14, -14151.8724, 7.81868772),
        (3.57953347, -6.1035368e-4, 1.01681433e-6, 9.07005884e-10, -9.04424499e-13, -14344.086, 3.50840928),
    ),
    "H2": (
        (3.3372792, -4.94024731e-5, 4.99456778e-7, -1.79566394e-10, 2.00255376e-14, -950.158922, -3.20502331),
        (2.34433112, 7.98052075e-3, -1.9478151e-5, 2.01572094e-8, -7.37611761e-12, -917.935173, 0.683010238),
    ),
    "OH": (
        (3.09288767, 5.48429716e-4, 1.26505228e-7, -8.79461556e-11, 1.17412376e-14, 3858.657, 4.4766961),
        (3.99201543, -2.40131752e-3, 4.61793841e-6, -3.88113333e-9, 1.3641147e-12, 3615.08056, -0.103925458),
    ),
    "NO": (
        (3.2606056, 1.1911043e-3, -4.2917048e-7, 6.9457669e-11, -4.0336099e-15, 9920.9746, 6.3693027),
        (4.2184763, -4.638976e-3, 1.1041022e-5, -9.3361354e-9, 2.803577e-12, 9844.623, 2.2808464),
    ),
    "H": (
        (
            2.50000001,
            -2.30842973e-11,
            1.61561948e-14,
            -4.73515235e-18,
            4.98197357e-22,
            25473.6599,
            -0.446682914,
        ),
        (2.5, 7.05332819e-13, -1.99591964e-15, 2.30081632e-18, -9.27732332e-22, 25473.6599, -0.446682853),
    ),
    "O": (
        (2.56942078, -8.59741137e-5, 4.19484589e-8, -1.00177799e-11, 1.22833691e-15, 29217.5791, 4.78433864),
        (3.1682671, -3.27931884e-3, 6.64306396e-6, -6.12806624e-9, 2.11265971e-12, 29122.2592, 2.05193346),
    ),
    "Ar": (
        (2.5, 0.0, 0.0, 0.0, 0.0, -745.375, 4.366),
        (2.5, 0.0, 0.0, 0.0, 0.0, -745.375, 4.366),
    ),
}

SPECIES = tuple(_POLYNOMIALS)
"""Names of the gases, in the order of every array of mole numbers."""

MOLAR_MASS = {
    "CO2": 44.0095e-3,
    "H2O": 18.01528e-3,
    "N2": 28.0134e-3,
    "O2": 31.9988e-3,
    "CO": 28.0101e-3,
    "H2": 2.01588e-3,
    "OH": 17.00734e-3,
    "NO": 30.0061e-3,
    "H": 1.00794e-3,
    "O": 15.9994e-3,
    "Ar": 39.948e-3,
}
"""kg/mol."""

MOLE_FRACTIONS_OF_AIR = {"O2": 0.2095, "N2": 0.7809, "Ar": 0.0096}
"""Dry air; carbon dioxide is counted with the argon."""

AIR_MOLAR_MASS = sum(share * MOLAR_MASS[name] for name, share in MOLE_FRACTIONS_OF_AIR.items())


def species_properties(temperature: Floats) -> tuple[Floats, Floats, Floats]:
    """Molar specific heat, enthalpy with heat of formation, and entropy at one atmosphere.

    Parameters
    ----------
    temperature : array of float
        Temperature [K].

    Returns
    -------
    tuple of array
        cp [J/(mol K)], h [J/mol], s [J/(mol K)], each with one row a gas of `SPECIES`.

    Notes
    -----
    The polynomials hold from 300 to 3500 K and run on smoothly for some hundred kelvin either side.

    References
    ----------
    1. G. P. Smith et al., GRI-Mech 3.0, thermodynamic data.

    Examples
    --------
    >>> import numpy
    >>> cp, h, s = species_properties(numpy.array([298.15]))
    >>> round(float(h[SPECIES.index("CO2"), 0]) / 1000, 1)  # heat of formation, kJ/mol
    -393.5
    """
    import numpy as np

    t = temperature[np.newaxis, :]
    pairs = np.array(list(_POLYNOMIALS.values()))
    a = np.where((temperature > 1000.0)[np.newaxis, np.newaxis, :], pairs[:, 0, :, None], pairs[:, 1, :, None])
    cp = a[:, 0] + t * (a[:, 1] + t * (a[:, 2] + t * (a[:, 3] + t * a[:, 4])))
    h = a[:, 5] + t * (a[:, 0] + t * (a[:, 1] / 2 + t * (a[:, 2] / 3 + t * (a[:, 3] / 4 + t * a[:, 4] / 5))))
    s = a[:, 0] * np.log(t) + a[:, 6] + t * (a[:, 1] + t * (a[:, 2] / 2 + t * (a[:, 3] / 3 + t * a[:, 4] / 4)))
    r = UNIVERSAL_GAS_CONSTANT
    return r * cp, r * h, r * s


class FuelElements(NamedTuple):
    """Amount of each element in one kilogram of fuel [mol/kg], and how much of it is alcohol by mass."""

    carbon: float
    hydrogen: float
    oxygen: float
    alcohol: float


# Anchors (C, H, O) for one formula unit: methanol, ethanol, petrol of H/C 1.87, methane. The last only
# lends its hydrogen: any CH_y between petrol and methane is exactly a blend of the two by elements.
_ANCHORS = ((1.0, 4.0, 1.0), (2.0, 6.0, 1.0), (1.0, 1.87, 0.0), (1.0, 4.0, 0.0))
_LEANEST_FUEL, _RICHEST_FUEL = 15.5, 6.4


def fuel_elements(stoichiometric_ratio: float) -> FuelElements:
    """Elements of a liquid fuel, from the air it needs.

    Parameters
    ----------
    stoichiometric_ratio : float
        Stoichiometric air/fuel ratio by mass [-], 6.4 to 15.5.

    Returns
    -------
    FuelElements
        Carbon, hydrogen, oxygen [mol/kg of fuel] and the share of alcohol [-].

    Raises
    ------
    OutOfRange
        When the ratio is not that of a liquid spark-ignition fuel.

    Notes
    -----
    Below about 14.6 the fuel is read as petrol blended with ethanol, below 9.0 as ethanol blended with
    methanol; above 14.6 as a hydrocarbon with more hydrogen (iso-octane 15.1). A very aromatic petrol
    (13.8 to 14.4) is thereby taken for one with a little ethanol, which moves the products by less than
    two per cent.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, section 3.4 (combustion stoichiometry).

    Examples
    --------
    >>> e = fuel_elements(15.1)
    >>> round(e.hydrogen / e.carbon, 2)
    2.23
    """
    if not _RICHEST_FUEL <= stoichiometric_ratio <= _LEANEST_FUEL:
        raise OutOfRange(
            f"stoichiometric_ratio is {stoichiometric_ratio:g}; liquid fuels for spark ignition lie between "
            f"{_RICHEST_FUEL:g} (methanol) and {_LEANEST_FUEL:g}"
        )
    ends: list[tuple[float, tuple[float, float, float]]] = []
    for carbon, hydrogen, oxygen in _ANCHORS:
        mass = carbon * 12.011e-3 + hydrogen * 1.00794e-3 + oxygen * 15.9994e-3
        air = (carbon + hydrogen / 4 - oxygen / 2) / MOLE_FRACTIONS_OF_AIR["O2"] * AIR_MOLAR_MASS / mass
        ends.append((air, (carbon / mass, hydrogen / mass, oxygen / mass)))
    place = next((k for k in (1, 2) if stoichiometric_ratio < ends[k][0]), 3)
    (low, first), (high, second) = ends[place - 1], ends[place]
    share = (stoichiometric_ratio - low) / (high - low)  # air demand is linear in mass shares
    carbon, hydrogen, oxygen = (a + share * (b - a) for a, b in zip(first, second, strict=True))
    alcohol = 1.0 if place == 1 else 1.0 - share if place == 2 else 0.0
    return FuelElements(carbon, hydrogen, oxygen, alcohol)


# Coefficients a1..a5 above and below 1000 K, and molar mass. Source: NASA set (McBride, Gordon, Reno 1993).
_ISO_OCTANE = (
    (15.9899273, 0.055318479, -1.95267072e-5, 3.11779172e-9, -1.85312577e-13),
    (0.815737338, 0.0732643959, 1.78300688e-5, -6.9358962e-8, 3.21629382e-11),
    114.22852e-3,
)
_ETHANOL = (
    (6.5628977, 0.0152034264, -5.38922247e-6, 8.62150224e-10, -5.12824683e-14),
    (4.85868178, -0.0037400674, 6.95550267e-5, -8.86541147e-8, 3.5168443e-11),
    46.06844e-3,
)


def fuel_vapour_enthalpy(temperature: Floats, alcohol: float) -> Floats:
    """Enthalpy of fuel vapour above 298.15 K.

    Parameters
    ----------
    temperature : array of float
        Temperature [K].
    alcohol : float
        Alcohol in the fuel by mass [-]; 0 is taken as iso-octane vapour, 1 as ethanol vapour.

    Returns
    -------
    array of float
        Enthalpy difference [J/kg].

    Notes
    -----
    The share of vapour in the charge is small: one per cent of its specific heat is a tenth of a per cent of
    that of the charge.

    References
    ----------
    1. B. J. McBride, S. Gordon, M. A. Reno, Coefficients for calculating thermodynamic and transport
       properties of individual species, NASA TM-4513 (1993).

    Examples
    --------
    >>> import numpy
    >>> float(fuel_vapour_enthalpy(numpy.array([298.15]), 0.0)[0])
    0.0
    """
    import numpy as np

    def integral(a: tuple[float, ...], t: Floats) -> Floats:
        return t * (a[0] + t * (a[1] / 2 + t * (a[2] / 3 + t * (a[3] / 4 + t * a[4] / 5))))

    total = np.zeros_like(temperature)
    start, join = np.array([REFERENCE_TEMPERATURE]), np.array([1000.0])
    for (hot, cold, mass), share in ((_ISO_OCTANE, 1.0 - alcohol), (_ETHANOL, alcohol)):
        below = integral(cold, np.minimum(temperature, join)) - integral(cold, start)
        above = integral(hot, np.maximum(temperature, join)) - integral(hot, join)
        total = total + share * UNIVERSAL_GAS_CONSTANT / mass * (below + above)
    return total


def fuel_vapour_gas_constant(alcohol: float) -> float:
    """Gas constant of fuel vapour [J/(kg K)], for a share of alcohol by mass.

    >>> round(fuel_vapour_gas_constant(1.0), 1)
    180.5
    """
    return UNIVERSAL_GAS_CONSTANT * ((1.0 - alcohol) / _ISO_OCTANE[2] + alcohol / _ETHANOL[2])
