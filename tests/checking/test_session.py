"""Many checks in one session: each finds what a check by itself finds, whatever came before or goes beside.

Two ways: what a rule really asks of a build while it is judged must lie within its grounds, and walks of
changes must give, step by step, the report of a check with nothing kept.
"""

from __future__ import annotations

import dataclasses
import json
from typing import Any

import pytest

from compat import Check, Faults, OpenShop, open_shop
from compat.checking.judging import judge
from compat.checking.session import Session
from compat.checking.world import BuildWorld
from compat.library.library import Library
from compat.paper.schemas import report_json
from compat.rulebook.influence import Influence, facts_of, influence
from compat.rulebook.values import Value
from tests.checking.walks import steps
from tests.look import check


class Asked(BuildWorld):
    """Notes every fact that is asked of the build."""

    def __init__(self, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.asked: set[tuple[str, ...]] = set()

    def spec(self, position: str, name: str) -> Value:
        self.asked |= {("spec", position, name), ("filled", position)}
        return super().spec(position, name)

    def goal(self, name: str) -> Value:
        self.asked.add(("goal", name))
        return super().goal(name)

    def fitted(self, position: str) -> bool:
        self.asked.add(("filled", position))
        return super().fitted(position)

    def count(self, position: str) -> int:
        self.asked.add(("count", position))
        return super().count(position)

    def changed(self, position: str) -> bool:
        self.asked.add(("part", position))
        return super().changed(position)

    def sister(self, position: str) -> str:
        self.asked.add(("part", position))
        return super().sister(position)

    def kept(self, position: str) -> bool:
        self.asked.add(("part", position))
        return super().kept(position)

    def measured(self, position: str, name: str) -> bool:
        self.asked.add(("spec", position, name))
        return super().measured(position, name)

    def done(self, work: str) -> bool:
        self.asked.add(("work", work))
        return super().done(work)

    def opened(self, joint: str) -> bool:
        self.asked.add(("joint", joint))
        return super().opened(joint)

    def offered(self, feature: str) -> int:
        self.asked.add(("feature", feature))
        # what the conditions of the offers ask is theirs: a rule sees the number
        inside, self.asked = self.asked, set()
        try:
            return super().offered(feature)
        finally:
            self.asked = inside


def test_the_language_asks_nothing_that_is_not_watched_here() -> None:
    """Every question of the protocol; `engine` goes with the variant, `figure` and `parameter` ask the rest."""
    from compat.rulebook.values import World

    questions = {name for name in vars(World) if not name.startswith("_")}
    assert questions - {"engine", "figure", "parameter"} <= set(vars(Asked))


def test_what_a_rule_asks_lies_within_what_is_known_to_move_it(
    demo: Library, checked: dict[str, Check], mixed: list[Check]
) -> None:
    whole: set[str] = set()
    moves = influence(demo.book)
    for result in [*checked.values(), *mixed[::8]]:
        for name, rule in demo.book.judged.items():
            world = Asked(result.world.settled, result.world.answers)
            world.joints = result.world.joints
            judge(world, rule)
            for fact in world.asked:
                assert name in moves.of([fact]).rules, (result.report.build, name, fact)
            whole |= {fact[0] for fact in world.asked}
    assert whole == {"spec", "filled", "count", "part", "goal", "work", "joint", "feature"}


def test_facts_are_turned_round_whole(demo: Library) -> None:
    """Each rule stands under every fact it names, and under no other."""
    moves = influence(demo.book)
    resting = {fact: moves.of([fact]).rules for fact in moves.by_fact}
    for name, rule in demo.book.rules.items():
        names = demo.book.gather(rule.expressions())
        named = {*facts_of(names), *(("figure", figure) for figure in names.figures)}
        if rule.rule.sort == "load":
            named.add(("goal", "duty"))
        assert {fact for fact, rules in resting.items() if name in rules} == named


def test_what_is_told_of_a_rule_is_what_it_names(demo: Library) -> None:
    """Looked up in what rests on what, whether it was just turned round or read from its card."""
    moves = influence(demo.book)
    kept = Influence.of_card(json.loads(json.dumps(moves.card())))
    assert kept == moves
    named = {name: demo.book.gather(rule.expressions()) for name, rule in demo.book.rules.items()}
    for found in (moves, kept):
        assert found.of_whole == {name for name, names in named.items() if names.features or names.joints}
        assert found.long == [demo.book.count_long(rule) for rule in demo.book.rules.values()]
        assert max(found.long) > 3
        for place in {place for names in named.values() for place, _ in names.specs}:
            at = found.specs_at(place)
            for name, names in named.items():
                assert at.get(name, set()) == {spec for where, spec in names.specs if where == place}


# walks


@pytest.mark.parametrize(
    ("name", "seed"), [("street-turbo", 1), ("first-draft", 2), ("fell-30-top-end", 3), ("tarn-20-phase", 4)]
)
def test_a_walk_of_changes_finds_what_each_step_finds_alone(demo: Library, name: str, seed: int) -> None:
    shop = OpenShop(demo.shop, demo.book)
    verdicts = set()
    for number, build in enumerate(steps(shop.build(name), 75, seed)):
        kept, alone = shop.check(build), check(demo.shop, demo.book, build)
        assert kept.outcomes == alone.outcomes
        assert kept.checked.extras == alone.checked.extras
        assert kept.checked.renewed == alone.checked.renewed
        if number % 10 == 0:
            assert report_json(kept.report) == report_json(alone.report)
        verdicts.add((kept.verdict, tuple(kept.counts.values())))
    assert len(verdicts) > 30, "the walk goes somewhere"


def test_units_of_the_reader_are_no_part_of_a_verdict(demo: Library) -> None:
    shop = OpenShop(demo.shop, demo.book)
    found = shop.check("first-draft")
    alone = check(demo.shop, demo.book, "first-draft")
    assert report_json(found.reported("imperial")) == report_json(alone.reported("imperial"))
    assert report_json(found.reported("imperial")) != report_json(found.report)


# what is remembered


def test_what_is_remembered_keeps_its_bound(demo: Library) -> None:
    session = Session(demo.shop, demo.book, answers=7, checks=3)
    shop = OpenShop(demo.shop, demo.book)
    for build in steps(shop.build("street-turbo"), 12, 5):
        session.check(build)
    assert len(session.answers) == 7
    assert len(session.known) == 3


def test_a_build_that_was_checked_is_not_checked_again(demo: Library, monkeypatch: Any) -> None:
    shop = OpenShop(demo.shop, demo.book)
    first = shop.check("first-draft")
    monkeypatch.setattr("compat.checking.session.settle", None)
    again = shop.check(shop.build("first-draft"))
    assert again.checked is first.checked
    other = shop.check(shop.build("first-draft").changed(build="second-draft", customer="M. Adeyemi"))
    assert other.report.build == "second-draft"
    assert other.report.findings == first.report.findings
    assert first.report.build == "first-draft"


def test_only_what_rests_on_a_change_is_judged_again(demo: Library, monkeypatch: Any) -> None:
    import compat.checking.judged as judged_rules

    shop = OpenShop(demo.shop, demo.book)
    base = shop.build("street-turbo")
    shop.check(base)
    judged: list[str] = []

    def noting(world: Any, name: str, *rest: Any) -> None:
        judged.append(name)
        return judge_one(world, name, *rest)

    judge_one = judged_rules.judge_one
    monkeypatch.setattr(judged_rules, "judge_one", noting)
    plug = next(
        p
        for p in demo.shop.fillers["spark_plug"]
        if p != shop.check(base).world.settled.fitted["spark_plug"].part.part
    )
    shop.check(base.fitting(spark_plug=plug))
    assert judged
    assert set(judged) <= shop.moves("spark_plug")
    assert len(judged) < 40


# builds are whole


def test_a_build_made_in_python_keeps_what_was_measured_and_set_up(demo: Library) -> None:
    shop = OpenShop(demo.shop, demo.book)
    made = shop.make(
        variant="tarn-20-base",
        goal={"power": "92 kW", "at": "5800 rpm"},
        measured={"rod.centre_length": "200 mm"},
        setup={"knock_control": "no"},
    )
    world = shop.check(made).world
    assert world.settled.specs["rod", "centre_length"].value.nominal == pytest.approx(0.2)  # type: ignore[union-attr]
    assert world.settled.specs["setup", "knock_control"].value is False
    assert shop.check("tarn-20-base").world.settled.specs["rod", "centre_length"].value.nominal < 0.2  # type: ignore[union-attr]


def test_two_builds_of_one_id_do_not_read_each_other(demo: Library) -> None:
    shop = OpenShop(demo.shop, demo.book)
    own = shop.build("first-draft")
    other = shop.build("street-turbo").changed(build="first-draft", measured={"block.deck_height": "222 mm"})
    assert shop.check(other).report.variant == "tarn-20-turbo"
    assert ("block", "deck_height") in other.measured
    assert shop.check("first-draft").report == check(demo.shop, demo.book, own).report
    assert demo.shop.builds["first-draft"] == own.build


def test_reading_a_file_leaves_the_shop_as_it_was(demo: Library, tmp_path: Any) -> None:
    shop = OpenShop(demo.shop, demo.book)
    file = tmp_path / "mine.yaml"
    file.write_text(
        "- build: street-turbo\n  name: Mine\n  variant: tarn-20-base\n  goal: {power: 92 kW, at: 5800 rpm}\n"
        "  measured: {rod.centre_length: 200 mm}\n",
        encoding="utf-8",
    )
    before = shop.check("street-turbo").report
    mine = shop.read(file)
    assert shop.check(mine).report.variant == "tarn-20-base"
    assert str(shop.check(mine).world.settled.specs["rod", "centre_length"].spot).startswith(str(file))
    assert OpenShop(demo.shop, demo.book).check("street-turbo").report == before


def test_faults_of_a_build_made_in_python_are_those_of_a_file(demo: Library) -> None:
    shop = OpenShop(demo.shop, demo.book)
    with pytest.raises(Faults) as caught:
        shop.make(
            build="mule",
            variant="tarn-20-bsae",
            goal={"power": "130 Nm", "at": "6200 rpm"},
            fit={"rod": "tarn-20-base-piston", "crankshft": "tarn-22-long-crankshaft"},
            work=[{"work": "deck-block", "depth": "0.1 kg"}],
        )
    told = [str(fault) for fault in caught.value.faults]
    assert told == [
        "build mule: fit.crankshft: position 'crankshft' is not known; did you mean 'crankshaft'?",
        "build mule: fit.rod: part 'tarn-20-base-piston' fills piston, not 'rod'",
        "build mule: goal.power: '130 Nm' is a torque or energy; wanted is a quantity in kW",
        "build mule: variant: variant 'tarn-20-bsae' is not known; did you mean 'tarn-20-base'?",
        "build mule: work.0.depth: '0.1 kg' is a mass; wanted is a quantity in mm",
    ]
    with pytest.raises(
        Faults, match="no build, variant or build file of that name; did you mean 'first-draft'"
    ):
        shop.build("frist-draft")


def test_a_piston_under_a_rod_is_told_at_once(demo: Library) -> None:
    build = OpenShop(demo.shop, demo.book).build("street-turbo")
    with pytest.raises(Faults, match="fills piston, not 'rod'"):
        build.fitting(rod="tarn-20-base-piston")


def test_changes_give_new_builds(demo: Library) -> None:
    build = OpenShop(demo.shop, demo.book).build("street-turbo")
    before = dataclasses.replace(build)
    other = build.fitting(rod=None).aiming(power="150 kW")
    assert build == before
    assert "rod" in other.build.leave_out
    assert other.goal.power.text() == "150 kW"
    assert other.fitting(rod="tarn-20-turbo-rod").build.leave_out == build.build.leave_out


def test_a_written_build_reads_as_itself(demo: Library, tmp_path: Any) -> None:
    from compat.shop.writing import write_build

    shop = OpenShop(demo.shop, demo.book)
    for number, build in enumerate(steps(shop.build("first-draft"), 20, 6)):
        file = tmp_path / f"{number}.yaml"
        write_build(build.build, file)
        assert shop.read(file).build == build.build
    with pytest.raises(FileExistsError):
        write_build(build.build, file)
    write_build(build.build, file, over=True)
    assert not [entry for entry in tmp_path.iterdir() if entry.name.startswith(".")]


# nothing that was given can be changed


def test_a_report_cannot_be_edited(demo: Library) -> None:
    shop = OpenShop(demo.shop, demo.book)
    report = shop.check("first-draft").report
    finding = report.findings[0]
    for thing, entry in (
        (finding, "verdict"),
        (report, "summary"),
        (shop.check("first-draft").outcomes[0], "verdict"),
    ):
        with pytest.raises(dataclasses.FrozenInstanceError):
            setattr(thing, entry, "ok")
    assert isinstance(finding.remedies, tuple)


# other variants and shops


def test_what_was_found_of_another_variant_or_shop_is_not_built_on(demo: Library, tiny: Any) -> None:
    shop = OpenShop(demo.shop, demo.book)
    turbo, six = shop.build("street-turbo"), shop.check("fell-30-base").checked
    found = shop.session.check(turbo, six)
    assert list(found.outcomes) == list(check(demo.shop, demo.book, turbo).outcomes)
    small = open_shop(tiny.folder)
    with pytest.raises(Faults, match="variant 'tarn-20-turbo' is not known"):
        small.check(turbo)
    other = dataclasses.replace(demo.shop, specs={**demo.shop.specs, "tarn-20-turbo-rod": {}})
    assert OpenShop(other, demo.book).check(turbo).outcomes == check(other, demo.book, turbo).outcomes


def test_what_was_asked_last_is_remembered_longest(tiny: Any) -> None:
    small = open_shop(tiny.folder)
    shop = OpenShop(small.things, small.book, checks=2)
    first = shop.check("sport").checked
    for name in ("mixed", "sport", "hob-13"):
        shop.check(name)
    assert shop.check("sport").checked is first
