"""Every quote of the demo builds worked out again from the shop's files alone, with Decimal of the test's own.

Nothing of the program's trade is used: files are read as YAML, what the build forces comes from `check --json`.
"""

from __future__ import annotations

import json
from collections import Counter
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

Run = Any
CATALOG = Path(__file__).parents[2] / "catalog"
BUILDS = [
    "street-turbo", "long-stroke-20", "phase-upgrade", "endurance-ethanol", "fell-30-top-end", "first-draft",
]  # fmt: skip
PENNY = Decimal("0.01")


@cache
def files() -> dict[str, dict[str, Any]]:
    """Everything in the catalogue by kind and id, every word a text."""
    found: dict[str, dict[str, Any]] = {}
    for path in sorted(CATALOG.rglob("*.yaml")):
        for entry in yaml.load(path.read_text(encoding="utf-8"), yaml.CBaseLoader) or []:
            kind = next(iter(entry))
            found.setdefault(kind, {})[entry[kind]] = entry
    return found


def penny(amount: Decimal) -> Decimal:
    return amount.quantize(PENNY, ROUND_HALF_UP)


def percent(text: str) -> Decimal:
    return Decimal(text.replace("%", "").strip()) / 100


def own_money(text: str, shop: dict[str, Any]) -> Decimal:
    """A price in the shop's own currency, not rounded."""
    amount, currency = text.split()
    return Decimal(amount) * (1 if currency == shop["currency"] else Decimal(shop["rates"][currency]["rate"]))


def margin(shop: dict[str, Any], position: str, supplier: str, piece: Decimal) -> Decimal:
    """Position before supplier before band."""
    best, share = (-1,), percent(shop["margin"])
    for one in shop["margins"]:
        if one.get("position", position) != position or one.get("supplier", supplier) != supplier:
            continue
        if "at_least" in one and piece < own_money(one["at_least"], shop):
            continue
        if "below" in one and piece >= own_money(one["below"], shop):
            continue
        rank = ("position" in one, "supplier" in one, "at_least" in one or "below" in one)
        if rank > best:
            best, share = rank, percent(one["margin"])
    return share


def engine(build: dict[str, Any]) -> dict[str, int]:
    variant = files()["variant"][build["variant"]]
    numbers = files()["family"][variant["family"]]["numbers"]
    return {"engine": 1, **{name: int(number) for name, number in numbers.items()}}


def expected_works(build: dict[str, Any], report: dict[str, Any]) -> list[str]:
    """Work that the build names, as often as it does, what that drags in, and what the check adds."""
    named = [one if isinstance(one, str) else one["work"] for one in build.get("work", [])]
    named += [one["work"] for one in report["extra_work"] if not one["held_back"]]
    held = {one["work"] for one in report["extra_work"] if one["held_back"]}
    waiting = [*named]
    while waiting:
        for other in files()["work"][waiting.pop()].get("forces", []):
            if other not in named and other not in held:
                named.append(other)
                waiting.append(other)
    return named


def expected_parts(build: dict[str, Any], report: dict[str, Any]) -> Counter[str]:
    """Parts that are wanted and not in the box of another, with what is asked of the extra ones."""
    extra = {one["position"]: one for one in report["extra_parts"]}
    names = [part for position, part in build.get("fit", {}).items() if position != "fuel"]
    for taken in build.get("take_from", []):
        sister = files()["variant"][taken["variant"]]["parts"]
        names += [sister[p] for p in taken["positions"] if p not in extra and p not in ("fuel", "setup")]
    names += [one["part"] for one in extra.values() if not one["held_back"]]
    boxed = {inner for name in names for inner in files()["part"][name].get("includes", [])}
    return Counter(name for name in names if name not in boxed)


