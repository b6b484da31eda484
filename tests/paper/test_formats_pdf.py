"""PDF: every value once, nothing outside the margins, sums never alone, the same bytes each time."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from hypothesis import given, settings

from compat.paper.document import (
    Column,
    Document,
    Entries,
    Heading,
    Listed,
    Picture,
    Row,
    Signatures,
    Table,
    Text,
    Together,
)
from compat.paper.formats.keeping import kept_together, standing_out
from compat.paper.formats.pdf import NotShown, pdf
from compat.paper.formats.values import bare, shown
from compat.paper.visible import visible
from tests.paper.sample import AWKWARD, LONG, SVG, crammed, documents, gbp, quote, values_of

# Margins and look are the house's own; the standards are named where they are held against.
SIDE, TOP, BOTTOM = 21 / 25.4 * 72, 8 / 25.4 * 72, 8 / 25.4 * 72


def pages(made: bytes) -> list[str]:
    opened = pypdfium2.PdfDocument(made)
    # pdfium reads a hyphen at the end of a line as one that is not of the text
    return [page.get_textpage().get_text_range().replace("\ufffe", "-") for page in opened]


def packed(text: str) -> str:
    """A text without its blanks and line ends, as a fold may stand anywhere."""
    return re.sub(r"\s", "", visible(re.sub(r"[\r\n]", "", text)))


def boxes(made: bytes, first: int = 0, last: int = 999) -> Iterator[tuple[str, float, ...]]:
    """Every glyph of some pages with its box and the size of its page."""
    for page in list(pypdfium2.PdfDocument(made))[first : last + 1]:
        width, height = page.get_size()
        text = page.get_textpage()
        said = text.get_text_range()
        if len(said) != text.count_chars():
            said = "?" * text.count_chars()
        for index in range(text.count_chars()):
            if not said[index].isspace():
                yield said[index], *text.get_charbox(index), width, height


def inside(made: bytes) -> None:
    for letter, left, bottom, right, top, width, height in boxes(made):
        assert left >= SIDE - 2, letter
        assert right <= width - SIDE + 2, letter
        assert BOTTOM <= bottom <= top <= height - TOP, letter


def clear(made: bytes) -> None:
    """Nothing at all is drawn in the margins: no rule, box or picture either."""
    for page in pypdfium2.PdfDocument(made):
        drawn = page.render(scale=1).to_numpy()
        side, foot = int(SIDE) - 4, int(BOTTOM)
        for strip in (drawn[:, :side], drawn[:, -side:], drawn[-foot:], drawn[:foot]):
            assert strip.min() == 255


def test_every_value_stands_in_it_once() -> None:
    document = replace(quote(25), title="Quote of ours")
    text = packed("".join(pages(pdf(document))))
    for value, sort in values_of(document):
        said = packed(shown(bare(value), sort, "en_GB"))  # type: ignore[arg-type]
        assert said in text, value
    for once in [
        *(f"SF-{1480 + n}-H" for n in range(25)),
        "£13.35",
        "Net",
        "30Dec2026",
        packed(AWKWARD),
        "20%",
    ]:
        assert text.count(once) == (2 if once == "£13.35" else 1), (
            once
        )  # one piece: each and amount are the same


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("language", ["en_GB", "pl_PL", "el_GR"])
def test_nothing_runs_over_its_place(paper: Any, language: str) -> None:
    made = pdf(crammed(paper=paper, language=language))
    inside(made)
    clear(made)
    text = packed("".join(pages(made)))
    assert text.count(LONG) >= 7
    inside(pdf(quote(200, paper=paper, language=language)))


def test_columns_do_not_run_into_each_other() -> None:
    """No glyph lies over another, for each page of a document in which no text fits its place."""
    made = pdf(crammed())
    for page in range(len(pypdfium2.PdfDocument(made))):
        placed = sorted(box[1:5] for box in boxes(made, page, page) if box[0].isalnum())
        for place, (left, bottom, right, top) in enumerate(placed):
            for other in placed[place + 1 :]:
                if other[0] > right - 1.2:
                    break  # all others begin further to the right
                assert min(top, other[3]) - max(bottom, other[1]) < 1.2, (page, left, bottom, right, top, other)


def test_sums_are_never_alone_on_a_page() -> None:
    seen = set()
    for lines in range(30, 61):
        said = pages(pdf(Document("Quote", quote(lines).blocks[:4], foot="foot")))
        with_sums = [page for page in said if re.search(r"^Total\b", page, re.MULTILINE)]
        assert len(with_sums) == 1
        page = with_sums[0]
        assert all(word in page for word in ("Net", "Tax", f"SF-{1480 + lines - 1}-H")), lines
        seen.add(page.count("-H"))
        for one in said:  # a group's heading is never the last of a page
            assert not re.search(r"(and rods|Cylinder head|Lubrication|Boost) \d+\s+foot\s+Page", one)
    assert min(seen) <= 3  # a page break did fall there


def test_signatures_stand_below_what_is_signed() -> None:
    for lines in range(20, 50, 3):
        document = Document("Sheet", [
            Table([Column("What")], [Row([f"line {n}"]) for n in range(lines)]), Text("All of it is done."),
            Signatures(["Fitter", "Owner"]),
        ])  # fmt: skip
        last = pages(pdf(document))[-1]
        assert all(word in last for word in ("All of it is done", "Fitter", "Owner"))


def test_strong_words_stay_with_what_they_lead() -> None:
    for lines in range(30, 60):
        blocks = [
            Text("\n".join(f"line {n}" for n in range(lines))),
            Text("Led by this:", "strong"),
            Text("Led."),
        ]
        last = pages(pdf(Document("Led", blocks)))[-1]
        assert ("Led by this:" in last) == ("Led." in last)


def test_a_row_is_not_torn_by_a_page() -> None:
    columns = [Column("What"), Column("Found", "box")]
    for lines in (1, 2, 3):
        rows = [Row(("\n".join(f"{letter}{n}." for letter in "abc"[:lines]), None)) for n in range(60)]
        said = pages(pdf(Document("Rows", [Text("\n" * lines), Table(columns, rows)])))
        assert len(said) > 1
        for page in said:
            assert len({len(re.findall(rf"\b{letter}\d+\.", page)) for letter in "abc"[:lines]}) == 1
    much = [Row([" ".join(f"w{n}." for n in range(2500))]), Row(["after"])]  # more than a page holds
    said = pages(pdf(Document("Rows", [Table([Column("What")], much)])))
    assert all(f"w{n}." in "".join(said) for n in range(2500))


def test_tables_of_the_same_columns_lie_in_line() -> None:
    columns = [Column("What"), Column("How it is done"), Column("Each", "money"), Column("Found", "box")]
    said = Document("Sheet", [
        Table(columns, [Row(("short", "x", gbp("1"), None))]), Text("between"),
        Together([Table(columns, [Row(("much longer than that one, " * 3, "y", gbp("123456.78"), None))])]),
    ])  # fmt: skip
    page = pypdfium2.PdfDocument(pdf(said))[0].get_textpage()
    text = page.get_text_range()
    heads = [
        [page.get_charbox(found.start())[0] for found in re.finditer(word, text)] for word in ("How it", "Each")
    ]
    assert all(len(places) == 2 and places[0] == pytest.approx(places[1], abs=0.1) for places in heads)


def test_an_entry_without_a_value_is_a_line_to_fill() -> None:
    blank, filled = (Document("Sheet", [Entries([("Engine number", value)])]) for value in (None, ""))
    drawn = [pypdfium2.PdfDocument(pdf(one))[0].render(scale=2).to_numpy() for one in (blank, filled)]
    assert (drawn[0] != drawn[1]).any()


def test_a_head_stands_on_every_page_of_a_table() -> None:
    said = pages(
        pdf(Document("List", [Table([Column("Title of it")], [Row([f"line {n}"]) for n in range(120)])]))
    )
    assert len(said) > 2
    assert all("Title of it" in page for page in said)
    assert [re.search(r"Page (\d+) of (\d+)", page).groups() for page in said] == [  # type: ignore[union-attr]
        (str(n), str(len(said))) for n in range(1, len(said) + 1)
    ]


def test_the_same_document_gives_the_same_bytes() -> None:
    assert pdf(quote(40)) == pdf(quote(40))
    assert pdf(replace(quote(3), dated=None)) == pdf(replace(quote(3), dated=None))


def test_it_is_tagged_and_says_its_standards_title_and_language() -> None:
    made = pdf(quote(4, words="pl"))
    for mark in (b"/StructTreeRoot", b"/MarkInfo", b"/Lang(pl", b"pdfuaid:part", b"pdfaid:part"):
        assert mark in made, mark
    opened = pypdfium2.PdfDocument(made)
    assert opened.get_metadata_value("Title") == "Quote"
    assert opened.get_metadata_value("Author") == "Fellside Engine Works"
    assert opened.get_metadata_value("CreationDate").startswith("D:20261130")
    assert opened.get_page_size(0) == pytest.approx((595.28, 841.89), abs=0.1)  # A4, ISO 216
    assert pypdfium2.PdfDocument(pdf(quote(4, paper="Letter"))).get_page_size(0) == pytest.approx((612, 792))


def test_a_draft_says_so_across_every_page() -> None:
    said = pages(pdf(quote(60, across="DRAFT")))
    assert len(said) > 1
    assert all("DRAFT" in page for page in said)


def test_letters_that_no_font_has_are_named_all_at_once() -> None:
    with pytest.raises(NotShown) as caught:
        pdf(Document("Letter \ue000", [Text("and \ue123")]))
    told = [str(fault) for fault in caught.value.faults(Path("q.pdf"))]
    assert len(told) == 2
    assert [re.search(r"U\+\w+", line)[0] for line in told] == ["U+E000", "U+E123"]  # type: ignore[index]
    assert all(line.startswith("q.pdf: no font here shows the letter") for line in told)


def test_a_drawing_that_is_none_is_a_fault() -> None:
    with pytest.raises(NotShown, match="cannot be set"):
        pdf(Document("Drawing", [Picture(b"no drawing", "nothing")]))


@pytest.mark.parametrize(("width", "height"), [(10, 3000), (3000, 10), (300, 300), (300, 500)])
def test_a_drawing_of_any_shape_stays_on_its_page(width: int, height: int) -> None:
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}"><rect x="0" y="0" '
        f'width="{width}" height="{height}" fill="#222"/></svg>'
    )
    made = pdf(Document("Drawing", [Text("before"), Picture(svg.encode(), "a bar"), Text("after")]))
    clear(made)
    assert pypdfium2.PdfDocument(made)[0].render(scale=1).to_numpy().min() < 60 or len(pages(made)) == 2


def test_what_stays_together_breaks_where_no_page_would_hold_it() -> None:
    much = Together([Text(f"line {n}") for n in range(120)])
    said = pages(pdf(Document("Long", [much])))
    assert len(said) > 1
    assert all(re.search(rf"\bline {n}\b", "\n".join(said)) for n in range(120))
    sums = Table(
        [Column("What"), Column("Sum", "money")], [Row((f"s{n}", gbp("1")), kind="total") for n in range(99)]
    )
    said = pages(pdf(Document("Sums", [sums, Together([Picture(SVG, "d")])])))
    assert all(f"s{n}" in "".join(said) for n in range(99))


def test_which_rows_are_kept() -> None:
    line, group, total = Row(["x"]), Row(["x"], kind="group"), Row(["x"], kind="total")
    assert kept_together([line, line, line]) == []
    assert kept_together([total]) == []
    assert kept_together([group]) == []
    assert kept_together([group, line, total]) == [(0, 3)]
    assert standing_out([group, line, total, total, line, total]) == [True, False, False, True, False, True]
    assert standing_out([replace(total, strong=True), total]) == [True, False]
    assert kept_together([line, line, line, total, group, line, line, total]) == [(1, 3), (4, 4)]


@settings(max_examples=30)
@given(documents)
def test_any_document_is_set_with_all_that_it_says(document: Document) -> None:
    made = pdf(document)
    inside(made)
    found = pages(made)
    text = packed("".join(found))
    for value, sort in values_of(document):
        said = packed(shown(bare(value), sort, document.language))  # type: ignore[arg-type]
        if said not in text:
            # what runs over to the next page has the foot of the page between its pieces
            lost = [part for part in re.findall(".{1,4}", said) if part not in text]
            assert len(lost) < len(found), value


@pytest.mark.parametrize("lines", range(30, 46, 2))
def test_words_below_a_heading_stay_with_their_table(lines: int) -> None:
    rows = [Row((f"row {index}", index)) for index in range(lines)]
    columns = (Column("What"), Column("Count", "number"))
    made = pdf(Document("Sheet", [
        Table(columns, rows), Heading("Joint"), Text("Look at it."), Table(columns, [Row(("first", 1))]),
        Listed(("Mind the spring",), tone="caution"), Table(columns, [Row(("second", 1))]),
    ]))  # fmt: skip
    said = pages(made)
    page = next(page for page in said if "Look at it." in page)
    assert "Joint" in page
    assert "first" in page
    assert "second" in next(page for page in said if "Mind the spring" in page)
