"""Gas properties and combustion against Cantera and CoolProp, both independent of our tables.

The NASA polynomials are those of GRI-Mech 3.0; they are held here against other fits: the NASA
data set shipped with Cantera and CoolProp's reference equations.
"""

from __future__ import annotations

import numpy as np
import pytest

from compat.engineering.cycle.combustion_species import (
    AIR_MOLAR_MASS,
    SPECIES,
    UNIVERSAL_GAS_CONSTANT,
    fuel_elements,
    fuel_vapour_enthalpy,
    fuel_vapour_gas_constant,
    species_properties,
)
from compat.engineering.cycle.working_gas import REFERENCE_PRESSURE, equilibrium_products, working_gas

ct = pytest.importorskip("cantera")

ISO_OCTANE, ETHANOL = "C8H18,isooctane", "C2H5OH"
AIR = {"O2": 0.2095, "N2": 0.7809, "Ar": 0.0096}


@pytest.fixture(scope="module")
def gas():
    """A gas of Cantera's NASA data set, with the fuels and every product."""
    wanted = {"CO2", "H2O", "N2", "O2", "CO", "H2", "OH", "NO", "H", "O", "Ar", ISO_OCTANE, ETHANOL}
    species = [s for s in ct.Species.list_from_file("nasa_gas.yaml") if s.name in wanted]
    assert {s.name for s in species} == wanted
    return ct.Solution(thermo="ideal-gas", species=species)


@pytest.mark.parametrize("name", SPECIES)
def test_specific_heat_against_the_nasa_set(gas, name):
    # From 300 to 3000 K; the two fits differ by less than one per cent.
    temperature = np.linspace(300.0, 3000.0, 28)
    ours = species_properties(temperature)[0][SPECIES.index(name)]
    theirs = [gas.species(name).thermo.cp(t) / 1e3 for t in temperature]
    assert ours == pytest.approx(theirs, rel=0.01)


@pytest.mark.parametrize("name", [n for n in SPECIES if n not in ("OH", "NO", "H", "O")])
def test_specific_heat_against_reference_equations(name):
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    fluid = {"H2O": "Water", "Ar": "Argon"}.get(name, name)
    for temperature in (320.0, 600.0, 900.0):
        ours = species_properties(np.array([temperature]))[0][SPECIES.index(name), 0]
        theirs = coolprop.PropsSI("CP0MOLAR", "T", temperature, "P", 1e5, fluid)
        assert ours == pytest.approx(theirs, rel=0.005)


@pytest.mark.parametrize("name", SPECIES)
def test_heat_of_formation(gas, name):
    ours = species_properties(np.array([298.15]))[1][SPECIES.index(name), 0]
    assert ours == pytest.approx(gas.species(name).thermo.h(298.15) / 1e3, abs=900.0)  # J/mol


@pytest.mark.parametrize(("fuel", "alcohol"), [(ISO_OCTANE, 0.0), (ETHANOL, 1.0)])
def test_fuel_vapour(gas, fuel, alcohol):
    temperature = np.linspace(250.0, 2500.0, 12)
    thermo, mass = gas.species(fuel).thermo, gas.molecular_weights[gas.species_index(fuel)] / 1e3
    theirs = [(thermo.h(t) - thermo.h(298.15)) / 1e3 / mass for t in temperature]
    assert fuel_vapour_enthalpy(temperature, alcohol) == pytest.approx(theirs, rel=2e-3)
    assert fuel_vapour_gas_constant(alcohol) == pytest.approx(UNIVERSAL_GAS_CONSTANT / mass, rel=1e-3)


