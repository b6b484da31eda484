"""Cards and measured values that contradict themselves, their metal or what is worked out: each passed.

Densities, moduli and classes are table values; where an end is an own choice its rule says so.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from compat.library.library import build_of_id
from tests.checking.wrong import BASE, TURBO, V6, verdict
from tests.look import check, demo_shop

STREET, PHASED = "street-turbo", "phase-upgrade"
Sizes = dict[str, str]


@pytest.mark.parametrize(
    ("start", "rule", "sizes"),
    [
        # a rod of 9 GPa; one that yields after it broke; one of rubber; a shank heavier than its rod
        (STREET, "rod-metal-possible", {"rod.tensile_strength": "9 GPa"}),
        (STREET, "rod-yields-before-it-breaks", {"rod.yield_strength": "1800 MPa"}),
        (STREET, "rod-as-stiff-as-its-metal", {"rod.elastic_modulus": "600 GPa"}),
        (STREET, "rod-weighs-its-shank", {"rod.least_section_area": "900 mm^2"}),
        # weights of nothing, which nothing pulls on
        (V6, "piston-weighs-its-bore", {"piston.mass": "80 g"}),
        (V6, "pin-weighs-its-size", {"piston_pin.bore": "18.5 mm"}),
        (V6, "inlet-valve-weighs-its-stem", {"inlet_valve.mass": "5 g"}),
        (TURBO, "exhaust-valve-weighs-its-stem", {"exhaust_valve.mass": "5 g"}),
        (TURBO, "tappet-and-retainer-weigh-something", {"retainer.mass": "1 g"}),
        (TURBO, "tappet-and-retainer-weigh-something", {"tappet.mass": "2 g"}),
        # ratings that nothing on earth has
        (STREET, "rod-lining-possible", {"rod_bearing.load_limit": "400 MPa"}),
        (STREET, "main-lining-possible", {"main_bearing.load_limit": "400 MPa"}),
        (STREET, "turbo-wheel-speed-possible", {"turbocharger.max_speed": "900000 rpm"}),
        (STREET, "turbo-wheel-speed-possible", {"turbocharger.wheel_diameter": "5.2 mm"}),
        (STREET, "clutch-facing-bears-clamp", {"clutch_cover.clamp_load": "60 kN"}),
        (STREET, "clutch-friction-possible", {"clutch_disc.friction": "1.2"}),
        # a wall sounded through the jacket
        (STREET, "wall-between-bores", {"block.wall_thickness": "20 mm"}),
        # an oil of two data sheets
        (STREET, "oil-of-its-class", {"oil.hot_viscosity": "30 mPa*s"}),
        (STREET, "oil-of-its-class", {"oil.hot_class": "20"}),
        (STREET, "oil-thins-as-oil-does", {"oil.viscosity_40": "420 mm^2/s"}),
        (V6, "oil-pump-gives-what-it-displaces", {"oil_pump.displacement": "9 cm^3/rev"}),
        (STREET, "oil-shears-as-oil-does", {"oil.high_shear_viscosity": "12 mPa*s"}),
        # sizes that let what is around them pass, and ratings that cool or clutch anything
        (STREET, "rod-section-of-its-area", {"rod.gyration_radius": "35 mm"}),
        (STREET, "rod-reaches-round-its-bore", {"rod.big_end_reach": "9 mm"}),
        (STREET, "rod-reaches-round-its-bore", {"rod.big_end_span": "30 mm"}),
        (STREET, "skirt-goes-below-its-pin", {"piston.skirt_below_pin": "4 mm"}),
        (STREET, "counterweights-beyond-their-pins", {"crankshaft.counterweight_radius": "16 mm"}),
        (STREET, "crankcase-room-possible", {"block.rod_envelope_radius": "400 mm"}),
        (STREET, "rings-as-deep-as-their-bore-asks", {"ring_set.radial_depth": "0.6 mm"}),
        (STREET, "clutch-radius-within-its-disc", {"clutch_disc.mean_radius": "190 mm"}),
        (STREET, "injector-rated-at-a-pressure", {"injector.static_pressure": "43.5 kPa"}),
        (STREET, "radiator-rating-possible", {"radiator.heat_capacity": "900 kW"}),
        (STREET, "radiator-sheds-more-when-driven", {"radiator.standing_capacity": "210 kW"}),
        (STREET, "oil-cooler-rating-possible", {"oil_cooler.heat_capacity": "90 kW"}),
        (STREET, "head-washer-thick-enough", {"head_washer.thickness": "0.6 mm"}),
        (STREET, "heat-limits-possible", {"turbocharger.max_gas_temperature": "1400 degC"}),
        (V6, "heat-limits-possible", {"exhaust_manifold.max_gas_temperature": "1400 degC"}),
        (V6, "valve-heat-limit-possible", {"exhaust_valve.gas_temperature_limit": "1400 degC"}),
        (V6, "valve-heat-limit-possible", {"exhaust_valve.material": "martensitic_steel"}),
        (TURBO, "plain-iron-and-steel-in-the-heat", {"exhaust_manifold.material": "mild_steel"}),
        (TURBO, "plain-iron-and-steel-in-the-heat", {"turbocharger.housing_material": "grey_iron"}),
        # gaps tried with the phaser parked, or read in another unit
        (PHASED, "inlet-gap-tried-and-worked-out", {"cylinder_head.inlet_piston_gap": "5.5 mm"}),
        (PHASED, "exhaust-gap-tried-and-worked-out", {"cylinder_head.exhaust_piston_gap": "25 mm"}),
    ],
)
def test_a_number_that_no_such_part_has(start: str, rule: str, sizes: Sizes) -> None:
    assert verdict(start, rule) in ("ok", "")
    assert verdict(start, rule, measured=sizes) == "conflict"


@pytest.mark.parametrize("unsaid", ["", "pocket_depth_inlet", "pocket_radius_inlet"])
def test_a_gap_tried_stands_where_cards_leave_it_open(unsaid: str) -> None:
    """Pockets that nobody states: what clay found is all that there is, and does not become unknown."""
    demo = demo_shop()
    piston = demo.shop.builds[PHASED].fit["piston"]
    own = {name: spec for name, spec in demo.shop.specs[piston].items() if name != unsaid}
    shop = replace(demo.shop, specs={**demo.shop.specs, piston: own})
    ready = build_of_id(shop, PHASED).changed(measured={"cylinder_head.inlet_piston_gap": "2.6 mm"})
    outcomes = check(shop, demo.book, ready).checked.outcomes
    assert [one.verdict for one in outcomes if one.rule == "inlet-gap-tried-and-worked-out"] == ["ok"]


def test_coolant_freezes_by_its_share_of_glycol() -> None:
    """Half and half stands -37 degC, a quarter -12 (from memory)."""
    rule, frost, hard = "coolant-freezes", {"air_temperature": "-20 degC"}, {"air_temperature": "-45 degC"}
    quarter = {"coolant.glycol_share": "0.25"}
    assert verdict(V6, rule, goal=frost) == "ok"
    assert verdict(V6, rule, goal=hard) == "shortfall"
    assert verdict(V6, rule, goal=frost, measured=quarter) == "shortfall"


def test_rings_valves_and_injectors_of_another_kind() -> None:
    """A plain iron ring under boost, a direct injector on a port's rail, a servo that keeps no vacuum."""
    rings: dict[str, Any] = {"fit": {"ring_set": "tarn-20-base-ring-set"}}
    assert verdict(TURBO, "iron-rings-under-boost", **rings) == "shortfall"
    assert verdict(TURBO, "iron-rings-under-boost", goal={"boost": "20 kPa"}, **rings) == ""
    assert verdict(BASE, "iron-rings-under-boost", goal={"duty": "endurance"}) == "shortfall"
    assert verdict(BASE, "iron-rings-under-boost") == ""
    into: dict[str, Any] = {"measured": {"injector.sprays_into": "cylinder"}}
    assert verdict(V6, "injector-for-its-pressure") == "ok"
    assert verdict(V6, "injector-for-its-pressure", **into) == "conflict"
    stiff = {"fuel_regulator.base_pressure": "1100 kPa"}
    assert verdict(V6, "injector-for-its-pressure", measured=stiff) == "conflict"
    rule = "servo-check-valve-keeps-vacuum"
    assert (verdict(V6, rule), verdict(TURBO, rule)) == ("ok", "")
    assert verdict(V6, rule, measured={"servo_check_valve.one_way": "no"}) == "missing"
