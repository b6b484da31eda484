"""What is wrong with a list or a mapping: told at its place, all at once, exit status 2, nothing written."""

from __future__ import annotations

import json

import pytest

from tests.lists.conftest import files_of
from tests.lists.small import HEAD, ROWS, Small

MAPS = [
    ("column: Skirt,", "column: Skrit,", "has no column 'Skrit'; did you mean 'Skirt'?"),
    ("price: Price", "price: Preis", "has no column 'Preis'"),
    ("supplier: quayside", "supplier: quaysied", "supplier 'quaysied' is not known; did you mean 'quayside'?"),
    ("is: piston", "is: pistn", "position 'pistn' is not known; did you mean 'piston'?"),
    ("[hob]", "[hop]", "family 'hop' is not known; did you mean 'hob'?"),
    (
        "skirt_diameter:",
        "skirt_diametre:",
        "spec 'skirt_diametre' is not declared for position 'piston'; did you mean",
    ),
    ("unit: mm", "unit: kg", "'skirt_diameter' is in kg here, and wants a quantity in mm"),
    ("unit: mm", "unit: mmm", "unit 'mmm' is not known"),
    ("    pack: Pack", "    pakc: Pack", "'pakc' is not known in a mapping; did you mean 'pack'?"),
    ("pin_retention: Pin", "pin_retention: {column: Pin, words: {a: pressd}}", "did you mean 'pressed'?"),
    ("    name: Name\n", "", "a mapping needs 'tables.0.name'"),
    ("code: Code", "code: {column: Code, is: x}", "says one of 'column', 'pattern' and 'is'"),
    ("tables:", "separator: ''\ntables:", "'separator' is one sign"),
    ("tables:", "encoding: utf-9\ntables:", "'utf-9' is no code page"),
    ("tables:", "into: ../x.yaml\ntables:", "'into' is a file below catalog"),
    ("  - code", "  - sheet: One\n    code", "has no sheet 'One'; it has no sheets"),
    ("    price: Price", "    sizes: {column: Pin, adds: {mass: 1}}", "spec 'mass' is not declared"),
]


@pytest.mark.parametrize(
    ("old", "new", "says"), MAPS, ids=[new.strip()[:30] or old.strip() for old, new, _ in MAPS]
)
def test_a_wrong_mapping_is_told_at_its_place(small: Small, old: str, new: str, says: str) -> None:
    small.edit_map(old, new)
    before = files_of(small.tiny.folder)
    told = small.bring("--write")
    assert told.status == 2
    assert says in told.err
    assert f"{small.map}:" in told.err
    assert "nothing was brought" in told.err
    assert files_of(small.tiny.folder) == before


def test_all_that_is_wrong_is_told_at_once(small: Small) -> None:
    small.edit_map("is: piston", "is: pistn")
    small.edit_map("[hob]", "[hop]")
    small.edit_map("supplier: quayside", "supplier: quaysied")
    assert small.bring().err.count("did you mean") == 3


LISTS = {
    "two parts with one code": (
        [*ROWS, "p-1;Again;74,500;31,00;floating;120,00;4"],
        "code 'p-1' is that of two rows",
    ),
    "two codes, one id": (
        [*ROWS, "P 1;Again;74,500;31,00;floating;120,00;4"],
        "would both be part 'quayside-p-1'",
    ),
    "a formula": (
        [ROWS[0], "=cmd|'/c calc'!A1;Evil;74,500;31,00;floating;120,00;4"],
        "'Code' says '=cmd|'/c calc'!A1', which a spreadsheet would run as a formula",
    ),
    "a formula in a name": (
        [*ROWS, "P-4;@SUM(1+1)*cmd;74,5;31,00;floating;120,00;4"],
        "'Name' says '@SUM(1+1)*cmd'",
    ),
    "a formula with a plus": ([*ROWS, "P-4;+cmd|x;74,5;31,00;floating;120,00;4"], "run as a formula"),
    "an open quotation mark": ([*ROWS, '"P-4;Piston;74,5'], "a quotation mark is not closed"),
    "commas and points": (
        [ROWS[0], ROWS[1].replace("75,000", "75.25")],
        "list.csv:3:3: '75.25' are not written with the same sign before decimals",
    ),
}