def test_iso_octane_vapour_against_heywood():
    # cp = -0.55313 + 181.62 t - 97.787 t^2 + 20.402 t^3 - 0.03095/t^2 cal/(mol K), t in 1000 K: Heywood,
    # Internal Combustion Engine Fundamentals, table 4.11, from memory.
    for temperature in (400.0, 600.0, 800.0):
        t = temperature / 1000.0
        cp = 4.184 * (-0.55313 + 181.62 * t - 97.787 * t**2 + 20.402 * t**3 - 0.03095 / t**2) / 0.11423
        ends = fuel_vapour_enthalpy(np.array([temperature - 1.0, temperature + 1.0]), 0.0)
        assert (ends[1] - ends[0]) / 2.0 == pytest.approx(cp, rel=0.05)


def test_ethanol_vapour_against_reference_equation():
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    for temperature in (300.0, 400.0, 500.0):
        ends = fuel_vapour_enthalpy(np.array([temperature - 1.0, temperature + 1.0]), 1.0)
        theirs = coolprop.PropsSI("CP0MASS", "T", temperature, "P", 1e4, "Ethanol")
        assert (ends[1] - ends[0]) / 2.0 == pytest.approx(theirs, rel=0.03)


@pytest.mark.parametrize(
    ("fuel", "ratio", "carbon", "hydrogen", "oxygen"), [(ISO_OCTANE, 15.1, 8, 18, 0), (ETHANOL, 9.0, 2, 6, 1)]
)
def test_stoichiometric_ratio(gas, fuel, ratio, carbon, hydrogen, oxygen):
    theirs = gas.stoich_air_fuel_ratio(f"{fuel}:1", AIR)
    assert theirs == pytest.approx(ratio, rel=0.005)  # iso-octane 15.1, ethanol 9.0: any text
    ours = fuel_elements(theirs)
    assert ours.hydrogen / ours.carbon == pytest.approx(hydrogen / carbon, rel=0.005)
    assert ours.oxygen / ours.carbon == pytest.approx(oxygen / carbon, abs=0.005)


def lower_heating_value(gas, fuel: str) -> float:
    """Of the vapour at 298.15 K [J/kg], from heats of formation."""
    gas.TPX = 298.15, 101325.0, f"{fuel}:1"
    fuel_enthalpy, mass = gas.enthalpy_mole / 1e3, gas.mean_molecular_weight / 1e3
    carbon, hydrogen = (gas.n_atoms(fuel, element) for element in ("C", "H"))
    of = {s: gas.species(s).thermo.h(298.15) / 1e3 for s in ("CO2", "H2O")}
    return float((fuel_enthalpy - carbon * of["CO2"] - hydrogen / 2 * of["H2O"]) / mass)


@pytest.mark.parametrize(("fuel", "published"), [(ISO_OCTANE, 44.6e6), (ETHANOL, 27.7e6)])
def test_heating_value(gas, fuel, published):
    # Heywood table D.4, from memory: vapour 44.6 and 27.7 MJ/kg.
    assert lower_heating_value(gas, fuel) == pytest.approx(published, rel=0.01)


@pytest.mark.parametrize("fuel", [ISO_OCTANE, ETHANOL])
@pytest.mark.parametrize("relative_air_fuel_ratio", [0.75, 0.85, 1.0, 1.3])
def test_heat_of_combustion_rich_and_lean(gas, fuel, relative_air_fuel_ratio):
    # Burned at constant pressure from 298 K, products in equilibrium at 1700 K and cooled as they are.
    ratio = gas.stoich_air_fuel_ratio(f"{fuel}:1", AIR)
    ours = working_gas(ratio, lower_heating_value(gas, fuel), relative_air_fuel_ratio)
    gas.set_equivalence_ratio(1.0 / relative_air_fuel_ratio, f"{fuel}:1", AIR)
    gas.TP = 298.15, REFERENCE_PRESSURE
    before = gas.enthalpy_mass
    gas.TP = 1700.0, REFERENCE_PRESSURE
    gas.equilibrate("TP")
    gas.TP = 298.15, REFERENCE_PRESSURE
    assert ours.heat_of_combustion == pytest.approx(before - gas.enthalpy_mass, rel=0.004)


