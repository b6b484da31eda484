"""`calc` at the bench: right numbers in both systems, typed tolerances, and plain words for what is wrong."""

from __future__ import annotations

import json
import math
import shlex
from collections.abc import Callable
from typing import Any

import jsonschema
import pytest

from tests.look import published


@pytest.mark.parametrize(
    ("words", "says"),
    [
        # arithmetic on the definitions, by hand
        ('swept_volume bore="86 mm" stroke="86 mm"', f"swept_volume: {math.pi / 4 * 8.6**3:.2f} cm^3"),
        ('swept_volume bore="86 mm" stroke="86 mm" --units imperial',
         f"swept_volume: {math.pi / 4 * 8.6**3 / 2.54**3:.2f} in^3"),
        # power in hp is torque in lbf*ft times rpm over 5252, by the definition of the horsepower
        ('power_from_torque torque="250 lbf*ft" speed="5252 rpm" --units imperial',
         "power_from_torque: 250 hp"),
        ('torque_from_power power="100 kW" speed="6000 rpm"', "torque_from_power: 159 N*m"),
        ('compression_ratio bore="86 mm" stroke="87 mm" chamber_volume="45 cc"', "compression_ratio: 12.23"),
        ("dwell_duty dwell='3 ms' speed='6000 rpm' ignition=sequential cylinders=4", "dwell_duty: 15.0 %"),
        ('belt_path_length pulleys="0 mm,0 mm,50 mm,0;200 mm,0 mm,50 mm,0"',
         f"belt_path_length: {400 + 100 * math.pi:.3f} mm"),
        # both tolerances at their ends: V(1 + 2*0.1/86)(1 + 0.1/86) to first order
        ('swept_volume bore="86 mm ±0.1" stroke="86 mm ±0.1"',
         "swept_volume: 499.6 cm^3 ±1.7 by the tolerances"),
    ],
)  # fmt: skip
def test_result(words: str, says: str, run: Callable[..., Any]) -> None:
    ran = run("calc", *shlex.split(words))
    assert ran.status == 0, ran.err
    assert ran.out.splitlines()[0] == says
    assert ran.out.splitlines()[1].startswith("Source: ")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("swept_volum", ["formula 'swept_volum' is not known; did you mean 'swept_volume'?"]),
        ("bolt", ["formula 'bolt' is not known", "`compat calc --find bolt`"]),
        ("swept_volume bore=86 stroke='86 kg'",
         ["bore: '86' has no unit; a value in mm is wanted",
          "stroke: '86 kg' is a mass; a value in mm is wanted"]),
        ("swept_volume bor='86 mm' stroke='86 mm'",
         ["swept_volume takes no 'bor'; did you mean 'bore'?", "swept_volume also takes bore (in mm)"]),
        ("swept_volume bore='-86 mm' stroke='86 mm'",
         ["swept_volume: bore must be above zero, got -86.000 mm"]),
        ("swept_volume bore='1 mm ±2' stroke='86 mm'",
         ["swept_volume: bore must be above zero, got -1.000 mm"]),
        ("swept_volume bore='86 mm' bore='86 mm' stroke='86 mm'", ["'bore' is given twice"]),
        ("swept_volume 86mm", ["'86mm' is not of the form name=value"]),
        ("dwell_duty dwell='3 ms' speed='6000 rpm' ignition=seqential cylinders=4",
         ["'seqential' is not one of", "did you mean 'sequential'?"]),
        ("dwell_duty dwell='3 ms' speed='6000 rpm' ignition=sequential cylinders='4 mm'",
         ["cylinders: '4 mm' is a length; a plain number is wanted"]),
        ("belt_path_length pulleys='0 mm, 0 mm'", ["pulleys: wants rows like '1 mm, 1 mm, 1 mm, 1; "]),
        ("--find zzz", ["no formula speaks of 'zzz'"]),
        ("swept_volume --json", ["--json wants a formula and its values"]),
    ],
)  # fmt: skip
def test_refusal(words: str, says: list[str], run: Callable[..., Any]) -> None:
    ran = run("calc", *shlex.split(words))
    assert ran.status == 2
    assert ran.out == ""
    for text in says:
        assert text in ran.err


def test_what_a_formula_takes(run: Callable[..., Any]) -> None:
    out = run("calc", "compression_ratio").out
    assert "bore              in mm; Cylinder diameter\n" in out
    assert "stroke            in mm; " in out
    assert "(may be left out)" in out
    assert "Gives a plain number." in out
    assert 'Type: compat calc compression_ratio bore="... mm" stroke="... mm"' in out


@pytest.mark.parametrize(
    "words",
    [
        "swept_volume bore='86 mm' stroke='86 mm'",
        "swept_volume bore='86 mm ±0.1' stroke='86 mm'",
        "bearing_film viscosity='10 mPa*s' speed='6000 rpm' load='20 kN' diameter='48 mm' width='19 mm' "
        "clearance='0.04 mm ±0.004' --units imperial",
    ],
)
def test_json_is_as_published(words: str, run: Callable[..., Any]) -> None:
    answer = json.loads(run("calc", *shlex.split(words), "--json").out)
    jsonschema.validate(answer, published()["calc"])
    assert ("half_width" in answer) == ("±" in words)
    if "half_width" in answer and isinstance(answer["value"], float):
        assert answer["half_width"] == pytest.approx(answer["value"] * 2 * 0.1 / 86, rel=2e-3)
