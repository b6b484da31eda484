"""The command `order` as it is typed: what it prints, writes and refuses."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from tests.conftest import Tiny
from tests.look import published

Run = Callable[..., Any]
DAY = ("--date", "2026-11-30")
SCHEMA = Draft202012Validator(published()["order"])


def ordered(run: Run, *words: object) -> dict[str, Any]:
    ran = run("order", *words, *DAY, "--json")
    assert ran.status == 0, ran.err
    data: dict[str, Any] = json.loads(ran.out)
    SCHEMA.validate(data)
    return data


def adds_up(data: dict[str, Any]) -> None:
    for own in data["suppliers"]:
        for line in own["lines"]:
            assert Decimal(line["amount"]) == line["packs"] * Decimal(line["price"])
            assert line["pieces"] == line["packs"] * line["pack"]
        assert Decimal(own["goods"]) == sum(Decimal(line["amount"]) for line in own["lines"])
        assert Decimal(own["total"]) == Decimal(own["goods"]) + Decimal(own["carriage"])
    assert Decimal(data["total"]) == sum(Decimal(own["total_own"]) for own in data["suppliers"])


def test_an_order_as_data_adds_up_and_says_why(run: Run) -> None:
    data = ordered(run, "street-turbo")
    adds_up(data)
    assert data["proved"] is True
    assert {own["currency"] for own in data["suppliers"]} == {"GBP", "EUR"}
    assert all(line["reasons"] for own in data["suppliers"] for line in own["lines"])
    assert all(one["reasons"] for one in data["shelf"])


def test_several_builds_are_ordered_together(run: Run) -> None:
    one, other = ordered(run, "street-turbo"), ordered(run, "long-stroke-20")
    both = ordered(run, "street-turbo", "long-stroke-20")
    adds_up(both)
    assert Decimal(both["total"]) <= Decimal(one["total"]) + Decimal(other["total"]) + Decimal("42.00") * 3
    seal = next(
        line
        for own in both["suppliers"]
        for line in own["lines"]
        if line["part"] == "tarn-20-front-cover-gasket"
    )
    assert [reason.partition(",")[0] for reason in seal["reasons"]] == ["street-turbo", "long-stroke-20"]


def test_the_soonest_is_never_later_and_never_cheaper(run: Run) -> None:
    for name in ("street-turbo", "fell-30-top-end", "endurance-ethanol"):
        least, soonest = ordered(run, name), ordered(run, name, "--soonest")
        assert soonest["in_on"] <= least["in_on"]
        assert Decimal(soonest["total"]) >= Decimal(least["total"])


def test_a_build_with_findings_is_not_ordered(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "o.csv"
    ran = run("order", "first-draft", *DAY, "--out", file)
    assert (ran.status, ran.out) == (1, "")
    assert "first-draft does not go together" in ran.err
    assert "conflict: Key fits the crankshaft nose" in ran.err
    assert not file.exists()


def test_despite_findings_what_is_held_back_stands_apart(run: Run) -> None:
    data = ordered(run, "first-draft", "--despite-findings")
    bought = {line["part"] for own in data["suppliers"] for line in own["lines"]}
    held = {one["part"] for one in data["held_back"]}
    assert "tarn-20-turbo-head-gasket" in held
    assert not held & bought
    assert all(one["until"] for one in data["held_back"])
    assert any(one["verdict"] == "conflict" for one in data["builds"][0]["against"])


BUILD = """\
- build: own
  name: Own
  variant: hob-13
  goal: {power: 50 kW, at: 6000 rpm}
  fit: {rod: sport-rod, piston: sport-piston}
