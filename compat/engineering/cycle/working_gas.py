"""Working gas of a spark-ignition engine: fresh charge and equilibrium products over temperature."""

from __future__ import annotations

import math
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from compat.engineering.cycle.combustion_species import (
    AIR_MOLAR_MASS,
    MOLE_FRACTIONS_OF_AIR,
    REFERENCE_TEMPERATURE,
    SPECIES,
    UNIVERSAL_GAS_CONSTANT,
    fuel_elements,
    fuel_vapour_enthalpy,
    fuel_vapour_gas_constant,
    species_properties,
)
from compat.engineering.formula import OutOfRange
from compat.record import record

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

__all__ = [
    "FREEZING_TEMPERATURE",
    "HIGHEST",
    "LOWEST",
    "REFERENCE_PRESSURE",
    "STEP",
    "WorkingGas",
    "equilibrium_products",
    "working_gas",
]

REFERENCE_PRESSURE = 5.0e6
"""Pressure at which dissociation is worked out [Pa]: that of a cylinder near the end of burning."""

FREEZING_TEMPERATURE = 1700.0
"""Below this the products no longer change; gives the water-gas ratio of 3.5 usual for rich exhaust."""

_ATMOSPHERE = 101325.0
LOWEST, HIGHEST, STEP = 200.0, 4200.0, 10.0
"""Ends and step of the tables [K]."""

_RICHEST, _LEANEST = 0.6, 1.8
# Enthalpy at 298.15 K is put at cp*T of cold air, so that energies are positive everywhere in the table.
_ENTHALPY_AT_REFERENCE = 298.15 * 1010.0


@record(eq=False)
class WorkingGas:
    """Tables of the fresh charge and the burned gas of one fuel at one air/fuel ratio.

    Energies are sensible [J/kg], on one scale for both gases; `heat_of_combustion` [J/kg of fresh charge]
    is what turning one into the other at 298.15 K sets free.
    """

    temperature: Floats
    fresh_energy: Floats
    burned_energy: Floats
    burned_gas_constant: Floats
    fresh_entropy: Floats
    burned_entropy: Floats
    fresh_gas_constant: float
    fuel_share: float
    heat_of_combustion: float

    @cached_property
    def by_step(self) -> Floats:
        """Rows of burned energy, what fresh has more, burned gas constant; then what each rises in a step."""
        import numpy as np

        tables = np.array(
            [self.burned_energy, self.fresh_energy - self.burned_energy, self.burned_gas_constant]
        )
        return np.concatenate([tables[:, :-1], tables[:, 1:] - tables[:, :-1]])

    @cached_property
    def fresh_enthalpy(self) -> Floats:
        """Enthalpy table of the fresh charge [J/kg]."""
        return self.fresh_energy + self.fresh_gas_constant * self.temperature

    @cached_property
    def burned_enthalpy(self) -> Floats:
        """Enthalpy table of the burned gas [J/kg]."""
        return self.burned_energy + self.burned_gas_constant * self.temperature

    @cached_property
    def entropy_of_burning(self) -> Floats:
        """What burned gas has more of entropy than fresh, by the tables [J/(kg K)]."""
        return self.burned_entropy - self.fresh_entropy

    @cached_property
    def cooling(self) -> tuple[float, float]:
        """About how the logarithm of the fresh charge's temperature falls with its entropy, 1/cp [kg K/J].

        Gives what it would be at 0 K and how it moves with temperature, from the tables at 400 and 900 K.
        """
        inverse = []
        for temperature in (400.0, 900.0):
            place = round((temperature - LOWEST) / STEP)
            rises = float(self.fresh_entropy[place + 1] - self.fresh_entropy[place - 1])
            inverse.append(math.log((temperature + STEP) / (temperature - STEP)) / rises)
        slope = (inverse[1] - inverse[0]) / 500.0
        return inverse[0] - 400.0 * slope, slope

    @cached_property
    def _enthalpies(self) -> tuple[list[float], list[float]]:
        fresh: list[float] = self.fresh_enthalpy.tolist()
        burned: list[float] = self.burned_enthalpy.tolist()
        return fresh, burned

    def enthalpy(self, temperature: float, share: float) -> float:
        """Enthalpy of a charge of which a share is burned [J/kg]; the tables' ends hold beyond them."""
        fresh, burned = self._enthalpies
        place = min(max((temperature - LOWEST) / STEP, 0.0), len(fresh) - 1.0)
        low = min(int(place), len(fresh) - 2)
        high, part, rest = low + 1, place - low, 1.0 - share
        below, above = rest * fresh[low] + share * burned[low], rest * fresh[high] + share * burned[high]
        return below + part * (above - below)

    def temperature_of(self, enthalpy: float, share: float) -> float:
        """Temperature of a charge of which a share is burned, by enthalpy [K]; the tables' ends hold beyond."""
        (fresh, burned), rest = self._enthalpies, 1.0 - share
        low, high = 0, len(fresh) - 1
        while high - low > 1:
            middle = (low + high) // 2
            if rest * fresh[middle] + share * burned[middle] <= enthalpy:
                low = middle
            else:
                high = middle
        below, above = rest * fresh[low] + share * burned[low], rest * fresh[high] + share * burned[high]
        part = min(max((enthalpy - below) / (above - below), 0.0), 1.0)
        return LOWEST + STEP * (low + part)


