"""Answers of heavy formulas that are kept for other runs are those that a formula gives afresh."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from compat.checking import answers
from compat.checking import check as checking
from compat.checking.answers import Answers
from compat.engineering import GoalOutOfReach, OutOfRange, find
from compat.library.kept_answers import KeptAnswers, kept_answers
from compat.library.library import Library, build_of_id

pytestmark = pytest.mark.usefixtures("formulas_run_anew")

CYCLE = "operating_point"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "x.answers"


def test_a_check_with_kept_answers_is_a_check_without(demo: Library, path: Path) -> None:
    kept = KeptAnswers(path)
    for name in ("street-turbo", "endurance-ethanol"):
        ready = build_of_id(demo.shop, name)
        fresh = checking.check(demo.shop, demo.book, ready, Answers())
        first = checking.check(demo.shop, demo.book, ready, Answers(behind=kept))
        kept.write()
        again = checking.check(demo.shop, demo.book, ready, Answers(behind=KeptAnswers(path)))
        assert tuple(fresh.outcomes) == tuple(first.outcomes) == tuple(again.outcomes)


def test_a_kept_answer_is_not_computed_again(
    demo: Library, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ready = build_of_id(demo.shop, "street-turbo")
    kept = KeptAnswers(path)
    checking.check(demo.shop, demo.book, ready, Answers(behind=kept))
    kept.write()
    ran: list[str] = []
    own = answers._answer

    def answer(formula: Any, arguments: Any, moved: Any = None) -> Any:
        if formula.heavy:
            ran.append(formula.name)
        return own(formula, arguments, moved)

    monkeypatch.setattr(answers, "_answer", answer)
    checking.check(demo.shop, demo.book, ready, Answers(behind=KeptAnswers(path)))
    assert ran == []
    checking.check(demo.shop, demo.book, ready, Answers())
    assert ran


@pytest.mark.parametrize("kind", [OutOfRange, GoalOutOfReach])
def test_a_refusal_is_kept_with_all_that_it_says(kind: type[OutOfRange], path: Path) -> None:
    kept = KeptAnswers(path)
    formula = find(CYCLE)
    assert formula is not None
    refusal = kind("too hot", "boost", "must be below the limit", 2.5e5)
    kept.put(repr((CYCLE, (), ())), [kind.__name__, *refusal.args])
    kept.write()
    with pytest.raises(OutOfRange) as told:
        Answers(behind=KeptAnswers(path)).ask(formula, {}, next(iter(formula.gives)))
    assert type(told.value) is kind
    assert told.value.args == refusal.args


@pytest.mark.parametrize(
    "broken",
    [
        lambda raw: b"",
        lambda raw: b"no database at all, but a text of some length" * 100,
        lambda raw: raw[:5000],
        lambda raw: raw[:4096] + bytes(b ^ 0x3C for b in raw[4096:]),
        lambda raw: raw[:-3000] + bytes(3000),
    ],
)
def test_a_broken_file_costs_nothing_but_time(broken: Callable[[bytes], bytes], path: Path) -> None:
    kept = KeptAnswers(path)
    for number in range(100):
        kept.put(f"q{number}", {"": float(number)})
    kept.write()
    path.write_bytes(broken(path.read_bytes()))
    again = KeptAnswers(path)
    assert {
        again.get(f"q{number}") is None or again.get(f"q{number}") == {"": float(number)}
        for number in range(100)
    } == {True}
    again.put("new", {"": 1.0})
    again.write()
    again.put("newer", {"": 2.0})
    again.write()
    assert KeptAnswers(path).get("newer") == {"": 2.0}


def test_an_answer_to_another_question_is_not_believed(path: Path) -> None:
    kept = KeptAnswers(path)
    kept.put("one", {"": 1.0})
    kept.put("two", {"": 2.0})
    kept.write()
    with sqlite3.connect(path) as database:
        database.execute("UPDATE answers SET value = (SELECT value FROM answers ORDER BY rowid LIMIT 1)")
    database.close()
    again = KeptAnswers(path)
    assert [again.get("one"), again.get("two")] in ([{"": 1.0}, None], [None, {"": 2.0}])


def test_no_more_are_kept_than_told(path: Path) -> None:
    kept = KeptAnswers(path, most=50)
    for number in range(400):
        kept.put(f"q{number}", {"": float(number)})
    kept.write()
    known = [number for number in range(400) if KeptAnswers(path).get(f"q{number}") is not None]
    assert known == list(range(350, 400))


def test_another_program_asks_anew(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = KeptAnswers(path)
    kept.put("one", {"": 1.0})
    kept.write()
    monkeypatch.setattr("compat.library.kept_answers.program_stamp", lambda: "another")
    assert KeptAnswers(path).get("one") is None


def test_two_that_write_at_once_both_go_on(path: Path) -> None:
    one, other = KeptAnswers(path), KeptAnswers(path)
    for number in range(200):
        one.put(f"a{number}", {"": 1.0})
        other.put(f"b{number}", {"": 2.0})
    one.write()
    other.write()
    again = KeptAnswers(path)
    assert again.get("a3") == {"": 1.0}
    assert again.get("b3") == {"": 2.0}


def test_nothing_is_kept_when_told_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COMPAT_CACHE", "off")
    assert kept_answers() is None
