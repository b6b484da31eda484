"""The command `quote`: what is on each copy, numbers, comparing, and every bad input in one clear message."""

from __future__ import annotations

import json
import os
import random
import re
import signal
import subprocess
import sys
import time
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from openpyxl import load_workbook

from compat.cli import main
from compat.library.library import Library
from compat.trade.frozen import kept, numbers
from tests.look import checked_once, published

Run = Any
ROOT = Path(__file__).parents[2]
DAY = ("--date", "2026-11-30")
TERMS = """
  address: [Lantern Yard, 3 Quay Street]
  margin: 20 %
  tax: {name: VAT, goods: 20 %, labour: 20 %, outwork: 20 %}
  deposit: 25 %
"""


@pytest.fixture
def kept_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of this test's own that quotes are kept in."""
    folder = tmp_path / "quotes"
    monkeypatch.setenv("COMPAT_QUOTES", str(folder))
    return folder


@pytest.fixture
def shop(tiny: Any, kept_here: Path) -> Any:
    """The small shop, with terms and a build that is proven."""
    tiny.edit(
        "catalog/shop.yaml", "  labour_rate: 50 GBP\n", f"  labour_rate: 50 GBP\n{TERMS.strip(chr(10))}\n"
    )
    return tiny


def quote(run: Run, shop: Any, *words: object, status: int = 0) -> Any:
    ran = run("quote", *words, "--shop", shop.folder, *DAY)
    assert ran.status == status, ran.err
    return ran


# copies


def test_the_customers_copy_tells_nothing_of_the_shops_own(run: Run, kept_here: Path) -> None:
    """No supplier, no cost and no margin, in no format."""
    own = json.loads(run("quote", "street-turbo", "--draft", "--own", "--json", *DAY).out)
    ran = run("quote", "street-turbo", "--draft", "--json", *DAY)
    customers = json.loads(ran.out)
    assert "own" not in customers
    assert all("own" not in line for line in customers["lines"])
    text = run("quote", "street-turbo", "--draft", *DAY).out
    for supplier in {source["supplier"] for line in own["lines"] for source in line["own"]["sources"]}:
        assert supplier not in ran.out
        assert supplier not in text
    assert own["own"]["cost"] not in text
    assert {key: value for key, value in own.items() if key not in ("own", "lines")} == {
        key: value for key, value in customers.items() if key != "lines"
    }


@pytest.mark.parametrize("own", [True, False])
@pytest.mark.parametrize("build", ["street-turbo", "phase-upgrade", "fell-30-top-end", "first-draft"])
def test_a_quote_is_as_its_schema_says(build: str, own: bool, run: Run, kept_here: Path) -> None:
    words = ["--own"] if own else []
    ran = run("quote", build, "--draft", "--despite-findings", "--json", *words, *DAY)
    data = json.loads(ran.out)
    jsonschema.Draft202012Validator(published()["quote"]).validate(data)
    asked = ("number", "currency", "lines", "net", "tax", "total", "deposit")
    assert [key for key in asked if key not in data] == []
    for line in data["lines"]:
        for key in ("quantity", "unit_price", "amount", "tax_rate"):
            assert isinstance(line[key], str)
            Decimal(line[key])


def test_every_figure_is_the_one_of_the_check(run: Run, kept_here: Path) -> None:
    """Findings, hours of extra work and counts of extra parts as `check --json` has them."""
    compared = 0
    for build in ("fell-30-top-end", "long-stroke-20"):
        report = json.loads(run("check", build, "--json").out)
        data = json.loads(run("quote", build, "--draft", "--own", "--json", *DAY).out)
        hours = {line["id"]: Decimal(line["quantity"]) for line in data["lines"] if line["kind"] == "labour"}
        for work in report["extra_work"]:
            if work["work"] in hours:
                assert hours[work["work"]] == Decimal(work["hours"])
                compared += 1
        told = {(one["rule"], one["verdict"]): one["because"] for one in report["findings"]}
        findings = [*data["own"]["findings"], *data["doubts"], *data["cautions"]]
        assert findings
        assert all(told[one["rule"], one["verdict"]] == one["because"] for one in findings)
    assert compared