def _moles_of_products(elements: tuple[float, ...], temperature: Floats, gibbs: Floats) -> Floats:
    """Mole numbers of the products [mol], by equilibrium of six reactions at each temperature."""
    import numpy as np

    carbon, hydrogen, oxygen, nitrogen, argon = elements
    g = {name: gibbs[k] for k, name in enumerate(SPECIES)}  # g/(R T) at one atmosphere
    k_co = np.exp(g["CO2"] - g["CO"] - g["O2"] / 2)  # CO2 = CO + O2/2
    k_h2 = np.exp(g["H2O"] - g["H2"] - g["O2"] / 2)  # H2O = H2 + O2/2
    k_oh = np.exp((g["H2"] + g["O2"]) / 2 - g["OH"])  # H2/2 + O2/2 = OH
    k_h = np.exp(g["H2"] / 2 - g["H"])  # H2/2 = H
    k_o = np.exp(g["O2"] / 2 - g["O"])  # O2/2 = O
    k_no = np.exp((g["N2"] + g["O2"]) / 2 - g["NO"])  # N2/2 + O2/2 = NO
    undissociated = carbon + hydrogen / 2 + nitrogen / 2 + argon + max(oxygen / 2 - carbon - hydrogen / 4, 0.0)
    # Moles for one atmosphere of partial pressure. Held at that of the undissociated gas: the total pressure
    # then lies within a few per cent of the reference, and no outer iteration is needed.
    s = undissociated * _ATMOSPHERE / REFERENCE_PRESSURE

    def split(log_y: Floats) -> dict[str, Floats]:
        y = np.exp(log_y)  # square root of the oxygen pressure in atmospheres
        co2 = carbon / (1.0 + k_co / y)
        root = np.sqrt(k_h2 / y)  # of the ratio of hydrogen to water
        a, of_oh, of_h = 2.0 * s * (1.0 + root * root), s * k_oh * root * y, s * k_h * root
        b = of_oh + of_h
        w = (np.sqrt(b * b + 4.0 * a * hydrogen) - b) / (2.0 * a)
        c = s * k_no * y
        v = (np.sqrt(c * c + 8.0 * s * nitrogen) - c) / (4.0 * s)
        h2o = s * w * w
        return {
            "CO2": co2,
            "CO": carbon - co2,
            "H2O": h2o,
            "H2": h2o * root * root,
            "OH": of_oh * w,
            "H": of_h * w,
            "O": s * k_o * y,
            "N2": s * v * v,
            "NO": c * v,
            "O2": s * y * y,
        }

    def surplus(log_y: Floats) -> Floats:
        n = split(log_y)
        return 2 * n["CO2"] + n["CO"] + n["H2O"] + n["OH"] + n["NO"] + n["O"] + 2 * n["O2"] - oxygen

    low, high = np.full_like(temperature, -25.0), np.full_like(temperature, 5.0)
    x = 0.5 * (low + high)
    # Oxygen rises with y everywhere: halve the bracket until Newton's rule is sure to converge, then use it.
    for round_ in range(40):
        value = surplus(x)
        low, high = np.where(value < 0, x, low), np.where(value < 0, high, x)
        following = 0.5 * (low + high)
        if round_ >= 7:
            slope = (surplus(x + 1e-5) - value) / 1e-5
            following = np.minimum(np.maximum(x - value / slope, low), high)
        done = float(np.max(np.abs(following - x))) < 1e-9
        x = following
        if done:
            break
    n = split(x)
    n["Ar"] = np.full_like(temperature, argon)
    return np.array([n[name] for name in SPECIES])