@pytest.mark.parametrize("name", LISTS)
def test_a_list_that_is_wrong_as_a_whole_brings_nothing(small: Small, name: str) -> None:
    rows, says = LISTS[name]
    small.rows(*rows)
    before = files_of(small.tiny.folder)
    told = small.bring("--write")
    assert told.status == 2, told.out
    assert says in told.err
    assert str(small.list) in told.err
    assert files_of(small.tiny.folder) == before


def test_a_list_without_rows_is_told(small: Small) -> None:
    small.rows(*ROWS)
    assert small.bring("--write").status == 0
    small.rows()
    told = small.bring(dated="2026-11-09")
    assert told.status == 0
    assert "3 no longer listed" in told.out
    assert "no row stands below the headings" in " ".join(told.out.split())
    small.list.write_text("")
    told = small.bring(dated="2026-11-09")
    assert told.status == 2
    assert f"{small.list} is empty" in told.err


def test_a_mapping_in_other_money_than_the_supplier_sells_in_is_refused(small: Small) -> None:
    """An order would refuse such prices, and nobody would hear of it before."""
    small.edit_map("price: Price", "price: {column: Price, currency: EUR}")
    told = small.bring()
    assert told.status == 2
    assert "prices in EUR, and 'quayside' sells in GBP: one of the two is wrong" in told.err


def test_what_says_no_number_as_people_mean_it_is_not_read(small: Small) -> None:
    small.edit_map("tables:", "decimal: ','\ntables:")
    small.rows(
        *ROWS,
        'P-4;Piston four;2.953 in;31,00;floating;120,00;4',
        "P-5;Piston five;0.075;31,00;floating;120,00;4",
        "P-6;Piston six;75,000;31,00;floating;2026-05-01;4",
        ";;Piston seven;75,000;31,00;floating;120,00;4",
        "//;Piston eight;75,000;31,00;floating;120,00;4",
    )  # fmt: skip
    told = small.bring("--json")
    assert told.status == 1, told.err
    why = {one["code"]: one["why"] for one in json.loads(told.out)["not_read"]}
    assert why["P-4"] == "'2.953' would be thousands of inches, as this list has a decimal comma"
    assert why["P-5"] == "'0.075' is no number with a decimal comma, as this list writes them"
    assert why["P-6"] == "'2026-05-01' is a date, and no price"
    assert why["//"] == "makes no id: it has neither letters nor digits"


def test_a_size_far_from_the_usual_is_told(small: Small) -> None:
    """A wrong unit reads as sound a number as the right one."""
    small.rows(*ROWS)
    assert "far from what is usual" not in small.bring().out
    small.rows(*ROWS, "P-4;Piston four;7,450;31,00;floating;120,00;4")
    told = " ".join(small.bring().out.split())
    assert "skirt diameter far from what is usual for piston: 7.450 mm of quayside-p-4;" in told
    small.rows(*ROWS)
    small.edit_map("skirt_diameter: {column: Skirt, unit: mm}", "skirt_diameter: {column: Skirt, unit: in}")
    told = " ".join(small.bring().out.split())
    assert "skirt diameter far from what is usual for piston: 74.500 in of quayside-p-1" in told


def test_numbers_that_may_be_either_want_a_word(small: Small) -> None:
    small.rows("P-1;Piston;75,250;31,000;floating;120,005;4")
    told = small.bring()
    assert told.status == 2
    assert "say which in the mapping, `decimal: ','` or `decimal: '.'`" in told.err
    small.edit_map("tables:", "decimal: ','\ntables:")
    assert small.bring().status == 1  # the price is finer than a penny
    small.rows("P-1;Piston;75,250;31,000;floating;120;4")
    assert small.bring().status == 0


