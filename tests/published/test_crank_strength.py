"""Fillets of a crankshaft against Peterson, Shigley and plain beams.

The factors of IACS UR M53 are quoted from memory; what holds them is that they come near what others publish
for the same shapes, and go the way that mechanics gives.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from compat.engineering import OutOfRange
from compat.engineering.running_gear.crank_strength import crank_fatigue_strength, crank_fillet_stress

THROW = {
    "gas_load": 57e3, "torque_swing": 600.0, "stroke": 0.087, "pin_diameter": 0.048, "journal_diameter": 0.058,
    "journal_width": 0.024, "web_thickness": 0.0225, "web_width": 0.084, "pin_fillet_radius": 0.0025,
    "journal_fillet_radius": 0.0025,
}  # fmt: skip


def _throw(**changed: float) -> Any:
    return crank_fillet_stress(**(THROW | changed))


def test_torsion_of_a_stepped_shaft() -> None:
    """Peterson, Stress Concentration Factors, a shouldered shaft in torsion (from memory): 1.7 at a fillet of
    a twentieth of the diameter and a step of two. Pin and journal that just do not overlap are such a step."""
    pin = 0.050
    apart = _throw(
        stroke=0.100, pin_diameter=pin, journal_diameter=0.050, web_thickness=pin / 2, web_width=1.5 * pin,
        pin_fillet_radius=pin / 20,
    )  # fmt: skip
    assert apart.pin_torsion_factor == pytest.approx(1.7, rel=0.08)


def test_nominal_bending_is_that_of_a_beam() -> None:
    """Worked by hand: 57 kN swing by 28.5 kN to either side, 14.25 kN of it on each main, 23.25 mm from the
    middle of main to the middle of web: 331.3 N*m on a section of 7.0875 cm^3 is 46.7 MPa; 10 MPa for mains out
    of line; no torque."""
    throw = _throw(torque_swing=0.0)
    assert (throw.pin_fillet - 10e6) / throw.pin_bending_factor == pytest.approx(46.74e6, rel=1e-3)


def test_bending_factors_are_of_the_size_that_is_measured() -> None:
    """Common practice, no source: strain gauges find fillets of automotive crankshafts at three to five."""
    throw = _throw()
    assert 2.5 < throw.pin_bending_factor < 5
    assert 2.5 < throw.journal_bending_factor < 5


@pytest.mark.parametrize(
    ("argument", "factor", "falls"),
    [
        ("web_thickness", 1.1, True),
        ("pin_fillet_radius", 1.3, True),
        ("journal_diameter", 1.05, True),
        ("gas_load", 1.1, False),
        ("torque_swing", 1.1, False),
    ],
)
def test_the_way_it_goes(argument: str, factor: float, falls: bool) -> None:
    """Thicker webs, larger fillets and more overlap bring the pin's stress down; loads raise it."""
    changed = _throw(**{argument: factor * THROW[argument]})
    assert (changed.pin_fillet < _throw().pin_fillet) is falls


def test_width_of_the_web_hardly_counts() -> None:
    """What stands beside the overlap carries little: the factor eats up what the section gains."""
    assert _throw(web_width=1.1 * 0.084).pin_fillet == pytest.approx(_throw().pin_fillet, rel=0.02)


def test_fatigue_strength_against_shigley() -> None:
    """Shigley, ch. 6 (from memory): half the tensile strength, machined (4.51 Sut^-0.265) and of 48 mm
    (1.51 d^-0.157). M53 lets a forging gain a twentieth, and what a sharp fillet's gradient forgives on top."""
    strength = 900.0
    shigley = 0.5 * strength * 4.51 * strength**-0.265 * 1.51 * 48**-0.157
    wide = crank_fatigue_strength(strength * 1e6, 0.048, 10.0, "billet_steel", "none") / 1e6
    assert wide == pytest.approx(shigley, rel=0.15)


def test_how_it_is_made_counts() -> None:
    def borne(material: str, hardening: str) -> float:
        return crank_fatigue_strength(800e6, 0.050, 0.0025, material, hardening)

    assert (
        borne("nodular_cast", "none") < borne("nodular_cast", "rolled_fillet") < borne("forged_steel", "none")
    )
    assert (
        borne("forged_steel", "none") == borne("forged_steel", "induction") < borne("forged_steel", "nitride")
    )
    # M53 (from memory): cold-rolled castings 0.93, drop forgings 1.05
    ratio = borne("nodular_cast", "rolled_fillet") / borne("forged_steel", "none")
    assert ratio == pytest.approx(0.93 / 1.05)


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"web_thickness": 0.005}, "web_thickness over pin_diameter"),
        ({"web_width": 0.2}, "web_width over pin_diameter"),
        ({"pin_fillet_radius": 0.001}, "pin_fillet_radius over pin_diameter"),
        ({"stroke": 0.3}, "overlap"),
        ({"gas_load": math.nan}, "gas_load"),
    ],
)
def test_refuses_what_the_factors_were_not_measured_on(changed: dict[str, float], says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        _throw(**changed)
