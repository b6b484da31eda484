"""What decides a rule on a build: the branch taken, level by level, and no step that the chain has not."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from rich.console import Console

from compat import Check
from compat.library.library import Library, load
from compat.paper.why import Explained, explained, print_why
from compat.rulebook.compiling import compile_text
from compat.rulebook.scope import Scope
from compat.words.deciding import Deciding
from compat.words.reasons import Reason
from tests.look import check, checked_once

TINY = Path(__file__).parents[1] / "tiny"


@pytest.fixture(scope="module")
def mixed() -> Check:
    library = load(TINY)
    return check(library.shop, library.book, "mixed")


@pytest.fixture(scope="module")
def draft(demo: Library) -> Check:
    return checked_once("first-draft")


PISTON, ROD, BORE = "piston.compression_height", "rod.centre_length", "block.bore"
HAS, LACKS = "fitted(knock_sensor)", "not fitted(knock_sensor)"


@pytest.mark.parametrize(
    ("text", "names"),
    [
        (f"{PISTON} + 2*{ROD}", {PISTON, ROD}),
        (f"{PISTON} if {HAS} else {ROD}", {PISTON}),
        (f"{PISTON} if {LACKS} else {ROD}", {ROD}),
        (f'{PISTON} if piston.pin_retention == "floating" else {ROD}', {"piston.pin_retention", PISTON}),
        (f"{PISTON} if {LACKS} else ({ROD} if {HAS} else {BORE})", {ROD}),
        (f"1*mm + ({PISTON} if {LACKS} else {BORE})", {BORE}),
        # a condition that is not known takes neither side
        (f'{PISTON} if piston.code == "A" else {ROD}', {"piston.code", PISTON, ROD}),
        (f"min({PISTON}, {ROD})", {PISTON}),  # 35 mm is less than 125 mm
        (f"max({PISTON}, {ROD})", {ROD}),
        (f"max({PISTON}, {ROD}, {BORE} if {LACKS} else 900*mm)", set()),
        (f"min({PISTON}, piston.least_clearance)", {PISTON, "piston.least_clearance"}),  # not stated
        (f"prefer({PISTON}, {ROD})", {PISTON}),
        (
            f"prefer(piston.least_clearance, {ROD})",
            {"piston.least_clearance"},
        ),  # fitted: what stands in is not asked
        (f"{BORE} > 900*mm or {PISTON} > 1*mm", {PISTON}),
        (f"{BORE} > 1*mm and {PISTON} > 900*mm", {PISTON}),
        (f"{BORE} > 1*mm and {PISTON} > 1*mm", {BORE, PISTON}),
        (f"{BORE} > 900*mm or {PISTON} > 900*mm", {BORE, PISTON}),
        ("goal.power", {"goal.power"}),
        ("quench_gap if changed(piston) else deck_clearance", {"quench_gap"}),
        ('holds(rod.small_ends, "bushed")', {"rod.small_ends"}),
    ],
)
def test_names_of_the_branch_taken(text: str, names: set[str], mixed: Check) -> None:
    deciding, settled = Deciding(mixed.world), mixed.world.settled
    figures = {name: bound.dimension for name, bound in settled.book.figures.items()}
    scope = Scope(settled.shop, figures)
    assert deciding.names([compile_text(text, scope)]) == names


def walk(steps: Sequence[Reason]) -> Iterator[Reason]:
    for step in steps:
        yield step
        yield from walk(step.rests_on)


def levels(steps: Sequence[Reason]) -> int:
    return 1 + max(levels(step.rests_on) for step in steps) if steps else 0


def of(checked: Check, rule: str, depth: int | None = 1) -> Explained:
    return explained(checked.report, checked.world, rule, "metric", depth)


def test_every_rule_to_every_depth(draft: Check) -> None:
    """A deeper look shows all of a shallower one, and nothing that is not in the whole chain."""
    for rule in list(draft.world.settled.book.rules)[::4]:
        whole = {step.name: step for step in walk(of(draft, rule, None).chain)}
        before: set[str] = set()
        for depth in (1, 2, 3, 99):
            found = of(draft, rule, depth)
            shown = {step.name for step in walk(found.chain)}
            assert before <= shown <= set(whole), rule
            assert levels(found.chain) <= depth
            assert found.hidden == len(whole) - len(shown)
            # it says that there is more exactly when the next level has more
            assert found.deeper == (levels(of(draft, rule, depth + 1).chain) > depth), (rule, depth)
            for step in walk(found.chain):
                assert (step.value, step.gap) == (whole[step.name].value, whole[step.name].gap)
            before = shown


def test_a_figure_is_opened_once(draft: Check) -> None:
    found = of(draft, "rod-fatigue", 99)
    opened = [step.name for step in walk(found.chain) if step.rests_on]
    assert len(opened) == len(set(opened)) > 10
    assert {step.name for step in walk(found.chain) if step.seen} <= set(opened)


def test_the_limit_that_is_not_near_is_left_out(draft: Check) -> None:
    """The deck is too rough: how smooth it might be decides nothing."""
    names = {step.name for step in walk(of(draft, "deck-finish-suits-gasket").chain)}
    assert names == {"block.deck_roughness_rz", "gasket_finish_most"}


@pytest.mark.parametrize(
    "rule", ["deck-clearance", "injector-duty", "lifting", "need-coil-mount", "renew-rod-joint"]
)
def test_the_last_line_says_how_to_see_more(rule: str, draft: Check) -> None:
    """What it promises holds: so many more steps, and a level deeper where it names one."""

    def printed(depth: int | None) -> str:
        out = io.StringIO()
        print_why(Console(file=out, width=200, highlight=False), of(draft, rule, depth))
        return out.getvalue()

    plain, whole = printed(1), printed(None)
    last = plain.splitlines()[-1]
    assert (plain == whole) == ("--depth" not in last)
    if plain != whole:
        assert re.search(r"--depth all shows the whole chain, \d+ more steps?\.$", last)
        deeper = "--depth 2 goes a level deeper; " in last
        assert (len(printed(2).splitlines()) > len(plain.splitlines())) == deeper
    assert "--depth" not in whole
