"""What the language of rules says at its edges: nought, a hair's breadth, two gaps at once, odd words."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest

from compat.rulebook.compiling import ExpressionFault, compile_text
from compat.rulebook.scope import Scope
from compat.rulebook.values import Missing

Work = Callable[..., Any]

FAR = Missing(reasons=("that much power is out of reach",), out_of_reach=True)
ODD = Missing(reasons=("the arithmetic has no result",))


# what is missing


@pytest.mark.parametrize(("gap", "depth"), [(FAR, ODD), (ODD, FAR), (FAR, FAR)])
def test_a_goal_out_of_reach_stays_out_of_reach_beside_another_gap(
    gap: Missing, depth: Missing, work_out: Work
) -> None:
    """Else a goal that the engine cannot meet would read as a figure that somebody forgot to state."""
    found = work_out("gap + depth", gap=gap, depth=depth)
    assert found.out_of_reach
    assert not work_out("gap + depth", gap=ODD, depth=ODD).out_of_reach


def test_every_reason_is_said_and_none_twice(work_out: Work) -> None:
    assert work_out("gap + depth", gap=FAR, depth=ODD).reasons == FAR.reasons + ODD.reasons
    assert work_out("gap + gap*depth/depth", gap=FAR, depth=ODD).reasons == FAR.reasons + ODD.reasons


@pytest.mark.parametrize(
    "text",
    [
        "rod.mass > 1*kg and rod.centre_length > 1*mm",
        "rod.mass > 1*kg or rod.centre_length > 1*mm",
        "rod.mass < 1*kg if 2 > 1 else rod.centre_length > 1*mm",
        "rod.mass/(1*kg) < 1 < rod.centre_length/(1*mm)",
        "rod.centre_length/(1*mm) < 1 < rod.mass/(1*kg)",
    ],
)
def test_a_condition_names_everything_that_was_not_stated(text: str, work_out: Work) -> None:
    """Whoever goes to measure wants one walk to the bench."""
    found = work_out(text, rod__tensile_limit=1.0)
    assert isinstance(found, Missing)
    assert found.specs == ({"rod.mass"} if " if " in text else {"rod.mass", "rod.centre_length"})


# nought and a hair's breadth


@pytest.mark.parametrize("text", ["sqrt(0)", "sqrt(1 - 1)", "(1 - 1)**0.5", "abs(0)"])
def test_the_root_of_nothing_is_nothing(text: str, work_out: Work) -> None:
    assert work_out(text).x == 0.0


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # decimals that binary floats hold a hair off: the same number, on either side
        ("0.3 < 0.1 + 0.2", False),
        ("0.3 >= 0.1 + 0.2", True),
        ("0.3 != 0.1 + 0.2", False),
        ("0.3 - 0.1 - 0.2 == 0", True),
        # and what a micrometer can tell apart is not the same
        ("1.0005 > 1", True),
        ("1.0000001 != 1", True),
        ("gap > 0", True),
        ("gap == 0", False),
        ("1*mm < 1*mm + gap", True),
    ],
)
def test_equal_to_the_last_digit_is_equal_and_no_more(text: str, expected: bool, work_out: Work) -> None:
    assert work_out(text, gap="=0.0001 mm") is expected


@pytest.mark.parametrize("x", [0.0, 50.0, 100.0, 200.0, 300.0])
def test_a_curve_written_in_any_order_reads_the_same(x: float, work_out: Work) -> None:
    rows = ((0.0, 90.0), (100.0, 84.0), (300.0, 60.0))
    text = "at(fuel_pump.flow_curve, goal.boost)"
    expected = work_out(text, fuel_pump__flow_curve=rows, goal__boost=x).x
    for order in (rows[::-1], (rows[1], rows[2], rows[0])):
        assert work_out(text, fuel_pump__flow_curve=order, goal__boost=x).x == expected


# what is refused


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("holds(rod.small_ends, 3)", "holds takes a list spec and a word"),
        ("holds(rod.small_ends, rod.small_ends)", "holds takes a list spec and a word"),
        ("holds(rod.small_ends, fitted(rod))", "holds takes a list spec and a word"),
        ("not 0", "'0' is zero, not a yes-or-no"),
        ("fitted(rod) and 0", "'0' is zero, not a yes-or-no"),
        ("'a' == 0", "mixes a word and zero"),
    ],
)
def test_what_does_not_fit_is_told_in_words(text: str, says: str, scope: Scope) -> None:
    with pytest.raises(ExpressionFault) as caught:
        compile_text(text, scope)
    assert says in str(caught.value)


# figures and units


@pytest.mark.parametrize("first", [0, 1, 2])
def test_a_circle_of_figures_is_told_where_it_starts_and_as_it_runs(first: int, tiny: Any) -> None:
    """Whoever must break the circle follows the arrows from the line that is named."""
    names = [f"ring_{(first + n) % 3}" for n in range(3)]
    rests_on = {f"ring_{n}": f"ring_{(n + 1) % 3}" for n in range(3)}
    tiny.write(
        "rules/ring.yaml",
        "".join(f"- {{figure: {name}, unit: mm, is: {rests_on[name]} + 1*mm}}\n" for name in names),
    )
    (fault,) = tiny.faults()
    shown = fault.message.rpartition(": ")[2].split(" -> ")
    assert len(shown) == 4
    assert all(rests_on[one] == other for one, other in pairwise(shown))
    assert str(fault.spot) == tiny.place("rules/ring.yaml", f"{{figure: {shown[0]},")


def test_a_product_is_not_shown_in_the_unit_of_one_of_its_figures(tiny: Any) -> None:
    """Compression ratio x gasket thickness is a length, though the ratio comes first and has no unit."""
    finding = tiny.finds("measure: compression_ratio*head_gasket.thickness\nat_least: 0*mm")
    assert finding.unit == "mm"
    assert finding.value == pytest.approx(tiny.finds("measure: compression_ratio\nat_least: 0").value * 1.2)