def test_what_is_not_clean_is_quoted_only_when_that_is_asked(run: Run, kept_here: Path, demo: Library) -> None:
    refused = run("quote", "first-draft", "--json", *DAY)
    assert refused.status == 1
    assert refused.out == ""
    assert "no quote is given" in refused.err
    assert not kept_here.exists()
    given = run("quote", "first-draft", "--despite-findings", "--json", *DAY)
    assert given.status == 0
    data = json.loads(given.out)
    report = checked_once("first-draft").report
    against = [one.rule for one in report.findings if one.verdict in ("conflict", "shortfall", "missing")]
    assert [one["rule"] for one in data["against"]] == against
    again = run("quote", data["number"])
    text = " ".join(again.out.split())
    assert (again.status, again.err) == (0, "")
    assert text.index("does not go together as it stands") < text.lower().index("parts and work")
    held = {part.part for part in report.extra_parts if part.held_back}
    assert held
    assert not {line["id"] for line in data["lines"]} & (
        held - {part.part for part in report.extra_parts if not part.held_back}
    )


def test_options_are_checked_and_priced(run: Run, kept_here: Path) -> None:
    data = json.loads(run("quote", "street-turbo", "--draft", "--json", *DAY).out)
    stays, cooler, _, bad = data["options"]
    assert Decimal(stays["difference"]) < 0 < Decimal(cooler["difference"])
    for one in (stays, cooler):
        assert Decimal(one["total"]) == Decimal(data["total"]) + Decimal(one["difference"])
    assert bad["goes_together"] is False
    assert bad["difference"] is None
    assert "more than the most allowed" in bad["why"][0]
    text = run("quote", "street-turbo", "--draft", *DAY).out
    assert "200 kW on the same parts: does not go together" in text


def test_an_option_goes_before_what_the_customer_brings(shop: Any, run: Run) -> None:
    """Where the option has another part the brought one is not for it."""
    file = "catalog/builds/sport.yaml"
    rod = "  brought: {rod: as new}\n  options: [{name: The factory rods stay, keep: [rod]}]\n"
    shop.write(file, shop.text(file) + rod)
    (option,) = json.loads(quote(run, shop, "sport", "--draft", "--json").out)["options"]
    assert not any("brought" in why for why in option["why"])


def test_an_option_costs_what_a_build_of_its_own_does(shop: Any, run: Run) -> None:
    """The difference is that of two quotes."""
    file = "catalog/builds/sport.yaml"
    plain = json.loads(quote(run, shop, "sport", "--draft", "--json").out)
    other = shop.text(file).replace("build: sport", "build: other")
    shop.write("catalog/builds/other.yaml", other.replace("  variant:", "  counts: {oil: 2}\n  variant:"))
    shop.write(file, shop.text(file) + "  options: [{name: Twice the oil, counts: {oil: 2}}]\n")
    (option,) = json.loads(quote(run, shop, "sport", "--draft", "--json").out)["options"]
    ran = run("quote", "other", "--draft", "--json", "--shop", shop.folder, *DAY)
    if option["goes_together"]:
        bought = json.loads(ran.out)
        assert Decimal(option["difference"]) == Decimal(bought["total"]) - Decimal(plain["total"])
    else:
        assert ran.status == 1


def test_what_the_readme_shows_is_what_comes_out(run: Run, kept_here: Path) -> None:
    shown = re.findall(
        r"<!-- quote -->\n```\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL
    )
    assert len(shown) == 1
    assert shown[0] in run("quote", "street-turbo", "--draft", *DAY).out


