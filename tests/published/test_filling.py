"""Filling against Taylor's curve and Heywood's trends and formulas; values read from memory."""

from __future__ import annotations

import dataclasses
import math

import pytest

from compat.engineering.air.filling import volumetric_efficiency
from compat.engineering.air.tuning import tuned_exhaust_speed, tuned_inlet_speed
from tests.engineering.test_filling import DEGREE, ENGINE, RPM, at, filled

SEAT_TO_SEAT = 44 * DEGREE
"""Crank angle by which a lobe is open longer from seat to seat than at 1 mm; common practice 40 to 50 deg."""


@pytest.mark.parametrize(
    ("index", "filling"), [(0.3, 1.0), (0.5, 0.98), (0.6, 0.94), (0.8, 0.83), (1.0, 0.73), (1.2, 0.63)]
)
def test_taylors_curve(index: float, filling: float) -> None:
    """Taylor, vol. 1, fig. 6-13: volumetric efficiency by inlet Mach index, over its value at low index.

    Read from memory, within 0.04. His mean flow area runs from seat to seat, ours between the points of 1 mm,
    where the lobe is higher: his index is the larger by the ratio of the two durations.
    """
    # no pipes, and an inlet that closes as the flow turns: the valves alone
    bare = dataclasses.replace(
        ENGINE, runner_length=0.0, port_length=0.01, primary_length=0.0, phaser_advance=60 * DEGREE,
        phaser_retard=80 * DEGREE, exhaust_pressure=100e3,
    )  # fmt: skip

    def of(speed: float) -> tuple[float, float]:
        found = volumetric_efficiency(dataclasses.replace(bare, speed=speed))
        taylors = found.mach_index * (bare.inlet_duration + SEAT_TO_SEAT) / bare.inlet_duration
        return taylors, found.volumetric_efficiency / (1.0 + found.exhaust) ** -1

    speed = index / of(1000 * RPM)[0] * 1000 * RPM
    there, low = of(speed), of(0.2 / of(1000 * RPM)[0] * 1000 * RPM)
    assert there[0] == pytest.approx(index)
    assert there[1] / low[1] == pytest.approx(filling, abs=0.04)


def test_choked_flow() -> None:
    """Far above it what comes through no longer grows with speed; Heywood, appendix C."""
    flow = [speed * filled(speed, runner_length=0.0, port_length=0.01) for speed in (11000, 13000, 15000)]
    assert flow[2] / flow[0] < 1.05


@pytest.mark.parametrize(
    ("ratio", "pressures", "share"), [(8.0, 1.0, 1.0), (8.0, 2.0, 0.894), (10.0, 1.5, 0.959)]
)
def test_ideal_cycle(ratio: float, pressures: float, share: float) -> None:
    """Heywood, eq. 6.2 (from memory): r/(r-1) - (pe/pi + k - 1) / (k (r-1)), worked by hand with k of 1.35."""
    slow = at(400, compression_ratio=ratio, exhaust_pressure=100e3 * pressures, primary_length=0.0)
    assert 1.0 / (1.0 + slow.exhaust) == pytest.approx(share, abs=0.002)


def test_peak_between_the_ends() -> None:
    """Heywood, fig. 6-9 (from memory): engines of the road fill 0.85 to 1.0 where they fill best.

    That is near two thirds of their speed of peak power, and there they fill a tenth less.
    """
    best = max(filled(speed) for speed in range(2000, 7000, 100))
    assert 0.90 < best < 1.02
    assert 0.05 < best - filled(5800) < 0.15


def test_fuel_vapour_and_heat() -> None:
    """Heywood, section 6.2.1 (from memory): petrol vapour costs below 2 per cent where half of it is vapour.

    Alcohol cools more than its vapour takes.
    """
    petrol, alcohol = {"stoichiometric_ratio": 14.6, "heat_of_vaporisation": 350e3}, {
        "stoichiometric_ratio": 9.0, "heat_of_vaporisation": 910e3, "ethanol_share": 1.0}  # fmt: skip
    no_cooling = [
        filled(3000, **{**petrol, "heat_of_vaporisation": 0.0}, evaporated_share=share) for share in (0.5, 0.0)
    ]
    assert 0.98 < no_cooling[0] / no_cooling[1] < 0.995
    assert filled(3000, **alcohol) > filled(3000, **petrol) + 0.02


def test_runner_of_a_handbook() -> None:
    """Engelman's resonator, worked by hand: 0.5 L, ratio 9, 0.40 m of 900 mm2, sound of 343 m/s at 20 degC.

    Vessel 312.5 cm3; 343/(2 pi) sqrt(900e-6/(0.40 x 312.5e-6)) = 146.5 Hz; peak torque at 146.5/2.1 turns/s.
    """
    speed = tuned_inlet_speed(0.40, 900e-6, 500e-6, 9.0, 293.15) * 30 / math.pi
    assert speed == pytest.approx(146.5 / 2.1 * 60, rel=2e-3)


def test_header_by_the_trade_rule() -> None:
    """Trade rule (common practice, no source): primary in inches is 850 (180 + opening) / rpm - 3."""
    for opens, speed in ((60, 5500), (70, 6500), (75, 7500)):
        inches = 850 * (180 + opens) / speed - 3
        # the rule counts from the seat, some 22 deg before 1 mm of lift
        found = tuned_exhaust_speed(inches * 0.0254, (opens - 22) * DEGREE) * 30 / math.pi
        assert found == pytest.approx(speed, rel=0.12)
