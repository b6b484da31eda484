"""Where a caution ends: between practice and its far end it is said, and beyond that the build does not go together.

Each went on as a caution however far it was pushed. The sizes are common practice, no source; where an end is an own
choice its rule says so.
"""

from __future__ import annotations

import pytest

from tests.checking.wrong import BASE, LONG, PHASE, TURBO, V6, verdict

STREET, TRACK = "street-turbo", "endurance-ethanol"

End = tuple[str, str, str, str, str, str, str]
"""Build, the rule that warns, the one that fails and how, the spec, its size between both and beyond."""

WATER: list[End] = [
    (
        STREET,
        "coolant-flow",
        "coolant-flow-far-too-small",
        "shortfall",
        "water_pump.rated_flow",
        "150 L/min",
        "60 L/min",
    ),
    (
        STREET,
        "standing-radiator",
        "standing-radiator-far-too-small",
        "shortfall",
        "radiator.standing_capacity",
        "12 kW",
        "4 kW",
    ),
    (
        STREET,
        "water-pump-speed",
        "water-pump-far-too-fast",
        "shortfall",
        "water_pump.max_speed",
        "6000 rpm",
        "4000 rpm",
    ),
    (BASE, "pressure-cap", "pressure-cap-possible", "shortfall", "pressure_cap.opens_at", "90 kPa", "20 kPa"),
    (
        BASE,
        "hose-to-exhaust",
        "hose-touches-exhaust",
        "conflict",
        "coolant_hose.gap_to_exhaust",
        "15 mm",
        "2 mm",
    ),
    (
        BASE,
        "water-pump-wheel",
        "water-pump-ratio-of-its-wheel",
        "conflict",
        "water_pump.drive_ratio",
        "1.05",
        "2",
    ),
    (
        V6,
        "thermostat-opening",
        "thermostat-opens-in-time",
        "shortfall",
        "thermostat.opens_at",
        "70 degC",
        "40 degC",
    ),
    (
        V6,
        "thermostat-opening",
        "thermostat-opens-in-time",
        "shortfall",
        "thermostat.opens_at",
        "98 degC",
        "115 degC",
    ),
    (
        V6,
        "header-tank-volume",
        "header-tank-holds-the-growth",
        "shortfall",
        "header_tank.volume",
        "0.8 L",
        "0.2 L",
    ),
    (
        TURBO,
        "turbo-water-bore",
        "turbo-water-line-far-too-thin",
        "shortfall",
        "turbo_water_line.bore",
        "6 mm",
        "3 mm",
    ),
    (BASE, "steam-vent-bore", "steam-vent-is-a-vent", "shortfall", "steam_vent.bore", "2 mm", "0.8 mm"),
    (BASE, "steam-vent-bore", "steam-vent-is-a-vent", "shortfall", "steam_vent.bore", "8 mm", "16 mm"),
    (TRACK, "fan-for-the-radiator", "fan-far-too-small", "shortfall", "fan.flow", "0.5 m^3/s", "0.2 m^3/s"),
]
OIL: list[End] = [
    (
        TRACK,
        "dipstick-and-sump-depth",
        "dipstick-of-another-sump",
        "conflict",
        "dipstick.sump_depth",
        "155 mm",
        "140 mm",
    ),
    (
        STREET,
        "oil-cooler-pressure-drop",
        "oil-cooler-holds-oil-back",
        "shortfall",
        "oil_cooler.pressure_drop",
        "150 kPa",
        "230 kPa",
    ),
    (BASE, "pickup-suction-speed", "pickup-far-too-thin", "shortfall", "pickup.tube_bore", "14 mm", "8 mm"),
    (
        BASE,
        "filter-bypass-pressure",
        "filter-bypass-possible",
        "conflict",
        "oil_filter.bypass_pressure",
        "40 kPa",
        "10 kPa",
    ),
    (
        BASE,
        "filter-bypass-pressure",
        "filter-bypass-possible",
        "conflict",
        "oil_filter.bypass_pressure",
        "300 kPa",
        "1000 kPa",
    ),
    (
        STREET,
        "oil-thermostat-opening",
        "oil-thermostat-opens-in-time",
        "shortfall",
        "oil_thermostat.opens_at",
        "60 degC",
        "40 degC",
    ),
    (
        STREET,
        "oil-thermostat-opening",
        "oil-thermostat-opens-in-time",
        "shortfall",
        "oil_thermostat.opens_at",
        "110 degC",
        "130 degC",
    ),
    (
        TURBO,
        "oil-high-shear",
        "oil-high-shear-least",
        "shortfall",
        "oil.high_shear_viscosity",
        "3.2 mPa*s",
        "2.4 mPa*s",
    ),
]
DRIVE: list[End] = [
    (
        STREET,
        "engine-mounts",
        "engine-mounts-tear",
        "shortfall",
        "engine_mount.torque_rating",
        "250 N*m",
        "150 N*m",
    ),
    (
        PHASE,
        "release-travel",
        "release-travel-far-too-short",
        "shortfall",
        "release_bearing.travel",
        "6 mm",
        "3 mm",
    ),
    (V6, "starter-power", "starter-far-too-weak", "shortfall", "starter.power", "1.2 kW", "0.5 kW"),
    (
        TRACK,
        "scatter-shield-thickness",
        "scatter-shield-too-thin",
        "shortfall",
        "scatter_shield.thickness",
        "5 mm",
        "2 mm",
    ),
    (
        LONG,
        "alternator-speed",
        "alternator-bursts",
        "shortfall",
        "alternator.max_speed",
        "15800 rpm",
        "12000 rpm",
    ),
]


@pytest.mark.parametrize(
    ("start", "near", "far", "fails", "spec", "between", "beyond"),
    [pytest.param(*end, id=f"{end[2]}-{number}") for number, end in enumerate([*WATER, *OIL, *DRIVE])],
)
def test_a_caution_ends(
    start: str, near: str, far: str, fails: str, spec: str, between: str, beyond: str
) -> None:
    assert verdict(start, near) == verdict(start, far) == "ok"
    assert verdict(start, near, measured={spec: between}) == "caution"
    assert verdict(start, far, measured={spec: between}) == "ok"
    assert verdict(start, far, measured={spec: beyond}) == fails
    assert verdict(start, near, measured={spec: beyond}) == ""


def test_a_cap_that_never_opens_bursts_what_it_caps() -> None:
    assert verdict(BASE, "pressure-cap-possible", measured={"pressure_cap.opens_at": "150 kPa"}) == "ok"
    assert verdict(BASE, "pressure-cap-possible", measured={"pressure_cap.opens_at": "550 kPa"}) == "conflict"


def test_antifreeze_alone_is_no_coolant() -> None:
    assert verdict(BASE, "coolant-not-glycol-alone") == "ok"
    assert verdict(BASE, "coolant-not-glycol-alone", measured={"coolant.glycol_share": "1"}) == "shortfall"