def test_what_it_costs_if_a_measurement_fails(run: Run, kept_here: Path, tmp_path: Path) -> None:
    """Another part is one that mends the finding and goes into the build, at the price of a line."""
    text = (ROOT / "catalog/builds/phase-upgrade.yaml").read_text(encoding="utf-8")
    narrow = tmp_path / "narrow.yaml"
    narrow.write_text(
        text.replace("head_gasket: lg-gasket-mls-870-080-j2", "head_gasket: tarn-phase-head-gasket")
    )
    data = json.loads(run("quote", narrow, "--draft", "--json", *DAY).out)
    (doubt,) = data["doubts"]
    (way,) = (way for way in doubt["ways"] if way["price"] is not None)
    assert (doubt["rule"], doubt["verdict"]) == ("gasket-larger-than-bore", "measure")
    assert way["says"].startswith("Another head gasket: ")
    assert data["doubt_most"] == doubt["least"] == doubt["most"] == way["price"]
    parts = yaml.safe_load((ROOT / "catalog/parts/aftermarket_gaskets.yaml").read_text(encoding="utf-8"))
    (gasket,) = (one for one in parts if way["says"].endswith(f": {one.get('name')}"))
    cost = Decimal(str(gasket["sold_by"][0]["price"]).split()[0])
    assert Decimal(way["price"]) == (cost / Decimal("0.78")).quantize(Decimal("0.01"))
    # with that gasket all is sound
    narrow.write_text(text.replace("head_gasket: lg-gasket-mls-870-080-j2", f"head_gasket: {gasket['part']}"))
    report = json.loads(run("check", narrow, "--json", "--quick").out)
    assert {one["verdict"] for one in report["findings"]} <= {"ok", "caution"}


def test_work_that_is_quoted_anyway_costs_nothing_more(run: Run, kept_here: Path) -> None:
    data = json.loads(run("quote", "fell-30-top-end", "--draft", "--json", *DAY).out)
    quoted = {line["what"] for line in data["lines"]}
    ways = [way for doubt in data["doubts"] for way in doubt["ways"] if "in this quote already" in way["says"]]
    assert ways
    assert all(way["price"] == "0.00" and way["says"].split(",")[0] in quoted for way in ways)


# numbers


def test_a_number_is_taken_once_and_a_draft_takes_none(shop: Any, run: Run, kept_here: Path) -> None:
    assert json.loads(quote(run, shop, "hob-13", "--draft", "--json").out)["number"] == ""
    assert not kept_here.exists()
    first = quote(run, shop, "hob-13", "--json")
    assert json.loads(first.out)["number"] == "Q-2026-0001"
    assert f"Kept as Q-2026-0001 in {kept_here}" in first.err
    assert json.loads(quote(run, shop, "hob-13", "--json").out)["number"] == "Q-2026-0002"
    assert numbers(kept_here) == ["Q-2026-0001", "Q-2026-0002"]


def test_a_kept_quote_is_printed_again_as_it_was(shop: Any, run: Run, tmp_path: Path) -> None:
    before, after = tmp_path / "before", tmp_path / "after"
    before.mkdir()
    after.mkdir()
    names = ("q.xlsx", "q.csv", "q.html", "q.md", "q.txt", "q.json")
    quote(run, shop, "sport", *(word for name in names for word in ("--out", before / name)))
    shop.edit("catalog/shop.yaml", "margin: 20 %", "margin: 30 %")
    shop.edit("catalog/parts/extra.yaml", "640 GBP", "700 GBP")
    words = [word for name in names for word in ("--out", after / name)]
    ran = run("quote", "Q-2026-0001", *words, "--shop", shop.folder)
    assert ran.status == 0, ran.err
    for name in names:
        assert (after / name).read_bytes() == (before / name).read_bytes(), name


