"""Order of tightening: what every order must have, and the orders that the trade knows.

The literal orders are common practice, no source: from the middle outward and crosswise, counted from the front
left. Makers' own patterns differ in which of two like bolts comes first, and come first themselves.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from itertools import pairwise

import pytest

from compat.bench.tightening import Pass, Pattern, pattern_of, tightened
from compat.engineering.bolts.tightening_pattern import (
    Place,
    angle_passes,
    circle_order,
    grid_places,
    outward_order,
    rail_places,
    tightening_order,
)
from compat.engineering.formula import OutOfRange
from compat.library.library import Library
from compat.paper.sequence_drawing import drawing, told_in_order
from compat.shop.models import Tightening
from compat.shop.specs import state
from tests.look import settle


def rows(order: tuple[Place, ...]) -> list[str]:
    """Numbers as they would be chalked on the head, row by row from the front."""
    number = {place: count for count, place in enumerate(order, 1)}
    found = []
    for row in sorted({across for _, across in order}):
        found.append(" ".join(str(number[place]) for place in sorted(p for p in order if p[1] == row)))
    return found


def test_head_of_an_inline_four_with_ten_bolts() -> None:
    order = outward_order(grid_places(10))
    assert order[:2] == ((3, 1), (3, 2)), "the middle pair first, straight across"
    assert {place[0] for place in order[2:6]} == {2, 4}, "then both pairs beside it"
    assert {place[0] for place in order[6:]} == {1, 5}, "the ends last"
    assert rows(order) == ["7 3 1 5 9", "10 6 2 4 8"]


def test_head_of_a_v6_with_eight_bolts() -> None:
    order = outward_order(grid_places(8))
    assert {place[0] for place in order[:4]} == {2, 3}
    assert rows(order) == ["5 1 3 7", "8 4 2 6"]


def test_head_of_an_inline_five_with_twelve_bolts() -> None:
    assert {place[0] for place in outward_order(grid_places(12))[:4]} == {3, 4}


def test_head_of_an_inline_six_with_fourteen_bolts() -> None:
    order = outward_order(grid_places(14))
    assert order[:2] == ((4, 1), (4, 2))
    assert rows(order) == ["11 7 3 1 5 9 13", "14 10 6 2 4 8 12"]


@pytest.mark.parametrize(
    ("caps", "chalked"),
    [(5, "4 2 1 3 5"), (4, "3 1 2 4"), (7, "6 4 2 1 3 5 7")],
    ids=["inline four", "V6", "inline six"],
)
def test_main_caps_from_the_middle(caps: int, chalked: str) -> None:
    """Common practice, no source: the middle cap first, then by turns before and behind it."""
    assert rows(outward_order(grid_places(caps, 1))) == [chalked]


@pytest.mark.parametrize("caps", [4, 5, 7])
def test_both_bolts_of_a_cap_follow_each_other_or_their_neighbours(caps: int) -> None:
    order = outward_order(grid_places(2 * caps))
    middle = (caps + 1) / 2
    nearest = [abs(along - middle) for along, _ in order]
    assert nearest == sorted(nearest)


EVERY = [
    *((f"grid of {count}, {n} rows", grid_places(count, n)) for n in (1, 2) for count in range(n, 31)),
    *((f"rail of {count}", rail_places(count)) for count in range(4, 41)),
]


@pytest.mark.parametrize(("name", "places"), EVERY, ids=[name for name, _ in EVERY])
def test_every_bolt_once_outward_and_by_turns(name: str, places: tuple[Place, ...]) -> None:
    order = outward_order(places)
    assert sorted(order) == sorted(places)
    assert len(set(order)) == len(places)
    along = [place[0] for place in places]
    middle = (min(along) + max(along)) / 2
    away = [abs(place[0] - middle) for place in order]
    assert all(later >= sooner - 1e-9 for sooner, later in pairwise(away)), "never back towards the middle"
    across = {place[1] for place in places}
    if len(across) == 2 and len(places) % 2 == 0:
        assert all(a[1] != b[1] for a, b in pairwise(order)), "by turns on either side"
    elif len(across) == 1:
        beyond = [math.copysign(1, place[0] - middle) for place in order if abs(place[0] - middle) > 1e-9]
        assert all(a != b for a, b in zip(beyond[::2], beyond[1::2], strict=False)), (
            "by turns before and behind"
        )


@pytest.mark.parametrize("columns", range(1, 16))
def test_full_grids_are_as_the_formula_has_them(columns: int) -> None:
    assert tightening_order(columns) == outward_order(grid_places(2 * columns))


def test_round_a_rail_the_sides_before_the_ends() -> None:
    order = outward_order(rail_places(18))
    ends = [number for number, place in enumerate(order) if place[1] not in (1, 2)]
    assert ends == [14, 15, 16, 17]
    assert {order[number][0] for number in ends} == {0.0, 8.0}


@pytest.mark.parametrize(
    ("count", "order"),
    [(4, (1, 3, 2, 4)), (5, (1, 3, 5, 2, 4)), (6, (1, 4, 2, 5, 3, 6)), (8, (1, 5, 3, 7, 2, 6, 4, 8))],
)
def test_crosswise_on_a_circle(count: int, order: tuple[int, ...]) -> None:
    """As wheel nuts are tightened: common practice, no source."""
    assert circle_order(count) == order


@pytest.mark.parametrize("count", range(1, 31))
def test_a_circle_has_every_bolt_once_and_even_ones_by_opposite_pairs(count: int) -> None:
    order = circle_order(count)
    assert sorted(order) == list(range(1, count + 1))
    if count % 2 == 0:
        assert all(abs(a - b) == count // 2 for a, b in zip(order[::2], order[1::2], strict=True))


NONSENSE: list[Callable[[], object]] = [
    lambda: grid_places(1, 2),
    lambda: grid_places(61),
    lambda: grid_places(9, 3),
    lambda: rail_places(3),
    lambda: outward_order(()),
    lambda: circle_order(0),
    lambda: angle_passes(0.0),
]


@pytest.mark.parametrize("wrong", NONSENSE)
def test_nonsense_is_refused(wrong: Callable[[], object]) -> None:
    with pytest.raises(OutOfRange):
        wrong()


def test_angles_in_quarter_turns_at_most() -> None:
    assert [round(math.degrees(each), 6) for each in angle_passes(math.radians(270))] == [90, 90, 90]
    assert [round(math.degrees(each), 6) for each in angle_passes(math.radians(120))] == [60, 60]
    assert [round(math.degrees(each), 6) for each in angle_passes(math.radians(90))] == [90]


# on the demo engines


def held(demo: Library, build: str, position: str):  # type: ignore[no-untyped-def]
    found = tightened(settle(demo.shop, demo.book, build).settled, position)
    assert found is not None
    return found


def test_heads_of_the_demo_engines(demo: Library) -> None:
    four = held(demo, "street-turbo", "head_fastener")
    assert (four.count, len(four.pattern.places), four.pattern.times) == (10, 10, 1)
    six = held(demo, "fell-30-base", "head_fastener")
    assert (six.count, len(six.pattern.places), six.pattern.times, six.pattern.each) == (
        16,
        8,
        2,
        "cylinder_head",
    )


def test_mains_of_the_demo_engines(demo: Library) -> None:
    assert rows(held(demo, "street-turbo", "main_fastener").pattern.places) == ["7 3 1 5 9", "10 6 2 4 8"]
    assert rows(held(demo, "fell-30-base", "main_fastener").pattern.places) == ["5 1 3 7", "8 4 2 6"]


def test_passes_of_torque_go_up_evenly_and_end_as_stated(demo: Library) -> None:
    stud = held(demo, "street-turbo", "head_fastener")
    assert stud.passes == (Pass(torque=33.0), Pass(torque=66.0), Pass(torque=99.0))
    assert (stud.lubricant, stud.method, stud.stated) == ("moly", "torque", False)


def test_passes_of_an_angle_begin_with_the_snug_torque(demo: Library) -> None:
    bolt = held(demo, "tarn-20-turbo", "head_fastener")
    torques = [each.torque for each in bolt.passes if each.torque]
    assert torques == [20.0, 40.0]
    assert sum(math.degrees(each.angle) for each in bolt.passes if each.angle) == pytest.approx(180)
    assert all(each.angle is None or each.torque is None for each in bolt.passes)


def test_passes_that_the_maker_states_are_taken_as_they_are(demo: Library) -> None:
    bolt = held(demo, "tarn-20-base", "head_fastener")
    assert bolt.stated
    assert [each.torque for each in bolt.passes] == [30.0, None, None]
    assert [round(math.degrees(each.angle or 0)) for each in bolt.passes] == [0, 90, 90]
    assert not bolt.remark


def test_stretch_ends_at_the_stretch(demo: Library) -> None:
    bolt = held(demo, "street-turbo", "rod_fastener")
    assert bolt.passes[-1] == Pass(stretch=pytest.approx(0.14e-3))
    assert [each.torque for each in bolt.passes[:-1]] == [16.0, 31.0]
    assert bolt.pattern is None, "two bolts in turn need no drawing"


@pytest.mark.parametrize("variant", ["tarn-20-base", "tarn-22-long", "fell-30-base", "street-turbo"])
def test_every_stated_torque_of_a_demo_engine_is_where_its_passes_end(demo: Library, variant: str) -> None:
    settled = settle(demo.shop, demo.book, variant).settled
    told = 0
    for position in settled.fitted:
        if position in ("fuel", "setup"):
            continue
        found = tightened(settled, position)
        if found is None or found.torque is None:
            continue
        told += 1
        torques = [each.torque for each in found.passes if each.torque is not None]
        assert torques == sorted(torques)
        assert found.method == "stretch" or torques[-1] == pytest.approx(found.torque), position
        assert not found.remark, position
    assert told > 15


# the drawing


@pytest.mark.parametrize(
    ("layout", "count"), [("grid", 10), ("grid", 8), ("grid", 14), ("rail", 18), ("circle", 9)]
)
def test_the_drawing_has_every_number_in_its_place(layout: str, count: int) -> None:
    pattern = pattern_of(Tightening(layout=layout), count, 1)  # type: ignore[arg-type]
    assert isinstance(pattern, Pattern)
    svg = drawing(pattern).decode()
    spots = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="11.5"', svg)
    numbers = re.findall(r'font-weight="bold"[^>]*>(\d+)<', svg)
    assert numbers == [str(number) for number in range(1, count + 1)]
    assert len(set(spots)) == count
    gap = min(
        math.dist(tuple(map(float, a)), tuple(map(float, b))) for n, a in enumerate(spots) for b in spots[:n]
    )
    assert gap > 2 * 11.5, "no two circles overlap"
    if layout != "circle":
        order = sorted(range(count), key=lambda n: pattern.places[n])
        assert order == sorted(range(count), key=lambda n: (float(spots[n][0]), float(spots[n][1])))
    assert told_in_order(pattern).startswith(f"{count} fasteners")
    assert len(told_in_order(pattern)) < 400


def test_passes_that_do_not_end_as_stated_say_so(demo: Library) -> None:
    """A card whose passes and whose final torque or angle disagree is asked about, not followed."""
    world = settle(demo.shop, demo.book, "tarn-20-base")
    settled = world.settled
    for spec, value, says in (
        ("tightening_torque", "45 N*m", "do not end at the stated torque"),
        ("tightening_angle", "90 deg", "do not add up to the stated angle"),
    ):
        kind = demo.shop.kinds["head_fastener"][spec]
        before = settled.specs["head_fastener", spec]
        settled.specs.set("head_fastener", spec, state(kind, value))
        found = tightened(settled, "head_fastener")
        assert found is not None
        assert says in found.remark
        settled.specs.set("head_fastener", spec, before)
