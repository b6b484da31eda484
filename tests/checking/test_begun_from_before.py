"""What a check has from the one before it is what it would have found itself: between stages, and of trials."""

from __future__ import annotations

from typing import Any

import pytest

from compat import OpenShop, open_shop
from compat.checking.built import settle
from compat.checking.check import Checked, check
from compat.checking.closing import _moved_where_tried
from compat.checking.moving import carry_beside, moved_facts
from compat.checking.resting import Resting
from compat.checking.session import Session
from compat.checking.supply import Market
from compat.checking.trying import TryingOut
from compat.checking.world import BuildWorld
from compat.library.library import Library
from compat.rulebook.influence import Moved
from compat.rulebook.rulebook import BoundFigure
from compat.rulebook.values import Absent, Number, Value
from compat.shop.builds import ReadyBuild
from tests.checking.walks import steps

PIECES = {"pieces": ["86.45 mm", "86.46 mm"], "uncertainty": "1 um", "gauge": "micrometer"}


def walk(start: ReadyBuild, number: int, seed: int) -> list[ReadyBuild]:
    """A walk of changes, with pieces measured one by one now and then."""
    found: list[ReadyBuild] = []
    for count, build in enumerate(steps(start, number, seed)):
        found.append(build)
        if count % 5 == 0:
            found.append(build.changed(measured={"piston.skirt_diameter": PIECES}))
            found.append(build)
    return found


@pytest.mark.parametrize("seed", [11, 12])
def test_in_what_stages_differ_is_known_without_holding_them_against_each_other(
    demo: Library, seed: int
) -> None:
    shop = OpenShop(demo.shop, demo.book)
    kinds: set[str] = set()
    before: set[tuple[str, ...]] = set()
    for build in walk(shop.build("first-draft"), 40, seed):
        checked = shop.check(build).checked
        last = checked.world
        for stage in checked.ahead.stages if checked.ahead else ():
            facts = set(moved_facts(last, stage.world, demo.book.influence))
            assert stage.apart.facts == facts
            assert stage.apart.rules == demo.book.influence.of(facts).rules
            kinds |= {fact[0] for fact in facts ^ before}
            before, last = facts, stage.world
    assert kinds >= {"spec", "filled", "part", "work", "joint", "count"}


def plain(value: Value | Absent) -> object:
    return (value.x, value.g) if isinstance(value, Number) else str(value)


def held(checked: Checked) -> dict[tuple[Any, ...], object]:
    """By what was tried, figure, and whether for middle values alone: what it comes to there."""
    kept = {key: tried.figures for key, tried in checked.needs.tried.items() if tried.figures is not None}
    return {
        (key, name, figures.rough): plain(value)
        for key, figures in kept.items()
        for name, value in figures.figures.items()
    }


@pytest.mark.parametrize("seed", [21, 22])
def test_figures_of_what_is_tried_come_to_the_same_where_they_are_kept(demo: Library, seed: int) -> None:
    session = Session(demo.shop, demo.book)
    start = OpenShop(demo.shop, demo.book).build("first-draft")
    compared = 0
    for build in walk(start, 20, seed):
        kept, alone = held(session.check(build)), held(check(demo.shop, demo.book, build))
        both = kept.keys() & alone.keys()
        assert {one: kept[one] for one in both} == {one: alone[one] for one in both}
        compared += len(both)
    assert compared > 1000


def test_what_was_found_of_a_build_stays_as_it_was_found(demo: Library) -> None:
    """Later checks begin with it and change nothing of it."""
    session = Session(demo.shop, demo.book)
    start = OpenShop(demo.shop, demo.book).build("first-draft")
    first = session.check(start)
    as_found = held(first)
    for plug in list(demo.shop.fillers["spark_plug"])[:3]:
        session.check(start.fitting(spark_plug=plug), first)
    for injector in list(demo.shop.fillers["injector"])[:3]:
        session.check(start.fitting(injector=injector), first)
    assert held(first) == as_found