def test_what_has_changed_since(shop: Any, run: Run) -> None:
    quote(run, shop, "sport", "--json")
    same = quote(run, shop, "sport", "--against", "Q-2026-0001")
    assert "Nothing has changed." in same.out
    shop.edit("catalog/shop.yaml", "margin: 20 %", "margin: 30 %")
    shop.edit("catalog/parts/extra.yaml", "640 GBP", "700 GBP")
    shop.edit("catalog/parts/extra.yaml", "tensile_limit: 60 kN", "tensile_limit: 6 kN")
    shop.edit("rules/rules.yaml", "at_least: 0.8 mm", "at_least: 0.9 mm")
    ran = quote(run, shop, "sport", "--against", "Q-2026-0001", "--json")
    data = json.loads(ran.out)
    jsonschema.Draft202012Validator(published()["quote_changes"]).validate(data)
    assert {"what": "margin", "was": "20 %", "is_now": "30 %"} in data["terms"]
    parts = {one["what"]: (one["was"], one["is_now"]) for one in data["parts"]}
    assert parts["sport-rod.specs.tensile_limit"] == ("60 kN (maker)", "6 kN (maker)")
    assert parts["sport-rod.sold_by.1.price"] == ("640.00 GBP", "700.00 GBP")
    rod = next(one for one in data["prices"] if "sport-rod" in one["what"])
    assert "800.00" in rod["was"]
    assert "1000.00" in rod["is_now"]
    assert any(one["is_now"] in ("shortfall", "conflict") for one in data["verdicts"])
    assert len(data["rules"]) == 1
    assert Decimal(data["total"]["was"]) < Decimal(data["total"]["is_now"])
    assert "Kept as" not in ran.err