def work_price(line: dict[str, Any], shop: dict[str, Any], numbers: dict[str, int]) -> tuple[Decimal, Decimal]:
    """Quantity and price of one, by the file."""
    work = files()["work"][line["id"]]
    number = numbers[work.get("per", "engine")]
    hours = Decimal(work.get("set_up", "0")) + Decimal(work["hours"]) * number
    doer = work.get("done_by", "shop")
    if doer == "shop":
        rates = shop["labour_rates"]
        return hours, own_money(rates.get(work.get("labour", ""), shop["labour_rate"]), shop)
    if "price" in work:
        cost = own_money(work["price"], shop) * number
    else:
        cost = own_money(files()["supplier"][doer]["rate"], shop) * hours
    return Decimal(1), penny(cost / (1 - margin(shop, work["on"], doer, cost)))


def part_prices(line: dict[str, Any], shop: dict[str, Any]) -> set[Decimal]:
    """What is asked for one, by each offer that the shop's own copy names: one price, or it were two lines."""
    return {price for source in line["own"]["sources"] for price in source_prices(line, source, shop)}


def source_prices(line: dict[str, Any], source: dict[str, Any], shop: dict[str, Any]) -> set[Decimal]:
    offers = [
        offer
        for offer in files()["part"][line["id"]]["sold_by"]
        if offer["supplier"] == source["supplier"]
        and (source["shelf"] or offer.get("code", "") == source["code"])
    ]
    if source["shelf"] and not source["supplier"]:
        shelf = files()["stock"][line["id"]]["shelf"]
        offers = [{"price": one["cost"]} for one in shelf if "cost" in one and one["place"] in source["shelf"]]
    asked = set()
    for offer in offers:
        pack = int(offer.get("pack", "1"))
        assert source["shelf"] or line["unit"] == ("piece" if pack == 1 else f"pack of {pack}")
        price = offer["price"]
        for step in offer.get("breaks", []):
            if not source["shelf"] and int(step["packs"]) <= Decimal(source["quantity"]):
                price = step["price"]
        cost = own_money(price, shop)
        share = margin(shop, line["position"], source["supplier"], cost / pack)
        if source["shelf"]:
            cost /= pack
        gross = cost / (1 - share)
        if source["supplier"] in shop["tax"]["margin_scheme"]:
            gross = cost + (gross - cost) * (1 + percent(shop["tax"]["goods"]))
        asked.add(penny(gross))
    return asked


def scheme_of(shop: dict[str, Any]) -> list[str]:
    found: list[str] = shop["tax"]["margin_scheme"]
    return found


def quoted(run: Run, folder: Path, build: str) -> dict[str, Any]:
    """The shop's own copy as JSON."""
    ran = run("quote", build, "--draft", "--own", "--despite-findings", "--json", "--date", "2026-11-30")
    assert ran.status == 0, ran.err
    found: dict[str, Any] = json.loads(ran.out)
    return found


@pytest.mark.parametrize("name", BUILDS)
def test_a_quote_is_what_the_files_say(name: str, run: Run, tmp_path: Path) -> None:
    build, (shop,) = files()["build"][name], files()["shop"].values()
    quote = quoted(run, tmp_path, name)
    report = json.loads(run("check", name, "--json").out)
    numbers = engine(build)
    lines = quote["lines"]

    works = [line["id"] for line in lines if line["kind"] in ("labour", "outwork")]
    assert sorted(works) == sorted(expected_works(build, report))
    parts = {line["id"] for line in lines if line["kind"] == "part"}
    assert parts == set(expected_parts(build, report))
    # of what the check adds so many pieces as it says, and no whole pack too many
    for extra in report["extra_parts"]:
        own = [line for line in lines if line["id"] == extra["part"]]
        others = sum(one["count"] for one in report["extra_parts"] if one["part"] == extra["part"])
        if own and not extra["held_back"] and extra["part"] not in build.get("fit", {}).values():
            pieces = sum(Decimal(one["quantity"]) * pack_of(one) for one in own)
            assert others <= pieces < others + max(pack_of(one) for one in own)

    net = Decimal(0)
    bases: dict[Decimal, Decimal] = {}
    for line in lines:
        match line["kind"]:
            case "part":
                quantity = sum(Decimal(source["quantity"]) for source in line["own"]["sources"])
                (price,) = part_prices(line, shop)
                rate = percent(shop["tax"]["goods"])
            case "carriage":
                quantity, price, rate = Decimal(1), carriage(lines, shop), percent(shop["tax"]["goods"])
            case kind:
                quantity, price = work_price(line, shop, numbers)
                rate = percent(shop["tax"][kind])
        scheme = line["kind"] == "part" and line["own"]["sources"][0]["supplier"] in scheme_of(shop)
        amount = penny(quantity * price)
        assert (Decimal(line["quantity"]), Decimal(line["unit_price"])) == (quantity, price), line
        assert Decimal(line["amount"]) == amount
        assert Decimal(line["tax_rate"]) == (0 if scheme else rate)
        assert line["margin_scheme"] is scheme
        net += amount
        if not scheme:
            bases[rate] = bases.get(rate, Decimal(0)) + amount
    tax = sum((penny(base * rate) for rate, base in bases.items()), Decimal(0))
    assert (Decimal(quote["net"]), Decimal(quote["tax"]), Decimal(quote["total"])) == (net, tax, net + tax)
    assert Decimal(quote["deposit"]) == penny((net + tax) * percent(shop["deposit"]))


