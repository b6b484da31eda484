"""Workbooks: the shop's own parts given out, edited and brought back; formulas and hidden cells of others."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook

from compat.library.library import load
from tests.cli.conftest import Run
from tests.conftest import Tiny
from tests.lists.conftest import files_of
from tests.lists.small import HEAD, ROWS, Small


@pytest.fixture
def book(tiny: Tiny, run: Run, tmp_path: Path) -> Path:
    path = tmp_path / "parts.xlsx"
    told = run("parts", "--out", path, "--shop", tiny.folder)
    assert told.status == 0, told.err
    return path


def edit(path: Path, sheet: str, part: str, column: str, value: Any, row: int = 0) -> None:
    """Say something else in a cell, as a person would."""
    made = load_workbook(path)
    cells = made[sheet]
    head = [str(cell.value).split(" (")[0] for cell in cells[1]]
    rows = [line for line in range(2, cells.max_row + 1) if cells.cell(line, 1).value == part]
    cells.cell(rows[row] if rows else cells.max_row + 1, head.index(column) + 1, value)
    if not rows:
        cells.cell(cells.max_row, 1, part)
    made.save(path)


def bring(run: Run, tiny: Tiny, path: Path, *more: object) -> dict[str, Any]:
    told = run("bring", path, "--shop", tiny.folder, "--json", *more)
    assert told.status in (0, 1), told.err
    said: dict[str, Any] = json.loads(told.out)
    return said


def test_given_out_and_brought_back_unchanged_nothing_changes(book: Path, tiny: Tiny, run: Run) -> None:
    before = files_of(tiny.folder)
    said = bring(run, tiny, book, "--write")
    assert (said["new"], said["changed"], said["not_read"], said["written"]) == ([], [], [], [])
    assert files_of(tiny.folder) == before


def test_the_demo_goes_out_and_comes_back_as_it_was(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "demo.xlsx"
    assert run("parts", "--out", path).status == 0
    told = run("bring", path)
    assert told.status == 0
    assert "0 new, 0 changed, 0 no longer listed" in told.out


def test_what_was_edited_is_written_where_it_stands(book: Path, tiny: Tiny, run: Run) -> None:
    edit(book, "rod", "sport-rod", "mass", "505 g")
    edit(book, "piston", "sport-piston", "name", "Forged piston, floating")
    edit(book, "prices", "sport-piston", "price", 475.5)
    edit(book, "prices", "sport-rod", "lead", "14 days")
    text = tiny.text("catalog/parts/extra.yaml")
    said = bring(run, tiny, book, "--write")
    assert {(one["part"], one["field"], one["to"]) for one in said["changed"]} == {
        ("sport-rod", "specs.mass", "505 g"),
        ("sport-piston", "name", "Forged piston, floating"),
        ("sport-piston", "price", "475.50 GBP"),
        ("sport-rod", "lead", "14 days"),
    }
    # the basis and note of what was measured stay beside the new value
    assert tiny.text("catalog/parts/extra.yaml") == (
        text.replace("{value: 510 g,", "{value: 505 g,")
        .replace("Forged piston, floating pin", '"Forged piston, floating"')
        .replace("480.00 GBP", "475.50 GBP")
        .replace("lead: 10 days", "lead: 14 days")
    )
    load(tiny.folder)


def test_what_the_shop_edited_meanwhile_stays(book: Path, tiny: Tiny, run: Run) -> None:
    edit(book, "prices", "sport-piston", "price", "475.50 GBP")
    tiny.edit("catalog/parts/extra.yaml", "480.00 GBP", "470 GBP")
    tiny.edit("catalog/parts/extra.yaml", "SR130, price: 640", "SR130, price: 630")
    said = bring(run, tiny, book, "--write")
    assert said["changed"] == []
    assert [(one["from"], one["to"]) for one in said["kept"]] == [("470.00 GBP", "475.50 GBP")]
    assert "price: 630 GBP" in tiny.text("catalog/parts/extra.yaml")


def test_a_new_row_is_a_new_part_with_its_price(book: Path, tiny: Tiny, run: Run) -> None:
    edit(book, "rod", "my-rod", "mass", 499)
    edit(book, "rod", "my-rod", "name", "My own rod")
    edit(book, "prices", "my-rod", "supplier", "quayside")
    edit(book, "prices", "my-rod", "price", "700")
    said = bring(run, tiny, book, "--write")
    assert {one["part"] for one in said["new"]} == {"my-rod"}
    part = load(tiny.folder).shop.parts["my-rod"]
    assert (part.name, part.fills, str(part.sold_by[0].price)) == ("My own rod", ("rod",), "700.00 GBP")


BAD = [
    ("rod", "sport-rod", "mass", "heavy", 1, "'heavy' is no quantity"),
    ("rod", "sport-rod", "mass", "5 mm", 1, "is a length"),
    ("piston", "sport-piston", "pin_retention", "floatin", 1, "did you mean 'floating'?"),
    ("prices", "sport-rod", "price", "9 EUR", 1, "this list is in GBP"),
    ("prices", "sport-rod", "pack", "many", 1, "no number of pieces"),
    ("prices", "no-such", "supplier", "quayside", 1, "part 'no-such' is not known"),
    ("rod", "Sport Rod", "mass", "5 g", 1, "is no id"),
    ("rod", "sport-rod", "families", "hop", 1, "did you mean 'hob'?"),
    ("rod", "sport-rod", "name", "=cmd|'/c calc'!A1", 2, "would run as a formula"),
    ("rod", "sport-rod", "mass", "=1+1", 2, "would run as a formula"),
]


@pytest.mark.parametrize(
    ("sheet", "part", "column", "value", "status", "says"), BAD, ids=[f"{b[2]} {b[3]}" for b in BAD]
)
def test_what_cannot_be_taken_is_told_by_its_cell(
    book: Path, tiny: Tiny, run: Run, sheet: str, part: str, column: str, value: str, status: int, says: str
) -> None:
    edit(book, sheet, part, column, value)
    before = files_of(tiny.folder)
    told = run("bring", book, "--shop", tiny.folder, "--write", "--json")
    assert told.status == status
    assert says in told.out + told.err
    assert f"{book}:{sheet}!" in told.out + told.err
    assert files_of(tiny.folder) == before


def test_a_name_that_looks_like_a_formula_goes_out_as_text(tiny: Tiny, run: Run, tmp_path: Path) -> None:
    tiny.edit("catalog/parts/extra.yaml", "name: Forged piston, floating pin", "name: \"=cmd|'/c calc'!A1\"")
    path = tmp_path / "parts.xlsx"
    assert run("parts", "--of", "piston", "--out", path, "--shop", tiny.folder).status == 0
    cell = next(
        cell
        for row in load_workbook(path)["piston"].iter_rows()
        for cell in row
        if str(cell.value).startswith("=cmd")
    )
    assert cell.data_type == "s" or cell.quotePrefix
    assert bring(run, tiny, path)["changed"] == []


def test_rows_taken_out_and_cells_emptied_take_nothing_away(book: Path, tiny: Tiny, run: Run) -> None:
    made = load_workbook(book)
    made["rod"].delete_rows(2)
    made["piston"].cell(2, 2).value = None
    made.save(book)
    said = bring(run, tiny, book)
    assert said["changed"] == []
    told = " ".join(one["what"] for one in said["told_beside"])
    assert "rows taken out of the workbook; the shop keeps them" in told
    assert "cells emptied; the shop keeps what it says there" in told


# ---- workbooks of suppliers


def supplier_book(small: Small) -> Workbook:
    made = Workbook()
    sheet = made.active
    assert sheet is not None
    sheet.title = "Pistons"
    for row in (HEAD, *ROWS):
        sheet.append(row.split(";"))
    small.list = small.folder / "list.xlsx"
    return made


def test_a_formula_counts_by_the_number_it_was_saved_with_or_not_at_all(small: Small) -> None:
    made = supplier_book(small)
    made["Pistons"]["F2"] = "=100*1.2"
    made.save(small.list)
    told = small.bring("--write")
    assert told.status == 2
    assert f"{small.list}:Pistons!F2: 'Price' says '=100*1.2', which a spreadsheet would run" in told.err


@pytest.mark.parametrize("how", ["row", "column", "sheet"])
def test_what_is_hidden_is_told_and_only_taken_when_asked(small: Small, how: str) -> None:
    made = supplier_book(small)
    sheet = made["Pistons"]
    if how == "row":
        sheet.row_dimensions[3].hidden = True
    elif how == "column":
        sheet.column_dimensions["F"].hidden = True
    else:
        made.create_sheet("Front")
        sheet.sheet_state = "hidden"
    made.save(small.list)
    told = small.bring()
    assert "hidden" in told.out + told.err
    assert told.status == (0 if how == "row" else 2)
    assert "P-2" not in told.out
    small.edit_map("tables:", "hidden: take\ntables:")
    told = small.bring()
    assert told.status == 0
    assert "3 new" in told.out


def test_an_error_and_a_date_are_no_values(small: Small) -> None:
    from datetime import date

    made = supplier_book(small)
    made["Pistons"]["A2"] = date(2026, 3, 8)  # a code 3-8 that a spreadsheet made a day of
    made["Pistons"]["F3"] = "#DIV/0!"
    made.save(small.list)
    said = json.loads(small.bring("--json").out)
    assert {(one["column"], one["why"]) for one in said["not_read"]} == {
        ("Code", "holds the date 2026-03-08, and is the code"),
        ("Price", "holds an error where a price belongs"),
    }


def test_no_workbook_and_one_locked(small: Small) -> None:
    small.list = small.folder / "list.xlsx"
    small.list.write_bytes(b"PK\x03\x04 no more")
    assert "is no workbook" in small.bring().err


def test_a_first_guess_brings_the_list(small: Small) -> None:
    made = Workbook()
    sheet = made.active
    assert sheet is not None
    sheet.title = "Pistons"
    sheet.append(["Quayside, autumn"])
    sheet.append(
        ["Part no.", "Description", "Skirt diameter [mm]", "Compression height (mm)", "Pin retention", "Price"]
    )
    for row in ROWS:
        code, name, skirt, height, pin, price, _ = row.split(";")
        sheet.append(
            [code, name, float(skirt.replace(",", ".")), height.replace(",", "."), pin, f"£{price[:3]}"]
        )
    small.list = small.folder / "quay.xlsx"
    made.save(small.list)
    small.map = small.folder / "guess.yaml"
    told = small.run(
        "bring", small.list, "--guess", "--supplier", "quayside", "--by", small.map, "--shop", small.tiny.folder
    )
    assert told.status == 0, told.err
    text = small.map.read_text()
    assert "fills: {is: piston}" in text
    assert 'skirt_diameter: {column: "Skirt diameter [mm]", unit: mm}   # 74.5 · 75 · 75.5' in text
    assert "price: {column: Price, currency: GBP}   # £120" in text
    told = small.bring("--json")
    assert told.status == 0, told.out + told.err
    new = json.loads(told.out)["new"]
    assert [one["specs.skirt_diameter"] for one in new] == ["74.5 mm", "75 mm", "75.5 mm"]
    assert new[0]["price"] == "120.00 GBP"


def test_a_part_and_its_price_are_told_as_one(book: Path, tiny: Tiny, run: Run) -> None:
    made = load_workbook(book)
    made["rod"].append(["our-rod-x", "Rod of ours"])
    made["prices"].append(["our-rod-x", "quayside", "X-1", 90, 1])
    made.save(book)
    told = run("bring", book, "--write", "--shop", tiny.folder)
    assert told.status == 0, told.err
    assert "New (1)" in told.out
    assert re.search(r"our-rod-x +Rod of ours +rod +90\.00 GBP", told.out)
    written = tiny.text("catalog/parts/of_the_workbook.yaml")
    assert written.startswith("# From a workbook of the shop's own parts.\n")
