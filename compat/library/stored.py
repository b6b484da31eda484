"""A shop and its rulebook over kept entries: nothing is read before it is asked for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from functools import cached_property
from typing import Any

from compat.library.rows import HELD, Rows
from compat.rulebook.expressions import Expression
from compat.rulebook.influence import Influence
from compat.rulebook.rulebook import Condition, Rulebook
from compat.shop.draft import TABLES
from compat.shop.entry import NOTHING
from compat.shop.graph import Candidate, Indexes, Key, edges, least_price
from compat.shop.shop import Shop
from compat.shop.words import KINDS

__all__ = ["stored_book", "stored_shop"]

WITH_CONDITIONS = ("part", "work", "joint")
"""Kinds of things that may state conditions."""


class StoredShop(Shop):
    """A shop over kept entries."""

    rows: Rows

    @cached_property
    def stamp(self) -> str:
        """What stands for every byte that it was read from."""
        return _stamp(self)

    @cached_property
    def indexes(self) -> Indexes:
        """What is asked of the relations again and again."""
        return StoredIndexes(self, self.rows)

    def names(self) -> dict[Key, str]:
        """Name of every thing."""
        return {(kind, name): text for kind in KINDS for name, text in self.rows.names(kind).items()}

    def called(self, kind: str) -> Mapping[str, str]:
        """Name of every thing of one kind, by id."""
        return self.rows.names(kind)

    @cached_property
    def sized(self) -> Mapping[str, Mapping[str, str]]:
        """For each position the specs that are quantities, with their units."""
        sized: Mapping[str, Mapping[str, str]] = self.rows.data("sized")
        return sized


class StoredBook(Rulebook):
    """A rulebook over kept entries."""

    rows: Rows

    @cached_property
    def stamp(self) -> str:
        """What stands for every byte that it was read from."""
        return _stamp(self)

    @cached_property
    def influence(self) -> Influence:
        """What rests on what: the grounds of rules and figures turned round."""
        return Influence.of_card(self.rows.data("influence"))


def _stamp(made: StoredShop | StoredBook) -> str:
    # one that was made of another with something in it exchanged reads no rows
    rows: Rows | None = vars(made).get("rows")
    return "" if rows is None else rows.stamp


def stored_shop(rows: Rows) -> Shop:
    """Give the shop that was kept.

    Parameters
    ----------
    rows : Rows
        Its entries.

    Returns
    -------
    Shop
        Equal to what its files give.
    """

    def worked_out(kind: str, what: str) -> Mapping[str, Any]:
        return rows.table(lambda name: rows.more(kind, name, what), lambda: rows.names(kind))

    tables: dict[str, Any] = {TABLES[kind]: _things(rows, kind) for kind in KINDS}
    parts = tables["parts"]
    shop = StoredShop(
        info=next((rows.thing("shop", name) for name in rows.names("shop")), None),
        **tables,
        kinds=worked_out("position", "kinds"),
        specs=rows.table(lambda name: parts[name].specs, lambda: rows.names("part"), HELD),
        setups=worked_out("variant", "setup"),
        nodes=_nodes(rows, ("shop", *KINDS)),
        beyond={rule: tuple(sets) for rule, sets in rows.data("beyond").items()},
    )
    object.__setattr__(shop, "rows", rows)
    return shop


def stored_book(rows: Rows) -> Rulebook:
    """Give the rulebook that was kept.

    Parameters
    ----------
    rows : Rows
        Its entries.

    Returns
    -------
    Rulebook
        Equal to what its files give.
    """
    book = StoredBook(
        rules=_things(rows, "rule"),
        figures=_things(rows, "figure"),
        conditions=_Conditions(rows),
        changes=rows.table(lambda name: rows.more("work", name, "changes") or (), lambda: rows.names("work")),
        bounds=rows.table(
            lambda name: rows.more("work", name, "bounds") or NOTHING, lambda: rows.names("work")
        ),
        nodes=_nodes(rows, ("rule", "figure")),
    )
    object.__setattr__(book, "rows", rows)
    return book


def _things(rows: Rows, kind: str) -> Mapping[str, Any]:
    """Everything of one kind; of parts not all are held."""
    most = HELD if kind == "part" else None
    return rows.table(lambda name: rows.thing(kind, name), lambda: rows.names(kind), most)


def _nodes(rows: Rows, kinds: tuple[str, ...]) -> Mapping[Key, Any]:
    def load(key: Key) -> Any:
        kind, name = key
        if kind not in kinds or not rows.has(kind, name):
            raise KeyError(key)
        return rows.spots(kind, name)

    return rows.table(load, lambda: ((kind, name) for kind in kinds for name in rows.names(kind)), HELD)


class StoredIndexes(Indexes):
    """Indexes of which those over all parts are kept, and the others made of the few things they need."""

    def __init__(self, shop: Shop, rows: Rows) -> None:
        super().__init__(())
        self._shop = shop
        self._rows = rows

    def _told(self, what: str, of: str) -> tuple[Any, ...]:
        """Entries of one relation of parts, in the order of the files."""
        by_file = self._rows.data(f"{what}/{of}")
        return tuple(entry for file in self._rows.files if file in by_file for entry in by_file[file])

    def _by(self, kind: str, load: Any) -> Mapping[str, Any]:
        """A table by the ids of a kind."""
        names = self._rows.names(kind)

        def loaded(name: str) -> Any:
            if name not in names:
                raise KeyError(name)
            return load(name)

        return self._rows.table(loaded, lambda: names)

    @cached_property
    def fillers(self) -> Mapping[str, tuple[str, ...]]:
        """For each position the parts that can fill it."""
        return self._by("position", lambda position: self._told("fills", position))

    @cached_property
    def sold_by(self) -> Mapping[str, tuple[str, ...]]:
        """For each supplier the parts it sells."""
        return self._by("supplier", lambda supplier: self._told("sells", supplier))

    @cached_property
    def offerers(self) -> Mapping[str, tuple[tuple[str, str, int], ...]]:
        """For each feature who offers it: kind and id of the thing, and which of its offers it is."""
        return self._with_works("offers", self._works.offerers)

    @cached_property
    def needers(self) -> Mapping[str, tuple[tuple[str, str, int], ...]]:
        """For each feature who needs it: kind and id of the thing, and which of its needs it is."""
        return self._with_works("needs", self._works.needers)

    def _with_works(self, how: str, works: Mapping[str, tuple[Any, ...]]) -> Mapping[str, tuple[Any, ...]]:
        def load(feature: str) -> tuple[Any, ...]:
            parts = tuple(("part", part, number) for part, number in self._told(how, feature))
            return parts + works.get(feature, ())

        return self._by("feature", load)

    def cheapest(self, feature: str) -> Iterable[Candidate]:
        """Parts that offer a feature, or fill a position (``position:rod``), the cheapest first."""
        return self._ranked[feature]

    @cached_property
    def _ranked(self) -> Mapping[str, tuple[Candidate, ...]]:
        def load(feature: str) -> tuple[Candidate, ...]:
            kind, _, name = feature.rpartition(":")
            if kind == "work" or not self._rows.has(kind or "feature", name):
                return ()
            return tuple(
                Candidate(Decimal(price), part, tuple(families), tuple(fills))
                for price, part, families, fills in self._rows.data(f"cheap/{feature}")
            )

        return self._rows.table(load, tuple)

    def least_price(self, part: str) -> Decimal:
        """The least that one piece of a part costs."""
        return least_price(self._shop.parts[part])

    @cached_property
    def joints_before(self) -> Mapping[str, tuple[str, ...]]:
        """For each position the joints it lies behind."""
        return Indexes(edges(self._shop.joints.values())).joints_before

    @cached_property
    def homes(self) -> Mapping[str, tuple[str, ...]]:
        """For each part the variants that left the factory with it."""
        return Indexes(edges(self._shop.variants.values())).homes

    @cached_property
    def _works(self) -> Indexes:
        return Indexes(edges(self._shop.works.values()))


class _Conditions(Mapping[Condition, Expression]):
    """Conditions of offers, needs and renewals, read with the thing that states them."""

    def __init__(self, rows: Rows) -> None:
        self._rows = rows
        self._read: dict[Key, dict[Condition, Expression]] = {}

    def _of(self, kind: str, name: str) -> dict[Condition, Expression]:
        found = self._read.get((kind, name))
        if found is None:
            told = self._rows.more(kind, name, "conditions") or ()
            found = {(kind, name, field, number): expression for field, number, expression in told}
            if len(self._read) >= HELD:
                self._read.clear()
            self._read[kind, name] = found
        return found

    def __getitem__(self, key: Condition) -> Expression:
        return self._of(*key[:2])[key]

    def __iter__(self) -> Iterator[Condition]:
        for kind in WITH_CONDITIONS:
            for name in self._rows.conditioned(kind):
                yield from self._of(kind, name)

    def __len__(self) -> int:
        return sum(1 for _ in self)
