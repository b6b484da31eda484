"""Oil: viscosity, pump, restrictors and drains against standards and reference libraries."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from compat.engineering.formula import OutOfRange
from compat.engineering.lubrication.oil_drain import drain_bore, drain_flow, friction_factor
from compat.engineering.lubrication.oil_pump import orifice_flow, pump_delivery, relief_spill, valved_flow
from compat.engineering.lubrication.oil_viscosity import dynamic_viscosity, oil_density, oil_viscosity

RPM = math.pi / 30
LITRE_A_MINUTE = 1 / 60e3


@pytest.mark.parametrize(("cold", "hot"), [(46.0, 6.8), (75.0, 11.5), (100.0, 14.5), (160.0, 18.0)])
def test_viscosity_by_the_definition_of_astm_d341(cold: float, hot: float) -> None:
    """log log (v + 0.7) = A - B log T through both given points, by hand at a third temperature."""
    b = math.log10(math.log10(cold + 0.7) / math.log10(hot + 0.7)) / math.log10(373.15 / 313.15)
    a = math.log10(math.log10(cold + 0.7)) + b * math.log10(313.15)
    for celsius in (0, 40, 70, 100, 130, 150):
        by_hand = 10**10 ** (a - b * math.log10(celsius + 273.15)) - 0.7
        assert oil_viscosity(celsius + 273.15, cold * 1e-6, hot * 1e-6) * 1e6 == pytest.approx(
            by_hand, rel=1e-9
        )


# Kinematic viscosity [mm^2/s] by the package tribology 0.5.16 (MIT), function `walther`, worked out once: the
# package asks for a numpy of 2019 and cannot be installed beside a present one.
WALTHER = [
    (75.0, 11.5, 20, 203.30406393431156),
    (75.0, 11.5, 90, 14.527727010549363),
    (100.0, 14.5, 60, 45.27438654827954),
    (46.0, 6.8, 125, 4.187475203155695),
]


@pytest.mark.parametrize(("cold", "hot", "celsius", "expected"), WALTHER)
def test_viscosity_against_a_tribology_library(
    cold: float, hot: float, celsius: float, expected: float
) -> None:
    assert oil_viscosity(celsius + 273.15, cold * 1e-6, hot * 1e-6) * 1e6 == pytest.approx(expected, rel=1e-9)


def test_viscosity_of_a_mineral_oil_of_grade_46() -> None:
    """ISO VG 46, viscosity index near 100 (from memory): about 14 to 15 mm^2/s at 70 degC."""
    assert oil_viscosity(343.15, 46e-6, 6.8e-6) * 1e6 == pytest.approx(14.7, abs=1.0)


def test_hot_oil_is_thin_and_light() -> None:
    """Common practice: a 5W-40 near 3.5 to 4 mPa*s at 150 degC and high shear (SAE J300: at least 3.5)."""
    assert 3.3e-3 < dynamic_viscosity(423.15, 80e-6, 13.8e-6, shear_loss=0.1) < 4.6e-3
    assert oil_density(288.15) == 870.0
    assert oil_density(373.15) == pytest.approx(870 - 0.64 * 85)


def test_swapped_viscosities_are_refused() -> None:
    with pytest.raises(OutOfRange, match="swapped"):
        oil_viscosity(350.0, 11.5e-6, 75e-6)


@pytest.mark.parametrize("reynolds", [0.5, 10, 640, 2000, 2500, 4000, 1e4, 1e5])
def test_friction_against_fluids(reynolds: float) -> None:
    """`fluids` 1.3 (MIT): Churchill 1977 on a smooth pipe; 64/Re in laminar flow."""
    friction = pytest.importorskip("fluids.friction")
    assert friction_factor(reynolds) == pytest.approx(friction.Churchill_1977(reynolds, 0.0), rel=1e-3)
    if reynolds <= 640:
        assert friction_factor(reynolds) == pytest.approx(64 / reynolds, rel=1e-6)


@pytest.mark.parametrize(
    ("bore", "fall", "length", "viscosity"),
    [
        (0.016, 0.25, 0.30, 0.010),
        (0.012, 0.10, 0.40, 0.050),
        (0.019, 0.35, 0.35, 0.004),
        (0.016, 0.2, 0.3, 0.5),
    ],
)
def test_drain_against_fluids(bore: float, fall: float, length: float, viscosity: float) -> None:
    """Velocity by `fluids`: friction and entry and exit losses as K, head from K equal to the fall."""
    fluids = pytest.importorskip("fluids")

    def missing_head(velocity: float) -> float:
        reynolds = fluids.Reynolds(V=velocity, D=bore, rho=840.0, mu=viscosity)
        k = fluids.K_from_f(fluids.friction.Churchill_1977(reynolds, 0.0), length, bore) + 0.5 + 1.0
        return fluids.head_from_K(k, velocity) - fall

    velocity = brentq(missing_head, 1e-6, 10)
    expected = 0.5 * math.pi / 4 * bore**2 * velocity
    assert drain_flow(bore, fall, length, viscosity) == pytest.approx(expected, rel=1e-3)
    assert drain_bore(expected, fall, length, viscosity) == pytest.approx(bore, rel=1e-3)


def test_thick_oil_drains_as_poiseuille() -> None:
    """Laminar limit: Q = pi d^4 rho g h / (128 mu L)."""
    flow = drain_flow(0.016, 0.25, 0.30, 2.0, filled=1.0)
    assert flow == pytest.approx(math.pi * 0.016**4 * 840 * 9.80665 * 0.25 / (128 * 2.0 * 0.30), rel=5e-3)


def test_turbo_drain_of_common_practice_suffices() -> None:
    """Common practice, no source: 16 mm for a turbocharger's 1 to 3 L/min, hot; half as wide is too tight."""
    assert drain_flow(0.016, 0.15, 0.30, 0.010) > 3 * LITRE_A_MINUTE
    assert drain_flow(0.008, 0.15, 0.30, 0.030) < 1 * LITRE_A_MINUTE