@pytest.mark.parametrize("relative_air_fuel_ratio", [0.8, 0.9, 1.0, 1.2])
@pytest.mark.parametrize("temperature", [1700.0, 2200.0, 2700.0, 3000.0])
def test_equilibrium_composition(gas, relative_air_fuel_ratio, temperature):
    ratio = gas.stoich_air_fuel_ratio(f"{ISO_OCTANE}:1", AIR)
    grid, moles = equilibrium_products(ratio, relative_air_fuel_ratio)
    ours = moles[:, int(np.argmin(abs(grid - temperature)))]
    gas.set_equivalence_ratio(1.0 / relative_air_fuel_ratio, f"{ISO_OCTANE}:1", AIR)
    gas.TP = temperature, REFERENCE_PRESSURE
    gas.equilibrate("TP")
    theirs = gas.mole_fraction_dict()
    for name, share in zip(SPECIES, ours / ours.sum(), strict=True):
        assert share == pytest.approx(theirs.get(name, 0.0), rel=0.05, abs=2e-4), name


@pytest.mark.parametrize("relative_air_fuel_ratio", [0.8, 1.0, 1.2])
def test_flame_temperature(gas, relative_air_fuel_ratio):
    # Adiabatic, at constant pressure, from 700 K, all by our own tables.
    ratio = gas.stoich_air_fuel_ratio(f"{ISO_OCTANE}:1", AIR)
    ours = working_gas(ratio, lower_heating_value(gas, ISO_OCTANE), relative_air_fuel_ratio)
    start = float(np.interp(700.0, ours.temperature, ours.fresh_enthalpy))
    burned = float(np.interp(start + ours.heat_of_combustion, ours.burned_enthalpy, ours.temperature))
    gas.set_equivalence_ratio(1.0 / relative_air_fuel_ratio, f"{ISO_OCTANE}:1", AIR)
    gas.TP = 700.0, REFERENCE_PRESSURE
    gas.equilibrate("HP")
    assert burned == pytest.approx(gas.T, rel=0.004)


@pytest.mark.parametrize("pressure_ratio", [5.0, 20.0, 60.0])
def test_isentropic_compression(gas, pressure_ratio):
    ratio = gas.stoich_air_fuel_ratio(f"{ISO_OCTANE}:1", AIR)
    ours = working_gas(ratio, 44.6e6, 1.0)
    entropy = ours.fresh_entropy / ours.fresh_gas_constant
    start = float(np.interp(340.0, ours.temperature, entropy))
    temperature = float(np.interp(start + np.log(pressure_ratio), entropy, ours.temperature))
    gas.set_equivalence_ratio(1.0, f"{ISO_OCTANE}:1", AIR)
    gas.TP = 340.0, 1e5
    gas.SP = gas.s, 1e5 * pressure_ratio
    assert temperature == pytest.approx(gas.T, rel=0.004)


def test_molar_mass_of_air():
    # ISO 2533: 28.9644 g/mol.
    assert pytest.approx(28.9644e-3, rel=2e-4) == AIR_MOLAR_MASS


def test_five_megapascal_will_do(gas):
    """Fixing the pressure of dissociation costs little: 2 to 15 MPa at 2700 K."""
    gas.set_equivalence_ratio(1.0, f"{ISO_OCTANE}:1", AIR)
    gas.TP = 298.15, 5e6
    cold = gas.mole_fraction_dict()
    energies = []
    for pressure in (2e6, 5e6, 15e6):
        gas.TPX = 298.15, pressure, cold
        base = gas.int_energy_mass
        gas.TPX = 2700.0, pressure, cold
        gas.equilibrate("TP")
        energies.append(gas.int_energy_mass - base)
    rise = 2.75e6  # J/kg: the sensible energy this is to be seen against
    assert max(abs(e - energies[1]) for e in energies) < 0.03 * rise
