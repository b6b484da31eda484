"""What words at the counter find: positions, sizes, words, slips forgiven; and what goes into a build."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.checking.session import Session
from compat.library.library import Library, build_of_id
from compat.library.search import goods_of
from compat.planning import finding
from compat.planning.finding import TRIED, Asked, Found, find, parts_of
from compat.planning.fitting import fits
from compat.planning.search_words import read_words
from compat.shop.source import Faults
from compat.units import Band

Run = Callable[..., Any]
DAY = date(2026, 11, 30)


@pytest.fixture(autouse=True, scope="module")
def _one_index(demo: Library) -> Iterator[None]:
    """To index the demo shop takes ten times as long as to search it: it is done once."""
    index = goods_of(demo.shop)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(finding, "goods_of", lambda shop: index if shop is demo.shop else goods_of(shop))
        yield


def look(demo: Library, words: str, **asked: Any) -> Found:
    return find(demo.shop, Asked(tuple(words.split()), DAY, most=2000, **asked))


def parts(found: Found) -> list[str]:
    return [hit.ware.part for hit in found.hits]


def pistons(demo: Library, low: float, high: float, *specs: str) -> set[str]:
    found = set()
    for name in demo.shop.fillers["piston"]:
        for spec in specs:
            stated = demo.shop.specs[name].get(spec)
            if stated is not None and isinstance(stated.value, Band):
                band = stated.value
                if band.low <= high + 1e-9 and band.high >= low - 1e-9:
                    found.add(name)
    return found


@pytest.mark.parametrize(
    ("words", "low", "high"),
    [
        ("piston bore_size 86..86.5 mm", 0.086, 0.0865),
        ("bore size 86..86.5 mm piston", 0.086, 0.0865),
        ("piston bore size 86 to 86.5mm", 0.086, 0.0865),
        ("Pistons BORE SIZE at least 86.5 mm", 0.0865, 9),
        ("piston bore size at most 86 mm", 0, 0.086),
        ("piston bore size from 86.5 mm", 0.0865, 9),
        ("piston bore size 86.5.. mm", 0.0865, 9),
        ("piston bore size 3.3858..3.4055 in", 0.0859993, 0.0864997),
        ("piston bore size 86", 0.086, 0.086),
    ],
)
def test_a_size_is_read_as_it_is_said(demo: Library, words: str, low: float, high: float) -> None:
    found = look(demo, words)
    assert set(parts(found)) == pistons(demo, low, high, "bore_size")
    assert found.count == len(found.hits) > 0
    assert found.meant.position == "piston"


def test_part_of_the_name_of_a_spec_will_do(demo: Library) -> None:
    found = look(demo, "piston bore 86..86.5 mm")
    assert set(parts(found)) == pistons(demo, 0.086, 0.0865, "bore_size", "pin_bore")
    assert any("bore_size or pin_bore 86 to 86.5 mm" in told for told in found.meant.told)


def test_a_size_alone_is_any_of_the_position(demo: Library) -> None:
    found = look(demo, "rod 148 mm")
    assert "sf-rod-1480-h-21" in parts(found)
    specs = demo.shop.specs
    for part in parts(found):
        bands = [one.value for one in specs[part].values() if isinstance(one.value, Band)]
        assert any(band.low - 1e-9 <= 0.148 <= band.high + 1e-9 for band in bands)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("piston bore 86 kg", "is a mass; bore_size is a quantity in mm"),
        ("piston bore 86,5 mm", "has a comma in a number"),
        ("piston bore 87..86 mm", "runs from high to low"),
        ("piston stroke 86 mm", "position 'piston' has no spec 'stroke'"),
        ("piston bore size 86..87 bar", "is a pressure"),
    ],
)
def test_a_size_that_is_none_is_a_fault(demo: Library, words: str, says: str) -> None:
    with pytest.raises(Faults, match=re.escape(says)):
        look(demo, words)


def test_all_faults_are_told_at_once(demo: Library) -> None:
    with pytest.raises(Faults) as caught:
        look(demo, "piston bore 86 kg", order="prize", supplier="northgat")
    told = [str(fault) for fault in caught.value.faults]
    assert len(told) == 3
    assert any("did you mean 'northgate'" in one for one in told)
    assert any("did you mean 'price'" in one for one in told)
    with pytest.raises(Faults, match="--for BUILD"):
        look(demo, "piston", order="headroom")


def test_a_code_finds_its_part(demo: Library) -> None:
    for name in random.Random(3).sample(sorted(demo.shop.parts), 40):
        for offer in demo.shop.parts[name].sold_by:
            if offer.code:
                assert name in parts(look(demo, offer.code)), offer.code
        assert name in parts(look(demo, name))


def slipped(word: str, dice: random.Random) -> str:
    at = dice.randrange(1, len(word) - 1)
    match dice.randrange(4):
        case 0:
            return word[:at] + word[at + 1 :]
        case 1:
            return word[:at] + dice.choice("aeiouxyz") + word[at:]
        case 2:
            return word[:at] + dice.choice("aeiouxyz") + word[at + 1 :]
    return word[:at] + word[at + 1] + word[at] + word[at + 2 :]


def test_a_slip_of_the_finger_is_forgiven_and_told(demo: Library) -> None:
    """One slip in a word of six letters or more, not at its ends: what the word itself finds is found."""
    goods, dice = goods_of(demo.shop), random.Random(5)
    every = {
        word for part in demo.shop.parts.values() for word in re.findall(r"[a-z]{6,}", part.name.casefold())
    }
    forgiven = 0
    tried = dice.sample(sorted(every), 120)
    for word in tried:
        typed = slipped(word, dice)
        meant = read_words(demo.shop, goods, [typed])
        assert not meant.unknown
        if goods.beginning(typed) or goods.spelt([typed.removesuffix("s")]):
            continue  # another word of the shop, or the beginning of one
        assert [slip for slip, _ in meant.slips] == [typed]
        forgiven += meant.slips[0][1] == word
    assert forgiven > 0.85 * len(tried)  # the others are nearer to another word


def test_numbers_are_not_forgiven(demo: Library) -> None:
    """A part of another size is another part."""
    assert look(demo, "rod 14800").meant.slips == ()
    assert look(demo, "rod 14800").count == 0


def test_a_code_without_its_signs_is_read_as_its_pieces(demo: Library) -> None:
    found = look(demo, "sf1480h21")
    assert parts(found) == ["sf-rod-1480-h-21"]
    assert found.meant.slips == (("sf1480h21", "sf1480h 21"),)
    # a number is another part, and neither taken apart nor taken for one that is near
    assert not look(demo, "rod14800").hits
    assert not look(demo, "sf1480h29").hits
    assert not look(demo, "sf1490h").hits


@pytest.mark.parametrize("words", ["!!!", "? *", '"'])
def test_signs_alone_find_not_everything(demo: Library, words: str) -> None:
    with pytest.raises(Faults, match="has neither letters nor digits"):
        look(demo, words)


def test_a_word_that_nobody_knows_finds_nothing(demo: Library) -> None:
    found = look(demo, "piston zzzzqqqq")
    assert (found.count, [word for word, _ in found.meant.unknown]) == (0, ["zzzzqqqq"])


def test_a_position_keeps_to_its_parts_and_longer_names_go_first(demo: Library) -> None:
    assert set(parts(look(demo, "rods"))) == set(demo.shop.fillers["rod"])
    assert set(parts(look(demo, "connecting rod"))) == set(demo.shop.fillers["rod"])
    assert look(demo, "rod bearing").meant.position == "rod_bearing"


def test_a_supplier_of_several_words_is_found_by_any_of_them(demo: Library) -> None:
    for words in ("hollin-machine", "hollin lane", "shop hollin-machine"):
        found = look(demo, words)
        assert found.hits
        assert {hit.ware.supplier for hit in found.hits} == {"hollin-machine"}


def test_stock_and_supplier(demo: Library) -> None:
    assert set(parts(look(demo, "", stock=True))) == {
        name for name, one in demo.shop.stock.items() if any(entry.count for entry in one.shelf)
    }
    found = look(demo, "piston", supplier="northgate")
    assert found.hits
    assert {hit.ware.supplier for hit in found.hits} == {"northgate"}


def answered(demo: Library, words: list[str]) -> None:
    """Whether something is found, or told to be wrong in words that a person can act on."""
    try:
        found = find(demo.shop, Asked(tuple(words), DAY, most=3))
    except Faults as wrong:
        told = [fault.message for fault in wrong.faults]
    else:
        told = []
        assert len(found.hits) == min(found.count, 3)
    assert all(told)


@given(st.text(max_size=60))
def test_whatever_is_typed_there_is_an_answer_or_a_fault(demo: Library, text: str) -> None:
    answered(demo, text.split())


TYPED = [
    *(
        "piston",
        "bore",
        "86",
        "..",
        "86..",
        "..87",
        "mm",
        "to",
        "at",
        "least",
        "up",
        "in",
        "kg",
        "rod",
        "-1",
        "1/2",
    ),
    *("3e9", "°", "size", "from", "%", "(", ")", ":", "^", "*", '"', "NEAR", "OR", "AND", "NOT", "fills:rod"),
]


@given(st.lists(st.sampled_from(TYPED), max_size=9))
def test_words_of_the_trade_in_any_order(demo: Library, words: list[str]) -> None:
    answered(demo, words)


# a build


@pytest.fixture(scope="module")
def session(demo: Library) -> Session:
    return Session(demo.shop, demo.book)


def test_for_a_build_it_is_what_fits_says(demo: Library, session: Session) -> None:
    ready = build_of_id(demo.shop, "street-turbo")
    found = find(demo.shop, Asked(("rod_bearing",), DAY, most=50), session, ready)
    ways = {one.part: one.way for one in fits(session, ready, "rod_bearing").candidates}
    assert {hit.ware.part for hit in found.hits} == {
        name
        for name, way in ways.items()
        if way != "not" and ready.variant.family in (demo.shop.parts[name].families or (ready.variant.family,))
    }
    assert found.tried <= TRIED
    assert found.fitting == len(found.hits)
    assert all(hit.fit is not None and hit.fit.way == ways[hit.ware.part] for hit in found.hits)


def test_headroom_orders_what_goes_in(demo: Library, session: Session) -> None:
    ready = build_of_id(demo.shop, "street-turbo")
    found = find(demo.shop, Asked(("rod",), DAY, order="headroom"), session, ready)
    rooms = [hit.fit.headroom for hit in found.hits if hit.fit is not None and hit.fit.headroom is not None]
    assert rooms
    assert rooms == sorted(rooms, reverse=True)


# lists


def test_parts_of_a_position_are_all_of_them_the_cheapest_first(demo: Library) -> None:
    found = parts_of(demo.shop, "rod", DAY)
    assert {one.part for one in found} == set(demo.shop.fillers["rod"])
    prices = [one.price for one in found if one.price is not None]
    assert prices == sorted(prices)
    with pytest.raises(Faults, match="did you mean 'piston'"):
        parts_of(demo.shop, "pistn", DAY)


# the commands


def test_find_tells_by_its_status(tiny: Any, run: Run) -> None:
    ran = run("find", "rod", "--shop", tiny.folder)
    assert (ran.status, ran.err) == (0, "")
    assert "sport-rod" in ran.out
    assert run("find", "zzzzqqqq", "--shop", tiny.folder).status == 1
    wrong = run("find", "rod", "--supplier", "kwayside", "--shop", tiny.folder)
    assert wrong.status == 2
    assert "did you mean 'quayside'" in wrong.err
    assert run("find", "--shop", tiny.folder).status == 2
    assert run("find", "rod", "--no-cache", "--shop", tiny.folder).out == ran.out


def test_find_as_data(run: Run) -> None:
    import json

    found = json.loads(run("find", "pistn", "bore", "86", "mm", "--most", "2", "--json").out)
    assert found["slips"] == [{"typed": "pistn", "taken_for": "piston"}]
    assert len(found["parts"]) == 2
    assert found["parts"][0]["ware"]["fills"] == ["piston"]


def test_what_nearly_all_have_is_told_without_a_count_to_the_end(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    import json

    whole = json.loads(run("find", "at", "least", "1", "mm", "--json").out)
    assert not whole["more"]
    monkeypatch.setattr("compat.library.search.FEW", 200)
    monkeypatch.setattr("compat.library.search.COMMON", 200)
    monkeypatch.setattr("compat.library.search.COUNTED", 50)
    found = json.loads(run("find", "at", "least", "1", "mm", "--json").out)
    assert found == {**whole, "count": 50, "more": True}
    assert "The first 20 of at least 50;" in run("find", "at", "least", "1", "mm").out


def test_parts_builds_and_history_are_lists(run: Run) -> None:
    out = run("parts", "rod").out
    assert "sf-rod-1480-h-21" in out
    assert "172.50 GBP" in out
    assert run("parts", "rood").status == 2
    builds = run("builds").out
    assert "street-turbo" in builds
    assert "180 kW at 5800 rpm" in builds
    told = run("history", "hg-piston-860-308-d120")
    assert told.status == 0
    assert "street-turbo" in told.out
    assert run("history", "hg-piston-860-308-d12").status == 2


def test_a_kept_quote_stands_in_the_lists(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COMPAT_QUOTES", str(tmp_path / "quotes"))  # where no other test keeps any
    assert run("quote", "street-turbo", "--date", "2026-11-30").status == 0
    ran = run("quotes", "street-turbo", "--date", "2026-12-01")
    number = re.search(r"PB-Q-2026-\d{4}", ran.out)
    assert number is not None
    assert "23,769.76 GBP" in ran.out
    assert "over" in run("quotes", "--date", "2029-01-01").out
    assert number[0] in run("history", "hg-piston-860-308-d120").out
    assert number[0] in run("builds").out
    assert run("quotes", "street-turbine").status == 2