def pack_of(line: dict[str, Any]) -> int:
    return 1 if line["unit"] == "piece" else int(line["unit"].removeprefix("pack of "))


def carriage(lines: list[dict[str, Any]], shop: dict[str, Any]) -> Decimal:
    """What the suppliers ask for bringing it, by the value of the goods that each sends."""
    goods: dict[str, Decimal] = {}
    for line in lines:
        for source in line["own"]["sources"] if line["kind"] == "part" else ():
            if not source["shelf"]:
                amount = Decimal(source["asked"].split()[0].replace(",", "")) * Decimal(source["quantity"])
                goods[source["supplier"]] = goods.get(source["supplier"], Decimal(0)) + amount
    total = Decimal(0)
    for name, value in goods.items():
        for step in files()["supplier"][name].get("carriage", []):
            step = {"price": step} if isinstance(step, str) else step
            if "below" not in step or value < Decimal(step["below"].split()[0]):
                total += own_money(step["price"], shop)
                break
    return penny(total)


@pytest.mark.parametrize("name", BUILDS)
def test_a_sheet_reckons_to_the_same_pennies(name: str, run: Run, tmp_path: Path) -> None:
    """The workbook's own formulas, worked out by a library that knows nothing of this program."""
    import formulas
    from openpyxl import load_workbook

    path = tmp_path / "quote.xlsx"
    ran = run("quote", name, "--draft", "--despite-findings", "--date", "2026-11-30", "--out", path, "--json")
    assert ran.status == 0, ran.err
    quote = json.loads(ran.out)
    sheet = load_workbook(path)["Lines"]
    solved = formulas.ExcelModel().loads(str(path)).finish().calculate()
    worked: dict[str, list[Decimal]] = {}
    amounts = []
    live = 0
    for row in sheet.iter_rows(min_row=2):
        label, last = row[0].value, row[5]
        if last.value is None:
            continue
        assert str(last.value).startswith("="), f"{last.coordinate} is no formula"
        live += 1
        key = f"'[quote.xlsx]LINES'!{last.coordinate}"
        value = penny(Decimal(str(round(float(solved[key].value[0, 0]), 6))))
        (amounts if row[2].value else worked.setdefault(label, [])).append(value)
    assert live == len(quote["lines"]) + 2 + len(quote["taxes"])
    assert amounts == [Decimal(line["amount"]) for line in quote["lines"]]
    assert worked["Sum"] == [Decimal(quote["net"])]
    assert worked["VAT on"] == [Decimal(one["tax"]) for one in quote["taxes"]]
    assert worked["Total"] == [Decimal(quote["total"])]
    front = {row[0].value: row[1].coordinate for row in load_workbook(path)["Quote"].iter_rows(max_col=2)}
    for label, key in (("Total, VAT included", "total"), ("Deposit with the order, 40%", "deposit")):
        value = solved[f"'[quote.xlsx]QUOTE'!{front[label]}"].value[0, 0]
        assert penny(Decimal(str(round(float(value), 6)))) == Decimal(quote[key])