@lru_cache(maxsize=1)
def _gas_tables() -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Temperatures, then cp, h, s and g/(R T) of every gas at them."""
    import numpy as np

    temperature = np.arange(LOWEST, HIGHEST + STEP / 2, STEP)
    cp, h, s = species_properties(temperature)
    gibbs = (h - temperature * s) / (UNIVERSAL_GAS_CONSTANT * temperature)
    return temperature, cp, h, s, gibbs


def equilibrium_products(stoichiometric_ratio: float, relative_air_fuel_ratio: float) -> tuple[Floats, Floats]:
    """Products of one kilogram of charge, in equilibrium above 1700 K and frozen below.

    Parameters
    ----------
    stoichiometric_ratio : float
        Stoichiometric air/fuel ratio by mass [-].
    relative_air_fuel_ratio : float
        Air/fuel ratio over the stoichiometric one (lambda) [-].

    Returns
    -------
    tuple of array
        Temperatures [K], and moles [mol/kg of charge] with one row a gas of `SPECIES`.

    Notes
    -----
    CO2, H2O, N2, O2, CO, H2, OH, NO, H, O and argon. The pressure is held near 5 MPa, whatever it is in the
    cylinder: between 2 and 15 MPa the energy of the gas at 2700 K changes by less than two per cent.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, sections 3.7 and 4.9.

    Examples
    --------
    >>> temperature, moles = equilibrium_products(14.6, 1.0)
    >>> [bool(v < 1e-2) for v in moles[SPECIES.index("CO"), [0, -1]]]  # hardly any cold, plenty hot
    [True, False]
    """
    import numpy as np

    fuel = fuel_elements(stoichiometric_ratio)
    ratio = stoichiometric_ratio * relative_air_fuel_ratio
    of_fuel, of_air = 1.0 / (1.0 + ratio), ratio / (1.0 + ratio) / AIR_MOLAR_MASS
    elements = (
        of_fuel * fuel.carbon,
        of_fuel * fuel.hydrogen,
        of_fuel * fuel.oxygen + 2 * of_air * MOLE_FRACTIONS_OF_AIR["O2"],
        2 * of_air * MOLE_FRACTIONS_OF_AIR["N2"],
        of_air * MOLE_FRACTIONS_OF_AIR["Ar"],
    )
    temperature, _, _, _, gibbs = _gas_tables()
    hot = temperature >= FREEZING_TEMPERATURE
    moles = np.empty((len(SPECIES), temperature.size))
    moles[:, hot] = _moles_of_products(elements, temperature[hot], gibbs[:, hot])
    first = int(np.argmax(hot))
    moles[:, :first] = moles[:, first : first + 1]
    return temperature, moles


@lru_cache(maxsize=64)
def working_gas(
    stoichiometric_ratio: float, heating_value: float, relative_air_fuel_ratio: float
) -> WorkingGas:
    """Tabulate fresh charge and burned gas of a fuel.

    Parameters
    ----------
    stoichiometric_ratio : float
        Stoichiometric air/fuel ratio by mass [-].
    heating_value : float
        Lower heating value of the fuel, as vapour, at 298.15 K [J/kg].
    relative_air_fuel_ratio : float
        Air/fuel ratio over the stoichiometric one (lambda) [-], 0.6 to 1.8.

    Returns
    -------
    WorkingGas
        Tables over temperature.

    Raises
    ------
    OutOfRange
        When the mixture would not burn as the model supposes.

    Notes
    -----
    The heat of combustion follows from the stated heating value: burning with enough air sets free exactly
    that; a rich charge sets free less, by the heating value of the CO and H2 left over.

    References
    ----------
    1. J. B. Heywood, Internal Combustion Engine Fundamentals, chapters 3 and 4.

    Examples
    --------
    >>> gas = working_gas(14.6, 43.0e6, 1.0)
    >>> round(gas.heat_of_combustion / 1e6, 2)  # MJ for a kilogram of charge: 43 / (1 + 14.6)
    2.75
    """
    import numpy as np

    if not _RICHEST <= relative_air_fuel_ratio <= _LEANEST:
        raise OutOfRange(
            f"relative_air_fuel_ratio (lambda) is {relative_air_fuel_ratio:g}; "
            f"a spark-ignited charge burns steadily between {_RICHEST:g} and {_LEANEST:g}"
        )
    if not 10e6 <= heating_value <= 60e6:
        raise OutOfRange(
            f"heating_value is {heating_value / 1e6:g} MJ/kg; liquid fuels lie between 10 and 60 MJ/kg"
        )
    fuel = fuel_elements(stoichiometric_ratio)
    temperature, _, h, _, _ = _gas_tables()
    _, moles = equilibrium_products(stoichiometric_ratio, relative_air_fuel_ratio)
    _, reference, _ = species_properties(np.array([REFERENCE_TEMPERATURE]))
    h0 = reference[:, 0]

    ratio = stoichiometric_ratio * relative_air_fuel_ratio
    fuel_share, air_moles = 1.0 / (1.0 + ratio), ratio / (1.0 + ratio) / AIR_MOLAR_MASS
    air = np.array([air_moles * MOLE_FRACTIONS_OF_AIR.get(name, 0.0) for name in SPECIES])

    burned = np.sum(moles * h, axis=0)
    cold_products = float(moles[:, 0] @ h0)
    at_reference = _ENTHALPY_AT_REFERENCE
    burned_gas_constant = UNIVERSAL_GAS_CONSTANT * moles.sum(axis=0)
    burned_energy = burned - cold_products + at_reference - burned_gas_constant * temperature

    vapour = fuel_vapour_enthalpy(temperature, fuel.alcohol)
    fresh_gas_constant = UNIVERSAL_GAS_CONSTANT * air_moles + fuel_share * fuel_vapour_gas_constant(
        fuel.alcohol
    )
    fresh_enthalpy = air @ (h - h0[:, np.newaxis]) + fuel_share * vapour + at_reference
    fresh_energy = fresh_enthalpy - fresh_gas_constant * temperature

    # What the fuel would set free with all the air it wants, from which its heat of formation follows.
    complete = (
        fuel.carbon * h0[SPECIES.index("CO2")]
        + fuel.hydrogen / 2 * h0[SPECIES.index("H2O")]
        - (fuel.carbon + fuel.hydrogen / 4 - fuel.oxygen / 2) * h0[SPECIES.index("O2")]
    )
    formation = complete + heating_value
    heat_of_combustion = float(fuel_share * formation + air @ h0 - cold_products)

    def entropy(enthalpy: Floats) -> Floats:
        steps = np.diff(enthalpy) / (0.5 * (temperature[1:] + temperature[:-1]))
        return np.concatenate(([0.0], np.cumsum(steps)))

    return WorkingGas(
        temperature=temperature,
        fresh_energy=fresh_energy,
        burned_energy=burned_energy,
        burned_gas_constant=burned_gas_constant,
        fresh_entropy=entropy(fresh_enthalpy),
        burned_entropy=entropy(np.sum(moles[:, :1] * h, axis=0)),
        fresh_gas_constant=fresh_gas_constant,
        fuel_share=fuel_share,
        heat_of_combustion=heat_of_combustion,
    )