def test_trials_are_not_worked_out_again_where_nothing_moves_them(
    demo: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An injector is held against the cooler that is to be added; what the engine burns with that is known."""
    session = Session(demo.shop, demo.book)
    start = OpenShop(demo.shop, demo.book).build("first-draft")
    first = session.check(start)
    asked: list[str] = []
    formula = BuildWorld._formula

    def noting(world: BuildWorld, figure: BoundFigure) -> Value:
        asked.append(figure.figure.figure)
        return formula(world, figure)

    monkeypatch.setattr(BuildWorld, "_formula", noting)
    again = session.check(start.fitting(injector="ash-injector-440"), first)
    assert "injector_duty" in asked
    heavy = [name for name in asked if demo.book.figures[name].formula.heavy]
    assert not heavy
    # and after a check that asked of nothing tried beside them
    asked.clear()
    session.check(again.world.settled.ready.fitting(injector="ash-injector-550"), again)
    assert not [name for name in asked if demo.book.figures[name].formula.heavy]


def differing(demo: Library, one: ReadyBuild, other: ReadyBuild) -> set[tuple[str, ...]]:
    """Facts in which two builds differ, told beside others that moved on the way to both."""
    a, b = settle(demo.shop, demo.book, one), settle(demo.shop, demo.book, other)
    nothing = Moved(frozenset(), frozenset(), frozenset())
    asked = {fact for fact in demo.book.influence.by_fact if fact[0] not in ("goal", "figure")}
    facts = set(carry_beside(a, b, nothing, asked, nothing).facts)
    assert facts == set(moved_facts(a, b, demo.book.influence)) & asked
    return facts


def test_pieces_that_leave_a_spec_unknown_still_move_it(demo: Library) -> None:
    """One piston of four is measured, and its card says nothing of the others."""
    draft = OpenShop(demo.shop, demo.book).build("first-draft")
    one = draft.changed(measured={"piston.skirt_diameter": {**PIECES, "pieces": {1: "86.45 mm"}}})
    assert differing(demo, draft, one) == {("spec", "piston", "skirt_diameter")}


def test_new_pieces_of_the_same_part_move_what_hangs_on_the_part(demo: Library) -> None:
    draft = OpenShop(demo.shop, demo.book).build("first-draft").changed(renew=())
    assert differing(demo, draft, draft.changed(renew=["alternator"])) == {("part", "alternator")}


def test_pieces_that_a_spec_counts_move_with_it_though_the_part_stays(tiny: Any) -> None:
    tiny.write(
        "catalog/horn.yaml",
        "- {position: horn, name: Horn, system: ignition, per: cylinders, each_serves: ways,\n"
        "   specs: {ways: number}}\n"
        "- {part: big-horn, name: Big horn, fills: horn, specs: {ways: 1}}\n",
    )
    tiny.edit("catalog/engine.yaml", "    oil: oil-10w40\n", "    oil: oil-10w40\n    horn: big-horn\n")
    tiny.rule("measure: count(horn)\nat_least: 3")
    shop = open_shop(tiny.folder)
    one = shop.build("hob-13")
    two = one.changed(measured={"horn.ways": "2"})
    found = [{o.rule: o.verdict for o in shop.check(build).outcomes}["mine"] for build in (one, two, one)]
    assert found == ["ok", "conflict", "ok"]


def test_what_is_tried_is_told_apart_by_what_stands_beside_it(demo: Library) -> None:
    checked = check(demo.shop, demo.book, OpenShop(demo.shop, demo.book).build("first-draft"))
    added = {provider.name: provider for provider, _ in checked.needs.closure.added}
    cooler, pipe = added["tarn-20-turbo-intercooler"], added["tarn-20-turbo-charge-pipe"]
    trials = TryingOut(Market(checked.world), checked.judged)
    for beside in ([], [cooler], []):
        trials.wakes(pipe, beside)
    tried = [tuple(name for name, _ in key) for key in trials.results() if key[-1][0] == pipe.name]
    assert tried == [(pipe.name,), (cooler.name, pipe.name)]


def test_what_must_be_alike_is_tried_within_its_tolerance(tiny: Any) -> None:
    """The variant's gasket of 1.2 mm ±0.05 takes 21.5 cm^3 ±0.9; no rule asks anything of the thick one."""
    tiny.rule("need: {position: head_gasket}")
    tiny.write(
        "rules/alike.yaml",
        "- figure: gasket_room\n  name: Room in the gasket\n  unit: cm^3\n  formula: engine_displacement\n"
        "  takes: {bore: head_gasket.bore, stroke: head_gasket.thickness, cylinders: engine.cylinders}\n"
        "- rule: alike\n  title: Room in the gasket\n  why: For trying.\n  source: none\n"
        "  where: head_gasket.thickness < 1.25*mm\n  match: [[gasket_room, 22.2*cm**3]]\n",
    )
    tiny.write(
        "catalog/thick.yaml",
        "- {part: thick, name: Thick gasket, fills: head_gasket, specs: {thickness: 1.30 mm, bore: 75.5 mm}}\n",
    )
    report = tiny.report("leave_out: [head_gasket]")
    assert [part.part for part in report.extra_parts if part.position == "head_gasket"] == ["hob-gasket"]


def test_the_demo_is_tried_at_middle_values(demo: Library) -> None:
    """What a cycle may be off takes two more of it for each argument; no rule here needs them."""
    resting = Resting(demo.book)
    assert all(resting.of("", (position,)).middles for position in demo.shop.positions)


def state_bolts(tiny: Any) -> None:
    """The factory's rod says that it has two bolts, the sports rod that it has four."""
    tiny.edit("catalog/vocabulary.yaml", "    small_ends: list\n", "    small_ends: list\n    bolts: number\n")
    for file, bolts in (("factory", "2"), ("extra", "4")):
        tiny.edit(f"catalog/parts/{file}.yaml", "big_end_bore: 47", f"bolts: {bolts}\n    big_end_bore: 47")


@pytest.mark.parametrize("number", ["count(rod_bolt)", "bolts_in_all", "offered('cam_signal')"])
@pytest.mark.parametrize(
    ("one", "other"),
    [({"rod": "hob-rod"}, {"rod": "sport-rod"}), ({"counts": {"rod": 4}}, {"counts": {"rod": 5}}),
     ({"counts": {"rod_bolt": 8}}, {"counts": {"rod_bolt": 9}})],
)  # fmt: skip
def test_what_is_tried_is_tried_again_where_there_are_more_of_it(
    number: str, one: dict[str, Any], other: dict[str, Any], tiny: Any
) -> None:
    """Light bolts come first, eight at most; none stands in the build, so none is counted there."""
    state_bolts(tiny)
    tiny.write(
        "catalog/bolts.yaml",
        "- {position: rod_bolt, name: Rod bolt, system: rotating-assembly, counted_by: rod.bolts,\n"
        "   specs: {light: flag}}\n"
        "- {part: light, name: Light bolt, fills: rod_bolt, specs: {light: yes}, offers: [cam_signal],\n"
        "   sold_by: [{supplier: quayside, price: 2 GBP}]}\n"
        "- {part: heavy, name: Heavy bolt, fills: rod_bolt, specs: {light: no},\n"
        "   sold_by: [{supplier: quayside, price: 3 GBP}]}\n",
    )
    tiny.rule("need: {position: rod_bolt}")
    tiny.write(
        "rules/few.yaml",
        "- {figure: bolts_in_all, name: Bolts in all, unit: number, is: count(rod_bolt)}\n"
        "- rule: few\n  title: Few light bolts\n  why: For trying.\n  source: none\n"
        "  where: rod_bolt.light\n"
        f"  measure: {number}\n  at_most: 8\n",
    )
    shop = open_shop(tiny.folder)
    base = shop.build("hob-13")
    builds = [base.fitting(**said) if "rod" in said else base.changed(**said) for said in (one, other, one)]
    added = [[extra.name for extra in shop.check(build).checked.extras] for build in builds]
    picked = [[name for name in names if name in ("light", "heavy")] for names in added]
    assert picked == [["light"], ["heavy"], ["light"]]


def test_what_is_tried_is_tried_again_where_it_offers_more(tiny: Any) -> None:
    """Light bolts offer a signal beside a rod of four bolts alone; none stands in the build, to offer it."""
    state_bolts(tiny)
    tiny.write(
        "catalog/bolts.yaml",
        "- {position: rod_bolt, name: Rod bolt, system: rotating-assembly, specs: {light: flag}}\n"
        "- part: light\n  name: Light bolt\n  fills: rod_bolt\n  specs: {light: yes}\n"
        "  offers: [{feature: cam_signal, when: rod.bolts > 3}]\n"
        "  sold_by: [{supplier: quayside, price: 2 GBP}]\n"
        "- {part: heavy, name: Heavy bolt, fills: rod_bolt, specs: {light: no},\n"
        "   sold_by: [{supplier: quayside, price: 3 GBP}]}\n",
    )
    tiny.rule("need: {position: rod_bolt}")
    tiny.write(
        "rules/few.yaml",
        "- rule: few\n  title: Light bolts that signal\n  why: For trying.\n  source: none\n"
        "  where: rod_bolt.light\n"
        "  measure: offered('cam_signal')\n  at_most: 0\n",
    )
    shop = open_shop(tiny.folder)
    base = shop.build("hob-13")
    added = [
        [extra.name for extra in shop.check(base.fitting(rod=rod)).checked.extras]
        for rod in ("hob-rod", "sport-rod", "hob-rod")
    ]
    picked = [[name for name in names if name in ("light", "heavy")] for names in added]
    assert picked == [["light"], ["heavy"], ["light"]]


def test_other_bolts_in_the_flange_move_nothing_else_that_is_tried(demo: Library) -> None:
    """The base crankshaft takes six where the long one takes eight; no rule counts them."""
    session = Session(demo.shop, demo.book)
    draft = session.check(OpenShop(demo.shop, demo.book).build("first-draft"))
    other = session.check(draft.world.settled.ready.fitting(crankshaft="tarn-20-base-crankshaft"), draft)
    moved = other.ahead.stages[0].moved
    assert ("spec", "crankshaft", "flange_bolt_count") in moved.facts
    market = Market(other.world, session.cards)
    assert _moved_where_tried(draft.needs, other.needs.here, market, moved).rules == moved.rules
