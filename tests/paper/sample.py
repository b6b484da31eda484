"""Documents to set: a quote of an invented shop, one with names too long for any column, and random ones."""

from __future__ import annotations

import string
from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from compat.paper.document import (
    Block,
    Cell,
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
    Value,
)
from compat.shop.money import Money

__all__ = ["AWKWARD", "LONG", "SVG", "crammed", "documents", "gbp", "quote", "tables_of", "values_of"]

SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 300 90"><rect x="5" y="5" width="290" height="80" '
    b'fill="none" stroke="#335"/><path d="M10 80 L100 30 L290 10" stroke="#a40" fill="none"/></svg>'
)
LONG = "Kurbelwellenlagerdeckelschraubensatz" * 2 + "ABCDEFGH"  # 80 letters, no blank
AWKWARD = (
    "#let x = 1; #panic() $a_b^2$ *not bold* _not slanted_ @ref <label> [x] `raw` \\ // /* \"said\" 'so' "
    "= + - 1. | & ~ {key} <script>alert(1)</script> --- ..."
)
"""A text that is markup in every format."""
NAMES = (
    "Forged H-section rod 148.0, journal 48",
    "Śruba głowicy kuta M11 × 1,5",
    "Κεφαλή κυλίνδρων, κατεργασία έδρας",
    "Шатун кованый",
    "Head gasket 87.5, multi-layer steel",
)
SYSTEMS = ("Crankshaft and rods", "Cylinder head", "Lubrication", "Boost")


def gbp(text: str) -> Money:
    return Money(Decimal(text), "GBP")


def quote(lines: int = 12, **more: Any) -> Document:
    """A quote of so many lines in groups, whose figures are each other's sums by formula too."""
    rows, net = [], Decimal(0)
    for index in range(lines):
        if index % 9 == 0:
            rows.append(Row((f"{SYSTEMS[index // 9 % 4]} {index // 9}", None, None, None, None), kind="group"))
        count, price = index % 4 + 1, Decimal("13.35") + 7 * index
        net += count * price
        rows.append(
            Row(
                (
                    f"{NAMES[index % len(NAMES)]} ({index})",
                    f"SF-{1480 + index}-H",
                    Cell(count, f"n{index}"),
                    Cell(Money(price, "GBP"), f"p{index}"),
                    Cell(Money(count * price, "GBP"), f"a{index}", f"{{n{index}}}*{{p{index}}}"),
                ),
                note=f"reused where it measures within its limits, {index}" if index % 7 == 3 else "",
            )
        )
    tax = (net * Decimal("0.2")).quantize(Decimal("0.01"))
    rows += [
        Row((label, None, None, None, Cell(Money(sum_, "GBP"), key, formula)), kind="total")
        for label, sum_, key, formula in (
            ("Net", net, "net", f"SUM({{a0}}:{{a{lines - 1}}})"),
            ("Tax 20%", tax, "tax", "ROUND({net}*0.2,2)"),
            ("Total", net + tax, "total", "{net}+{tax}"),
        )
    ]
    columns = [
        Column("What", "text", 3), Column("Code", "code"), Column("Number", "number"), Column("Each", "money"),
        Column("Amount", "money"),
    ]  # fmt: skip
    deposit = ((net + tax) * Decimal("0.3")).quantize(Decimal("0.01"))
    blocks: list[Block] = [
        Entries([
            ("Engine", "Tarn 20, street turbo"),
            ("Valid until", date(2026, 12, 30)),
            ("Deposit", Cell(Money(deposit, "GBP"), "deposit", "ROUND({total}*0.3,2)")),
        ]),
        Text("One conflict stands open; see the last page.", "against"),
        Heading("Parts and work"),
        Table(columns, rows, "Lines"),
        Heading("To be measured"),
        Table(
            [Column("Fit", "text", 2), Column("Target"), Column("Found", "box")],
            [Row(("Piston to bore at skirt", "0.06 to 0.08 mm", None)), Row(("Ring gap", "0.45 mm", "0.47"))],
            "Measured",
        ),
        Heading("Cautions", 2),
        Text(AWKWARD, "caution"),
        Listed(["Tighten as the maker says.", "A named person signs before the first start."], True),
        Together([Heading("Headroom"), Picture(SVG, "Headroom of each part at the goal", 0.7)]),
        Text("Prices are for new parts.", "quiet"),
        Signatures(["For the shop, date", "For the customer, date"]),
    ]  # fmt: skip
    said: dict[str, Any] = {
        "title": "Quote",
        "blocks": blocks,
        "number": "Q-2026-0007",
        "subject": "Weekend car with a turbo",
        "sender": ["Fellside Engine Works", "14 Quarry Lane", "Harrowby"],
        "receiver": ["Agnieszka Wiśniewska-Żółkiewska", "ul. Jasna 4/7"],
        "dated": date(2026, 11, 30),
        "foot": "Fellside Engine Works, advice on stated figures, no warranty",
        "data": {"number": "Q-2026-0007", "total": Money(net + tax, "GBP"), "dated": date(2026, 11, 30)},
    }  # fmt: skip
    return Document(**{**said, **more})


