"""`quotes --again`: which kept quotes come to something else today, by which lines, and which to nothing."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from compat.checking.session import Session
from compat.library.library import Library, build_of_id
from compat.trade.again import reckon_again
from compat.trade.frozen import keep
from compat.trade.plain import as_plain
from compat.trade.quote import make_quote
from compat.trade.snapshot import rests_on
from tests.cli.test_quotes import kept_here, quote, shop
from tests.look import published

__all__ = ["kept_here", "shop"]

Run = Any
DAY = date(2026, 11, 30)
SOLD = "  sold_by: [{supplier: quayside, code: SR130, price: 640 GBP, pack: 4, lead: 10 days}]\n"


def reckoned(run: Run, shop: Any, *words: object, status: int = 1, day: str = "2026-12-24") -> Any:
    ran = run("quotes", "--again", *words, "--shop", shop.folder, "--date", day)
    assert ran.status == status, ran.err + ran.out
    return ran


def by_number(ran: Any) -> dict[str, Any]:
    data = json.loads(ran.out)
    jsonschema.Draft202012Validator(published()["quotes_again"]).validate(data)
    return {one["number"]: one for one in data["quotes"]}


def test_what_changes_and_by_which_lines(run: Run, shop: Any) -> None:
    quote(run, shop, "sport", "--json")
    quote(run, shop, "hob-15", "--despite-findings", "--json")
    same = by_number(reckoned(run, shop, "--json", status=0))
    assert {one["state"] for one in same.values()} == {"same"}
    assert not any(one["lines"] or one["why"] for one in same.values())
    shop.edit("catalog/parts/extra.yaml", "640 GBP", "700 GBP")
    found = by_number(reckoned(run, shop, "--json"))
    sport, factory = found["Q-2026-0001"], found["Q-2026-0002"]
    assert (sport["state"], factory["state"]) == ("changed", "same")
    # rods at 640 GBP with a margin of 20 % were 640 / 0.8; the difference is that and the tax of 20 % on it
    rod, tax = sport["lines"]
    assert (rod["id"], rod["was"], rod["is_now"]) == ("sport-rod", "800.00", "875.00")
    assert tax["what"] == "tax"
    assert Decimal(sport["difference"]) == Decimal("75.00") * Decimal("1.2")
    assert sum(Decimal(one["is_now"]) - Decimal(one["was"]) for one in sport["lines"]) == Decimal(
        sport["difference"]
    )
    assert Decimal(sport["is_now"]) - Decimal(sport["was"]) == Decimal(sport["difference"])
    told = reckoned(run, shop).out
    assert "Of 2 quotes, 1 comes to the same, 1 to something else, and 0 can no longer be quoted." in told
    assert "(sport-rod): 800.00 to 875.00" in " ".join(told.split())
    # it is what a quote of that day comes to
    today = json.loads(quote(run, shop, "sport", "--draft", "--json").out)
    assert today["total"] == sport["is_now"]


def test_what_was_quoted_is_reckoned_and_not_what_the_build_is_now(run: Run, shop: Any) -> None:
    quote(run, shop, "sport", "--json")
    shop.edit("catalog/builds/sport.yaml", "    rod: sport-rod\n", "")
    assert by_number(reckoned(run, shop, "--json", status=0))["Q-2026-0001"]["state"] == "same"


@pytest.mark.parametrize(
    ("file", "old", "new", "why"),
    [
        ("catalog/parts/extra.yaml", "part: sport-rod", "part: other-rod", "part 'sport-rod' is no longer in"),
        ("catalog/parts/extra.yaml", SOLD, "", "nobody sells 'sport-rod'"),
        ("rules/rules.yaml", "at_least: 0.8 mm", "at_least: 2.5 mm", "Piston to head: "),
    ],
)  # fmt: skip
def test_what_can_no_longer_be_quoted_says_why(
    file: str, old: str, new: str, why: str, run: Run, shop: Any
) -> None:
    quote(run, shop, "sport", "--json")
    if "other" in new:
        shop.edit("catalog/builds/sport.yaml", "rod: sport-rod", "rod: other-rod")
    shop.edit(file, old, new)
    ran = reckoned(run, shop, "--json")
    one = by_number(ran)["Q-2026-0001"]
    assert one["state"] == "cannot"
    assert one["is_now"] is None
    assert any(why in said for said in one["why"]), one["why"]
    assert why in " ".join(reckoned(run, shop).out.split())


def test_a_list_that_has_expired_is_told(run: Run, shop: Any) -> None:
    shop.edit(
        "catalog/shop.yaml", "- supplier: quayside\n", "- supplier: quayside\n  list_expires: 2026-12-01\n"
    )
    quote(run, shop, "sport", "--json")
    (one,) = by_number(reckoned(run, shop, "--json")).values()
    assert one["state"] == "cannot"
    assert "expired on 2026-12-01" in one["why"][0]


def test_the_span(run: Run, shop: Any) -> None:
    for day in ("2025-12-31", "2026-01-01", "2026-02-28", "2026-03-01"):
        assert run("quote", "sport", "--shop", shop.folder, "--date", day, "--json").status == 0

    def days(*words: str) -> list[str]:
        listed = json.loads(run("quotes", "--shop", shop.folder, "--json", *words).out)
        found = by_number(reckoned(run, shop, "--json", *words, status=0))
        assert [one["on"] for one in found.values()] == [one["on"] for one in listed["quotes"]]
        return [one["on"] for one in found.values()]

    assert len(days()) == 4
    assert days("--since", "2026") == ["2026-01-01", "2026-02-28", "2026-03-01"]
    assert days("--until", "2026-02") == ["2025-12-31", "2026-01-01", "2026-02-28"]
    assert days("--since", "2026-02-28", "--until", "2026-02-28") == ["2026-02-28"]
    assert days("--since", "2027") == []
    for words, told in (
        (("--since", "2026-13"), "--since: '2026-13' is no day"),
        (("--until", "soon"), "--until: 'soon' is no day"),
        (("--since", "2026-02-30"), "is no day"),
        (("--since", "2026", "--until", "2025"), "--until: 2025-12-31 is before 2026-01-01"),
    ):
        ran = run("quotes", "--again", "--shop", shop.folder, *words)
        assert ran.status == 2
        assert told in ran.err


def test_a_file_that_is_no_quote_is_told_and_the_others_are_reckoned(
    run: Run, shop: Any, kept_here: Path
) -> None:
    quote(run, shop, "sport", "--json")
    (kept_here / "Q-2026-0007.json").write_text("{}", encoding="utf-8")
    ran = reckoned(run, shop, "--json")
    assert by_number(ran)["Q-2026-0001"]["state"] == "same"
    assert len(json.loads(ran.out)["faults"]) == 1


def kept_as_it_is(library: Library, name: str, folder: Path) -> tuple[Session, dict[str, Any]]:
    session = Session(library.shop, library.book)
    quoted = make_quote(session, build_of_id(library.shop, name), DAY)
    record = {
        "quote": as_plain(replace(quoted.quote, number="Q-1")),
        "rests_on": rests_on(quoted.checked, quoted.plan),
    }
    keep(folder, "Q-{count:4}", DAY, lambda number: record)
    return session, json.loads(json.dumps(record))


@pytest.mark.parametrize("name", ["street-turbo", "fell-30-top-end", "tarn-20-turbo"])
def test_on_its_own_day_it_comes_to_the_same(name: str, demo: Library, tmp_path: Path) -> None:
    session, record = kept_as_it_is(demo, name, tmp_path)
    found = reckon_again(session, record, DAY)
    assert (found.state, found.lines, found.why) == ("same", (), ())


def test_several_processes_say_what_one_says(run: Run, shop: Any, kept_here: Path) -> None:
    for _ in range(9):
        quote(run, shop, "sport", "--json")
    shop.edit("catalog/parts/extra.yaml", "640 GBP", "700 GBP")
    alone = reckoned(run, shop, "--json", "--cores", "1").out
    assert reckoned(run, shop, "--json", "--cores", "2").out == alone
    assert len(by_number(reckoned(run, shop, "--json"))) == 9
