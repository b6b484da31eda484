"""Searches the index of the parts of a shop (`goods.py`).

What it finds are ids; whatever is told of a part is read from the part's own entry.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace

from compat.library.goods import GoodsWriter, can_search
from compat.library.offers import FEW, Offers, numbers, rows_of
from compat.library.store import Draft, Store
from compat.library.wanted import Matches, Size, Wanted
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot

__all__ = ["Goods", "goods_of"]

BROAD = 1_000
"""Of more parts those that come first are picked before they are put in order."""
COMMON = 36_000
"""Of more parts what has a size is not all looked up, but what comes first is looked at."""
SAMPLE = 500
"""So many parts tell about how many have a size."""
COUNTED = 1_000
"""Of what has common sizes, no more parts are counted than these."""


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
        offers = Offers(self._store, wanted, order, most)
        docs, sizes = self._named(wanted), wanted.sizes
        if sizes and _are_many(docs):
            common = tuple(size for size in sizes if self._is_common(size))
            docs, sizes = self._having(docs, [size for size in sizes if size not in common]), common
        if sizes and _are_many(docs):
            if self._are_counted(wanted, docs, sizes):
                for front in offers.fronts(docs):
                    some = self._passing(front if docs is None else front & docs, sizes, wanted.family)
                    if len(some) >= most:
                        return Matches(offers.first(some), COUNTED, more=True)
            docs, sizes = self._having(docs, sizes), ()
        if docs is not None:
            docs = self._passing(docs, sizes, wanted.family)
        elif wanted.family:
            docs = self._made_for(wanted.family)
        count = self._store.ask("SELECT count(*) FROM goods")[0][0] if docs is None else len(docs)
        if count > BROAD:
            fronts = (front if docs is None else front & docs for front in offers.fronts(docs))
            docs = next((front for front in fronts if len(front) >= most), docs)
        return Matches(offers.first(docs), int(count))

    def _named(self, wanted: Wanted) -> set[int] | None:
        """The parts of which all but sizes and family holds; None where nothing else is asked."""
        found = [numbers(self._store, question, *values) for question, values in _conditions(wanted)]
        return set.intersection(*found) if found else None

    def _are_counted(self, wanted: Wanted, docs: set[int] | None, common: Sequence[Size]) -> bool:
        """Whether so many parts have common sizes as are counted at most: of some that have one so many do."""
        if docs is None:
            question, values = _in_range(common[0])
            docs, common = numbers(self._store, f"{question} LIMIT {5 * COUNTED}", *values), common[1:]
        return len(self._passing(set(sorted(docs)[: 3 * COUNTED]), common, wanted.family)) >= COUNTED

    def _is_common(self, size: Size) -> bool:
        """Whether a look at some of all parts says that more have a size than are worth looking up."""
        last = int(self._store.ask("SELECT coalesce(max(doc), 0) FROM goods")[0][0])
        step = last // SAMPLE + 1
        return len(self._passing(set(range(1, last + 1, step)), [size])) * step > COMMON

    def _having(self, docs: set[int] | None, sizes: Sequence[Size]) -> set[int] | None:
        """Those of some parts, or of all, that have some sizes: all that have one are looked up."""
        for size in sizes:
            question, values = _in_range(size)
            having = numbers(self._store, question, *values)
            docs = having if docs is None else docs & having
        return docs

    def _passing(self, docs: set[int], sizes: Sequence[Size], family: str = "") -> set[int]:
        """Those of some parts that have some sizes and are made for a family, or for any: each is looked up."""
        for size in sizes:
            docs = numbers(
                self._store,
                "SELECT value AS doc FROM json_each(?) WHERE EXISTS ("
                "SELECT 1 FROM sizes s WHERE s.doc = value AND s.low <= ? AND s.high >= ? "
                f"AND +s.spec IN (SELECT spec FROM specs WHERE name IN ({_marks(size.specs)})))",
                str(sorted(docs)), size.high, size.low, *size.specs,
            )  # fmt: skip
        return self._made_for(family, docs) if family else docs

    def _made_for(self, family: str, docs: set[int] | None = None) -> set[int]:
        """Those of some parts, or of all, that are made for a family, or for any."""
        rows, listed = rows_of("goods", docs)
        made = f"SELECT o.doc AS doc FROM {rows} WHERE families = '  ' OR instr(families, ?)"
        return numbers(self._store, made, *listed, f" {family} ")

    def spelt(self, words: Sequence[str]) -> dict[str, int]:
        """Those of some words that stand in a part, with in how many."""
        asked = "SELECT term, doc FROM spelt WHERE term IN (SELECT value FROM json_each(?))"
        return {str(term): int(count) for term, count in self._store.ask(asked, json.dumps(words))}

    def beginning(self, start: str, most: int = 1) -> dict[str, int]:
        """Words that begin so, with in how many parts they stand."""
        asked = f"SELECT term, doc FROM spelt WHERE term >= ? AND term < ? LIMIT {int(most)}"
        return {str(term): int(count) for term, count in self._store.ask(asked, start, start + "\U0010ffff")}


def _are_many(docs: set[int] | None) -> bool:
    """Whether parts, or all, are too many for each to be looked up."""
    return docs is None or len(docs) > FEW


def _conditions(wanted: Wanted) -> Iterator[tuple[str, list[object]]]:
    """Questions that each give `doc` of the parts of which something holds."""
    if wanted.words:
        yield "SELECT rowid AS doc FROM texts WHERE texts MATCH ?", [_all(wanted.words)]
    if wanted.among is not None:
        yield "SELECT doc FROM goods WHERE part IN (SELECT value FROM json_each(?))", [json.dumps(wanted.among)]
    if wanted.supplier:
        offering = "SELECT doc FROM goods WHERE supplier = ? UNION ALL SELECT doc FROM asks WHERE supplier = ?"
        yield offering, [wanted.supplier, wanted.supplier]


def _in_range(size: Size) -> tuple[str, list[object]]:
    """Asks for what has a size in a range: none begins further below it than the widest of its spec reaches."""
    question = (
        "SELECT doc FROM specs k CROSS JOIN sizes s ON s.spec = k.spec "
        f"AND s.low BETWEEN ? - k.widest AND ? AND s.high >= ? WHERE k.name IN ({_marks(size.specs)})"
    )
    return question, [size.low, size.high, size.low, *size.specs]


def _marks(values: Sequence[object]) -> str:
    return ", ".join("?" * len(values))


def _all(clauses: Sequence[str]) -> str:
    return " AND ".join(f"({clause})" for clause in clauses)


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
