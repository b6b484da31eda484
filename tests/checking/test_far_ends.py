"""What only a caution was told of, however far it went; and a goal that no part is changed for.

Each passed once, and `fix` proposed some of them. All are common practice, no source; where a limit is an own
choice its rule says so.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.checking.wrong import BASE, LONG, PHASE, TURBO, V6, Wrong, holds, verdict, wrong

STREET, TRACK = "street-turbo", "endurance-ethanol"
STIFF = {"relief_spring.relief_pressure": "600 kPa"}
COPPER = {"head_gasket": "lg-gasket-copper-875-150-j1", "bore_ring": "lg-bore-ring"}
POT = {"surge_pot": "ash-surge-pot", "lift_pump": "ash-lift-pump", "fuel_pump": "ash-pump-340"}
POWERS = {BASE: 92, PHASE: 112, TURBO: 147, V6: 150}


def sized(start: str, rule: str, expected: str, **sizes: str) -> Wrong:
    """A part with another size."""
    told = {name.replace("__", "."): size for name, size in sizes.items()}
    return ("size", start, {"measured": told}, rule, expected)


@wrong(
    # the piston of a longer rod: half the stroke, the rod and the piston end 4 mm below the deck
    sized(STREET, "piston-of-this-height", "conflict", piston__compression_height="26.8 mm"),
    sized(STREET, "clamp-closes", "conflict", hose_clamp__bore="45 mm"),
    sized(STREET, "plug-too-hot", "shortfall", spark_plug__heat_step="-2"),
    sized(STREET, "gasket-of-this-bore", "conflict", head_gasket__gasket_bore="92 mm"),
    sized(STREET, "compression-ratio-possible", "conflict", piston__crown_volume="95 cm^3"),
    sized(BASE, "compression-ratio-possible", "conflict", cylinder_head__chamber_volume="16 cm^3"),
    sized(TRACK, "main-fastener-past-strength", "conflict", main_fastener__tightening_torque="200 N*m"),
    sized(STREET, "oil-relief-pressure-possible", "conflict", relief_spring__relief_pressure="45 kPa"),
    sized(STREET, "oil-relief-pressure-possible", "conflict", relief_spring__relief_pressure="4500 kPa"),
    sized(BASE, "inlet-lash-possible", "conflict", camshaft_inlet__lash="0.02 mm"),
    sized(BASE, "exhaust-lash-possible", "conflict", camshaft_exhaust__lash="2.8 mm"),
    sized(STREET, "oil-cooler-far-too-small", "shortfall", oil_cooler__heat_capacity="4 kW"),
    ("ring", TURBO, {"fit": COPPER}, "rings-want-grooves", "missing"),
    ("pot", TURBO, {"fit": POT, "goal": {"duty": "track"}}, "pump-draws-from-pot-on-track", "conflict"),
)
def test_what_goes_too_far_is_no_caution(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


@pytest.mark.parametrize(
    ("start", "rule", "far", "says"),
    [
        (STREET, "plug-heat-range", "plug-too-hot", {"spark_plug.heat_step": "0.5"}),
        (STREET, "clamp-bore", "clamp-closes", {"hose_clamp.bore": "57 mm"}),
        (STREET, "oil-relief-pressure", "oil-relief-pressure-possible", STIFF),
        (BASE, "inlet-lash", "inlet-lash-possible", {"camshaft_inlet.lash": "0.50 mm"}),
        (STREET, "deck-clearance", "piston-of-this-height", {"piston.compression_height": "29.8 mm"}),
    ],
)
def test_between_practice_and_too_far_there_is_a_caution(
    start: str, rule: str, far: str, says: dict[str, str]
) -> None:
    assert verdict(start, rule, measured=says) == "caution"
    assert verdict(start, far, measured=says) == "ok"


def test_grooves_that_are_there_are_not_cut_again() -> None:
    rule = "rings-want-grooves"
    cut = [{"work": "cut-ring-grooves", "depth": "0.80 mm"}]
    assert verdict(TURBO, rule, fit=COPPER, work=cut) == "ok"
    assert verdict(TURBO, rule, fit=COPPER, measured={"bore_ring.groove_depth": "0.80 mm"}) == ""


def test_a_pot_on_the_road_that_feeds_no_pump_is_told() -> None:
    assert verdict(TURBO, "pump-draws-from-pot", fit=POT) == "caution"
    right = {**POT, "fuel_pump": "ash-pump-340-pot"}
    assert verdict(TURBO, "pump-draws-from-pot-on-track", fit=right, goal={"duty": "track"}) == "ok"


@pytest.mark.parametrize(("start", "power"), POWERS.items())
def test_more_than_the_rating_comes_of_other_tables(start: str, power: int) -> None:
    """UN Regulation No. 85 (from memory): a rated power may be off by 2 %."""
    rule = "calibration-beyond-the-rating"
    assert verdict(start, rule) == "ok"
    assert verdict(start, rule, goal={"power": f"{1.01 * power} kW"}) == "ok"
    assert verdict(start, rule, goal={"power": f"{1.03 * power} kW"}) == "missing"
    assert verdict(start, rule, goal={"power": f"{1.03 * power} kW"}, work=["calibrate"]) == ""


def test_more_torque_than_the_rating_comes_of_other_tables() -> None:
    """168 N*m as it left the factory; the unit of the 2.2 is set for 205 N*m."""
    rule = "calibration-beyond-the-rating"
    assert verdict(BASE, rule, goal={"torque": "171 N*m"}) == "ok"
    assert verdict(BASE, rule, goal={"torque": "175 N*m"}) == "missing"
    assert verdict(LONG, rule, goal={"torque": "215 N*m"}) == "missing"
