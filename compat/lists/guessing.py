"""A first mapping of a list: headings and units made out, examples beside each line; a person finishes it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from compat.lists.bringing import read_file
from compat.lists.grid import HEAD_WITHIN, Line, Page
from compat.lists.headings import Headings, named
from compat.lists.trade_words import COLUMNS, POSITIONS, SPECS
from compat.lists.units_said import UNIT, currency_said, unit_of_cells, unit_said
from compat.lists.values import decimal_sign, plain_text, slug
from compat.shop.entry_lines import flow
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot, nearest
from compat.shop.specs import SpecKind
from compat.units import unit

__all__ = ["guessed"]

SURE = 78.0
"""Likeness, of 100, from which a heading is taken for what it is like."""
EXAMPLES = 3
WORDS = 2.0
"""So many words a cell that says what a part is has at least, on average."""
MOST_KINDS = 40
"""So many different words a column that says what rows are has at most."""
AS_LIKELY = 3
"""Where so many positions are as likely as each other none of them is guessed."""
LOOKED_AT = 400
"""So many rows are looked at."""


@dataclass
class _Column:
    at: int
    title: str
    """As a mapping names it."""
    bare: str
    """Its own words, without its unit."""
    unit: str
    examples: list[str] = field(default_factory=list)
    numbers: float = 0.0
    """Share of its cells that hold a number."""

    @property
    def words(self) -> float:
        """How many words its cells say on average."""
        return sum(len(text.split()) for text in self.examples) / max(len(self.examples), 1)


def guessed(path: Path, supplier: str, shop: Shop, shown: str = "") -> str:
    """Make a first mapping of a list.

    Parameters
    ----------
    path : Path
        The list.
    supplier : str
        Whose it is.
    shop : Shop
        The shop whose positions and specs its headings are held against.
    shown : str, optional
        How messages name the list; else by its path.

    Returns
    -------
    str
        The mapping, as YAML with comments: what each column says, and what could not be made out.

    Raises
    ------
    Faults
        When the list cannot be read, has no row of headings, or the supplier is not known.
    """
    if supplier not in shop.suppliers:
        hint = nearest(supplier, shop.suppliers) or "; give it an entry, with its name and currency"
        raise Faults([Fault(Spot("--supplier", 0), f"supplier '{supplier}' is not known{hint}")])
    file = read_file(path, shown=shown)
    tables: list[str] = []
    skipped: list[str] = []
    several = len(file.pages) > 1
    texts: list[str] = []
    for page in file.pages:
        head = _head(page)
        if head is None or page.hidden:
            if page.lines:
                skipped.append(f"# sheet '{page.name}' is {'hidden' if page.hidden else 'no table'}: not read")
            continue
        columns = list(_columns(page, head))
        texts += [text for column in columns if column.numbers > 0.5 for text in column.examples]
        tables += _Guess(page, head, columns, shop, supplier, several).lines()
    if not tables:
        raise Faults([Fault(Spot(shown or str(path), 0), "has no row of headings over rows of values")])
    sign, doubts = decimal_sign(texts)
    name = slug(f"{supplier} {path.stem}")
    lines = [
        "# A first guess: every line wants a look. Columns of the list are named as its headings are written.",
        *(f"# {remark}" for remark in file.remarks),
        f"list: {name}",
        f"supplier: {supplier}",
        "# date: 2026-11-30        # of the list; or --dated with each",
        "# expires: 2027-05-31     # the last day on which its prices hold; or --until",
        f"decimal: {flow(sign)}" if sign else f'decimal: "."   # {" and ".join(doubts)} may be either: look',
        *skipped,
        "tables:",
        *tables,
    ]
    return "\n".join(lines) + "\n"


def _head(page: Page) -> Headings | None:
    """The row that looks most like headings: many texts without numbers, and as many cells below."""
    best: tuple[float, Headings] | None = None
    for place, line in enumerate(page.lines[:HEAD_WITHIN]):
        over = page.lines[place - 1] if place else None
        if over is not None and (
            over.number != line.number - 1 or not any(c.across for c in over.cells.values())
        ):
            over = None
        cells = {**(over.cells if over is not None else {}), **line.cells}
        texts = [cell for cell in cells.values() if not re.search(r"^[\d.,]+$", cell.text)]
        below = page.lines[place + 1 : place + 6]
        if len(texts) < 2 or len(texts) < len(cells) or not below or _goes_on(line, below[0], page):
            continue
        filled = sum(at in other.cells for other in below for at in cells) / len(below)
        numbers = sum(bool(re.match(r"\W*\d", cell.text)) for other in below for cell in other.cells.values())
        known = sum(max(_like(cell.text, words) for words in COLUMNS.values()) > SURE for cell in texts)
        score = filled + known + (numbers > 0)
        if best is None or score > best[0]:
            best = score, named(line, over)
    return best[1] if best is not None else None


def _goes_on(line: Line, below: Line, page: Page) -> bool:
    """Whether headings reach down into the next row, merged with it."""
    same = (below.cells[at].text == cell.text for at, cell in line.cells.items() if at in below.cells)
    return below.number in page.joined and any(same)


def _columns(page: Page, head: Headings) -> Iterator[_Column]:
    lines = [line for line in page.lines if line.number > head.row and not line.hidden][:LOOKED_AT]
    for at, title in zip(sorted(head.spots), head.names, strict=True):
        cells = [line.cells[at] for line in lines if at in line.cells and not line.cells[at].across]
        texts = list(dict.fromkeys(cell.text for cell in cells))
        own = title.split(" / ")[-1]
        match = UNIT.search(own)
        bare = UNIT.sub(" ", own).strip(" ,") or own
        numbers = sum(bool(re.match(r"\W{0,3}\d", text)) for text in texts) / max(len(texts), 1)
        said = unit_said(match) or (unit_of_cells(texts) if numbers > 0.5 else "")
        yield _Column(at, title, bare, said, texts[:LOOKED_AT], numbers)


def _like(text: str, words: Sequence[str]) -> float:
    from rapidfuzz import fuzz, utils

    plain = utils.default_process(plain_text(text))
    return max((fuzz.ratio(plain, utils.default_process(word)) for word in words), default=0.0)


class _Guess:
    def __init__(
        self, page: Page, head: Headings, columns: Sequence[_Column], shop: Shop, supplier: str, several: bool
    ) -> None:
        self.page, self.head, self.columns, self.shop, self.supplier = page, head, columns, shop, supplier
        self.several = several
        self.fields: dict[str, _Column] = {}
        self.specs: dict[str, tuple[_Column, SpecKind]] = {}
        self.kinds: dict[str, str] = {}
        """Positions by what a column calls them, where rows say what they are."""

    def lines(self) -> Iterator[str]:
        self.find_fields()
        self.find_kinds()
        position, others = ("", []) if self.kinds else self.find_position()
        if position or self.kinds:
            self.find_specs(dict.fromkeys(self.kinds.values()) if self.kinds else [position])
        yield from self.table(position, others)

    def find_fields(self) -> None:
        """Columns that are no specs, the most alike first."""
        scored = [
            (_like(column.bare, words), name, column)
            for column in self.columns
            for name, words in COLUMNS.items()
            if (name not in ("price", "pack") or column.numbers > 0.3) and not (column.unit and name != "lead")
        ]
        for score, name, column in sorted(scored, key=lambda one: -one[0]):
            if score >= SURE and name not in self.fields and column not in self.fields.values():
                self.fields[name] = column
        left = [column for column in self.columns if column not in self.fields.values()]
        if "price" not in self.fields:
            signed = [one for one in left if any(re.search(r"[€£$¥]", text) for text in one.examples)]
            if signed:
                self.fields["price"] = signed[0]
        if "name" not in self.fields:
            worded = [one for one in left if one.numbers < 0.5 and not one.unit and one.words >= WORDS]
            if worded:
                self.fields["name"] = max(worded, key=lambda one: one.words)

    def find_kinds(self) -> None:
        """The positions that a column names row by row; its words must name one at least."""
        column = self.fields.get("fills")
        if column is None or len(column.examples) > MOST_KINDS:
            return
        named = {}
        for text in column.examples:
            likeness, place = max((_like(text, self.calls(place)), place) for place in self.shop.positions)
            named[text] = place if likeness >= SURE else ""
        if any(named.values()):
            self.kinds = named

    def calls(self, place: str) -> tuple[str, ...]:
        """What a position may be called."""
        return place.replace("_", " "), self.shop.positions[place].name, *POSITIONS.get(place, ())

    def find_position(self) -> tuple[str, list[str]]:
        """The position that sheet, file and names speak of or whose specs the headings are like; and others."""
        left = [column for column in self.columns if column not in self.fields.values()]
        words = [re.sub(r"s$", "", word) for word in (self.page.name, Path(self.page.spot.file).stem)]
        name = self.fields.get("name")
        names = [text.casefold() for text in name.examples] if name is not None else []
        scored = []
        for place in self.shop.positions:
            calls = self.calls(place)
            called = max(_like(word, calls) for word in words)
            spoken = max(sum(call.casefold() in text for text in names) for call in calls) / max(len(names), 1)
            kinds = self.shop.kinds.get(place, {})
            alike = [
                max((self.likeness(column, kind) for kind in kinds.values()), default=0.0) for column in left
            ]
            score = sum(one for one in alike if one >= SURE) + (300 if called >= SURE else 0) + 300 * spoken
            if score > 0:
                scored.append((-score, place))
        scored.sort()
        if not scored or sum(score <= 0.99 * scored[0][0] for score, _ in scored) >= AS_LIKELY:
            return "", []  # what every part states tells none from another
        return scored[0][1], [place for score, place in scored[1:4] if score < 0.8 * scored[0][0]]

    def likeness(self, column: _Column, kind: SpecKind) -> float:
        """How much a heading is like a spec, 0 to 100."""
        if column.unit and (kind.sort != "quantity" or unit(column.unit).dimension != kind.dimension):
            return 0.0
        if kind.sort == "quantity" and column.numbers < 0.5:
            return 0.0
        calls = (kind.name.replace("_", " "), *SPECS.get(kind.name, ()))
        return _like(column.bare, calls)

    def find_specs(self, positions: Iterable[str]) -> None:
        left = [column for column in self.columns if column not in self.fields.values()]
        scored = [
            (self.likeness(column, kind), column.at, column, kind)
            for column in left
            for position in positions
            for kind in self.shop.kinds.get(position, {}).values()
        ]
        taken: set[int] = set()
        for score, at, column, kind in sorted(scored, key=lambda one: (-one[0], one[1])):
            if score >= SURE and at not in taken and kind.name not in self.specs:
                self.specs[kind.name] = column, kind
                taken.add(at)

    # ---- the text

    def table(self, position: str, others: Sequence[str]) -> Iterator[str]:
        first = "  - "
        if self.several:
            yield f"{first}sheet: {flow(self.page.name)}"
            first = "    "
        yield f"{first}heading: {self.head.row}"
        code, name = self.fields.get("code"), self.fields.get("name")
        yield self.line("code", code)
        yield self.line("name", name or code)
        place = self.fields.get("fills")
        if position:
            yield f"    fills: {{is: {position}}}" + (f"   # or {', '.join(others)}?" if others else "")
        elif place is not None and self.kinds:
            words = flow({text: named or "WHICH-POSITION" for text, named in self.kinds.items()})
            yield f"    fills: {{column: {flow(place.title)}, words: {words}}}"
        elif place is not None:
            named = f"{{column: {flow(place.title)}, words: {{}}}}"
            yield f"    fills: {named}   # {_shown(place.examples)}: say what each is"
        else:
            yield "    fills: {is: WHICH-POSITION}   # a position of the shop: compat show positions"
        if families := list(self.shop.families):
            yield f"    # families: [{', '.join(families[:4])}]   # the engines they are made for"
        if self.specs:
            yield "    specs:"
        for spec, (column, kind) in sorted(self.specs.items(), key=lambda one: one[1][0].at):
            yield f"      {spec}: {self.spec(column, kind)}   # {_shown(column.examples)}"
        if "sizes" in self.fields:
            yield from self.sizes(self.fields["sizes"], position)
        if "price" in self.fields:
            yield self.price(self.fields["price"])
        if "pack" in self.fields:
            yield self.line("pack", self.fields["pack"])
        if "lead" in self.fields:
            yield self.line("lead", self.fields["lead"])
        taken = {id(one) for one in (*self.fields.values(), *(column for column, _ in self.specs.values()))}
        for column in self.columns:
            if id(column) not in taken or (column is place and not self.kinds):
                unit_ = f", unit: {column.unit}" if column.unit else ""
                told = f"{{column: {flow(column.title)}{unit_}}}"
                yield f"    # not made out: {told}   # {_shown(column.examples)}"

    def line(self, key: str, column: _Column | None) -> str:
        if column is None:
            return f"    {key}: WHICH-COLUMN"
        return f"    {key}: {flow(column.title)}   # {_shown(column.examples)}"

    def spec(self, column: _Column, kind: SpecKind) -> str:
        if kind.sort == "quantity" and kind.unit:
            own = column.unit or kind.unit
            return f"{{column: {flow(column.title)}, unit: {own}}}"
        if kind.sort in ("choice", "list"):
            return f"{{column: {flow(column.title)}, words: {self.words(column, kind)}}}"
        return flow(column.title)

    def words(self, column: _Column, kind: SpecKind) -> str:
        from rapidfuzz import process

        found: dict[str, str] = {}
        for text in column.examples[:12]:
            if text.casefold() in kind.words:
                continue
            near = process.extractOne(text.casefold(), kind.words) if kind.words else None
            found[text] = near[0] if near is not None else "WHICH-WORD"
        return flow(found) if found else "{}"

    def price(self, column: _Column) -> str:
        own = self.shop.suppliers[self.supplier].currency
        currency = currency_said([column.title, *column.examples]) or own
        none = []
        for text in column.examples:
            if not re.search(r"\d", text):
                none.append(text)
        asks = f", none: {flow(none[:4])}" if none else ""
        told = f"{{column: {flow(column.title)}, currency: {currency}{asks}}}"
        doubt = f": {self.supplier} sells in {own}, look which is right" if currency != own else ""
        return f"    price: {told}   # {_shown(column.examples)}{doubt}"

    def sizes(self, column: _Column, position: str) -> Iterator[str]:
        split = next((mark for mark in "/;,|" if any(mark in text for text in column.examples)), "/")
        kinds = self.shop.kinds.get(position, {})
        grows = [
            name
            for name in ("bore_size", "skirt_diameter", "bore_diameter")
            if name in kinds and name in self.specs
        ]
        adds = f", adds: {{{', '.join(f'{name}: 1' for name in grows)}}}" if grows else ", adds: {}"
        own = column.unit or ("in" if any(re.search(r"\.0\d\d|\"", text) for text in column.examples) else "mm")
        yield (
            f"    sizes: {{column: {flow(column.title)}, split: {flow(split)}, unit: {own}{adds}}}"
            f"   # {_shown(column.examples)}: which specs grow by it"
        )


def _shown(texts: Sequence[str]) -> str:
    found = []
    for text in texts[:EXAMPLES]:
        found.append(text if len(text) <= 30 else f"{text[:29]}…")
    return " · ".join(found) or "empty"
