"""What goes in where, against whole checks made one by one."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

import compat
from compat.checking.check import Checked, check
from compat.checking.outcome import OUT, RANK
from compat.checking.session import Session
from compat.library.library import Library, build_of_id, load
from compat.paper.fitting import says
from compat.planning import fitting
from compat.planning.fitting import FITS, Candidate, fits, where_it_fits
from compat.shop.builds import ReadyBuild
from compat.shop.changing import Change, Do, Fit, with_changes
from compat.words.report import Finding, Report
from compat.words.reporting import report
from compat.words.wording import in_sentence
from tests.bench.big_shop import write_shop

Run = Callable[..., Any]

ASKED = [
    ("street-turbo", "piston"),
    ("street-turbo", "turbocharger"),
    ("street-turbo", "head_gasket"),
    ("street-turbo", "spark_plug"),
    ("street-turbo", "rod_bearing"),
    ("first-draft", "flywheel"),
    ("first-draft", "oil_pump"),
    ("phase-upgrade", "camshaft_inlet"),
    ("fell-30-top-end", "injector"),
    ("long-stroke-20", "head_fastener"),
]


@pytest.fixture(scope="module")
def shop() -> compat.OpenShop:
    return compat.open_shop()


def by_hand(
    demo: Library, before: Checked, was: Report, position: str, part: str
) -> tuple[str, set[str], set[str]]:
    """How a part goes in, what it forces and what stands against it, of two whole checks and their reports."""
    ready = before.world.settled.ready
    there = before.world.settled.fitted.get(position)
    if there is None or there.part.part != part:
        ready = ready.fitting(**{position: part})
    after = check(demo.shop, demo.book, ready)
    is_now = report(after)
    added = {one.part for one in is_now.extra_parts} | {one.work for one in is_now.extra_work}
    added -= {one.part for one in was.extra_parts} | {one.work for one in was.extra_work}

    def long(rule: str) -> bool:
        bound = demo.book.rules.get(rule)
        names = demo.book.gather(bound.expressions()).figures if bound is not None else ()
        return any(getattr(demo.book.figures[name].formula, "heavy", False) for name in names)

    extras = {one.part for one in is_now.extra_parts} | {one.work for one in is_now.extra_work}

    def is_added(one: Finding) -> bool:
        """Whether the check adds what is missing: the remedy or the joint's renewal is among the extras."""
        named = re.findall(
            r"^Add (?:\d+ x )?(\S+)|\(work ([^,]+),|^Renew (?:\d+ x )?(\S+)", "\n".join(one.remedies), re.M
        )
        return any(word in extras for words in named for word in words)

    def speak(verdicts: tuple[str, ...]) -> Iterator[Finding]:
        held = {one.rule for one in was.findings if one.verdict in verdicts}
        for one in is_now.findings:
            if one.verdict not in verdicts:
                continue
            if one.verdict == "missing" and is_added(one):
                continue
            if one.rule not in held or (position in one.positions and not long(one.rule)):
                yield one

    against = {one.rule for one in speak(("conflict", "shortfall", "missing"))}
    unknown = {one.rule for one in speak(("unknown",))}
    way = "not" if against else "not known" if unknown else "with more" if added else "directly"
    return way, added, against


def failing(demo: Library, ready: ReadyBuild) -> set[str]:
    return {o.rule for o in check(demo.shop, demo.book, ready).outcomes if RANK[o.verdict] <= OUT}


def helped_by_hand(demo: Library, before: Checked, one: Candidate, against: set[str]) -> None:
    """What goes in with other parts or work: all of them done, none of what stood against it is left."""
    ready = before.world.settled.ready
    changes: list[Change] = [Fit(one.position, one.part)]
    for each in one.beside:
        changes.append(Fit(each.position, each.id) if each.position else Do(each.id, each.values))
    left = failing(demo, with_changes(ready, changes))
    assert against
    assert not left & against, one.part
    assert left <= {outcome.rule for outcome in before.outcomes if RANK[outcome.verdict] <= OUT}, one.part


@pytest.mark.parametrize(("build", "position"), ASKED)
def test_what_goes_in_is_what_checking_each_by_hand_says(
    build: str, position: str, shop: compat.OpenShop, demo: Library
) -> None:
    found = fits(shop.session, shop.build(build), position).candidates
    assert [one.part for one in found if one.stands] in (
        [part.part.part] if (part := shop.check(build).world.settled.fitted.get(position)) else [],
    )
    assert {one.part for one in found} == {p.part for p in demo.shop.parts.values() if position in p.fills}
    before = check(demo.shop, demo.book, build_of_id(demo.shop, build))
    was = report(before)
    for one in found:
        way, added, against = by_hand(demo, before, was, position, one.part)
        if (one.way, way) == ("with more", "not"):
            helped_by_hand(demo, before, one, against)
            continue
        assert one.way == way, (one.part, one.against, against)
        assert {each.rule for each in one.against} == against, one.part
        if not one.stands:
            assert {each.id for each in one.beside} == added, one.part
    order = [FITS.index(one.way) for one in found]
    assert order == sorted(order)