def test_eight_programs_at_once(shop: Any, kept_here: Path) -> None:
    """Whole programs, each quoting the same build."""
    words = [sys.executable, "-m", "compat", "quote", "hob-13", "--json", "--shop", str(shop.folder)]
    settings = {**os.environ, "PYTHONPATH": str(ROOT)}
    started = [
        subprocess.Popen(words, env=settings, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for _ in range(8)
    ]
    told = [json.loads(one.communicate(timeout=120)[0])["number"] for one in started]
    assert len(set(told)) == 8
    assert sorted(told) == numbers(kept_here)


def test_nothing_is_kept_where_the_paper_cannot_be_written(shop: Any, run: Run, kept_here: Path) -> None:
    ran = quote(run, shop, "hob-13", "--out", shop.folder / "none" / "q.pdf", status=2)
    assert "there is no folder" in ran.err
    assert not kept_here.exists()


# lead


def test_the_lead_is_the_longest_path_and_not_the_sum(shop: Any, run: Run) -> None:
    """Rods take 10 days; 1.5 h of work that awaits them, at 8 h a day and 5 days a week, comes after."""
    lead = json.loads(quote(run, shop, "sport", "--draft", "--json").out)["lead"]
    assert lead["days"] == 10
    assert [step["days"] for step in lead["path"]] == ["10"]
    shop.edit("catalog/work.yaml", "  name: Deck the block\n", "  name: Deck the block\n  awaits: [rod]\n")
    lead = json.loads(quote(run, shop, "sport", "--draft", "--json").out)["lead"]
    assert lead["days"] == 11  # 10 and 1.5/8*7/5 days
    assert [step["what"] for step in lead["path"]] == [
        "Forged rod, floating pin from the supplier", "Deck the block",
    ]  # fmt: skip


# bad input

ROD_PRICE = "supplier: quayside, code: SR130, price: 640 GBP, pack: 4, lead: 10 days"


def one_fault(ran: Any) -> str:
    """The one message of a run that came to nothing."""
    assert ran.status == 2
    assert ran.out == ""
    lines = [line for line in ran.err.splitlines() if line and not line.startswith("1 fault;")]
    assert len(lines) == 1, lines
    return lines[0]


@pytest.mark.parametrize(
    ("file", "old", "new", "told"),
    [
        ("parts/extra.yaml", f"  sold_by: [{{{ROD_PRICE}}}]\n", "", "nobody sells 'sport-rod'"),
        ("parts/extra.yaml", "640 GBP", "-640 GBP", "'-640 GBP' is no price"),
        ("parts/extra.yaml", "640 GBP", "640 GBR", "did you mean 'GBP'?"),
        ("parts/extra.yaml", "640 GBP, pack: 4", "640 GBP, pack: -4", "must be at least 1"),
        ("builds/sport.yaml", "  variant:", "  counts: {rod: -4}\n  variant:", "must be at least 0"),
        ("shop.yaml", "  name: Quayside Parts\n", "  name: Quayside Parts\n  list_expires: 2026-11-29\n",
         "expired"),
        ("builds/sport.yaml", "  variant:", "  options: [{name: Other, fit: {rod: sport-rood}}]\n  variant:",
         "did you mean 'sport-rod'?"),
        ("builds/sport.yaml", "  variant:", "  options: [{name: Other}]\n  variant:", "changes nothing"),
        ("builds/sport.yaml", "  variant:", "  options: [{name: Other, goal: {pwer: 3 kW}}]\n  variant:",
         "did you mean 'power'?"),
        ("builds/sport.yaml", "  variant:", "  options: [{name: Other, work: [deck-block]}]\n  variant:",
         "does 'deck-block' already"),
        ("builds/sport.yaml", "  variant:", "  options: [{name: Other, keep: [oil]}]\n  variant:",
         "keeps the variant's own 'oil' anyhow"),
    ],
)  # fmt: skip
def test_a_fault_of_the_files(
    file: str, old: str, new: str, told: str, shop: Any, run: Run, kept_here: Path
) -> None:
    shop.edit(f"catalog/{file}", old, new)
    out = shop.folder / "q.pdf"
    said = one_fault(run("quote", "sport", "--shop", shop.folder, "--out", out, *DAY))
    assert told in said
    assert re.match(r"catalog/[a-z_/]+\.yaml:\d+:\d+: ", said), said
    assert not out.exists()
    assert not kept_here.exists()


def test_a_currency_without_a_rate(shop: Any, run: Run) -> None:
    shop.edit(
        "catalog/shop.yaml", "name: Quayside Parts\n  currency: GBP", "name: Quayside Parts\n  currency: SEK"
    )
    for file in ("extra", "factory"):
        text = shop.text(f"catalog/parts/{file}.yaml")
        lines = [line.replace("GBP", "SEK") if "quayside" in line else line for line in text.splitlines()]
        shop.write(f"catalog/parts/{file}.yaml", "\n".join(lines) + "\n")
    said = run("quote", "sport", "--shop", shop.folder, *DAY)
    assert said.status == 2
    assert "states no rate for SEK" in said.err
    assert "Traceback" not in said.err


def test_outwork_without_a_price(shop: Any, run: Run) -> None:
    shop.edit("catalog/shop.yaml", "  rate: 40 GBP\n", "")
    shop.edit("catalog/work.yaml", "  name: Deck the block\n", "  name: Deck the block\n  done_by: dunmore\n")
    said = one_fault(run("quote", "sport", "--shop", shop.folder, *DAY))
    assert "states no `rate` for an hour of work" in said


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["hob-13", "--date", "2026-02-30"], "--date: '2026-02-30' is no day"),
        (["hob-13", "--date", "tomorrow"], "--date: 'tomorrow' is no day"),
        (["hob-13", "--against", "Q-2026-0099"], "no quote 'Q-2026-0099' is kept here"),
        (["hob-133"], "did you mean 'hob-13'?"),
        (["hob-13", "--out", "q.doc"], "the ending '.doc' says no format"),
        (["hob-13", "--out", "q"], "has no ending that says its format"),
    ],
)  # fmt: skip
def test_a_fault_of_the_words(words: list[str], told: str, shop: Any, run: Run, kept_here: Path) -> None:
    said = one_fault(run("quote", *words, "--shop", shop.folder))
    assert told in said
    assert not kept_here.exists()


def test_a_given_quote_is_not_made_anew(shop: Any, run: Run) -> None:
    quote(run, shop, "hob-13", "--json")
    ran = run("quote", "Q-2026-0001", "--draft", "--despite-findings", *DAY, "--shop", shop.folder)
    assert ran.status == 2
    assert len(ran.err.splitlines()) == 3


def test_a_shop_without_an_entry_of_its_own(shop: Any, run: Run) -> None:
    text = shop.text("catalog/shop.yaml")
    shop.write("catalog/shop.yaml", text[text.index("- supplier: quayside") :])
    said = one_fault(run("quote", "hob-13", "--shop", shop.folder, *DAY))
    assert "has no entry `shop:`" in said


