"""The full-text index of the parts of a shop: words, sizes and prices, to search by, part by part.

It stands in the kept file beside the sealed entries, and is rewritten with the parts of files that are read.
What it finds are ids; whatever is told of a part is read from the part's own entry. FTS5 of SQLite finds words.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache

from compat.library.store import Draft, Store
from compat.shop.models import Part, Price
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot
from compat.units import Band

__all__ = ["Goods", "GoodsWriter", "Size", "Wanted", "can_search", "goods_of"]

DAY = 86_400.0
ROUNDING = 1e-12
"""What the width of a size may be off, as a share of the size."""
TABLES = (
    "CREATE TABLE IF NOT EXISTS goods (doc INTEGER PRIMARY KEY, part TEXT NOT NULL UNIQUE, "
    "families TEXT NOT NULL, supplier TEXT, each REAL, currency TEXT, lead REAL)",
    "CREATE VIRTUAL TABLE IF NOT EXISTS texts USING fts5(part, name, fills, sold, said, detail = column, "
    "tokenize = \"unicode61 remove_diacritics 2 tokenchars '_'\")",
    "CREATE VIRTUAL TABLE IF NOT EXISTS spelt USING fts5vocab(texts, row)",
    "CREATE TABLE IF NOT EXISTS specs (spec INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, "
    "widest REAL NOT NULL)",
    "CREATE TABLE IF NOT EXISTS sizes (doc INTEGER, spec INTEGER, low REAL, high REAL, "
    "PRIMARY KEY (doc, spec)) WITHOUT ROWID",
    "CREATE TABLE IF NOT EXISTS asks (doc INTEGER, number INTEGER, supplier TEXT, each REAL, currency TEXT, "
    "lead REAL, PRIMARY KEY (doc, number)) WITHOUT ROWID",
)
"""A part stands in `goods` with its first offer, since most have one; the others stand in `asks`."""
BY_SIZE = "CREATE INDEX IF NOT EXISTS by_size ON sizes (spec, low, high)"
"""Made last: of many sizes at once it is made much faster than row by row."""
BROAD = 1000
"""Where more parts are found, the cheapest are picked before they are put in order."""
LOOKED_AT = 10
"""For each part that is told so many of the cheapest offers are looked at then."""
MANY = 2000
"""So many new parts, and the words are brought into one piece, which is read faster."""


@cache
def can_search() -> bool:
    """Whether the SQLite of this Python has a full-text index."""
    connection = sqlite3.connect(":memory:")
    try:
        connection.execute("CREATE VIRTUAL TABLE probe USING fts5(word, detail = column)")
    except sqlite3.OperationalError:
        return False
    finally:
        connection.close()
    return True


class GoodsWriter:
    """Writes what a search reads.

    Parameters
    ----------
    draft : Draft
        Gets it, or holds that of parts which stay.
    """

    def __init__(self, draft: Draft) -> None:
        self._draft = draft
        self._new = 0
        self._able = can_search()
        self._specs: dict[str, tuple[int, float]] = {}
        """By its name the number of a spec, and how wide the widest size of it is at most."""
        if self._able:
            for statement in TABLES:
                draft.run(statement)
            self._specs = {
                str(name): (int(number), float(widest))
                for number, name, widest in draft.ask("SELECT spec, name, widest FROM specs")
            }

    def take(self, part: Part) -> None:
        """Write what is searched of a part, its specs typed."""
        if not self._able:
            return
        self._new += 1
        offers = [_offered(offer) for offer in part.sold_by]
        doc = self._draft.run(
            "INSERT INTO goods (part, families, supplier, each, currency, lead) VALUES (?, ?, ?, ?, ?, ?)",
            part.part, f" {' '.join(part.families)} ", *(offers[0] if offers else [None] * 4),
        )  # fmt: skip
        sold = " ".join(f"{offer.supplier} {offer.code}" for offer in part.sold_by)
        said = f"{' '.join(_words(part))} {part.note}"
        self._draft.run(
            "INSERT INTO texts (rowid, part, name, fills, sold, said) VALUES (?, ?, ?, ?, ?, ?)",
            doc, part.part, part.name, " ".join(part.fills), sold, said,
        )  # fmt: skip
        bands = ((spec, getattr(stated, "value", None)) for spec, stated in part.specs.items())
        sizes = [(doc, self._spec(spec, b), b.low, b.high) for spec, b in bands if isinstance(b, Band)]
        self._draft.run_each("INSERT INTO sizes VALUES (?, ?, ?, ?)", sizes)
        for number, offer in enumerate(offers[1:]):
            self._draft.run("INSERT INTO asks VALUES (?, ?, ?, ?, ?, ?)", doc, number, *offer)

    def _spec(self, name: str, band: Band) -> int:
        """The number of a spec, which is told of as wide a size as this."""
        width = (band.high - band.low) * (1 + ROUNDING) + abs(band.high) * ROUNDING
        number, widest = self._specs.get(name, (len(self._specs) + 1, -1.0))
        if width > widest:
            self._draft.run("INSERT OR REPLACE INTO specs VALUES (?, ?, ?)", number, name, width)
            self._specs[name] = number, width
        return number

    def remove(self, part: str) -> None:
        """Take out what is searched of a part."""
        if not self._able:
            return
        for (doc,) in self._draft.ask("SELECT doc FROM goods WHERE part = ?", part):
            for table, key in (("texts", "rowid"), ("sizes", "doc"), ("asks", "doc"), ("goods", "doc")):
                self._draft.run(f"DELETE FROM {table} WHERE {key} = ?", doc)

    def finish(self) -> None:
        """Make the index of sizes, and bring the words into one piece where many are new."""
        if self._able:
            self._draft.run(BY_SIZE)
        if self._able and self._new > MANY:
            self._draft.run("INSERT INTO texts (texts) VALUES ('optimize')")


def _offered(offer: Price) -> tuple[str, float, str, float | None]:
    """Supplier, price of a piece, currency and days of an offer; floats order, and are told to nobody."""
    lead = offer.lead.nominal / DAY if offer.lead is not None else None
    return offer.supplier, float(offer.price.amount / offer.pack), offer.price.currency, lead


def _words(part: Part) -> Iterable[str]:
    """What the specs of a part say in words; a flag that holds says its name."""
    for name, stated in part.specs.items():
        value = getattr(stated, "value", None)
        if value is True:
            yield name.replace("_", " ")
        elif isinstance(value, str):
            yield value.replace("_", " ")
        elif isinstance(value, tuple):
            yield from (one.replace("_", " ") for one in value if isinstance(one, str))


@dataclass(frozen=True, slots=True)
class Size:
    """Specs of which one is to lie in a range, SI."""

    specs: tuple[str, ...]
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is searched: all of it must hold."""

    words: tuple[str, ...] = ()
    """Clauses as FTS5 reads them."""
    sizes: tuple[Size, ...] = ()
    supplier: str = ""
    family: str = ""
    """Parts made for it, or for any."""
    among: tuple[str, ...] | None = None
    """Only of these parts."""
    rates: Mapping[str, Decimal] = field(default_factory=dict)
    """What one of each currency is in the shop's own."""
    leads: Mapping[str, float] = field(default_factory=dict)
    """Days of suppliers that state them."""
    here: tuple[str, ...] = ()
    """Parts on the shelf."""