def test_what_a_part_clears_is_told_in_words(shop: compat.OpenShop, demo: Library) -> None:
    """What stood against the build and does not with the part in it, no more and no less."""
    wrong = build_of_id(demo.shop, "phase-upgrade").fitting(piston="hg-piston-860-308-d106")
    before = hard(demo, wrong)
    assert len(before) > 3
    told = 0
    ready = shop.build("phase-upgrade").fitting(piston="hg-piston-860-308-d106")
    for one in fits(shop.session, ready, "piston").candidates:
        if one.way == "with more" or one.stands:
            continue
        left = hard(demo, wrong.fitting(piston=one.part))
        cleared = {each.rule: each for each in one.clears if each.verdict in ("conflict", "shortfall")}
        assert set(cleared) == before - left, one.part
        if one.way != "not" and one.clears:
            said = " ".join(says(one))
            assert f"clears {in_sentence(one.clears[0].title)}" in said
            assert not any(each.rule in said for each in one.clears)
            told += 1
    assert told


def hard(demo: Library, ready: ReadyBuild) -> set[str]:
    """Rules by which a build conflicts or falls short."""
    found = check(demo.shop, demo.book, ready).outcomes
    return {outcome.rule for outcome in found if outcome.verdict in ("conflict", "shortfall")}


def test_the_parts_of_every_clean_build_go_in_where_they_stand(shop: compat.OpenShop) -> None:
    """On a build that is clean nothing stands against what it has, wherever one looks."""
    ready = shop.build("street-turbo")
    fitted = shop.check(ready).world.settled.fitted
    for position in ("rod", "crankshaft", "ecu", "camshaft_exhaust", "injector", "clutch_cover"):
        there = next(one for one in fits(shop.session, ready, position).candidates if one.stands)
        assert there.way == "directly"
        assert there.part == fitted[position].part.part


def test_a_part_goes_into_the_variants_that_left_the_factory_with_it(shop: compat.OpenShop) -> None:
    """Every variant, every part it has in a required position: it goes in directly there."""
    things = shop.things
    for part in ("tarn-20-base-rod", "tarn-20-turbo-piston", "fell-30-piston", "tarn-22-long-crankshaft"):
        found = where_it_fits(shop.session, part).candidates
        assert len(found) == len(things.variants) * len(things.parts[part].fills)
        own = [one for one in found if things.variants[one.build].parts.get(one.position) == part]
        assert own
        assert all(one.way == "directly" and one.stands for one in own)


def test_a_part_of_another_family_goes_in_nowhere_else(shop: compat.OpenShop) -> None:
    candidates = where_it_fits(shop.session, "fell-30-piston").candidates
    elsewhere = [one for one in candidates if not one.build.startswith("fell")]
    assert len(elsewhere) > 3
    for one in elsewhere:
        assert one.way == "not"
        assert one.against


def test_what_is_not_known_is_told(run: Run) -> None:
    wrong = run("fits", "pistn", "street-turbo")
    assert (wrong.status, wrong.out) == (2, "")
    assert "neither a position nor a part" in wrong.err
    assert "piston" in wrong.err
    no_build = run("fits", "piston")
    assert no_build.status == 2
    assert "compat fits piston BUILD" in no_build.err
    both = run("fits", "tarn-20-base-rod", "street-turbo")
    assert both.status == 2
    assert "is a part" in both.err
    assert run("fits", "piston", "street-trubo").status == 2


def test_the_command_tells_what_python_finds(run: Run, shop: compat.OpenShop) -> None:
    ran = run("fits", "rod_bearing", "first-draft", "--json")
    assert ran.status == 0
    found = fits(shop.session, shop.build("first-draft"), "rod_bearing")
    data = json.loads(ran.out)
    assert [one["part"] for one in data["candidates"]] == [one.part for one in found.candidates]
    text = run("fits", "rod_bearing", "first-draft", "--reasons").out
    for one in found.candidates:
        assert one.part in text


@pytest.mark.parametrize(("build", "position"), [("street-turbo", "rod"), ("fell-30-top-end", "injector")])
def test_parts_of_a_kind_come_out_as_each_by_itself(
    demo: Library, build: str, position: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where parts are taken for like each other that differ in half of what they state."""
    ready = build_of_id(demo.shop, build)
    monkeypatch.setattr(fitting, "ALIKE", 12)
    found = fits(Session(demo.shop, demo.book), ready, position)
    monkeypatch.setattr(fitting, "MOST_KINDS", 0)
    assert found == fits(Session(demo.shop, demo.book), ready, position)


def test_help_is_looked_for_once_for_parts_that_differ_in_mass_and_price(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_shop(tmp_path, 2500)
    library = load(tmp_path)
    parts = [part for part in library.shop.fillers["rod"] if part.startswith("sf-rod-1480-h-21")]
    assert len(parts) > 2
    looked: list[str] = []
    real = fitting.remedied

    def counted(trials: Any, helping: Any, outcome: Any, goal: bool = True) -> Any:
        looked.append(outcome.rule)
        return real(trials, helping, outcome, goal)

    monkeypatch.setattr(fitting, "remedied", counted)
    ready = build_of_id(library.shop, "street-turbo")
    first, *others = fits(Session(library.shop, library.book), ready, "rod", parts=parts).candidates
    assert len(looked) == len(set(looked)) > 0
    assert first.way == "with more"
    assert {(one.way, one.beside) for one in others} == {(first.way, first.beside)}