def test_orifice_against_fluids() -> None:
    """`fluids` K for a sudden loss: Q = Cd A sqrt(2 dp/rho) is dp = K rho v^2/2 with K = 1/Cd^2."""
    core = pytest.importorskip("fluids.core")
    flow = orifice_flow(0.002, 300e3, 830.0, 0.65)
    velocity = flow / (math.pi / 4 * 0.002**2)
    assert core.dP_from_K(1 / 0.65**2, 830.0, velocity) == pytest.approx(300e3)


def test_pump_without_slip_delivers_what_it_displaces() -> None:
    displacement = 10.5e-6 / (2 * math.pi)
    full = pump_delivery(displacement, 6000 * RPM, 400e3, 0.01, filling=1.0, slip=0.0)
    assert full / LITRE_A_MINUTE == pytest.approx(10.5e-3 * 6000)


def test_hot_idle_is_where_slip_bites() -> None:
    """Common practice: a sound pump keeps about three quarters of its oil at hot idle, most at speed."""
    displacement = 10.5e-6 / (2 * math.pi)

    def efficiency(rpm: float, pressure: float) -> float:
        swept = displacement * rpm * RPM
        return pump_delivery(displacement, rpm * RPM, pressure, 0.0065) / swept

    assert 0.65 < efficiency(800, 150e3) < 0.85
    assert efficiency(6000, 450e3) > 0.85


def test_relief_and_jets_open_without_a_jump() -> None:
    for pressure in (150e3, 200e3, 450e3):
        step = 1.0
        jet = valved_flow(2.0, pressure + step, 150e3) - valved_flow(2.0, pressure - step, 150e3)
        spill = relief_spill(pressure + step, 450e3) - relief_spill(pressure - step, 450e3)
        assert abs(jet) < 1e-3
        assert abs(spill) < 1e-6
    # a jet rated at 300 kPa passes sqrt(2) times as much at twice the pressure
    assert valved_flow(2.0, 600e3, 150e3) == pytest.approx(2.0 * math.sqrt(2))
