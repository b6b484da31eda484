"""The index of the parts of a shop, as it is written: words, sizes and prices, part by part.

It stands in the kept file beside the sealed entries, and is rewritten with the parts of files that are read.
FTS5 of SQLite finds words; `search.py` asks it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from functools import cache

from compat.library.store import Draft
from compat.shop.models import Part, Price
from compat.units import DAY, Band

__all__ = ["GoodsWriter", "can_search"]

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
INDEXES = (
    "CREATE INDEX IF NOT EXISTS by_size ON sizes (spec, low, high)",
    "CREATE INDEX IF NOT EXISTS goods_by_price ON goods (currency, each)",
    "CREATE INDEX IF NOT EXISTS asks_by_price ON asks (currency, each)",
    "CREATE INDEX IF NOT EXISTS goods_by_supplier ON goods (supplier, currency, each)",
    "CREATE INDEX IF NOT EXISTS asks_by_supplier ON asks (supplier, currency, each)",
)
"""Made last: of many parts at once they are made much faster than row by row."""
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
        """Make the indexes of sizes and prices, and bring the words into one piece where many are new."""
        if self._able:
            for statement in INDEXES:
                self._draft.run(statement)
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
