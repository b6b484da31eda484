"""Blends of petrol and ethanol against published octane numbers, and which counts; values from memory."""

from __future__ import annotations

import dataclasses
import math

import pytest

from compat.engineering.cycle.cycle_input import ChargedCylinder
from compat.engineering.cycle.knock_limit import knock_limited_ca50
from compat.engineering.cycle.octane import motor_octane_weight
from compat.engineering.formula import OutOfRange
from compat.engineering.fuel.blend import ethanol_blend


@pytest.mark.parametrize(
    ("petrol", "share", "octane"),
    [(88.0, 0.10, 92.3), (88.0, 0.20, 95.9), (91.0, 0.10, 94.7), (95.0, 0.85, 107.8)],
)
def test_octane_by_moles(petrol: float, share: float, octane: float) -> None:
    """Anderson et al. 2010 and SAE 2012-01-1274 (from memory): straight by moles up to 109; within 1.0."""
    assert ethanol_blend(share, petrol_octane=petrol).octane == pytest.approx(octane, abs=1.0)


@pytest.mark.parametrize(("by_volume", "by_moles"), [(0.10, 0.21), (0.20, 0.36), (0.50, 0.69), (0.85, 0.93)])
def test_moles_of_a_blend(by_volume: float, by_moles: float) -> None:
    """Anderson et al. 2010 (from memory): a tenth by volume is a fifth of the molecules."""
    assert ethanol_blend(by_volume).by_moles == pytest.approx(by_moles, abs=0.02)


def test_the_first_tenth_brings_more_than_its_share() -> None:
    """Mixing by volume says 1.4 points for a tenth in petrol of 95; engines and moles say twice as much."""
    gain = ethanol_blend(0.10).octane - 95.0
    assert 2.0 * 0.9 * (109 - 95) * 0.10 < gain < 2.6 * (109 - 95) * 0.10


def test_air_and_heat_of_a_blend() -> None:
    """Stoichiometry by hand: C2H5OH + 3 O2, 46.07 g with 96 g of oxygen, 23.14 per cent of air: 9.0 to 1.

    E85 of a handbook (from memory): 9.8 to 1, 29.2 MJ/kg, near 0.785 kg/L, 2.4 times the heat of evaporation.
    """
    by_hand = 3 * 31.998 / 46.07 / 0.2314
    assert ethanol_blend(1.0).stoichiometric_ratio == pytest.approx(by_hand, rel=0.01)
    blend = ethanol_blend(0.85)
    assert blend.stoichiometric_ratio == pytest.approx(9.8, abs=0.1)
    assert blend.heating_value == pytest.approx(29.2e6, rel=0.01)
    assert blend.density == pytest.approx(785.0, abs=5.0)
    assert 2.2 < blend.heat_of_vaporisation / 350e3 < 2.6


def test_the_ends_of_a_blend_are_its_parts() -> None:
    assert ethanol_blend(0.0, petrol_octane=96.0).octane == 96.0
    assert ethanol_blend(1.0).octane == 109.0
    assert ethanol_blend(1.0).by_mass == 1.0
    with pytest.raises(OutOfRange, match="ethanol_share"):
        ethanol_blend(1.1)


def test_the_two_tests_themselves() -> None:
    """ASTM D2699 and D2700 (from memory): air of 52 degC for research, mixture of 149 degC for motor."""
    assert motor_octane_weight(325.15, 101325.0, least=0.0) == pytest.approx(0.0)
    assert motor_octane_weight(422.15, 101325.0, least=0.0) == pytest.approx(1.0)


def test_weight_moves_as_kalghatgi_found() -> None:
    """SAE 2001-01-3584 (from memory): K falls as boost is raised and cooled, and rises with heat."""
    warm = [motor_octane_weight(t, 101325.0) for t in (300.0, 360.0, 390.0, 420.0)]
    assert warm == sorted(warm)
    boosted = [motor_octane_weight(390.0, p) for p in (60e3, 101e3, 150e3, 220e3)]
    assert boosted == sorted(boosted, reverse=True)
    assert min(warm + boosted) == 0.25


CYLINDER = ChargedCylinder(
    bore=0.086, stroke=0.087, rod_length=0.148, compression_ratio=9.0, speed=3000 * math.pi / 30,
    charge_temperature=315.0, volumetric_efficiency=0.95, octane=98.0, octane_sensitivity=10.0,
    motor_octane_weight=0.25, stoichiometric_ratio=14.4, heating_value=42.4e6, heat_of_vaporisation=380e3,
    relative_air_fuel_ratio=0.82, manifold_pressure=180e3, exhaust_pressure=190e3,
)  # fmt: skip


def blended(share: float, **other: float) -> ChargedCylinder:
    """The cylinder on petrol of 97 with so much ethanol in it."""
    blend = ethanol_blend(share, petrol_octane=97.0, petrol_motor_octane=87.0)
    return dataclasses.replace(
        CYLINDER,
        octane=blend.octane,
        octane_sensitivity=blend.octane - blend.motor_octane,
        stoichiometric_ratio=blend.stoichiometric_ratio,
        heating_value=blend.heating_value,
        heat_of_vaporisation=blend.heat_of_vaporisation,
        **other,
    )


def test_more_ethanol_never_burns_later() -> None:
    """Octane and cooling both rise with it."""
    retard = [knock_limited_ca50(blended(share)).retard for share in (0.0, 0.1, 0.3, 0.5, 0.85)]
    assert retard == sorted(retard, reverse=True)
    # common practice, no source: on E85 such a charge burns within some degrees of the best timing
    assert math.degrees(retard[0]) > 8.0
    assert math.degrees(retard[-1]) < 3.0


def test_fuel_sprayed_into_the_cylinder_cools_more_alcohol_above_all() -> None:
    """Kasseris and Heywood, SAE 2012-01-1275 (from memory): worth some 5 octane on petrol, 18 on E85."""
    gains = []
    for share in (0.0, 0.85):
        port = knock_limited_ca50(blended(share, evaporated_share=0.3, manifold_pressure=260e3)).retard
        direct = knock_limited_ca50(blended(share, evaporated_share=0.8, manifold_pressure=260e3)).retard
        gains.append(port - direct)
    assert 0.0 < 1.5 * gains[0] < gains[1]
