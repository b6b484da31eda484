"""A build that says less than it did: a place left empty, work left out, a word struck, and nothing beside."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from compat.checking.settle import place_parts
from compat.library.library import Library, build_of_id
from compat.shop.builds import ReadyBuild, prepare
from compat.shop.changing import Change, Do, Fit, Strike, Undo, as_entry, change_of, with_changes
from compat.shop.saying_less import LEFT_OUT, left_out, stands_anyhow, struck, without_work
from compat.shop.source import Faults
from compat.shop.writing import as_said
from tests.look import demo_shop

WASHER = "bm-friction-washer-34"


@pytest.fixture(scope="module")
def demo() -> Library:
    return demo_shop()


@pytest.fixture
def street(demo: Library) -> ReadyBuild:
    return build_of_id(demo.shop, "street-turbo")


def differing(one: ReadyBuild, other: ReadyBuild) -> set[str]:
    """Entries that two builds say otherwise."""
    a, b = as_said(one.build), as_said(other.build)
    return {key for key in {**a, **b} if a.get(key) != b.get(key)}


def test_a_part_that_the_factory_did_not_fit_goes_without_a_word(street: ReadyBuild) -> None:
    more = street.fitting(friction_washer=WASHER).changed(
        counts={**as_said(street.build.counts), "friction_washer": 1},
        brought={**as_said(street.build.brought), "friction_washer": "new in its bag"},
        measured={**as_said(street.build.measured), "friction_washer.thickness": "1.2 mm"},
    )
    less = left_out(more, "friction_washer")
    assert not differing(street, less)
    assert less == street
    assert not stands_anyhow(more, "friction_washer")


def test_a_part_of_the_factory_s_goes_with_a_reason(street: ReadyBuild) -> None:
    assert stands_anyhow(street, "crank_key")
    less = with_changes(street, [Fit("crank_key", "")])
    assert differing(street, less) == {"leave_out"}
    assert less.build.leave_out["crank_key"] == LEFT_OUT
    again = left_out(street.changed(leave_out={"crank_key": "the nose has no keyway"}), "crank_key")
    assert again.build.leave_out["crank_key"] == "the nose has no keyway"
    assert left_out(again, "crank_key", "for another reason").build.leave_out == {
        "crank_key": "for another reason"
    }


def test_a_part_of_a_sister_is_left_out_of_what_is_taken(demo: Library) -> None:
    draft = build_of_id(demo.shop, "first-draft")
    less = left_out(draft, "map_sensor")
    assert not any("map_sensor" in taken.positions for taken in less.build.take_from)
    assert less.build.leave_out == {"map_sensor": LEFT_OUT}  # the variant has one of its own
    assert "map_sensor" not in place_parts(demo.shop, less)


def test_work_that_is_left_out_takes_with_it_what_it_dragged_in(demo: Library) -> None:
    top_end = build_of_id(demo.shop, "fell-30-top-end")
    more = with_changes(top_end, [Do("tap-knock-boss")])
    assert more.forced["final-wash"] == "tap-knock-boss"
    assert "final-wash" not in top_end.forced
    less = without_work(more, ["tap-knock-boss"])
    assert less == top_end
    assert less.sequence == top_end.sequence
    assert prepare(demo.shop, less.build) == top_end


def test_what_was_measured_after_work_is_not_known_without_it(street: ReadyBuild) -> None:
    assert any(done.work == "hone-torque-plate" for done in street.build.work)
    more = street.changed(measured={**as_said(street.build.measured), "block.bore_diameter": "86.500 mm"})
    for change in (Undo("hone-torque-plate"), Do("hone-torque-plate", (("bore", "86.520 mm"),))):
        changed = with_changes(more, [change])
        assert "block.bore_diameter" not in changed.build.measured
        assert ("block", "bore_diameter") not in changed.measured
        assert changed.build.measured.keys() == street.build.measured.keys()


def test_what_the_customer_may_have_instead_still_can_be(street: ReadyBuild, demo: Library) -> None:
    """An option without work that is left out says nothing of it; one of which nothing is left is none."""
    options: list[dict[str, Any]] = [
        {"name": "No balancing", "without_work": ["balance"]},
        {"name": "No balancing, another gearbox", "keep": ["gearbox"], "without_work": ["balance"]},
    ]
    less = without_work(street.changed(options=options), ["balance"])
    assert [(one.name, one.without_work) for one in less.build.options] == [(options[1]["name"], ())]
    assert prepare(demo.shop, less.build) == less


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (Undo("hone-torqueplate"), "does no work 'hone-torqueplate'; did you mean 'hone-torque-plate'"),
        (Undo("deck-block"), "does no work 'deck-block'"),
        (Fit("crank_kye", ""), "'crank_kye'"),
        (Fit("fuel", ""), "no part that could be left out"),
        (Strike("renew", "oil_filter"), "says nothing of 'oil_filter'"),
        (Strike("build", "street-turbo"), "says nothing of 'street-turbo'"),
    ],
)
def test_what_is_not_there_cannot_be_left_out(street: ReadyBuild, change: Change, told: str) -> None:
    with pytest.raises(Faults) as wrong:
        with_changes(street, [change])
    assert told in "; ".join(fault.message for fault in wrong.value.faults)


def test_a_word_is_struck_from_its_entry_alone(street: ReadyBuild) -> None:
    more = street.changed(renew=["oil_filter", "oil"])
    assert struck(more, "renew", "oil").build.renew == ("oil_filter",)
    assert differing(more, struck(more, "renew", "oil")) == {"renew"}
    assert with_changes(more, [Strike("renew", "oil")]) == struck(more, "renew", "oil")


@pytest.mark.parametrize(
    "change",
    [Fit("rod", "x"), Fit("crank_key", ""), Do("deck-block", (("depth", "0.1 mm"),)), Undo("deck-block"),
     Strike("renew", "oil")],
)  # fmt: skip
def test_a_change_reads_as_it_is_written(change: Change) -> None:
    assert change_of(as_entry(change)) == change


def test_nothing_else_of_a_build_is_touched(street: ReadyBuild) -> None:
    less = with_changes(street.fitting(friction_washer=WASHER), [Fit("friction_washer", ""), Undo("balance")])
    assert differing(street, less) == {"work"}
    assert [one.work for one in less.build.work] == [o.work for o in street.build.work if o.work != "balance"]
    assert replace(less, build=street.build, works=street.works, sequence=street.sequence) == street
