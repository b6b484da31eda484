"""Settling a build: what stands where, how it came there, and what every spec is once the work is done."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from compat.checking.world import BuildWorld
from compat.library.library import Library
from compat.rulebook.values import Missing, Number
from compat.shop.builds import as_build, read_build
from compat.shop.source import Faults
from compat.units import Band, read_band
from tests.look import settle

GOAL = "goal: {power: 92 kW, at: 5800 rpm}"
Settle = Callable[..., BuildWorld]


@pytest.fixture
def settled(demo: Library, tmp_path: Path) -> Settle:
    """Settle a build written as a person writes it."""

    def read(text: str, variant: str = "tarn-20-base", goal: str = GOAL) -> BuildWorld:
        file = tmp_path / "mine.yaml"
        text = textwrap.dedent(text)
        lines = ["- build: mine", "  name: Mine", f"  variant: {variant}", f"  {goal}"]
        file.write_text(
            "\n".join([*lines, *("  " + line for line in text.strip().splitlines())]), encoding="utf-8"
        )
        return settle(demo.shop, demo.book, read_build(demo.shop, file))

    return read


def band(world: BuildWorld, position: str, spec: str) -> tuple[float, float, float]:
    """Nominal, lower and upper deviation in mm."""
    value = world.settled.specs[position, spec].value
    assert isinstance(value, Band)
    return tuple(
        round(1e3 * x, 7) for x in (value.nominal, value.low - value.nominal, value.high - value.nominal)
    )  # type: ignore[return-value]


def part(world: BuildWorld, position: str) -> str | None:
    entry = world.settled.fitted.get(position)
    return entry.part.part if entry else None


# parts


def test_a_variant_stands_as_it_left_the_factory(demo: Library) -> None:
    for variant in demo.shop.variants.values():
        world = settle(demo.shop, demo.book, as_build(variant))
        placed = {position: entry.part.part for position, entry in world.settled.fitted.items()}
        assert placed == {**variant.parts, "fuel": variant.rated.fuel}
        assert {entry.origin for entry in world.settled.fitted.values()} == {"factory", "goal"}
        assert not any(world.changed(position) for position in variant.parts)
        assert not world.joints


def test_fit_take_from_and_leave_out(settled: Settle) -> None:
    world = settled(
        """
        fit: {oil: oil-10w50}
        take_from: [{variant: tarn-22-long, positions: [crankshaft, flywheel]}]
        leave_out: [crank_key]
        """
    )
    assert (part(world, "crankshaft"), part(world, "crank_key")) == ("tarn-22-long-crankshaft", None)
    crank = world.settled.fitted["crankshaft"]
    assert (crank.origin, crank.sister, crank.bought) == ("sister", "tarn-22-long", False)
    assert world.sister("crankshaft") == "tarn-22-long"
    assert world.settled.fitted["oil"].origin == "chosen"
    assert world.settled.fitted["oil"].bought
    assert [world.changed(p) for p in ("crankshaft", "flywheel", "crank_key", "oil", "rod")] == [True] * 4 + [
        False
    ]
    assert not world.fitted("crank_key")
    assert world.count("crank_key") == 0


@pytest.mark.parametrize(
    ("says", "told"),
    [
        ("fit: {piston: hg-piston-855-308-d106}\nleave_out: [piston]", [(6, "leave_out", "fit", 5)]),
        (
            "fit: {piston: hg-piston-855-308-d106}\n"
            "take_from: [{variant: tarn-20-turbo, positions: [rod, piston]}]\n"
            "leave_out: {rod: none to hand}",
            [(6, "take_from", "fit", 5), (7, "leave_out", "take_from", 6)],
        ),
        (
            "take_from:\n  - {variant: tarn-20-turbo, positions: [rod]}\n"
            "  - {variant: tarn-22-long, positions: [rod]}",
            [(7, "take_from", "take_from", 6)],
        ),
    ],
)
def test_a_position_is_spoken_of_once(
    says: str, told: list[tuple[int, str, str, int]], settled: Settle
) -> None:
    with pytest.raises(Faults) as caught:
        settled(says)
    for fault, (line, here, there, first) in zip(caught.value.faults, told, strict=True):
        assert fault.spot.line == line
        assert f"stands in `{here}` and in `{there}` too, at {fault.spot.file}:{first}:" in fault.message


def test_the_goal_alone_says_what_is_burnt(settled: Settle) -> None:
    assert part(settled("fit: {fuel: pump-98}"), "fuel") == "pump-98"
    told = re.escape("mine.yaml:5:9: the goal burns 'pump-98': write `goal: {fuel: ethanol-85}`")
    with pytest.raises(Faults, match=told):
        settled("fit: {fuel: ethanol-85}")
    with pytest.raises(Faults, match=told):
        settled("fit: {fuel: ethanol-85}", goal="goal: {power: 92 kW, at: 5800 rpm, fuel: pump-98}")


def test_a_sister_s_part_bought_by_name_is_known_as_hers(settled: Settle) -> None:
    world = settled("fit: {crankshaft: tarn-22-long-crankshaft}")
    assert world.sister("crankshaft") == "tarn-22-long"
    assert world.sister("rod") == ""
    assert world.sister("turbocharger") == ""


def test_what_comes_in_the_box_fills_its_own_place_unless_the_build_says_otherwise(settled: Settle) -> None:
    """Pistons are sold with pins and clips; common practice, no source."""
    world = settled("fit: {piston: hg-piston-860-308-d106}")
    assert (part(world, "piston_pin"), part(world, "pin_clip")) == ("hg-pin-22", "hg-clip-22")
    assert world.settled.fitted["piston_pin"].origin == "included"
    assert world.settled.fitted["piston_pin"].bought
    own = settled("fit: {piston: hg-piston-860-308-d106, piston_pin: tarn-20-turbo-piston-pin}")
    assert (part(own, "piston_pin"), part(own, "pin_clip")) == ("tarn-20-turbo-piston-pin", "hg-clip-22")
    without = settled("fit: {piston: hg-piston-860-308-d106}\nleave_out: [pin_clip]")
    assert part(without, "pin_clip") is None


def test_fuel_and_rev_limit_are_the_variant_s_unless_the_goal_says_otherwise(settled: Settle) -> None:
    world = settled("fit: {oil: oil-10w50}")
    assert (part(world, "fuel"), world.settled.goal.fuel) == ("pump-98", "pump-98")
    limit = world.goal("rev_limit")
    assert isinstance(limit, Number)
    assert limit.x == pytest.approx(read_band("6500 rpm").nominal)
    other = settled(
        "fit: {oil: oil-10w50}",
        goal="goal: {power: 92 kW, at: 5800 rpm, fuel: ethanol-85, rev_limit: 7000 rpm}",
    )
    limit = other.goal("rev_limit")
    assert isinstance(limit, Number)
    assert limit.x == pytest.approx(read_band("7000 rpm").nominal)
    assert part(other, "fuel") == "ethanol-85"
    assert isinstance(world.goal("boost"), Missing)


def test_setup_is_the_variant_s_where_the_build_says_nothing(settled: Settle) -> None:
    world = settled("setup: {injection: sequential}")
    assert world.spec("setup", "injection") == "sequential"
    assert world.spec("setup", "ignition") == "wasted_spark"


# counts


def test_counts_by_layout(demo: Library) -> None:
    """A V6 has two heads and two head gaskets; each head its own studs. Common practice, no source."""
    six = settle(demo.shop, demo.book, as_build(demo.shop.variants["fell-30-base"]))
    four = settle(demo.shop, demo.book, as_build(demo.shop.variants["tarn-20-base"]))
    assert (six.count("cylinder_head"), six.count("piston"), six.count("head_gasket")) == (2, 6, 2)
    assert (four.count("cylinder_head"), four.count("piston"), four.count("head_gasket")) == (1, 4, 1)
    assert four.count("turbocharger") == 0
    for world, heads in ((six, 2), (four, 1)):
        each = world.spec("cylinder_head", "exhaust_stud_count")
        assert isinstance(each, Number)
        assert world.count("exhaust_stud") == heads * each.x


def test_counts_follow_the_part_that_decides_them_and_the_build_s_word(settled: Settle) -> None:
    world = settled("take_from: [{variant: tarn-20-turbo, positions: [crankshaft, flywheel, flywheel_bolt]}]")
    assert world.count("flywheel_bolt") == 8
    assert settled("fit: {oil: oil-10w50}").count("flywheel_bolt") == 6
    assert settled("counts: {flywheel_bolt: 7}").count("flywheel_bolt") == 7


# work


def test_work_changes_specs_by_what_the_build_states(settled: Settle) -> None:
    before = settled("fit: {oil: oil-10w50}")
    world = settled("work: [{work: deck-block, depth: 0.20 mm}]")
    assert band(before, "block", "deck_height") == (222.5, -0.08, 0.08)
    # decked to size: the tolerance is the grinder's, not the casting's
    assert band(world, "block", "deck_height") == (222.3, -0.02, 0.02)
    assert band(world, "block", "head_thread_depth")[0] == band(before, "block", "head_thread_depth")[0] - 0.2
    assert world.settled.specs["block", "deck_height"].basis == "shop"
    assert world.done("deck-block")


def test_work_dragged_in_counts_as_done_and_is_named_with_its_cause(settled: Settle) -> None:
    world = settled("work: [{work: deck-block, depth: 0.20 mm}]")
    assert world.settled.forced["final-wash"] == "deck-block"
    assert world.done("final-wash")
    assert not world.done("align-hone")
    chain = settled("work: [{work: fit-liners}]")
    assert chain.settled.forced["final-wash"] in ("deck-block", "hone-torque-plate")
    assert {"deck-block", "hone-torque-plate", "final-wash"} <= set(chain.settled.forced)


def test_a_default_stands_in_for_what_the_build_leaves_out(settled: Settle) -> None:
    assert band(settled("work: [deck-block]"), "block", "deck_height") == (222.4, -0.02, 0.02)


def test_a_tolerance_on_what_is_stated_widens_what_comes_out(settled: Settle) -> None:
    """Without a tolerance of its own a change keeps the part's and adds the depth's."""
    plain = settled("work: [{work: align-hone, lift: 0.03 mm}]")
    loose = settled("work: [{work: align-hone, lift: 0.03 mm ±0.01}]")
    assert band(plain, "block", "deck_height") == (222.47, -0.08, 0.08)
    assert band(loose, "block", "deck_height") == (222.47, -0.09, 0.09)


def test_work_follows_work(settled: Settle) -> None:
    """Two operations on one dimension add up, in the order the build gives them."""
    both = settled("work: [{work: align-hone, lift: 0.03 mm}, {work: deck-block, depth: 0.20 mm}]")
    assert band(both, "block", "deck_height") == (222.27, -0.02, 0.02)
    other = settled("work: [{work: deck-block, depth: 0.20 mm}, {work: align-hone, lift: 0.03 mm}]")
    assert band(other, "block", "deck_height") == (222.27, -0.02, 0.02)


def test_work_to_a_size(settled: Settle) -> None:
    world = settled("work: [{work: hone-torque-plate, bore: 86.000 mm}]")
    assert band(world, "block", "bore_diameter") == (86.0, -0.003, 0.003)
    swept = world.figure("swept_volume")
    assert isinstance(swept, Number)
    assert swept.x * 1e6 == pytest.approx(3.14159265 / 4 * 8.6**2 * 8.7, rel=1e-6)


def test_work_leaves_the_part_of_other_engines_alone(settled: Settle, demo: Library) -> None:
    settled("work: [{work: deck-block, depth: 0.20 mm}]")
    value = demo.shop.specs["tarn-20-base-block"]["deck_height"].value
    assert isinstance(value, Band)
    assert value.nominal == pytest.approx(0.2225)


def test_work_on_a_place_that_is_empty_changes_nothing(settled: Settle, demo: Library) -> None:
    works = [w for w in demo.shop.works.values() if w.on not in demo.shop.variants["tarn-20-base"].parts]
    alone = [work for work in works if all(parameter.default for parameter in work.takes.values())]
    assert alone
    for work in alone:
        world = settled(f"work: [{work.work}]")
        assert not [key for key in world.settled.specs if key[0] == work.on]


# what was measured


def test_measured_goes_before_what_the_card_says(settled: Settle) -> None:
    world = settled("measured: {piston.skirt_diameter: 85.450 mm ±0.001}")
    assert band(world, "piston", "skirt_diameter") == (85.45, -0.001, 0.001)
    assert world.settled.specs["piston", "skirt_diameter"].basis == "measured"
    value = world.figure("skirt_clearance")
    assert isinstance(value, Number)
    assert value.x * 1e3 == pytest.approx(85.504 - 85.450)


def test_measured_goes_before_what_the_work_should_give(settled: Settle) -> None:
    """The block is measured after the bench is done with it."""
    world = settled(
        "work: [{work: deck-block, depth: 0.20 mm}]\nmeasured: {block.deck_height: 222.310 mm ±0.005}"
    )
    assert band(world, "block", "deck_height") == (222.31, -0.005, 0.005)


def test_measured_is_what_figures_see_even_after_work_that_read_the_spec(
    settled: Settle, demo: Library
) -> None:
    """Work that computes from a spec must not keep the value of before measuring."""
    reading = [
        (work, spec)
        for work, changes in demo.book.changes.items()
        for change in changes
        if change.expression is not None
        for spec in change.expression.names.specs
    ]
    assert reading, "some work of the demo computes from a spec"
    tried = 0
    for work, (position, name) in reading:
        takes = demo.shop.works[work].takes
        kind = demo.shop.kinds.get(position, {}).get(name)
        if kind is None or kind.sort != "quantity" or not all(p.default for p in takes.values()):
            continue
        before = settled(f"work: [{work}]", variant="tarn-20-turbo")
        own = before.settled.specs.at(position, name)
        if own is None or not isinstance(own.value, Band):
            continue
        text = f"{own.value.nominal * 1.01 / read_band(f'1 {kind.unit}').nominal:.6g} {kind.unit}"
        world = settled(f"work: [{work}]\nmeasured: {{{position}.{name}: {text}}}", variant="tarn-20-turbo")
        value = world.spec(position, name)
        assert isinstance(value, Number)
        assert value.x == pytest.approx(read_band(text).nominal), (work, position, name)
        tried += 1
    assert tried


def test_measured_of_what_is_not_fitted_is_no_matter(settled: Settle) -> None:
    world = settled("measured: {turbocharger.mass: 5 kg}")
    assert ("turbocharger", "mass") not in world.settled.specs
