"""Cards say all that the things say that they are of, and can make nothing else."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import fields, is_dataclass, replace
from decimal import Decimal
from operator import eq
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from compat.library.card_reading import CardFault, Reader
from compat.library.cards import by_text, card
from compat.library.library import Library
from compat.library.opening import open_library
from compat.library.sources import demo_folder
from compat.library.store import Store
from compat.library.tables import Table, Unread
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import Limit, WorkBound
from compat.rulebook.scope import Flag
from compat.shop.specs import Spec
from compat.units import read_band
from tests.conftest import Tiny, read_anew


def nothing(name: str) -> Any:
    pytest.fail(name)


def read(text: str, reader: Reader | None = None) -> Any:
    return read_anew(reader or Reader(nothing), text, "a.yaml")


def things(library: Library) -> Iterator[Any]:
    """Everything of a shop and its rulebook that is kept as a card, and what is worked out of it."""
    shop, book = library.shop, library.book
    yield shop.info
    tables = (shop.families, shop.variants, shop.positions, shop.features, shop.parts, shop.works, shop.joints)
    for table in (*tables, shop.suppliers, shop.builds, book.rules, book.figures):
        yield from table.values()
    for more in (shop.kinds, shop.setups, book.changes, book.bounds):
        yield from more.values()


def says(value: Any) -> Iterator[str]:
    """All that a thing says, to the letter and in order, its expressions and places included."""
    if isinstance(value, Mapping):
        yield "mapping"
        for key, entry in value.items():
            yield repr(key)
            yield from says(entry)
    elif isinstance(value, tuple):
        yield f"{len(value)} entries"
        for entry in value:
            yield from says(entry)
    elif isinstance(value, Expression):
        yield repr((value.text, value.tree, value.type))
    elif is_dataclass(value):
        yield type(value).__name__
        for one in fields(value):
            yield from says(getattr(value, one.name))
    else:
        yield repr(sorted(value) if isinstance(value, frozenset) else value)


def test_every_thing_of_the_demo_comes_from_its_card_to_the_letter(demo: Library) -> None:
    kept = open_library(demo_folder())
    met: set[str] = set()
    for one, other in zip(things(demo), things(kept), strict=True):
        assert one == other
        told = list(says(one))
        assert told == list(says(other))
        met.update(told)
    assert met >= {"Part", "BoundRule", "BoundFigure", "WorkBound", "BoundChange", "SpecKind", "Money", "Build"}


@pytest.mark.parametrize("amount", ["0", "0.0", "0.00", "2", "2.50"])
def test_what_says_the_usual_in_other_words_keeps_its_words(amount: str, demo: Library) -> None:
    work = replace(demo.shop.works["balance"], hours=Decimal(amount))
    assert str(read(card(work)).hours) == amount
    rule = replace(next(iter(demo.book.rules.values())), within=-0.0)
    assert repr(read(card(rule), Reader(nothing)).within) == "-0.0"


@pytest.mark.parametrize(
    "value",
    [
        "$band",
        ("$band", 0.1, "mm"),
        ("$list",),
        ("$", ("$Part part", "x")),
        {"$": "mine", "$spec": ("$own", {"$list": ("a", 1.5, None, True)})},
        {"nothing": (), "less": {}},
        {"spec": Spec(("$band", "b"), note="$")},
        (("$says", "2"), [["$said", "2"]]),
    ],
)
def test_words_that_look_like_ours_are_kept_as_words(value: Any) -> None:
    assert read(card(value)) == closed(value)


def closed(value: Any) -> Any:
    """Plain data as it comes back."""
    if isinstance(value, dict):
        return {key: closed(entry) for key, entry in value.items()}
    return tuple(map(closed, value)) if isinstance(value, list | tuple) else value


@pytest.mark.parametrize(
    "text",
    [
        '["$Popen args","ls"]',
        '["$Path","/"]',
        '["$Part"]',
        '["$Part part","x"]',
        '["$Part part name fills+ colour","x","y",["rod"],"red"]',
        '["$Part part part name fills+","x","x","y",["rod"]]',
        '["$Part part name fills+","x","y"]',
        '["$Part part name fills*","x","y",["rod"]]',
        '["$Part part name fills*","x","y",[]]',
        '["$Part __class__ name fills+","x","y",["rod"]]',
        '["$spec"]',
        '["$band",1.0,"no unit"]',
        '["$decimal","one"]',
        '["$date","1 May"]',
        '["$said","boost > 0"]',
        '["$says"]',
        '["$"]',
        '[["$"]]',
        "[",
        "",
        "[] []",
        '{"a":["b"]}x',
    ],
)
def test_a_card_can_make_nothing_but_what_is_kept(text: str) -> None:
    with pytest.raises(CardFault):
        read(text)


def test_what_is_never_kept_is_refused() -> None:
    for value in (Path(), [Path()], {"a": (Path(),)}, {1}, 1j):
        with pytest.raises(TypeError, match="is not kept"):
            card(value)


def test_a_faulty_entry_is_told_when_it_is_looked_at_and_never_taken_for_none() -> None:
    found = read('{"good":["$band",0.08,"mm"],"bad":["$band",0.08,"no unit"],"worse":["$Popen"],"worst":["$"]}')
    assert found["good"] == read_band("80 mm")
    assert set(found) == {"good", "bad", "worse", "worst"}
    for key in ("bad", "worse", "worst"):
        for look in (found.get, found.__getitem__):
            with pytest.raises(CardFault):
                look(key)
    assert found.get("none") is None
    with pytest.raises(KeyError):
        found["none"]


# expressions

SAID = Expression("2 > 1", ("Gt", ("number", 2.0), ("number", 1.0)), Flag())


def test_expressions_of_one_text_come_as_one_and_those_of_work_do_not(demo: Library) -> None:
    told: list[int] = []

    def said() -> list[Any]:
        told.append(1)
        return json.loads(json.dumps([SAID.card()]))

    reader = Reader(nothing, said)
    short, full = (read(text, reader) for text in (card([SAID, SAID], by_text), card([SAID])))
    assert short[0] is short[1] is full[0]
    assert short[0] == SAID
    assert short[0].run(None) is True
    assert told == [1]
    rule = next(iter(demo.book.rules.values())).rule
    bound = WorkBound(rule, measure=SAID, at_most=Limit("2 > 1", expression=SAID))
    for says in (card(bound, by_text), card(bound)):
        back = read(says, Reader(nothing))  # which knows no expression by its text
        assert back == bound
        assert back.measure is not back.at_most.expression


def test_an_expression_that_is_named_and_not_kept_is_noticed() -> None:
    with pytest.raises(CardFault):
        read(card([SAID], by_text), Reader(nothing, list))


# mappings


WHOLE = {"b": ("2",), "a": ("1",), "c": ()}


def mappings() -> list[Any]:
    rows: dict[str, Any] = {key: list(value) for key, value in WHOLE.items()}
    return [Unread(rows, tuple), Table(WHOLE.__getitem__, lambda: WHOLE)]


@pytest.mark.parametrize("looked_at", [(), ("a",), ("c", "b"), ("b", "a", "c")])
@pytest.mark.parametrize("which", [0, 1])
def test_a_mapping_read_later_is_what_a_mapping_of_all_is(which: int, looked_at: tuple[str, ...]) -> None:
    whole = MappingProxyType(WHOLE)

    def later() -> Any:
        table = mappings()[which]
        for key in looked_at:
            assert table[key] is table[key]
        return MappingProxyType(table)

    asked: list[Any] = [
        list, len, repr, dict, sorted, bool, lambda m: list(reversed(m)), lambda m: {**m}, lambda m: m.copy(),
        lambda m: list(m.keys()), lambda m: list(m.values()), lambda m: list(m.items()),
        lambda m: m.keys() | {"d"}, lambda m: [m.get(key, "none") for key in "abcd"],
        lambda m: [key in m for key in "abcd"], lambda m: m | {"a": 0}, lambda m: {"z": 0, "a": 0} | m,
        lambda m: m | m, lambda m: list((m | {"d": 0}).items()), lambda m: m == whole, lambda m: whole == m,
        lambda m: m == WHOLE, lambda m: eq(WHOLE, m), lambda m: m == {"a": ("1",)}, lambda m: m != WHOLE,
        lambda m: m == later(), lambda m: m == 3,
    ]  # fmt: skip
    for ask in asked:
        assert ask(later()) == ask(whole)
    with pytest.raises(KeyError):
        later()["d"]


def test_threads_that_look_together_get_the_same() -> None:
    for _ in range(20):
        mapping = MappingProxyType(Unread({"a": ["1"]}, lambda row: [object() for _ in range(200)]))
        with ThreadPoolExecutor(8) as threads:
            assert len(set(threads.map(lambda _, m=mapping: id(m["a"]), range(64)))) == 1


def test_a_part_is_asked_of_the_store_once(tiny: Tiny, monkeypatch: pytest.MonkeyPatch) -> None:
    library = open_library(tiny.folder)
    asked: list[str] = []
    find = Store.find

    def finding(store: Store, key: str, known: Any) -> Any:
        asked.append(key)
        return find(store, key, known)

    monkeypatch.setattr(Store, "find", finding)
    plain = [name for name in library.shop.parts if not library.shop.rows.more("part", name, "conditions")]
    assert plain
    again = open_library(tiny.folder)
    asked.clear()
    for name in plain:
        _ = again.shop.parts[name].specs, again.shop.specs[name]
        assert again.book.conditions.get(("part", name, "needs", 0)) is None
    assert asked == [f"thing/part/{name}" for name in plain]
