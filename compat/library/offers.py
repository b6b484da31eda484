"""Puts the parts of a shop's index (`goods.py`) in the order of what they cost, or of when they are in."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from compat.library.store import Store
from compat.library.wanted import Wanted

__all__ = ["FEW", "Offers", "numbers", "rows_of"]

FEW = 15_000
"""So many parts are each looked up as fast as what comes first of all is looked through for them."""
MOST = 45_000
"""More parts are not looked up by the price of each, but what is cheapest of all is looked through for them."""
LOOKED_AT = (400, 8_000)
"""So many offers, and two for each part that is told, are looked at for what comes first; else more."""
LAST = "9e999"
"""Orders what has no price, or is not delivered, behind all that is; no number that SQLite holds is larger."""


class Offers:
    """Offers of one search.

    Parameters
    ----------
    store : Store
        The kept file.
    wanted : Wanted
        What is searched: offers of its supplier alone count.
    order : {"price", "lead"}
        The cheapest piece first, or what is here or in soonest.
    most : int
        So many parts are told at most.
    """

    def __init__(self, store: Store, wanted: Wanted, order: str, most: int) -> None:
        self._store = store
        self._by_price = order == "price"
        self._most = most
        self._supplier = wanted.supplier
        self._rates = {key: float(rate) for key, rate in wanted.rates.items()}  # these are told to nobody
        rate, rated = _case("o.currency", self._rates)
        days, stated = _case("o.supplier", wanted.leads)
        days = f"coalesce(o.lead, {days})"
        if wanted.here:
            here = "SELECT doc FROM goods WHERE part IN (SELECT value FROM json_each(?))"
            days = f"CASE WHEN o.doc IN ({here}) THEN 0 ELSE {days} END"
            stated = [json.dumps(wanted.here), *stated]
        self._keys = f"o.each * {rate} AS money, {days} AS days"
        self._values = [*rated, *stated]

    def first(self, docs: set[int] | None) -> tuple[str, ...]:
        """The ids of the first of some parts, or of all; what nobody sells comes last."""
        limit = 2 * self._most
        while True:  # a part of several offers stands in several rows
            offers = self._ordered(docs, limit, named=True)
            parts = list(dict.fromkeys(part for _, _, part in offers))
            if len(parts) >= self._most or len(offers) < limit:
                return tuple(parts[: self._most])
            limit *= 4

    def fronts(self, docs: set[int] | None) -> Iterator[set[int]]:
        """Parts that come before all others of some, or of all: few, then more. Others may be among them.

        Which of several comes first that cost the same, and are in as soon, is then worked out for few.
        """
        limits = [each + 2 * self._most for each in LOOKED_AT]
        if self._by_price and (docs is None or len(docs) > FEW):
            most_of_all = docs is None or len(docs) > MOST
            for limit in limits if most_of_all else limits[:1]:
                if (cheapest := self._cheapest(limit)) is None:
                    break
                yield cheapest
            if most_of_all:
                return
        for limit in limits:
            offers = self._ordered(docs, limit)
            if len(offers) < limit:
                return
            last = offers[-1][:2]
            yield {doc for first, then, doc in offers if (first, then) < last}

    def _cheapest(self, limit: int) -> set[int] | None:
        """The cheapest of all parts, from so many offers a currency; None where there are fewer."""
        of, own = (" AND supplier = ?", [self._supplier]) if self._supplier else ("", [])
        offers: list[tuple[float, int]] = []
        below = float("inf")
        for currency, rate in self._rates.items():
            for table in ("goods", "asks"):
                asked = f"SELECT each, doc FROM {table} WHERE currency = ?{of} ORDER BY each LIMIT {int(limit)}"
                found = [(each * rate, doc) for each, doc in self._store.ask(asked, currency, *own)]
                if len(found) == limit:
                    below = min(below, found[-1][0])
                offers += found
        return None if below == float("inf") else {doc for money, doc in offers if money < below}

    def _ordered(self, docs: set[int] | None, limit: int, *, named: bool = False) -> list[tuple[Any, ...]]:
        """The first offers of some parts, or of all: two numbers that order them, and the part."""
        first, then = ("money", "days") if self._by_price else ("days", "money")
        told, further = ("g.part", " JOIN goods g ON g.doc = o.doc") if named else ("o.doc", "")
        where, own = (" WHERE o.supplier = ?", [self._supplier]) if self._supplier else ("", [])
        found: list[tuple[Any, ...]] = []
        # the first offers and the others each by itself: of a union the database sorts every row
        for table, some in (("goods", docs), ("asks", docs and self._with_several(docs))):
            rows, listed = rows_of(table, some)
            found += self._store.ask(
                f"SELECT coalesce({first}, {LAST}) AS first, coalesce({then}, {LAST}) AS then_, told "
                f"FROM (SELECT {told} AS told, {self._keys} FROM {rows}{further}{where}) "
                f"ORDER BY first, then_{', told' if named else ''} LIMIT {int(limit)}",
                *self._values, *listed, *own,
            )  # fmt: skip
        return sorted(found)[:limit]

    def _with_several(self, docs: set[int]) -> set[int]:
        """Those of some parts that may have several offers: the shorter of two lists is the sooner read."""
        if self._store.ask("SELECT count(*) FROM asks")[0][0] > len(docs):
            return docs
        return docs & numbers(self._store, "SELECT DISTINCT doc FROM asks")


def numbers(store: Store, question: str, *values: object) -> set[int]:
    """The numbers of parts that a question gives: as one text they are read several times as fast."""
    return set(json.loads(store.ask(f"SELECT json_group_array(doc) FROM ({question})", *values)[0][0]))


def rows_of(table: str, docs: set[int] | None) -> tuple[str, list[object]]:
    """Rows `o` of some parts, or of all; a join looks them up faster than a list that they are to stand in."""
    if docs is None:
        return f"{table} o", []
    return f"json_each(?) j CROSS JOIN {table} o ON o.doc = j.value", [str(sorted(docs))]


def _case(column: str, table: Mapping[str, object]) -> tuple[str, list[object]]:
    """What a column stands for, and the values of it."""
    if not table:
        return "NULL", []
    return f"CASE {column} {'WHEN ? THEN ? ' * len(table)}END", [one for pair in table.items() for one in pair]
