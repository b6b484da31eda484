"""What valve to piston is worked from, against the outside: slider crank, lobe, and the wedge of a pocket."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from compat.engineering.cylinder.crank_motion import piston_position
from compat.engineering.valves.cam_profile import valve_lift
from compat.engineering.valves.cam_shape import PROFILES
from compat.engineering.valves.valve_piston import valve_approach
from compat.engineering.valves.valve_pocket import pocket_volume

DEG, MM = math.radians(1), 1e-3


@pytest.mark.parametrize("degrees", [0.5, 5, 10, 20, 45, 90, 180])
def test_piston_by_where_the_rod_s_circle_cuts_the_bore(degrees: float) -> None:
    """Heywood, Internal Combustion Engine Fundamentals, eq. 2.5 (from memory), found anew as a root."""
    stroke, rod, angle = 0.087, 0.148, degrees * DEG
    throw = stroke / 2
    pin = brentq(
        lambda y: (throw * math.sin(angle)) ** 2 + (y - throw * math.cos(angle)) ** 2 - rod**2, 0.0, 1.0
    )
    assert piston_position(stroke, rod, angle) == pytest.approx(throw + rod - pin, abs=1e-12)
    # two terms of the usual series in r/l, any handbook of dynamics: good to about r (r/l)^3 / 8
    series = throw * (1 - math.cos(angle) + throw / rod / 4 * (1 - math.cos(2 * angle)))
    assert piston_position(stroke, rod, angle) == pytest.approx(series, abs=throw * (throw / rod) ** 3 / 7)


def test_simple_harmonic_rise_lies_beside_the_shapes() -> None:
    """Norton, Cam Design and Manufacturing Handbook (from memory): harmonic lift is h (1 + cos) / 2.

    Set to the same lift and the same duration at 1 mm, every shape for valves lies on it or outside it, as a
    lobe that gains by its fullness is meant to.
    """
    lift, duration = 9.6 * MM, 214 * DEG
    half = duration / 2 * math.pi / math.acos(2 * 1 * MM / lift - 1)

    def harmonic(angle: float) -> float:
        return lift / 2 * (1 + math.cos(math.pi * angle / half))

    assert harmonic(duration / 2) == pytest.approx(1 * MM)
    for profile in PROFILES[:3]:
        for degrees in (20, 40, 60, 80, 90):
            own = valve_lift(profile, lift, duration, 1 * MM, degrees * DEG)
            assert own == pytest.approx(harmonic(degrees * DEG), abs=0.18 * lift)
            assert own > harmonic(degrees * DEG) - 0.005 * lift


def test_area_under_the_lift_is_within_what_cams_have() -> None:
    """Common practice, no source: mean lift from 1 mm to 1 mm is 0.58 to 0.68 of the greatest."""
    lift, duration = 9.6 * MM, 214 * DEG
    for profile in PROFILES[:3]:
        area = quad(lambda a, p=profile: valve_lift(p, lift, duration, 1 * MM, a), -duration / 2, duration / 2)[
            0
        ]
        assert 0.58 < area / duration / lift < 0.68, profile


def test_a_degree_of_timing_costs_what_the_trade_says() -> None:
    """Common practice, no source: a road cam loses or gains 0.08 to 0.15 mm a degree of the crank."""
    for lift, duration, centre in ((8.6, 208, 108), (9.4, 226, 110), (10.2, 244, 108)):
        cam = (PROFILES[1], lift * MM, duration * DEG, 1 * MM)
        early, late = (
            valve_approach("inlet", *cam, (centre + step) * DEG, 20 * DEG, 0.087, 0.148).approach
            for step in (-1, 1)
        )
        assert 0.08 * MM < (late - early) / 2 < 0.15 * MM


def test_pocket_is_the_hoof_of_a_cylinder() -> None:
    """Archimedes: cut from the edge to the diameter, the hoof holds 2/3 r^2 h (any table of solids)."""
    radius, lean = 18 * MM, 20 * DEG
    height = radius * math.tan(lean)
    # depth lies along the bore, the hoof's height along the cutter, whose floor is the slanted plane's mirror
    assert pocket_volume(radius, radius * math.sin(lean), lean) == pytest.approx(2 / 3 * radius**2 * height)
    # upright, a plain disc; and once the whole circle is below the flat every further depth is a full slice
    assert pocket_volume(radius, 3 * MM, 0.0) == pytest.approx(math.pi * radius**2 * 3 * MM)
    deep = 2 * radius * math.sin(lean)
    step = pocket_volume(radius, deep + 1 * MM, lean) - pocket_volume(radius, deep, lean)
    assert step == pytest.approx(math.pi * radius**2 * 1 * MM / math.cos(lean))
    assert pocket_volume(radius, deep, lean) == pytest.approx(pocket_volume(radius, deep * (1 - 1e-12), lean))


@pytest.mark.parametrize(("depth", "lean"), [(1.5, 20), (4.4, 18), (4.3, 18), (9.0, 12)])
def test_pocket_against_points_thrown_at_it(depth: float, lean: float) -> None:
    """JCGM 101 in spirit: two million points in the cutter's own box, counted where they lie in metal."""
    radius, angle = 18.3 * MM, lean * DEG
    generator = np.random.default_rng(7)
    across, along = generator.uniform(-radius, radius, (2, 2_000_000))
    reach = depth * MM / math.cos(angle)
    up = generator.uniform(0, reach, across.size)  # along the valve, above the floor
    below_flat = depth * MM - (radius - across) * math.sin(angle) - up * math.cos(angle)
    inside = (across**2 + along**2 <= radius**2) & (below_flat > 0)
    volume = inside.mean() * (2 * radius) ** 2 * reach
    assert pocket_volume(radius, depth * MM, angle) == pytest.approx(volume, rel=0.01)