def test_what_the_terms_lack_is_said_and_does_without(tiny: Any, run: Run, kept_here: Path) -> None:
    text = " ".join(run("quote", "hob-13", "--own", "--draft", "--shop", tiny.folder, *DAY).out.split())
    for word in ("states no `address`", "states no `tax`", "states no `margin`", "No tax is asked."):
        assert word in text


def begun(words: list[str]) -> int:
    """A program that quotes, everything imported; the id of its process."""
    child = os.fork()
    if child == 0:
        try:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, 1)
            os.dup2(nowhere, 2)
            sys.argv = ["compat", *words]
            main()
        finally:
            os._exit(0)
    return child


@pytest.mark.skipif(not hasattr(os, "fork"), reason="wants a process to kill")
def test_killed_at_any_moment_papers_and_records_are_whole_or_absent(shop: Any, kept_here: Path) -> None:
    """Programs killed at moments over all of their run; what is there then is as it should be."""
    words = ["quote", "sport", "--shop", str(shop.folder)]
    outs = [word for name in ("q.xlsx", "q.json", "q.txt") for word in ("--out", str(shop.folder / name))]
    os.waitpid(begun([*words, *outs]), 0)  # reads the shop's files
    started = time.perf_counter()
    os.waitpid(begun([*words, *outs]), 0)
    whole = time.perf_counter() - started
    told = [json.loads((shop.folder / "q.json").read_text())["number"]]
    chance = random.Random(9)
    for turn in range(16):
        folder = shop.folder / f"turn{turn}"
        folder.mkdir()
        outs = [word for name in ("q.xlsx", "q.json", "q.txt") for word in ("--out", str(folder / name))]
        process = begun([*words, *outs])
        time.sleep(whole * chance.uniform(0.1, 1.4))
        os.kill(process, signal.SIGKILL)
        os.waitpid(process, 0)
        for path in folder.glob("q.*"):
            match path.suffix:
                case ".xlsx":
                    assert load_workbook(path).sheetnames[1] == "Lines"
                case ".json":
                    told.append(json.loads(path.read_text())["number"])
                case _:
                    assert path.read_text().rstrip().splitlines()[-1].startswith("Lantern Yard")
    there = numbers(kept_here)
    assert set(told) <= set(there), "a number on paper is not kept"
    assert len(told) == len(set(told)), "a number stands on two papers"
    assert [number[-4:] for number in there] == [f"{count:04}" for count in range(1, len(there) + 1)]
    assert [kept(kept_here, number)["quote"]["number"] for number in there] == there


def test_a_piece_from_the_shelf_is_sold_by_what_it_cost(shop: Any, run: Run) -> None:
    """With a fifth of the price as margin a piece of 8 is sold at 10; without a cost at what a new one is."""

    def rod(shelf: str) -> dict[str, Any]:
        shop.write("catalog/stock.yaml", f"- stock: sport-rod\n  shelf: [{{place: rack, count: 4{shelf}}}]\n")
        data = json.loads(quote(run, shop, "sport", "--draft", "--json").out)
        (line,) = (line for line in data["lines"] if line["id"] == "sport-rod")
        return dict(line)

    assert [rod(", cost: 8 GBP")[key] for key in ("quantity", "unit", "unit_price")] == ["4", "piece", "10.00"]
    assert rod("")["unit_price"] == "200.00"  # 640 for four
    shop.edit("catalog/parts/extra.yaml", f"  sold_by: [{{{ROD_PRICE}}}]\n", "")
    assert rod(", cost: 8 GBP")["amount"] == "40.00"
    shop.edit("catalog/stock.yaml", ", cost: 8 GBP", "")
    said = one_fault(run("quote", "sport", "--shop", shop.folder, *DAY))
    assert said.startswith("catalog/stock.yaml:1:3: 'sport-rod' is taken from the shelf")