def test_what_is_typed_wrong(small: Small) -> None:
    shop = small.tiny.folder
    cases = [
        (small.bring(dated=""), "does not say of what day the list is"),
        (small.bring("--until", "2026-01-01"), "the list would end on 2026-01-01, before its own day"),
        (small.run("bring", small.list, "--shop", shop), "is no workbook of `compat parts --out`"),
        (
            small.run(
                "bring", small.folder / "no.csv", "--by", small.map, "--shop", shop, "--dated", "2026-01-01"
            ),
            "no.csv:1:1: cannot be read: No such file",
        ),
        (
            small.run("bring", small.map, "--by", small.map, "--shop", shop, "--dated", "2026-01-01"),
            "'.yaml' is no ending of a list",
        ),
        (small.run("bring", small.list, "--guess", "--shop", shop), "--guess: say whose list it is"),
        (
            small.run(
                "bring", small.list, "--guess", "--supplier", "quayside", "--by", small.map, "--shop", shop
            ),
            "is there already, and --guess writes over no mapping",
        ),
        (
            small.run("bring", small.list, "--guess", "--supplier", "quay", "--shop", shop),
            "supplier 'quay' is not known",
        ),
        (small.run("bring", small.list, "--by", small.map, "--dated", "tomorrow", "--shop", shop), "is no day"),
        (small.run("parts", "--shop", shop), "say which position, or name the workbook"),
        (
            small.run("parts", "--of", "pistn", "--out", small.folder / "x.xlsx", "--shop", shop),
            "did you mean 'piston'?",
        ),
        (
            small.run("parts", "--out", small.folder / "x.csv", "--shop", shop),
            "the ending '.csv' says no format",
        ),
    ]
    for told, says in cases:
        assert told.status == 2, told.out
        assert says in told.err


def test_an_older_list_does_not_come_after_a_newer(small: Small) -> None:
    assert small.bring("--write").status == 0
    told = small.bring("--write", dated="2026-10-01")
    assert told.status == 2
    assert "the list is of 2026-10-01, and the shop has the one of 2026-11-02 already" in told.err


def test_the_demo_shop_is_not_written(small: Small) -> None:
    small.map.write_text(small.map.read_text().replace("quayside", "northgate").replace("[hob]", "[tarn]")
                         .replace("skirt_diameter", "bore_size"))  # fmt: skip
    told = small.run("bring", small.list, "--by", small.map, "--dated", "2026-11-02", "--write")
    assert told.status == 2
    assert "the demo shop comes with the program and stays as it is" in told.err


def test_a_memory_that_somebody_edited_is_told(small: Small) -> None:
    small.bring("--write")
    path = small.tiny.folder / "lists/quay-pistons.jsonl"
    path.write_text(path.read_text() + "{}\n")
    told = small.bring()
    assert told.status == 2
    assert "lists/quay-pistons.jsonl:4:1: is not what was written here" in told.err


def test_an_entry_that_its_letters_cannot_change_is_told(small: Small) -> None:
    small.bring("--write")
    text = small.parts
    shared = text.replace("price: 120.00 GBP", "price: &p 120.00 GBP").replace("price: 130.00 GBP", "price: *p")
    small.tiny.write("catalog/parts/quay_pistons.yaml", shared)
    small.rows(ROWS[0].replace("120,00", "121,00"), *ROWS[1:])
    told = small.bring("--write")
    assert told.status == 2
    assert "change it by hand" in told.err
    assert small.parts == shared


def test_headings_at_their_row_and_columns_by_letter(small: Small) -> None:
    small.list.write_text("\n".join(ROWS) + "\n")
    small.edit_map("  - code: Code\n    name: Name", "  - heading: 0\n    code: A\n    name: B")
    for column, letter in (
        ("Skirt,", "C,"),
        ("Height,", "D,"),
        ("Pin\n", "E\n"),
        ("Price\n", "F\n"),
        ("Pack\n", "G\n"),
    ):
        small.edit_map(f": {column}", f": {letter}")
    assert "3 new" in small.bring().out
    small.list.write_text("\n".join(["old list", HEAD, *ROWS]))
    small.edit_map("heading: 0", "heading: 1")
    assert "has no column 'A'" in small.bring().err
