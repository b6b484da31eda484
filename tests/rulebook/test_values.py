"""What expressions come to: arithmetic, Kleene logic, missing values, sensitivities."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise, product
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from compat.rulebook.values import Absent, Missing, Number

Work = Callable[..., Any]
MISSING = "missing"


def plain(value: Any) -> Any:
    return value.x if isinstance(value, Number) else MISSING if isinstance(value, Missing) else value


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2 + 3*4 - 1", 13.0),
        ("-2**2", -4.0),
        ("2**-1", 0.5),
        ("7/2", 3.5),
        ("abs(0 - 3)", 3.0),
        ("min(3, 2, 5)", 2.0),
        ("max(3, 2, 5)", 5.0),
        ("sqrt(16)", 4.0),
        ("sin(30*deg)", 0.5),
        ("cos(pi)", -1.0),
        ("tan(45*deg)", 1.0),
        ("1*bar/(1*kPa)", 100.0),
        ("6000*rpm/(1*Hz)", 200 * math.pi),
        ("1 if 2 > 1 else 3", 1.0),
        ("1 < 2 < 3", True),
        ("1 < 2 < 2", False),
        ("3 > 2 >= 2", True),
        ("0.1 + 0.2 == 0.3", True),
        ("0.1 + 0.2 > 0.3", False),
        ("0.1 + 0.2 <= 0.3", True),
        ("1 != 1.0000000000000002", False),
        ("'a' in ['a', 'b']", True),
        ("'a' not in ['a', 'b']", False),
        ("not (1 > 2 or 2 > 3)", True),
        ("fitted(rod)", False),
        ("fitted(piston)", True),
        ("count(piston) + count(rod)", 4.0),
        ("changed(rod)", True),
        ("done('final-wash')", True),
        ("opened('sump_joint')", False),
        ("offered('analogue_input')", 2.0),
        ("sister(crankshaft) == 'hob-15'", True),
        ("sister(rod) == ''", True),
        ("kept(crankshaft)", True),
        ("kept(rod)", False),
        ("measured(piston.skirt_diameter)", True),
        ("measured(piston.least_clearance)", False),
        ("engine.cylinders*engine.valves", 32.0),
        ("stated(piston.skirt_diameter)", True),
        ("stated(piston.least_clearance)", False),
        ("stated(rod.mass)", False),
        ("prefer(piston.skirt_diameter, 2*mm)", 0.074),
        ("prefer(rod.centre_length, 2*mm)", 0.002),
        ("piston.pin_retention == 'floating'", True),
    ],
)
def test_what_an_expression_comes_to(text: str, expected: object, work_out: Work) -> None:
    found = work_out(text, piston__skirt_diameter="=74 mm", piston__pin_retention="floating")
    if isinstance(expected, float):
        assert found.x == pytest.approx(expected, rel=1e-12)
    else:
        assert found is expected


@pytest.mark.parametrize(
    "text",
    ["1/0", "ratio/(ratio - ratio)", "sqrt(0 - 1)", "(0-1)**0.5", "0**-1", "1e200**2 - ratio", "1e200*1e200"],
)
def test_arithmetic_without_a_result_is_missing_with_its_reason(text: str, work_out: Work) -> None:
    found = work_out(text, ratio=3.0)
    assert isinstance(found, Missing)
    assert found.reasons
    assert not found.specs


def test_what_is_missing_is_named(work_out: Work) -> None:
    found = work_out("rod.mass*rod.centre_length/gap", rod__tensile_limit=1.0, gap=1.0)
    assert found.specs == {"rod.mass", "rod.centre_length"}


def test_an_empty_position_is_not_a_missing_value(work_out: Work) -> None:
    with pytest.raises(Absent) as caught:
        work_out("rod.mass", gap=1.0)
    assert caught.value.position == "rod"


def kleene_and(a: Any, b: Any) -> Any:
    if a is False or b is False:
        return False
    return True if a is True and b is True else MISSING


def kleene_or(a: Any, b: Any) -> Any:
    if a is True or b is True:
        return True
    return False if a is False and b is False else MISSING


@pytest.mark.parametrize(("a", "b"), list(product((True, False, None), repeat=2)))
def test_logic_of_three_values(a: bool | None, b: bool | None, work_out: Work) -> None:
    values = {"setup__knock_control": a, "head_gasket__one_use": b, "setup__x": True, "head_gasket__x": True}
    values = {name: value for name, value in values.items() if value is not None}
    left, right = "setup.knock_control", "head_gasket.one_use"
    wide = [MISSING if x is None else x for x in (a, b)]
    assert plain(work_out(f"{left} and {right}", **values)) == kleene_and(*wide)
    assert plain(work_out(f"{left} or {right}", **values)) == kleene_or(*wide)
    assert plain(work_out(f"not {left}", **values)) == (MISSING if a is None else not a)
    chosen = work_out(f"1 if {left} else 2", **values)
    assert plain(chosen) == (MISSING if a is None else 1.0 if a else 2.0)
    # de Morgan holds with three values as with two
    assert plain(work_out(f"not ({left} and {right})", **values)) == plain(
        work_out(f"not {left} or not {right}", **values)
    )


def test_a_chain_is_settled_by_one_false_step(work_out: Work) -> None:
    assert work_out("3 < 2 < ratio") is False
    assert isinstance(work_out("2 < 3 < ratio"), Missing)


TABLE = ((0.0, 90.0), (100.0, 84.0), (300.0, 60.0))


@given(st.floats(-50, 400))
def test_table_is_read_between_its_rows(work_out: Work, x: float) -> None:
    found = work_out("at(fuel_pump.flow_curve, goal.boost)", fuel_pump__flow_curve=TABLE, goal__boost=x)
    if x < -1e-6 or x > 300.000001:
        # a pump is not what it gives at the last point of its curve
        assert [reason.text for reason in found.reasons] == ["a curve is asked for what lies beyond its ends"]
    elif x <= 0 or x >= 300:
        assert found.x == (90.0 if x <= 0 else 60.0)
    else:
        low, high = next((a, b) for a, b in pairwise(TABLE) if a[0] <= x <= b[0])
        share = (x - low[0]) / (high[0] - low[0])
        assert found.x == pytest.approx(low[1] + share * (high[1] - low[1]), rel=1e-12)


SMOOTH = [
    "gap*ratio - gap/ratio",
    "gap**3/(gap + depth)",
    "sqrt(gap*depth) + 2*depth",
    "sin(ratio)*gap + cos(ratio)*depth - tan(ratio/3)*gap",
    "abs(gap - 3*depth)",
    "min(gap, depth*ratio) + max(gap, 2*depth)",
    "(gap if ratio > 1 else depth)*ratio**-2",
    "prefer(rod.centre_length, gap)*ratio",
    "at(fuel_pump.flow_curve, goal.boost)*ratio",
    "gap**0.5*depth**1.5/(ratio + 1)",
    "-(gap + depth)*(gap - depth)/(gap*depth)",
]
SIZE = st.floats(0.3, 2.8)


@pytest.mark.parametrize("text", SMOOTH)
@given(gap=SIZE, depth=SIZE, ratio=SIZE, boost=st.floats(1, 290))
def test_sensitivities_are_the_numerical_derivatives(
    work_out: Work, text: str, gap: float, depth: float, ratio: float, boost: float
) -> None:
    # away from kinks, where a derivative is not defined
    assume(
        all(
            abs(x) > 1e-3
            for x in (gap - 3 * depth, gap - depth * ratio, gap - 2 * depth, ratio - 1, boost - 100)
        )
    )
    point = {"gap": gap, "depth": depth, "ratio": ratio, "goal__boost": boost}
    fixed = {"fuel_pump__flow_curve": TABLE, "piston__code": "x"}
    found = work_out(text, **point, **fixed)
    assert isinstance(found, Number)
    for name, value in point.items():
        step = 1e-5 * value
        ends = [work_out(text, **{**point, name: value + sign * step}, **fixed).x for sign in (1, -1)]
        slope = (ends[0] - ends[1]) / (2 * step)
        given_slope = (found.g or {}).get(name.replace("__", "."), 0.0)
        assert given_slope == pytest.approx(slope, rel=1e-4, abs=1e-5 * max(1.0, abs(found.x)))