def crammed(**more: Any) -> Document:
    """A document in which every text is too long for its place."""
    wide = "W" * 80
    columns = [
        Column("What", "text", 3), Column("Code", "code"), Column("Number", "number"), Column(wide, "money"),
        Column("Found", "box"),
    ]  # fmt: skip
    rows = [
        Row((LONG, LONG, 3, gbp("123456789.99"), None)),
        Row((wide, "c", Decimal("1.500"), gbp("0.125"), wide), note=wide),
        Row((wide, None, None, None, None), kind="group"),
        Row((None, wide, None, gbp("1"), None)),
        Row((wide, None, None, gbp("-5"), None), kind="total"),
    ]
    blocks: list[Block] = [
        Heading(wide), Heading(LONG, 2), Text(f"{wide} {LONG}", "caution"), Text(wide, "against"), Text(LONG),
        Text(wide, "strong"), Listed([wide, LONG], True), Listed([wide], tone="caution"),
        Entries([(wide, wide), ("Short", LONG), ("Money", gbp("12345678.99"))]),
        Table(columns, rows, wide),
        Table([Column(f"Column {n}") for n in range(9)], [Row(["Zylinderkopfdichtung"] * 9), Row(["a b"] * 9)]),
        Table([Column(f"Box {n}", "box") for n in range(12)], [Row(["123.456"] * 12), Row([None] * 12)]),
        Signatures([wide, LONG, "x"]),
    ]  # fmt: skip
    said: dict[str, Any] = {
        "title": wide, "blocks": blocks,
        "number": wide, "subject": wide, "sender": [wide, wide], "receiver": [wide, LONG], "foot": wide,
        "dated": date(2026, 1, 2),
    }  # fmt: skip
    return Document(**{**said, **more})


def _flat(blocks: Sequence[Block]) -> Iterator[Block]:
    for block in blocks:
        yield from _flat(block.blocks) if isinstance(block, Together) else [block]


def tables_of(document: Document) -> list[Table]:
    return [block for block in _flat(document.blocks) if isinstance(block, Table)]


def values_of(document: Document) -> Iterator[tuple[Value | Cell, str]]:
    """All that a document says in its blocks, each with the sort that it is written by."""
    for block in _flat(document.blocks):
        match block:
            case Heading(text) | Text(text):
                yield text, "text"
            case Listed(items) | Signatures(items):
                yield from ((item, "text") for item in items)
            case Entries(entries):
                for label, value in entries:
                    yield from ((label, "text"), (value, "text"))
            case Table(columns, rows):
                yield from ((column.title, "text") for column in columns)
                for row in rows:
                    yield row.note, "text"
                    yield from zip(row.cells, (column.sort for column in columns), strict=True)


# ---- random ones

LETTERS = string.ascii_letters + string.digits + string.punctuation + "ąćęłńóśźżŚŻΑβγΔώήςΩЖшИ£€°×±–"
words = st.text(LETTERS, min_size=1, max_size=12)
texts = st.lists(words | st.just(LONG), min_size=1, max_size=8).map(" ".join) | st.sampled_from(
    ["=1+1", "@sum", "-4 fitting", "+12", "a\nb", "# x", "1. first", "\x1b[31mred", '=HYPERLINK("x")', "| a |"]
)
decimals = st.decimals(-(10**7), 10**7, places=2)
moneys = st.builds(Money, decimals, st.sampled_from(["GBP", "EUR", "PLN", "JPY"]))
days = st.dates(date(2000, 1, 1), date(2099, 12, 31))
BY_SORT: dict[str, st.SearchStrategy[Any]] = {
    "text": texts, "code": words, "number": decimals | st.integers(-9999, 10**6), "money": moneys,
    "percent": st.decimals(0, 1, places=3), "date": days, "box": st.none() | words,
}  # fmt: skip


@st.composite
def tables(draw: st.DrawFn) -> Table:
    sorts = draw(st.lists(st.sampled_from(sorted(BY_SORT)), min_size=1, max_size=7))
    columns = [Column(draw(words), sort, draw(st.sampled_from([0.5, 1.0, 3.0]))) for sort in sorts]  # type: ignore[arg-type]
    row = st.builds(
        Row,
        st.tuples(*(BY_SORT[sort] | st.none() for sort in sorts)),
        kind=st.sampled_from(["line", "line", "line", "group", "total"]),
        note=st.just("") | texts,
    )
    return Table(columns, draw(st.lists(row, max_size=14)), draw(st.just("") | texts))


plain_blocks: st.SearchStrategy[Block] = st.one_of(
    st.builds(Heading, texts, st.sampled_from([1, 2])),
    st.builds(Text, texts, st.sampled_from(["plain", "strong", "quiet", "caution", "against"])),
    st.builds(Listed, st.lists(texts, max_size=4), st.booleans()),
    st.builds(Entries, st.lists(st.tuples(texts, texts | moneys | days | decimals), max_size=4)),
    tables(),
    st.just(Picture(SVG, "a drawing")),
    st.builds(Signatures, st.lists(texts, max_size=3)),
)
documents = st.builds(
    Document,
    title=texts,
    blocks=st.lists(plain_blocks | st.builds(Together, st.lists(plain_blocks, max_size=3)), max_size=6),
    number=st.just("") | words,
    subject=st.just("") | texts,
    sender=st.lists(texts, max_size=3),
    receiver=st.lists(texts, max_size=3),
    dated=st.none() | days,
    foot=st.just("") | texts,
    paper=st.sampled_from(["A4", "Letter"]),
    language=st.sampled_from(["en_GB", "de_DE", "pl_PL", "el_GR"]),
)
