"""Where a caution ends: between practice and its far end it is said, beyond that the build fails.

Each went on as a caution however far it was pushed. The sizes are common practice, no source; where an end is
an own choice its rule says so.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from tests.checking.wrong import BASE, TURBO, V6, verdict

ENDS = yaml.safe_load(Path(__file__).with_name("ends_of_cautions.yaml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("end", ENDS, ids=[f"{end['far']}-{number}" for number, end in enumerate(ENDS)])
def test_a_caution_ends(end: dict[str, Any]) -> None:
    start, near, far = end["build"], end["near"], end["far"]
    between, beyond = ({end["of"]: str(end[size])} for size in ("between", "beyond"))
    assert verdict(start, near) == verdict(start, far) == "ok"
    assert verdict(start, near, measured=between) == "caution"
    assert verdict(start, far, measured=between) == "ok"
    assert verdict(start, far, measured=beyond) == end["fails"]
    assert verdict(start, near, measured=beyond) == ""


def test_a_cap_that_never_opens_bursts_what_it_caps() -> None:
    assert verdict(BASE, "pressure-cap-possible", measured={"pressure_cap.opens_at": "150 kPa"}) == "ok"
    assert verdict(BASE, "pressure-cap-possible", measured={"pressure_cap.opens_at": "550 kPa"}) == "conflict"


def test_antifreeze_alone_is_no_coolant() -> None:
    assert verdict(BASE, "coolant-not-glycol-alone") == "ok"
    assert verdict(BASE, "coolant-not-glycol-alone", measured={"coolant.glycol_share": "1"}) == "shortfall"


def test_hydraulic_tappets_end_at_a_speed() -> None:
    """7300 rpm is told of, 8000 (8800 for fingers) is refused; buckets with shims turn on."""
    near, far = "hydraulic-speed", "hydraulic-speed-possible"
    assert verdict(TURBO, near, goal={"rev_limit": "7600 rpm"}) == "caution"
    assert verdict(TURBO, far, goal={"rev_limit": "7600 rpm"}) == "ok"
    assert verdict(TURBO, far, goal={"rev_limit": "8400 rpm"}) == "shortfall"
    assert verdict(BASE, far, goal={"rev_limit": "8400 rpm"}) == ""


@pytest.mark.parametrize(
    ("start", "rule", "spec", "size", "fails"),
    [
        # a snug torque given in another unit, and a quarter turn that became five
        (V6, "main-fastener-snug", "main_fastener.tightening_torque", "250 N*m", "conflict"),
        (V6, "main-fastener-snug", "main_fastener.tightening_torque", "5 N*m", "shortfall"),
        (V6, "head-fastener-snug", "head_fastener.tightening_torque", "3 N*m", "shortfall"),
        (V6, "rod-bolt-snug", "rod_fastener.tightening_torque", "3 N*m", "shortfall"),
        (V6, "rod-bolt-snug", "rod_fastener.tightening_torque", "60 N*m", "conflict"),
        (V6, "rod-bolt-turned", "rod_fastener.tightening_angle", "450 deg", "conflict"),
        (V6, "rod-bolt-turned", "rod_fastener.tightening_angle", "20 deg", "conflict"),
        # stretched by torque, so that neither stretch nor torque moved a verdict
        ("street-turbo", "rod-bolt-stretch-of-its-length", "rod_fastener.stretch", "0.70 mm", "conflict"),
        ("street-turbo", "rod-bolt-stretch-of-its-length", "rod_fastener.stretch", "0.03 mm", "conflict"),
        *(
            ("street-turbo", f"{rule}-torque", spec, size, "conflict")
            for rule, spec, size in (
                ("cam-cap", "cam_cap.tightening_torque", "80 N*m"),
                ("spark-plug", "spark_plug.tightening_torque", "150 N*m"),
                ("cam-sprocket-bolt", "cam_sprocket_bolt.tightening_torque", "5 N*m"),
                ("tensioner-bolt", "tensioner_bolt.tightening_torque", "2 N*m"),
                ("clutch-cover", "clutch_cover.tightening_torque", "200 N*m"),
                ("bellhousing", "bellhousing.tightening_torque", "450 N*m"),
                ("exhaust-nut", "exhaust_nut.tightening_torque", "200 N*m"),
                ("oil-pump", "oil_pump.tightening_torque", "2 N*m"),
                ("knock-sensor", "knock_sensor.torque", "200 N*m"),
            )
        ),
        ("street-turbo", "rod-bolt-past-strength", "rod_fastener.tightening_torque", "235 N*m", "conflict"),
        (V6, "damper-bolt-tightening", "damper_bolt.tightening_torque", "60 N*m", "conflict"),
        (V6, "damper-bolt-tightening", "damper_bolt.tightening_torque", "1500 N*m", "conflict"),
        (V6, "flywheel-bolt-tightening", "flywheel_bolt.tightening_torque", "350 N*m", "conflict"),
        (V6, "flywheel-bolt-tightening", "flywheel_bolt.tightening_torque", "14 N*m", "conflict"),
        (V6, "flywheel-bolt-tightening", "flywheel_bolt.thread_diameter", "6 mm", "conflict"),
        (TURBO, "ring-lands-thick-enough", "piston.second_land", "1.0 mm", "shortfall"),
        (TURBO, "ring-lands-thick-enough", "piston.third_land", "0.6 mm", "shortfall"),
        (TURBO, "second-ring-gap-wide", "ring_set.second_gap", "2.5 mm", "shortfall"),
        # petrol of 130, motor octanes above research and far below, heat of alcohol, ratios for lambda
        (TURBO, "fuel-octane-possible", "fuel.octane", "130", "conflict"),
        (TURBO, "fuel-two-octanes", "fuel.motor_octane", "99", "conflict"),
        (TURBO, "fuel-two-octanes", "fuel.motor_octane", "70", "conflict"),
        (TURBO, "fuel-heat-of-its-air", "fuel.heating_value", "29.2 MJ/kg", "conflict"),
        (TURBO, "fuel-mixture-burns", "fuel.boosted_lambda", "0.4", "conflict"),
        (TURBO, "fuel-mixture-not-lean", "fuel.best_power_lambda", "12.8", "conflict"),
    ],
)
def test_a_slip_on_a_card_is_refused(start: str, rule: str, spec: str, size: str, fails: str) -> None:
    assert verdict(start, rule) == "ok"
    assert verdict(start, rule, measured={spec: size}) == fails


def test_oil_that_a_turbocharger_cannot_hold() -> None:
    """450 kPa against 350 that its maker allows is told of, against 200 refused; a restrictor holds it back."""
    bare: dict[str, Any] = {"leave_out": {"feed_restrictor": "the line is thin"}}
    near, far = "turbo-oil-pressure", "turbo-oil-floods"
    some, little = ({"turbocharger.max_oil_pressure": size} for size in ("350 kPa", "200 kPa"))
    assert verdict(TURBO, far, measured=little) == ""
    assert (verdict(TURBO, near, measured=some, **bare), verdict(TURBO, far, measured=some, **bare)) == (
        "caution",
        "ok",
    )
    assert (verdict(TURBO, near, measured=little, **bare), verdict(TURBO, far, measured=little, **bare)) == (
        "",
        "shortfall",
    )


def test_a_compressor_that_surges_as_boost_comes_up() -> None:
    """Full boost at 1300 rpm, which the factory's turbocharger has at 3600."""
    rules = ("compressor-surge-on-the-way", "compressor-surges-on-the-way")
    seen = {
        speed: [verdict(TURBO, rule, goal={"torque_at": speed}) for rule in rules]
        for speed in ("3600 rpm", "1900 rpm", "1700 rpm", "1500 rpm", "1300 rpm")
    }
    assert seen["3600 rpm"] == ["ok", "ok"]
    assert ["", "shortfall"] in seen.values()