class Goods:
    """Searches what was written.

    Parameters
    ----------
    store : Store
        The kept file.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def search(self, wanted: Wanted, order: str = "price", most: int = 20) -> tuple[int, list[str]]:
        """Find parts.

        Parameters
        ----------
        wanted : Wanted
            What is searched.
        order : {"price", "lead"}
            The cheapest piece first, or what is here or in soonest; what nobody sells comes last.
        most : int
            So many are given at most.

        Returns
        -------
        tuple of int and list of str
            How many there are, and the ids of the first.
        """
        count, among = self._docs(wanted)
        rates = {key: float(rate) for key, rate in wanted.rates.items()}
        if among is not None and len(among) > BROAD and order == "price":
            among = self._cheap(among, wanted, rates, most)
        docs = json.dumps(sorted(among)) if among is not None else None
        rows = [_Offers("g", wanted, docs, rates), _Offers("a", wanted, docs, rates)]
        first, then = ("money", "days") if order == "price" else ("days", "money")
        union = " UNION ALL ".join(f"SELECT g.part, {one.told} FROM {one.source}" for one in rows)
        values = [value for one in rows for value in one.values]
        limit = 2 * most
        while True:  # a part of several offers stands in several rows
            found = self._store.ask(
                f"SELECT part FROM ({union}) ORDER BY {first} IS NULL, {first}, {then} IS NULL, {then}, part "
                f"LIMIT {int(limit)}",
                *values,
            )
            parts = list(dict.fromkeys(str(part) for (part,) in found))
            if len(parts) >= most or len(found) < limit:
                return count, parts[:most]
            limit *= 4

    def _docs(self, wanted: Wanted) -> tuple[int, set[int] | None]:
        """How many parts there are; and which, where more than words decides."""
        if not (wanted.sizes or wanted.family or wanted.supplier or wanted.among is not None):
            if not wanted.words:
                return int(self._store.ask("SELECT count(*) FROM goods")[0][0]), None
            asked = "SELECT count(*) FROM texts WHERE texts MATCH ?"
            return int(self._store.ask(asked, _all(wanted.words))[0][0]), None
        (first, values), *others = _conditions(wanted)
        for text, own in others:
            first += f" AND +doc IN ({text})"
            values = [*values, *own]
        # one text of many numbers is read several times as fast as many rows
        told = self._store.ask(f"SELECT json_group_array(doc) FROM ({first})", *values)
        docs = set(json.loads(told[0][0]))
        return len(docs), docs

    def _cheap(self, docs: set[int], wanted: Wanted, rates: Mapping[str, float], most: int) -> set[int]:
        """Those of many parts that can be among the first by price, where these are enough.

        All that costs less than the dearest of some cheapest offers is among these; days and names, which part
        what costs the same, are then worked out for few.
        """
        rate, rated = _case("currency", rates)
        where = "doc IN (SELECT value FROM json_each(?))"
        own: list[object] = [*rated, json.dumps(sorted(docs))]
        if wanted.supplier:
            where, own = f"{where} AND supplier = ?", [*own, wanted.supplier]
        one = f"SELECT doc, each * {rate} AS money FROM"
        limit = LOOKED_AT * most
        offers = self._store.ask(
            f"SELECT doc, money FROM ({one} goods WHERE {where} UNION ALL {one} asks WHERE {where}) "
            f"WHERE money IS NOT NULL ORDER BY money LIMIT {int(limit)}",
            *own, *own,
        )  # fmt: skip
        below = offers[-1][1] if len(offers) == limit else float("inf")
        cheap = {doc for doc, money in offers if money < below}
        return cheap if len(cheap) >= most else docs

    def spelt(self, words: Sequence[str]) -> dict[str, int]:
        """Those of some words that stand in a part, with in how many."""
        asked = "SELECT term, doc FROM spelt WHERE term IN (SELECT value FROM json_each(?))"
        return {str(term): int(count) for term, count in self._store.ask(asked, json.dumps(words))}

    def beginning(self, start: str, most: int = 1) -> dict[str, int]:
        """Words that begin so, with in how many parts they stand."""
        asked = f"SELECT term, doc FROM spelt WHERE term >= ? AND term < ? LIMIT {int(most)}"
        return {str(term): int(count) for term, count in self._store.ask(asked, start, start + "\U0010ffff")}


class _Offers:
    """Offers of the parts that are wanted: the first ones (`g`), or the others (`a`), with price and days."""

    def __init__(self, of: str, wanted: Wanted, docs: str | None, rates: Mapping[str, float]) -> None:
        rate, rated = _case(f"{of}.currency", rates)
        days, stated = _case(f"{of}.supplier", wanted.leads)
        days = f"coalesce({of}.lead, {days})"
        if wanted.here:
            here = "SELECT doc FROM goods WHERE part IN (SELECT value FROM json_each(?))"
            days = f"CASE WHEN g.doc IN ({here}) THEN 0 ELSE {days} END"
            stated = [json.dumps(wanted.here), *stated]
        self.told = f"{of}.each * {rate} AS money, {days} AS days"
        base = "goods g" if of == "g" else "asks a JOIN goods g ON g.doc = a.doc"
        where, own = "1", list[object]()
        if docs is not None:
            where, own = f"{of}.doc IN (SELECT value FROM json_each(?))", [docs]
        elif wanted.words and of == "g":
            base = "texts t CROSS JOIN goods g ON g.doc = t.rowid"
            where, own = "texts MATCH ?", [_all(wanted.words)]
        elif wanted.words:
            where, own = "a.doc IN (SELECT rowid FROM texts WHERE texts MATCH ?)", [_all(wanted.words)]
        if wanted.supplier:
            where, own = f"{where} AND {of}.supplier = ?", [*own, wanted.supplier]
        self.source = f"{base} WHERE {where}"
        self.values = [*rated, *stated, *own]


def _conditions(wanted: Wanted) -> Iterator[tuple[str, list[object]]]:
    """Questions that each give `doc` of the parts of which something holds, the most telling first."""
    if wanted.words:
        yield "SELECT rowid AS doc FROM texts WHERE texts MATCH ?", [_all(wanted.words)]
    if wanted.among is not None:
        yield "SELECT doc FROM goods WHERE part IN (SELECT value FROM json_each(?))", [json.dumps(wanted.among)]
    for size in wanted.sizes:
        # no size begins further below the range than the widest of its spec reaches
        yield (
            (
                "SELECT doc FROM specs k CROSS JOIN sizes s ON s.spec = k.spec "
                f"AND s.low BETWEEN ? - k.widest AND ? AND s.high >= ? WHERE k.name IN ({_marks(size.specs)})"
            ),
            [size.low, size.high, size.low, *size.specs],
        )
    if wanted.supplier:
        offering = "SELECT doc FROM goods WHERE supplier = ? UNION ALL SELECT doc FROM asks WHERE supplier = ?"
        yield f"SELECT doc FROM ({offering}) WHERE 1", [wanted.supplier, wanted.supplier]
    if wanted.family:
        made_for = "SELECT doc FROM goods WHERE (families = '  ' OR instr(families, ?))"
        yield made_for, [f" {wanted.family} "]


def _marks(values: Sequence[object]) -> str:
    return ", ".join("?" * len(values))


def _all(clauses: Sequence[str]) -> str:
    return " AND ".join(f"({clause})" for clause in clauses)


def _case(column: str, table: Mapping[str, object]) -> tuple[str, list[object]]:
    """What a column stands for, and the values of it."""
    if not table:
        return "NULL", []
    return f"CASE {column} {'WHEN ? THEN ? ' * len(table)}END", [one for pair in table.items() for one in pair]


def goods_of(shop: Shop) -> Goods:
    """The index of a shop: the kept one, else one made now, for as long as the program runs.

    Raises
    ------
    Faults
        When the SQLite of this Python has no full-text index.
    """
    if not can_search():
        message = "the SQLite of this Python has no full-text index (FTS5), which a search needs"
        raise Faults([Fault(Spot("find", 0), message)])
    rows = getattr(shop, "rows", None)
    if rows is not None:
        return Goods(rows.store)
    draft = Draft()
    writer = GoodsWriter(draft)
    for name, part in shop.parts.items():
        writer.take(replace(part, specs=shop.specs[name]))
    writer.finish()
    return Goods(draft)
