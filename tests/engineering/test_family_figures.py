"""The demo family's derived figures, worked from its dimensions by the formulas alone.

The family is invented; its derived figures were worked out by hand beforehand, so each one here is an
independent result of the same geometry.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from compat.engineering.air import breathing
from compat.engineering.bolts import joint_load
from compat.engineering.cycle import performance
from compat.engineering.cylinder import compression, deck, envelope, geometry
from compat.engineering.cylinder.crank_motion import mean_piston_speed, rod_ratio
from compat.engineering.fuel import injectors
from compat.engineering.lubrication.fits import bearing_clearance
from compat.engineering.running_gear import inertia

RPM = math.pi / 30
MM = 1e-3
CM3 = 1e-6


@dataclass(frozen=True)
class Variant:
    """Dimensions in mm, cm3, g, kN as the family states them, and the figures worked by hand."""

    name: str
    stroke: float
    deck_height: float
    cylinder_length: float
    rod: float
    gasket: tuple[float, float]
    chamber: float
    crown: float
    skirt_below: float
    weight_radius: float
    reach: float
    envelope: float
    pin: float
    pack: tuple[float, float, float, float, float, float]
    masses: tuple[float, float, float]  # reciprocating all told, rod rotating, cap
    rev_limit: float
    power: tuple[float, float]
    torque: float
    preload: float
    factor: float
    injector: tuple[float, float, float]  # cm3/min at 300 kPa, pressure difference, g/kWh
    swept: float
    ratio: float
    clearance: float
    quench: float
    bmep: tuple[float, float]
    speed: float
    gaps: tuple[float, float, float]  # skirt to counterweight, overhang, envelope to swing
    pack_depth: float
    pin_margin: float
    loads: tuple[float, float]
    clamp_ratio: float
    duty: float

    bore = 85.5
    compression_height = 30.8


BASE_PACK = (6.0, 1.2, 4.0, 1.2, 2.2, 2.0)
TURBO_PACK = (6.5, 1.2, 4.5, 1.2, 2.3, 2.0)
FAMILY = [
    Variant(
        "tarn-20-base", 87.0, 222.5, 136.0, 148.0, (87.0, 1.2), 45.2, 2.0, 24.0, 76.0, 35.0, 81.0, 21.0,
        BASE_PACK, (605, 360, 120), 6500, (92e3, 5800), 168, 44, 6.0, (210, 300, 290),
        499.5, 10.0, 55.48, 1.40, (952, 1056), 18.9, (4.5, 6.0, 2.5), 16.6, 3.7, (15.8, 10.3), 2.9, 0.71,
    ),
    Variant(
        "tarn-20-phase", 87.0, 222.5, 136.0, 148.0, (86.5, 0.8), 43.6, 1.5, 24.0, 76.0, 35.0, 81.0, 21.0,
        BASE_PACK, (597, 365, 122), 6900, (112e3, 6400), 188, 44, 6.0, (240, 380, 290),
        499.5, 10.8, 50.95, 1.00, (1051, 1182), 20.0, (4.5, 6.0, 2.5), 16.6, 3.7, (17.5, 11.5), 2.6, 0.67,
    ),
    Variant(
        "tarn-20-turbo", 87.0, 222.5, 136.0, 148.0, (86.5, 1.2), 45.2, 10.6, 24.0, 77.0, 35.5, 81.0, 22.0,
        TURBO_PACK, (678, 422, 140), 6500, (147e3, 5600), 265, 54, 5.5, (390, 300, 340),
        499.5, 8.8, 64.00, 1.40, (1576, 1666), 18.9, (3.5, 6.0, 2.0), 17.7, 2.1, (17.7, 11.7), 2.5, 0.72,
    ),
    Variant(
        "tarn-22-long", 95.0, 230.5, 144.0, 152.0, (86.5, 0.8), 43.6, 8.6, 24.0, 78.0, 36.5, 87.0, 21.0,
        BASE_PACK, (615, 398, 132), 6300, (112e3, 5700), 205, 44, 6.0, (240, 380, 290),
        545.4, 10.4, 58.05, 1.00, (1080, 1180), 19.9, (2.5, 6.0, 3.0), 16.6, 3.7, (16.7, 11.1), 2.6, 0.67,
    ),
]  # fmt: skip
EACH = pytest.mark.parametrize("v", FAMILY, ids=lambda v: v.name)


@EACH
def test_volumes_and_ratio(v: Variant) -> None:
    swept = geometry.swept_volume(v.bore * MM, v.stroke * MM)
    assert swept / CM3 == pytest.approx(v.swept, abs=0.05)
    below = deck.deck_clearance(v.deck_height * MM, v.stroke * MM, v.rod * MM, v.compression_height * MM)
    assert below / MM == pytest.approx(0.20, abs=1e-9)
    left = geometry.clearance_volume(
        v.chamber * CM3, v.crown * CM3, v.gasket[0] * MM, v.gasket[1] * MM, v.bore * MM, below
    )
    assert left / CM3 == pytest.approx(v.clearance, abs=0.006)
    assert compression.compression_ratio_of_volumes(swept, left) == pytest.approx(v.ratio, abs=0.006)
    assert compression.clearance_volume_for_ratio(
        swept, compression.compression_ratio_of_volumes(swept, left)
    ) == pytest.approx(left)
    assert deck.quench_gap(below, v.gasket[1] * MM) / MM == pytest.approx(v.quench)


@EACH
def test_room(v: Variant) -> None:
    weights, overhang, swing_gap = v.gaps
    found = envelope.skirt_to_counterweight(v.rod * MM, v.stroke * MM, v.skirt_below * MM, v.weight_radius * MM)
    assert found / MM == pytest.approx(weights)
    found = envelope.bore_overhang(
        v.deck_height * MM, v.cylinder_length * MM, v.rod * MM, v.stroke * MM, v.skirt_below * MM
    )
    assert found / MM == pytest.approx(overhang)
    assert v.envelope - envelope.big_end_swing(v.stroke * MM, v.reach * MM) / MM == pytest.approx(swing_gap)
    depth = deck.ring_pack_depth(*(height * MM for height in v.pack))
    assert depth / MM == pytest.approx(v.pack_depth)
    margin = deck.pin_top_margin(v.compression_height * MM, v.pin * MM, depth)
    assert margin / MM == pytest.approx(v.pin_margin)


@EACH
def test_speed_and_loads(v: Variant) -> None:
    speed = v.rev_limit * RPM
    assert mean_piston_speed(v.stroke * MM, speed) == pytest.approx(v.speed, abs=0.06)
    reciprocating, rotating, cap = (mass * 1e-3 for mass in v.masses)
    pull = inertia.reciprocating_load(reciprocating, v.stroke * MM, v.rod * MM, speed)
    assert pull / 1e3 == pytest.approx(v.loads[0], abs=0.06)
    bolt = inertia.rod_bolt_load(pull, rotating, cap, v.stroke * MM, speed)
    assert bolt / 1e3 == pytest.approx(v.loads[1], abs=0.06)


@EACH
def test_mean_pressure_and_clamp(v: Variant) -> None:
    engine = geometry.engine_displacement(v.bore * MM, v.stroke * MM, 4)
    at_power = performance.bmep_from_power(v.power[0], v.power[1] * RPM, engine)
    at_torque = performance.bmep(v.torque, engine)
    assert at_power / 1e3 == pytest.approx(v.bmep[0], abs=1.5)
    assert at_torque / 1e3 == pytest.approx(v.bmep[1], abs=1.5)
    lift = inertia.gas_load(v.factor * at_torque, v.gasket[0] * MM)
    needed = joint_load.preload_for_clamp_ratio(v.clamp_ratio, 10, 4, lift)
    assert v.clamp_ratio * v.preload * 1e3 / needed == pytest.approx(v.clamp_ratio, abs=0.06)


@EACH
def test_injector_duty(v: Variant) -> None:
    rated, pressure, consumption = v.injector
    needed = breathing.fuel_flow_for_power(v.power[0], consumption * 1e-3 / 3.6e6)
    flow = injectors.injector_flow(rated * CM3 / 60, 300e3, pressure * 1e3)
    assert injectors.injector_duty(needed, 745, 4, flow) == pytest.approx(v.duty, abs=0.006)


@pytest.mark.parametrize(
    ("housing", "shell", "journal", "band"),
    [
        ((62.000, 62.012), (1.982, 1.988), (57.984, 58.000), (0.024, 0.064)),
        ((51.000, 51.013), (1.482, 1.488), (47.984, 48.000), (0.024, 0.065)),
    ],
)
def test_oil_clearance_band(
    housing: tuple[float, float],
    shell: tuple[float, float],
    journal: tuple[float, float],
    band: tuple[float, float],
) -> None:
    least = bearing_clearance(housing[0] * MM, shell[1] * MM, journal[1] * MM)
    most = bearing_clearance(housing[1] * MM, shell[0] * MM, journal[0] * MM)
    assert (least / MM, most / MM) == pytest.approx(band, abs=1e-9)


def test_rod_ratios() -> None:
    assert rod_ratio(0.148, 0.087) == pytest.approx(1.70, abs=0.005)
    assert rod_ratio(0.152, 0.095) == pytest.approx(1.60, abs=0.005)


def test_long_crank_alone_in_the_base_block() -> None:
    """Full stroke difference stands in the stack by half: the piston comes 4 mm too high."""
    below = deck.deck_clearance(0.2225, 0.095, 0.148, 0.0308)
    assert below / MM == pytest.approx(-3.80)
    assert envelope.skirt_to_counterweight(0.148, 0.095, 0.024, 0.078) / MM == pytest.approx(-1.5)
    assert 81.0 - envelope.big_end_swing(0.095, 0.035) / MM == pytest.approx(-1.5)
    big_end = bearing_clearance(51.0065 * MM, 1.485 * MM, 49.992 * MM) / MM
    assert big_end == pytest.approx(-1.98, abs=0.03)
    with pytest.raises(ValueError, match="no clearance volume is left"):
        geometry.clearance_volume(10e-6, -5e-6, 0.087, 0.0012, 0.0855, below)


def test_long_crank_made_to_work() -> None:
    below = deck.deck_clearance(0.2225, 0.095, 0.148, 0.0268)
    assert below / MM == pytest.approx(0.20)
    assert geometry.engine_displacement(0.086, 0.095, 4) / CM3 == pytest.approx(2207, abs=0.6)
    left = geometry.clearance_volume(45.2e-6, 14e-6, 0.087, 0.0012, 0.086, below)
    ratio = compression.compression_ratio_of_volumes(geometry.swept_volume(0.086, 0.095), left)
    assert ratio == pytest.approx(9.18, abs=0.01)
    assert envelope.skirt_to_counterweight(0.148, 0.095, 0.020, 0.078) / MM == pytest.approx(2.5)
    depth = deck.ring_pack_depth(5.5e-3, 1e-3, 3.5e-3, 1e-3, 2e-3, 2e-3)
    assert depth / MM == pytest.approx(15.0)
    assert deck.pin_top_margin(0.0268, 0.021, depth) / MM == pytest.approx(1.3)


@pytest.mark.parametrize(
    ("chamber", "crown", "gasket", "deck_cut", "skim", "ratio"),
    [
        (43.6, 2.0, (87.0, 1.2), 0.0, 0.0, 10.27),  # phase head, base short block, base gasket
        (43.6, 2.0, (86.5, 0.8), 0.0, 0.0, 10.71),  # the same with the phase gasket
        (45.2, 1.5, (86.5, 0.8), 0.0, 0.0, 10.51),  # base head on the phase block
        (45.2, 10.6, (87.0, 1.2), 0.0, 0.0, 8.79),  # turbo pistons in the base block
        (43.6, 10.6, (86.5, 0.8), 0.0, 0.0, 9.32),  # turbo pistons in the phase block
        (43.6, 1.5, (86.5, 0.8), 0.2, 0.0, 11.03),  # phase block decked
        (43.6, 1.5, (86.5, 0.8), 0.0, 0.3, 11.09),  # phase head faced
    ],
)
def test_mixed_parts(
    chamber: float,
    crown: float,
    gasket: tuple[float, float],
    deck_cut: float,
    skim: float,
    ratio: float,
) -> None:
    below = deck.deck_clearance((222.5 - deck_cut) * MM, 0.087, 0.148, 0.0308)
    chamber_left = chamber * CM3 - deck.skim_volume(48e-4, skim * MM)
    left = geometry.clearance_volume(chamber_left, crown * CM3, gasket[0] * MM, gasket[1] * MM, 0.0855, below)
    found = compression.compression_ratio_of_volumes(geometry.swept_volume(0.0855, 0.087), left)
    assert found == pytest.approx(ratio, abs=0.006)


def test_long_short_block_with_base_dish() -> None:
    left = geometry.clearance_volume(43.6e-6, 2e-6, 0.0865, 0.8e-3, 0.0855, 0.2e-3)
    ratio = compression.compression_ratio_of_volumes(geometry.swept_volume(0.0855, 0.095), left)
    assert ratio == pytest.approx(11.60, abs=0.006)


@pytest.mark.parametrize(("cut", "crank_degrees"), [(0.20, 0.41), (0.30, 0.61)])
def test_cams_lag_after_a_cut(cut: float, crank_degrees: float) -> None:
    at_cam = math.degrees(deck.cam_retard(cut * MM, 44, 8 * MM))
    assert 2 * at_cam == pytest.approx(crank_degrees, abs=0.005)


def test_clamp_for_a_goal_of_2200_kpa() -> None:
    lift = inertia.gas_load(5.5 * 2200e3, 86.5 * MM)
    assert joint_load.preload_for_clamp_ratio(1.55, 10, 4, lift) / 1e3 == pytest.approx(44, abs=0.2)
    assert joint_load.preload_for_clamp_ratio(1.90, 10, 4, lift) / 1e3 == pytest.approx(54, abs=0.2)
    assert joint_load.preload_for_clamp_ratio(2.0, 10, 4, lift) / 1e3 == pytest.approx(57, abs=0.5)
    assert joint_load.preload_for_clamp_ratio(2.2, 10, 4, lift) / 1e3 == pytest.approx(63, abs=0.5)


def test_base_injectors_at_turbo_power() -> None:
    needed = breathing.fuel_flow_for_power(147e3, 340e-3 / 3.6e6)
    assert injectors.injector_duty(needed, 745, 4, 210e-6 / 60) == pytest.approx(1.33, abs=0.006)
    least = injectors.injector_flow_needed(needed, 745, 4, 0.85)
    assert least * 60 / CM3 == pytest.approx(330, abs=2)


# Base variant: nominal and half width of each tolerance, [mm] and [cm3].
STACK = {"deck": (222.5, 0.08), "stroke": (87.0, 0.05), "rod": (148.0, 0.03), "height": (30.8, 0.04)}
CHAMBER = {**STACK, "gasket": (1.2, 0.05), "chamber": (45.2, 0.5), "crown": (2.0, 0.3)}


def _below(d: dict[str, float]) -> float:
    return deck.deck_clearance(d["deck"] * MM, d["stroke"] * MM, d["rod"] * MM, d["height"] * MM)


def _ratio(d: dict[str, float]) -> float:
    left = geometry.clearance_volume(
        d["chamber"] * CM3, d["crown"] * CM3, 87.0 * MM, d["gasket"] * MM, 85.5 * MM, _below(d)
    )
    return compression.compression_ratio_of_volumes(geometry.swept_volume(85.5 * MM, d["stroke"] * MM), left)


def _shares(
    figure: Callable[[dict[str, float]], float], stack: dict[str, tuple[float, float]]
) -> dict[str, float]:
    """Sensitivity times tolerance of each dimension, by central differences (JCGM 100)."""
    nominal = {key: value for key, (value, _) in stack.items()}
    shares = {}
    for key, (value, half) in stack.items():
        step = 1e-4
        slope = (figure({**nominal, key: value + step}) - figure({**nominal, key: value - step})) / (2 * step)
        shares[key] = abs(slope * half)
    return shares


def test_tolerance_of_the_deck_stack() -> None:
    shares = {key: share / MM for key, share in _shares(_below, STACK).items()}
    assert shares["stroke"] == pytest.approx(0.025)
    assert sum(shares.values()) == pytest.approx(0.175)
    assert math.hypot(*shares.values()) == pytest.approx(0.098, abs=0.0005)
    assert max(shares, key=shares.__getitem__) == "deck"


def test_tolerance_of_the_compression_ratio() -> None:
    shares = _shares(_ratio, CHAMBER)
    assert sum(shares.values()) == pytest.approx(0.35, abs=0.01)
    assert math.hypot(*shares.values()) == pytest.approx(0.14, abs=0.005)
    order = sorted(shares, key=shares.__getitem__, reverse=True)
    assert order[:2] == ["chamber", "deck"]