"""
RULE = "- {rule: look, title: Mine, note: Look., why: To see., source: common practice}\n"
ROD = "{supplier: quayside, code: SR130, price: 640 GBP, pack: 4, lead: 10 days}"
QUAYSIDE = "  name: Quayside Parts\n  currency: GBP\n"


@pytest.fixture
def small(tiny: Tiny) -> Tiny:
    """A small shop in which nothing stands against its build."""
    tiny.write("rules/rules.yaml", RULE)
    tiny.write("catalog/builds/own.yaml", BUILD)
    for name in ("mixed", "sport"):
        (tiny.folder / f"catalog/builds/{name}.yaml").unlink()
    return tiny


def test_a_small_shop_orders(run: Run, small: Tiny) -> None:
    data = ordered(run, "own", "--shop", small.folder)
    (own,) = data["suppliers"]
    packs = {line["part"]: line["packs"] for line in own["lines"]}
    assert packs == {"sport-rod": 1, "sport-piston": 1, "hob-gasket": 1}
    assert own["in_on"] is None  # of the pistons nobody says when they are in
    assert own["lines"][0]["in_on"] == "2026-12-10"


def test_an_unknown_keeps_a_build_from_being_ordered_until_it_is_accepted(run: Run, small: Tiny) -> None:
    small.rule("measure: rod.centre_length\nat_least: 1 mm")
    small.edit("catalog/parts/extra.yaml", "    centre_length: ", "    # centre_length: ")
    ran = run("order", "own", "--shop", small.folder)
    assert ran.status == 3
    assert "own is not proven" in ran.err
    assert "--accept-unknown" in ran.err
    assert run("order", "own", "--shop", small.folder, "--accept-unknown").status == 0
    assert run("order", "own", "--shop", small.folder, "--despite-findings").status == 0


@pytest.mark.parametrize(
    ("file", "old", "new", "says"),
    [
        (
            "parts/extra.yaml",
            f"  sold_by: [{ROD}]\n",
            "",
            "nobody sells 'sport-rod', and 4 are wanted for rod of own",
        ),
        ("parts/extra.yaml", "price: 640 GBP", "price: 640 GPB", "'GPB' is no currency of ISO 4217"),
        ("parts/extra.yaml", "price: 640 GBP", "price: -640 GBP", "'-640 GBP' is no price"),
        ("parts/extra.yaml", "price: 640 GBP", "price: 640 EUR", "is in EUR, and quayside sells in GBP"),
        ("parts/extra.yaml", "pack: 4, lead", "pack: -4, lead", "must be at least 1, not -4"),
        (
            "shop.yaml",
            QUAYSIDE,
            f"{QUAYSIDE}  list_date: 2025-01-02\n  list_expires: 2025-12-31\n",
            "the price list of 2025-01-02 of 'quayside' expired on 2025-12-31",
        ),
        ("shop.yaml", QUAYSIDE, f"{QUAYSIDE}  minimum_order: 5 USD\n", "'minimum_order' is in USD"),
    ],
)
def test_prices_that_cannot_be_reckoned_with_are_told_with_their_place(
    run: Run, small: Tiny, tmp_path: Path, file: str, old: str, new: str, says: str
) -> None:
    small.edit(f"catalog/{file}", old, new)
    out = tmp_path / "o.json"
    ran = run("order", "own", *DAY, "--shop", small.folder, "--out", out)
    assert ran.status == 2
    assert ran.out == ""
    told = [line for line in ran.err.splitlines() if says in line]
    assert len(told) == 1
    assert told[0].startswith(f"catalog/{file}:")
    assert not out.exists()


def test_an_expired_list_may_be_reckoned_with_and_the_order_says_so(run: Run, small: Tiny) -> None:
    small.edit("catalog/shop.yaml", QUAYSIDE, f"{QUAYSIDE}  list_expires: 2025-12-31\n")
    data = ordered(run, "own", "--shop", small.folder, "--old-prices")
    assert data["suppliers"][0]["expired"] == "2025-12-31"
    assert "expired on 31 Dec 2025" in run("order", "own", "--shop", small.folder, "--old-prices", *DAY).out


def test_more_than_is_needed_says_why(run: Run, small: Tiny) -> None:
    small.edit("catalog/shop.yaml", QUAYSIDE, f"{QUAYSIDE}  minimum_order: 1500 GBP\n")
    data = ordered(run, "own", "--shop", small.folder)
    (own,) = data["suppliers"]
    assert "it takes no order below 1,500.00 GBP" in own["note"]
    assert Decimal(own["goods"]) >= 1500
    assert sum(line["left_over"] for line in own["lines"]) > 0


def test_what_the_customer_brings_is_told_apart(run: Run, small: Tiny) -> None:
    small.edit("catalog/builds/own.yaml", "  fit:", "  brought: {rod: used and weighed}\n  fit:")
    data = ordered(run, "own", "--shop", small.folder)
    assert [line["part"] for line in data["suppliers"][0]["lines"]] == ["sport-piston", "hob-gasket"]
    assert [(one["part"], one["state"]) for one in data["brought"]] == [("sport-rod", "used and weighed")]
    assert "Brought by the customer" in run("order", "own", "--shop", small.folder).out


def test_a_build_that_buys_nothing_says_so(run: Run, small: Tiny) -> None:
    small.write("catalog/builds/own.yaml", BUILD.replace("  fit: {rod: sport-rod, piston: sport-piston}\n", ""))
    ran = run("order", "own", "--shop", small.folder)
    assert ran.status == 0
    assert "Nothing is to be bought." in ran.out


# suppliers and files


def test_a_letter_says_nothing_of_builds_and_reasons(run: Run) -> None:
    data = ordered(run, "street-turbo", "--supplier", "tilbrook")
    (own,) = data["suppliers"]
    assert (own["supplier"], data["builds"], data["shelf"]) == ("tilbrook", [], [])
    assert all(not line["reasons"] for line in own["lines"])
    text = run("order", "street-turbo", "--supplier", "tilbrook", *DAY).out
    assert "Tilbrook Fasteners" in text
    assert "street" not in text.lower()
    whole = ordered(run, "street-turbo")
    assert own["total"] == next(one["total"] for one in whole["suppliers"] if one["supplier"] == "tilbrook")


def test_each_supplier_gets_a_file_of_its_own(run: Run, tmp_path: Path) -> None:
    ran = run(
        "order", "street-turbo", *DAY, "--out", tmp_path / "o-{supplier}.xml", "--out", tmp_path / "all.csv"
    )
    assert ran.status == 0
    names = {path.name for path in tmp_path.iterdir()}
    data = ordered(run, "street-turbo")
    assert names == {"all.csv", *(f"o-{own['supplier']}.xml" for own in data["suppliers"])}
    with (tmp_path / "all.csv").open(newline="", encoding="utf-8-sig") as file:
        rows = [row for row in csv.reader(file) if row]
    assert rows


def test_xml_of_several_suppliers_in_one_file_is_refused_with_a_way_out(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "order.xml"
    ran = run("order", "street-turbo", *DAY, "--out", file)
    assert ran.status == 2
    assert "an XML order goes to one supplier" in ran.err
    assert "order-{supplier}.xml" in ran.err
    assert not list(tmp_path.iterdir())
    assert run("order", "street-turbo", *DAY, "--supplier", "tilbrook", "--out", file).status == 0
    assert "<?xml" in file.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (
            ("street-turbo", "--supplier", "tilbrok"),
            "--supplier: 'tilbrok' is not known; did you mean 'tilbrook'?",
        ),
        (
            ("fell-30-top-end", "--supplier", "vossmar"),
            "nothing is ordered from 'vossmar'; the order is to marrick",
        ),
        (("street-turbo", "--date", "2026-02-30"), "'2026-02-30' is no day"),
        (("street-tubro", "phase-upgrad"), "did you mean 'phase-upgrade'?"),
        (("street-turbo", "--out", "o.docx"), "the ending '.docx' says no format"),
        (("street-turbo", "--out", "nowhere/o.pdf"), "there is no folder nowhere"),
        (("-", "-"), "standard input holds one build"),
        ((), "BUILD"),
    ],
)
def test_what_is_typed_wrongly_is_told(run: Run, words: tuple[str, ...], says: str) -> None:
    ran = run("order", *words)
    assert ran.status == 2
    assert says in ran.err
    assert ran.out == ""


def test_a_build_named_twice_is_not_bought_twice(run: Run) -> None:
    ran = run("order", "fell-30-top-end", "fell-30-top-end", "--draft")
    assert (ran.status, ran.out) == (2, "")
    assert "fell-30-top-end: is named twice" in ran.err


@pytest.mark.parametrize("day", ["9999-12-20", "0001-01-01"])
def test_a_day_that_no_paper_is_of_is_told(run: Run, day: str) -> None:
    ran = run("order", "fell-30-top-end", "--draft", "--date", day)
    assert (ran.status, ran.out) == (2, "")
    assert "years 2000 to 2999" in ran.err


def test_every_wrong_name_is_told_at_once(run: Run) -> None:
    ran = run("order", "street-tubro", "phase-upgrad")
    assert "street-turbo" in ran.err
    assert "phase-upgrade" in ran.err


@pytest.mark.parametrize("ending", ["pdf", "xlsx", "md", "html", "txt"])
def test_an_order_goes_out_in_every_format(run: Run, tmp_path: Path, ending: str) -> None:
    file = tmp_path / f"o.{ending}"
    assert run("order", "fell-30-top-end", *DAY, "--out", file).status == 0
    assert file.stat().st_size > 1000


# numbers


def test_an_order_takes_the_next_number_and_prints_again_as_it_was(
    run: Run, small: Tiny, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COMPAT_QUOTES", str(tmp_path / "kept"))
    where = ("--shop", small.folder)
    first, second = run("order", "own", *DAY, "--json", *where), run("order", "own", *DAY, "--json", *where)
    numbers = [json.loads(ran.out)["number"] for ran in (first, second)]
    assert numbers == ["O-2026-0001", "O-2026-0002"]
    assert "Kept as O-2026-0001" in first.err
    small.edit("catalog/parts/extra.yaml", "price: 640 GBP", "price: 999 GBP")
    assert run("order", "O-2026-0001", "--json", *where).out == first.out
    letter = run("order", "O-2026-0001", "--supplier", "quayside", *where)
    assert "O-2026-0001" in letter.out
    ran = run("order", "O-2026-0001", "--soonest", *where)
    assert (ran.status, ran.out) == (2, "")
    assert "stays as it is" in ran.err


def test_a_draft_and_a_refusal_take_no_number(
    run: Run, small: Tiny, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COMPAT_QUOTES", str(tmp_path / "kept"))
    where = ("--shop", small.folder)
    assert "DRAFT" in run("order", "own", "--draft", *where).out
    assert run("order", "own", "--supplier", "dunmore", *where).status == 2
    assert run("order", "own", "--out", tmp_path / "no" / "o.pdf", *where).status == 2
    assert not (tmp_path / "kept").exists()


def test_what_was_measured_counts(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "none.yaml"
    ran = run("order", "street-turbo", "--draft", "--measured", file)
    assert ran.status == 2
    assert "none.yaml" in ran.err
    assert run("order", "street-turbo", "phase-upgrade", "--measured", file).status == 2
