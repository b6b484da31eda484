"""Searches the index of the parts of a shop (`goods.py`).

What it finds are ids; whatever is told of a part is read from the part's own entry.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from compat.library.goods import GoodsWriter, can_search
from compat.library.store import Draft, Store
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot

__all__ = ["Goods", "Matches", "Size", "Wanted", "goods_of"]

BROAD = 1000
"""Where more parts are found, the cheapest are picked before they are put in order."""
LOOKED_AT = 10
"""For each part that is told so many of the cheapest offers are looked at then."""
COUNTED = 5_000
"""Of what nearly every part has, no more parts are counted than these."""
COMMON = 100_000
"""Sizes in a range: of so many, what has one is not all looked up, but the first few of all parts looked at."""
LAST = "9e999"
"""Orders what has no price, or is not delivered, behind all that is; no number that SQLite holds is larger."""
FIRST = (20, 200)
"""For each part that is told so many offers are looked at then, the first of all; else more."""


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


@dataclass(frozen=True, slots=True)
class Matches:
    """What a search gives."""

    parts: tuple[str, ...]
    """The ids of the first."""
    count: int
    """How many there are."""
    more: bool = False
    """Whether there are at least so many: they were not counted further."""


class Goods:
    """Searches what was written.

    Parameters
    ----------
    store : Store
        The kept file.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def search(self, wanted: Wanted, order: str = "price", most: int = 20) -> Matches:
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
        Matches
            The first of them, and how many there are.
        """
        common = tuple(size for size in wanted.sizes if self._is_common(size))
        if common:
            rest = replace(wanted, family="", sizes=tuple(s for s in wanted.sizes if s not in common))
            _, docs = self._docs(rest, each=True)
            if docs is None or len(docs) > COUNTED:
                if (first := self._first_of_all(wanted, common, docs, order, most)) is not None:
                    return first
                docs = self._docs(wanted)[1]
            else:
                docs = self._passing(docs, wanted.family, common)
            count = len(docs or ())
        else:
            count, docs = self._docs(wanted)
        if docs is not None and len(docs) > BROAD and order == "price":
            docs = self._cheap(docs, wanted, most)
        limit = 2 * most
        while True:  # a part of several offers stands in several rows
            offers = self._in_order(wanted, docs, order, limit)
            parts = list(dict.fromkeys(part for part, _ in offers))
            if len(parts) >= most or len(offers) < limit:
                return Matches(tuple(parts[:most]), count)
            limit *= 4

    def _in_order(self, wanted: Wanted, docs: set[int] | None, order: str, limit: int) -> list[tuple[str, int]]:
        """The first offers of what is wanted, sizes left aside: the id of the part and its number."""
        rates = _floats(wanted.rates)
        known = json.dumps(sorted(docs)) if docs is not None else None
        first, then = ("money", "days") if order == "price" else ("days", "money")
        rows: list[tuple[float, float, str, int]] = []
        for one in (_Offers("g", wanted, known, rates), _Offers("a", wanted, known, rates)):
            rows += self._store.ask(
                f"SELECT coalesce({first}, {LAST}) AS first, coalesce({then}, {LAST}) AS then_, part, doc "
                f"FROM (SELECT g.part, g.doc, {one.told} FROM {one.source}) "
                f"ORDER BY first, then_, part LIMIT {int(limit)}",
                *one.values,
            )
        # each by itself and merged here: of a union the database sorts every row
        return [(part, doc) for _, _, part, doc in sorted(rows)[:limit]]

    def _docs(self, wanted: Wanted, each: bool = False) -> tuple[int, set[int] | None]:
        """How many parts there are; and which, where more than words decides or each is asked for."""
        if not (wanted.sizes or wanted.family or wanted.supplier or wanted.among is not None):
            if not wanted.words:
                return int(self._store.ask("SELECT count(*) FROM goods")[0][0]), None
            if not each:
                asked = "SELECT count(*) FROM texts WHERE texts MATCH ?"
                return int(self._store.ask(asked, _all(wanted.words))[0][0]), None
        (first, values), *others = _conditions(wanted)
        for text, own in others:
            first += f" AND +doc IN ({text})"
            values = [*values, *own]
        docs = self._numbers(first, values)
        return len(docs), docs

    def _numbers(self, question: str, values: Sequence[object]) -> set[int]:
        """The numbers of parts that a question gives: as one text they are read several times as fast."""
        return set(
            json.loads(self._store.ask(f"SELECT json_group_array(doc) FROM ({question})", *values)[0][0])
        )

    # what nearly every part has

    def _is_common(self, size: Size) -> bool:
        text, values = _sized(size)
        asked = f"SELECT count(*) FROM (SELECT 1 FROM ({text}) LIMIT {COMMON})"
        return bool(self._store.ask(asked, *values)[0][0] == COMMON)

    def _first_of_all(
        self, wanted: Wanted, common: tuple[Size, ...], docs: set[int] | None, order: str, most: int
    ) -> Matches | None:
        """The first parts that have common sizes, and so many counted; None where these are too few to tell.

        To look up all that have one takes longer than to look at what comes first.
        """
        if docs is None:
            text, values = _sized(common[0])
            counted = self._passing(
                self._numbers(f"{text} LIMIT {5 * COUNTED}", values), wanted.family, common[1:]
            )
        else:
            counted = self._passing(set(sorted(docs)[: 2 * COUNTED]), wanted.family, common)
        if len(counted) < COUNTED:
            return None
        for each in FIRST:
            offers = self._in_order(wanted, docs, order, each * most)
            passing = self._passing({doc for _, doc in offers}, wanted.family, common)
            parts = list(dict.fromkeys(part for part, doc in offers if doc in passing))
            if len(parts) >= most or len(offers) < each * most:
                return Matches(tuple(parts[:most]), COUNTED, more=True)
        return None

    def _passing(self, docs: set[int], family: str, sizes: Sequence[Size]) -> set[int]:
        """Those of some parts that are made for a family, or for any, and have some sizes."""
        for size in sizes:
            docs = self._numbers(
                "SELECT DISTINCT s.doc FROM json_each(?) j CROSS JOIN sizes s ON s.doc = j.value "
                "WHERE s.low <= ? AND s.high >= ? "
                f"AND +s.spec IN (SELECT spec FROM specs WHERE name IN ({_marks(size.specs)}))",
                [json.dumps(sorted(docs)), size.high, size.low, *size.specs],
            )
        if family:
            text, values = _made_for(family)
            docs = self._numbers(
                f"{text} AND doc IN (SELECT value FROM json_each(?))", [*values, json.dumps(sorted(docs))]
            )
        return docs

    def _cheap(self, docs: set[int], wanted: Wanted, most: int) -> set[int]:
        """Those of many parts that can be among the first by price, where these are enough.

        All that costs less than the dearest of some cheapest offers is among these; days and names, which part
        what costs the same, are then worked out for few.
        """
        rate, rated = _case("currency", _floats(wanted.rates))
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
    yield from map(_sized, wanted.sizes)
    if wanted.supplier:
        offering = "SELECT doc FROM goods WHERE supplier = ? UNION ALL SELECT doc FROM asks WHERE supplier = ?"
        yield f"SELECT doc FROM ({offering}) WHERE 1", [wanted.supplier, wanted.supplier]
    if wanted.family:
        yield _made_for(wanted.family)


def _sized(size: Size) -> tuple[str, list[object]]:
    """Asks for what has a size in a range: none begins further below it than the widest of its spec reaches."""
    question = (
        "SELECT doc FROM specs k CROSS JOIN sizes s ON s.spec = k.spec "
        f"AND s.low BETWEEN ? - k.widest AND ? AND s.high >= ? WHERE k.name IN ({_marks(size.specs)})"
    )
    return question, [size.low, size.high, size.low, *size.specs]


def _made_for(family: str) -> tuple[str, list[object]]:
    return "SELECT doc FROM goods WHERE (families = '  ' OR instr(families, ?))", [f" {family} "]


def _floats(rates: Mapping[str, Decimal]) -> dict[str, float]:
    """Rates to order by; they are told to nobody."""
    return {key: float(rate) for key, rate in rates.items()}


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
