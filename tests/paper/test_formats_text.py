"""CSV, Markdown, HTML, JSON and plain text: all that a document says, and nothing of it read as markup."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from html.parser import HTMLParser
from typing import Any

import pytest
from hypothesis import given, settings
from markdown_it import MarkdownIt
from rich.cells import cell_len

from compat.paper.document import (
    Cell,
    Column,
    Document,
    Entries,
    Heading,
    Listed,
    Picture,
    Row,
    Table,
    Text,
    Value,
)
from compat.paper.formats.csv_rows import csv_rows
from compat.paper.formats.data import json_text
from compat.paper.formats.markdown import markdown
from compat.paper.formats.page import page
from compat.paper.formats.text import text
from compat.paper.formats.values import bare, plain, shown
from compat.paper.visible import visible
from compat.shop.money import Money
from tests.paper.sample import AWKWARD, crammed, documents, gbp, quote, tables_of, values_of


def packed(said: str) -> str:
    return re.sub(r"\s", "", visible(said))


def missing(document: Document, said: str) -> list[Value | Cell]:
    """What a document says and a text does not."""
    said = packed(said)
    return [
        value
        for value, sort in values_of(document)
        if packed(shown(bare(value), sort, document.language)) not in said  # type: ignore[arg-type]
    ]


# ---- values


@pytest.mark.parametrize(
    ("language", "money", "number", "share", "day"),
    [
        # Unicode CLDR, as babel carries it
        ("en_GB", "£1,234,567.50", "-1,234.500", "8.5%", "9 Mar 2026"),
        ("de_DE", "1.234.567,50 £", "-1.234,500", "8,5 %", "09.03.2026"),
        ("pl_PL", "1 234 567,50 GBP", "-1 234,500", "8,5%", "9 mar 2026"),
        ("el_GR", "1.234.567,50 £", "-1.234,500", "8,5%", "9 Μαρ 2026"),
    ],
)
def test_values_in_a_language(language: str, money: str, number: str, share: str, day: str) -> None:
    found = [
        shown(gbp("1234567.50"), "money", language),
        shown(Decimal("-1234.500"), "number", language),
        shown(Decimal("0.085"), "percent", language),
        shown(date(2026, 3, 9), "date", language),
    ]
    assert [re.sub(r"\s", " ", one) for one in found] == [money, number, share, day]


def test_no_digit_is_added_or_lost() -> None:
    assert shown(gbp("0.12345")) == "£0.12345"
    assert shown(Decimal("123456789012345678.90"), "number") == "123,456,789,012,345,678.90"
    assert shown(Decimal("1E+3"), "number") == "1,000"
    assert shown(12345, "code") == "12345"
    assert (shown(None), shown(Decimal("0.00"), "number")) == ("", "0.00")
    assert (plain(Decimal("1E+3")), plain(7), plain(None)) == ("1000", "7", "")


# ---- CSV


def rows(document: Document) -> list[list[str]]:
    return list(csv.reader(io.StringIO(csv_rows(document), newline=""), strict=True))


def test_one_table_is_one_clean_table_of_rows() -> None:
    document = quote(11)
    said = csv_rows(Document("Quote", [tables_of(document)[0]]))
    assert said.endswith("\r\n")  # RFC 4180, section 2
    found = rows(Document("Quote", [tables_of(document)[0]]))
    assert found[0] == ["Group", "What", "Code", "Number", "Each (GBP)", "Amount (GBP)", "Note"]
    assert {len(row) for row in found} == {7}
    assert found[1][:1] + found[1][2:] == ["Crankshaft and rods 0", "SF-1480-H", "1", "13.35", "13.35", ""]
    assert sum(Decimal(row[5]) for row in found[1:12]) == Decimal(found[12][5])
    assert [row[1] for row in found[12:]] == ["Net", "Tax 20%", "Total"]


def test_several_tables_stand_after_their_names() -> None:
    found = rows(quote(2))
    assert found[0] == ["Lines"]
    assert found[found.index([]) + 1] == ["Measured"]
    entries = Entries([("Number", 3), ("Price", gbp("1.5")), ("Day", date(2026, 1, 2))])
    assert rows(Document("Data", [entries])) == [["Number", "3"], ["Price", "1.5 GBP"], ["Day", "2026-01-02"]]


@pytest.mark.parametrize("said", ["=1+1", "+1", "-4 fitting", "@SUM(A1)", "\t=1", " =1", '=cmd|"/C calc"!A0'])
def test_no_text_is_taken_for_a_formula(said: str) -> None:
    found = rows(Document("Quote", [Table([Column(said), Column("n", "number")], [Row((said, Decimal(-4)))])]))
    assert found == [[f"'{said}", "n"], [f"'{said}", "-4"]]


def test_two_currencies_in_a_column_stand_in_its_cells() -> None:
    table = Table([Column("Each", "money")], [Row([gbp("1.50")]), Row([Money(Decimal(2), "EUR")])])
    assert rows(Document("Quote", [table])) == [["Each"], ["1.50 GBP"], ["2 EUR"]]


# ---- Markdown


def read_back(said: str) -> str:
    """The text that a reader of CommonMark sees, by the library markdown-it."""
    out = []
    for token in MarkdownIt("commonmark", {"html": True}).enable("table").parse(said):
        for child in token.children or []:
            assert child.type not in ("link_open", "image", "code_inline"), child
            if child.type == "html_inline":
                assert child.content == "<br>"
            out.append(" " if child.type in ("softbreak", "hardbreak", "html_inline") else child.content)
        assert token.type not in ("code_block", "fence", "html_block"), token
    return " ".join(out).replace("\u2060", "")


def test_markdown_shows_what_was_written() -> None:
    document = Document(AWKWARD, [
        Heading(AWKWARD), Text(AWKWARD, "caution"),
        Text("# no heading\n- no list\n1. nor this\n+ x\n=== \n> q"),
        Listed([AWKWARD, "1. a"]), Entries([(AWKWARD, AWKWARD)]),
        Table([Column(AWKWARD)], [Row([AWKWARD], note="a\nb|c")]),
    ])  # fmt: skip
    said = markdown(document)
    found = packed(read_back(said))
    assert found.count(packed(AWKWARD)) == 8
    assert packed("# no heading- no list1. nor this+ x===> q") in found
    kinds = [token.type for token in MarkdownIt("commonmark").enable("table").parse(said)]
    assert (kinds.count("heading_open"), kinds.count("bullet_list_open"), kinds.count("ordered_list_open")) == (
        2,
        1,
        0,
    )


def test_a_table_of_markdown_is_one() -> None:
    said = markdown(quote(10))
    tokens = MarkdownIt("commonmark").enable("table").parse(said)
    assert sum(token.type == "table_open" for token in tokens) == 3
    assert [value for value in missing(quote(10), read_back(said)) if bare(value) is not None] == []
    assert "| ---: |" in said


# ---- HTML


class Page(HTMLParser):
    """What stands in a page: its tags with their attributes, and its text."""

    def __init__(self, said: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, Any]]] = []
        self.open: list[str] = []
        self.said = ""
        self.feed(said)
        self.close()
        assert not self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "br", "img"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.said += data


def test_a_page_stands_by_itself() -> None:
    said = page(quote(12, title=AWKWARD, across="DRAFT"))
    found = Page(said)
    names = {tag for tag, _ in found.tags}
    assert not names & {"script", "link", "iframe", "object", "base", "form", "svg"}
    for tag, attributes in found.tags:
        for name, value in attributes.items():
            assert not name.startswith("on")
            if name in ("src", "href"):
                assert (tag, value.split(",")[0]) == ("img", "data:image/svg+xml;base64")
    assert not any(word in said.replace("http-equiv", "") for word in ("url(", "@import", "http"))
    assert packed(AWKWARD) in packed(found.said)
    assert [name for name in missing(quote(12), found.said) if bare(name) is not None] == []


def test_a_page_reads_well_to_one_who_hears_it() -> None:
    found = Page(page(quote(12, words="de")))
    assert ("html", {"lang": "de"}) in found.tags
    scopes = [attributes.get("scope") for tag, attributes in found.tags if tag == "th"]
    assert scopes.count("col") == 8
    assert scopes.count("rowgroup") == 2
    assert scopes.count("row") == 3
    assert [attributes["alt"] for tag, attributes in found.tags if tag == "img"] == [
        "Headroom of each part at the goal"
    ]
    assert sum(tag == "h1" for tag, _ in found.tags) == 1
    assert sum(tag == "caption" for tag, _ in found.tags) == 2
    said = page(quote(2))
    assert all(word in said for word in ("prefers-color-scheme: dark", "@media print", "width=device-width"))


def test_a_drawing_in_a_page_cannot_act() -> None:
    said = page(Document("Drawing", [Picture(b"<svg><script>alert(1)</script></svg>", '"><script>')]))
    assert "<script" not in said


# ---- JSON


def test_data_is_plain() -> None:
    document = Document("Quote", [], data={
        "total": gbp("1234.50"), "day": date(2026, 3, 9), "rate": Decimal("0.20"), "count": 3, "none": None,
        "lines": (gbp("1"), "x\x9b"), "clean": True,
    })  # fmt: skip
    assert json.loads(json_text(document)) == {
        "total": "1234.50", "day": "2026-03-09", "rate": "0.20", "count": 3, "none": None,
        "lines": ["1", "x\x9b"], "clean": True,
    }  # fmt: skip
    assert "\x9b" not in json_text(document)


# ---- plain text


def words_of(document: Document) -> Iterator[str]:
    """Every word of a document that no column is too narrow for."""
    for value, sort in values_of(document):
        yield from (
            word
            for word in visible(shown(bare(value), sort, document.language)).split()  # type: ignore[arg-type]
            if len(word) < 14
        )


@pytest.mark.parametrize("width", [40, 60, 80, 100, 140, 200])
def test_text_holds_all_and_keeps_to_its_width(width: int) -> None:
    document = quote(12, across="DRAFT")
    said = text(document, width)
    # in the narrowest, where rows stand one by one, the first value of a row goes without its title
    first = {table.columns[0].title for table in tables_of(document)} if width == 40 else set()
    assert [word for word in words_of(document) if word not in said and word not in first] == []
    if width >= 140:
        assert [value for value in missing(document, said) if bare(value) is not None] == []
    assert max(cell_len(line) for line in said.splitlines()) <= width
    assert not any(line != line.rstrip() for line in said.splitlines())
    assert "\x1b" not in said


def test_figures_stand_below_each_other() -> None:
    lines = [line for line in text(quote(12), 100).splitlines() if "£" in line and "Deposit" not in line]
    assert len({len(line) for line in lines}) == 1


def test_a_window_too_narrow_for_columns_gets_row_after_row() -> None:
    said = text(crammed(), 40)
    assert "W" * 80 in said  # a word is never torn where it stands alone
    columns = [Column("What"), *(Column(f"Col {n}", "money") for n in range(6))]
    said = text(Document("Wide", [Table(columns, [Row(["Rod", *[gbp("1234.50")] * 6])])]), 60)
    assert "  Rod  £1,234.50\n    Col 1: £1,234.50; Col 2: £1,234.50;" in said


def test_words_are_folded_fairly_and_figures_never() -> None:
    columns = [Column("One"), Column("Two"), Column("Number of pieces", "number"), Column("Found", "box")]
    document = Document("Wide", [Table(columns, [Row(("many words " * 9, "other words " * 9, 4, None))])])
    for width in (100, 70, 55):
        head = next(line for line in text(document, width).splitlines() if "Two" in line)
        left, right = head.index("Two") - 2, head.index("Number") - head.index("Two")
        assert abs(left - right) <= 2
        assert ("of pieces" in head) == (width > 55)  # a title is folded when the words have no more to give
        assert any(line.endswith("4  [______]") for line in text(document, width).splitlines())


def test_a_list_hangs_and_a_caution_is_marked() -> None:
    said = text(Document("List", [Listed(["word " * 30], tone="caution"), Listed(["x", "y"], True)]), 60)
    assert said.splitlines()[1].startswith("  ! word")
    assert said.splitlines()[2].startswith("    word")
    assert "  1. x\n  2. y\n" in said


# ---- any document


@settings(max_examples=40)
@given(documents)
def test_any_document_is_written_with_all_that_it_says(document: Document) -> None:
    for said in (Page(page(document)).said, read_back(markdown(document))):
        assert [value for value in missing(document, said) if bare(value) is not None] == []
    said = text(document, 200)
    assert [word for word in words_of(document) if word not in said] == []
    text(document, 40)
    found = {said for row in rows(document) for cell in row for said in (cell, cell.removeprefix("'"))}
    for table in tables_of(document):
        for row in table.rows:
            for cell in map(bare, row.cells):
                if row.kind != "group" and isinstance(cell, str):
                    assert visible(cell) in found
                elif row.kind != "group" and isinstance(cell, Decimal):
                    assert f"{cell:f}" in found
