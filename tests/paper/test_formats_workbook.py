"""XLSX: formulas come to the values that the document says, text stays text, the same bytes each time."""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings

from compat.paper.document import Cell, Column, Document, Entries, Row, Table, Text
from compat.paper.formats.values import bare
from compat.paper.formats.workbook import workbook
from compat.paper.visible import visible
from compat.shop.money import Money
from tests.paper.sample import AWKWARD, documents, gbp, quote, tables_of, values_of


def opened(document: Document, *, values: bool = False) -> Any:
    return openpyxl.load_workbook(io.BytesIO(workbook(document)), data_only=values)


def live(document: Document) -> list[Cell]:
    return [value for value, _ in values_of(document) if isinstance(value, Cell) and value.formula]


def test_formulas_come_to_the_values_of_the_document(tmp_path: Path) -> None:
    """Worked out by the library `formulas`, which knows nothing of this program."""
    import formulas

    document = quote(20)
    path = tmp_path / "q.xlsx"
    path.write_bytes(workbook(document))
    solved = formulas.ExcelModel().loads(str(path)).finish().calculate()
    found = {}
    for key, ranges in solved.items():
        if place := re.fullmatch(r"'\[q\.xlsx\]([^']+)'!([A-Z]+\d+)", str(key)):
            found[place[1].lower(), place[2]] = ranges.value[0, 0]
    sheets = opened(document)
    count = 0
    for sheet in sheets:
        kept = opened(document, values=True)[sheet.title]
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    count += 1
                    assert found[sheet.title.lower(), cell.coordinate] == pytest.approx(
                        kept[cell.coordinate].value
                    )
    assert count == len(live(document)) == 24
    total = next(cell for cell in live(document) if cell.key == "total")
    last = f"E{sheets['Lines'].max_row}"
    assert Decimal(str(round(found["lines", last], 2))) == total.value.amount  # type: ignore[union-attr]


def test_a_formula_reaches_other_sheets_and_spans() -> None:
    document = quote(12)
    front = opened(document)["Quote"]
    deposit = next(
        cell.value for row in front.iter_rows() for cell in row if str(cell.value).startswith("=ROUND")
    )
    assert re.fullmatch(r"=ROUND\('Lines'!E\d+\*0\.3,2\)", deposit)
    sums = [cell.value for cell in opened(document)["Lines"]["E"] if str(cell.value).startswith("=SUM")]
    assert sums == ["=SUM(E3:E15)"]
    across = Document("Sum", [
        Table([Column("What", "number")], [Row([Cell(1, "a")]), Row([Cell(2, "b")])], "One"),
        Entries([("All", Cell(3, "", "SUM({a}:{b})"))]),
    ])  # fmt: skip
    assert "=SUM('One'!A2:A3)" in [cell.value for row in opened(across)["Sum"].iter_rows() for cell in row]


def test_a_formula_that_names_no_cell_is_told() -> None:
    with pytest.raises(ValueError, match="not there: nobody"):
        workbook(Document("Sum", [Entries([("All", Cell(3, "", "{nobody}+1"))])]))


def test_what_a_person_wrote_is_text() -> None:
    texts = [
        "=1+1",
        "+1",
        "-1",
        "@SUM(A1)",
        '=HYPERLINK("http://x","y")',
        AWKWARD,
        "0012",
        "1e5",
        "TRUE",
        "\t=1",
    ]
    book = opened(Document("=2+2", [
        *map(Text, texts),
        Table([Column(text) for text in texts], [Row(texts), Row(texts, kind="total")], "=A1"),
    ], number="=3", sender=["=4"], foot="=5"))  # fmt: skip
    kinds = {
        cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None
    }
    assert kinds == {"s"}
    said = [cell.value for sheet in book for row in sheet.iter_rows() for cell in row]
    assert all(said.count(text) >= 3 for text in texts)
    assert book.worksheets[1]["A2"].quotePrefix  # stays text when somebody opens the cell and leaves it


def test_numbers_are_numbers_in_their_format() -> None:
    row = Row((gbp("1234.5"), Decimal("86.00"), 3, Decimal("0.085"), date(2026, 3, 9), "0012"))
    columns = [
        Column("Money", "money"), Column("Size", "number"), Column("Count", "number"),
        Column("Share", "percent"), Column("Day", "date"), Column("Code", "code"),
    ]  # fmt: skip
    document = Document("Numbers", [Table(columns, [row], "T")])
    cells = opened(document)["T"][2]
    assert [cell.value for cell in cells] == [1234.5, 86, 3, 0.085, datetime(2026, 3, 9), "0012"]
    assert [cell.number_format for cell in cells[:4]] == [
        '"£"#,##0.00;-"£"#,##0.00',
        "#,##0.00",
        "#,##0",
        "0.0%",
    ]
    german = opened(replace(document, language="de_DE"))["T"][2][0].number_format
    assert german == '#,##0.00\u00a0"£";-#,##0.00\u00a0"£"'
    fine = Document(
        "Numbers", [Table([Column("Each", "money")], [Row([gbp("0.125")]), Row([Money(Decimal(7), "JPY")])])]
    )
    assert [row[0].number_format.split(";")[0] for row in opened(fine)["Table"].iter_rows(min_row=2)] == [
        '"£"#,##0.000', '"JP¥"#,##0',
    ]  # fmt: skip


def test_a_sheet_is_ready_to_work_with() -> None:
    book = opened(quote(30))
    sheet = book["Lines"]
    assert sheet.freeze_panes == "A2"
    assert sheet.print_title_rows == "$1:$1"
    assert [cell.value for cell in sheet[1]] == ["What", "Code", "Number", "Each", "Amount", "Note"]
    assert 30 < sheet.column_dimensions["A"].width <= 60
    assert sheet.column_dimensions["E"].width > len("£12,345.67")
    assert sheet.page_setup.paperSize == 9
    assert opened(quote(1, paper="Letter"))["Lines"].page_setup.paperSize == 1


def test_tables_of_the_same_or_an_impossible_name_get_sheets_of_their_own() -> None:
    names = ["Lines", "lines", "a/b*c?[d]:e\\f'", "", "", "x" * 60, "x" * 61, "History", "Quote"]
    book = opened(Document("Quote", [Table([Column("A")], [Row([name])], name) for name in names]))
    titles = [sheet.title for sheet in book]
    assert len({title.lower() for title in titles}) == len(names) + 1
    assert all(0 < len(title) <= 31 and not set(title) & set("[]:*?/\\'") for title in titles)
    assert [sheet["A2"].value or "" for sheet in book.worksheets[1:]] == names


def test_the_same_document_gives_the_same_bytes() -> None:
    made = workbook(quote(9))
    assert workbook(quote(9)) == made
    with zipfile.ZipFile(io.BytesIO(made)) as package:
        assert {entry.date_time for entry in package.infolist()} == {(2026, 11, 30, 0, 0, 0)}
        assert b"2026-11-30T00:00:00Z" in package.read("docProps/core.xml")


@settings(max_examples=25)
@given(documents)
def test_any_document_is_written_with_all_its_values(document: Document) -> None:
    book = opened(document)
    said = [cell.value for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    texts, numbers = "\n".join(map(str, said)), [value for value in said if not isinstance(value, str)]
    for value, _ in values_of(document):
        value = bare(value)
        if isinstance(value, str):
            assert visible(value).strip() in texts
        elif isinstance(value, date):
            assert datetime(value.year, value.month, value.day) in numbers
        elif value is not None:
            assert float(value.amount if isinstance(value, Money) else value) in numbers
    assert len(book.worksheets) == 1 + len(tables_of(document))
