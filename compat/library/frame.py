"""The frame of a shop: all that its parts, builds and stock rest on. It is read whole, or stands as kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from compat.library.cards import by_text, card, own
from compat.library.holdings import plain
from compat.library.rows import APART, BETWEEN, Rows, written
from compat.library.sets import Entries, lend
from compat.library.sources import lent_stamp
from compat.library.spots import spots_card
from compat.library.store import Draft
from compat.library.tables import Table
from compat.rulebook.context import Context
from compat.rulebook.expressions import Expression
from compat.rulebook.reading import bind_rules, take_in
from compat.rulebook.rulebook import Condition, Rulebook
from compat.rulebook.shop_reading import ShopReader
from compat.shop.draft import Draft as ShopDraft
from compat.shop.graph import Key
from compat.shop.links import Linker
from compat.shop.models import Thing
from compat.shop.reading import MODELS as CATALOGUE
from compat.shop.reading import typed_setup, validate
from compat.shop.source import Fault

__all__ = ["Frame", "ReadFrame", "StandingFrame", "called", "put_spots", "said_of"]


class Frame:
    """What parts, builds and stock are held against.

    Parameters
    ----------
    shop : Draft
        The shop, its words, engines, work and suppliers known.
    faults : list of Fault
        Gets what is wrong with what is held against it.
    """

    def __init__(self, shop: ShopDraft, faults: list[Fault]) -> None:
        self.shop = shop
        self.faults = faults
        self.linker = Linker(shop, faults)
        self.context = Context(shop.shop(), faults)
        self.conditions = ShopReader(self.context)

    def things(self) -> Iterator[Thing]:
        """Its own things that are to be held against the shop, whichever parts changed."""
        return iter(())

    def hold(self) -> None:
        """Hold against each other what its files say."""

    def write(self, draft: Draft) -> None:
        """Write entries for all that it holds."""


class StandingFrame(Frame):
    """A frame of which no file was changed: whatever is asked of it is read of its entries.

    Parameters
    ----------
    shop : Draft
        The shop (`standing_draft`).
    rows : Rows
        The entries.
    faults : list of Fault
        Gets what is wrong.
    """

    def __init__(self, shop: ShopDraft, rows: Rows, faults: list[Fault]) -> None:
        super().__init__(shop, faults)
        self.context.scope.figures = Table(
            lambda name: rows.thing("figure", name).dimension, lambda: rows.names("figure")
        )


class ReadFrame(Frame):
    """A frame read of its files, and of what the program lends.

    Parameters
    ----------
    shop : Draft
        The shop, empty but for its parts.
    own, rules : sequence
        Entries of the catalogue and the rulebook with their kinds.
    reading, faults : list of Fault
        Get what is wrong with an entry by itself, and with what it says of others.
    """

    def __init__(
        self, shop: ShopDraft, own: Entries, rules: Entries, reading: list[Fault], faults: list[Fault]
    ) -> None:
        lent = lend(own, rules, reading)
        shop.beyond = lent.beyond
        for word, node in (*lent.catalogue, *own):
            shop.take(word, validate(CATALOGUE[word], node, reading, word), node, reading)
        super().__init__(shop, faults)
        # what is wrong with an entry by itself is told whatever else cannot be read
        self.context.faults = reading
        self._said = take_in([*lent.rules, *rules], self.context)
        self.context.faults = faults

    def things(self) -> Iterator[Thing]:
        """All of its things."""
        for kind, table in self.shop.tables.items():
            if kind not in APART:
                yield from table.values()

    def hold(self) -> None:
        """Hold against each other what its files say: setups, the shop's terms, the order of work, rules."""
        for variant in self.shop.tables["variant"].values():
            node = self.shop.nodes["variant", variant.variant]
            self.shop.setups[variant.variant] = typed_setup(self.shop, variant.setup, node.spot_of, self.faults)
        self.linker.terms()
        self.linker.circles_of_work()
        bind_rules(self.context, self._said)
        for thing in self.things():
            self.context.book.conditions |= self.conditions.conditions_of(thing)
        self.conditions.changes()
        self.conditions.stated()

    def write(self, draft: Draft) -> None:
        """Write entries for all that it holds."""
        book = self.context.book.book()
        tables = {kind: dict(table) for kind, table in self.shop.tables.items() if kind not in APART}
        tables["shop"] = {self.shop.info.shop: self.shop.info} if self.shop.info is not None else {}
        tables |= {"rule": dict(book.rules), "figure": dict(book.figures)}
        stated: dict[Key, dict[Condition, Expression]] = {}
        for condition, said in book.conditions.items():
            stated.setdefault(condition[:2], {})[condition] = said
        expressions: dict[str, Expression] = {}

        def says(expression: Expression) -> list[Any]:
            known = expressions.setdefault(expression.text, expression)
            return by_text(expression) if known == expression else own(expression)

        for kind, table in tables.items():
            draft.remove_below(f"spots/{kind}")
            things = []
            for name, thing in table.items():
                of_book = kind in ("rule", "figure")
                node: Any = book.nodes[kind, name] if of_book else self.shop.nodes[kind, name]
                more = said_of(stated.get((kind, name), {})) | self._worked_out(kind, name, book)
                things.append(written(node.file, thing, more, says))
                put_spots(draft, kind, name, node)
            draft.put(f"things/{kind}", BETWEEN.join(things), pack=False)
            draft.put(f"ids/{kind}", card([(name, called(kind, thing)) for name, thing in table.items()]))
        draft.put("said", plain([each.card() for each in expressions.values()]), pack=False)
        bound = book.figures.values()
        draft.put("formulas", card({one.formula.name: one.formula.card() for one in bound if one.formula}))
        draft.put("influence", plain(book.influence.card()), pack=False)
        uses = self.shop.info is not None and bool(self.shop.info.uses)
        draft.put("lent", plain(lent_stamp() if uses else ""))
        draft.put("beyond", plain(self.shop.beyond))
        draft.put("sized", plain(self.context.shop.sized))

    def _worked_out(self, kind: str, name: str, book: Rulebook) -> dict[str, Any]:
        match kind:
            case "position":
                return {"kinds": self.shop.kinds[name]}
            case "variant":
                return {"setup": self.shop.setups[name]}
            case "work":
                worked_out = {"changes": book.changes[name], "bounds": book.bounds[name]}
                return {what: told for what, told in worked_out.items() if told}
        return {}


def said_of(conditions: Mapping[Condition, Expression]) -> dict[str, Any]:
    """The conditions of a thing, as they stand beside it."""
    if not conditions:
        return {}
    return {"conditions": [[field, number, said] for (_, _, field, number), said in conditions.items()]}


def called(kind: str, thing: Any) -> str:
    """The name of a thing for people."""
    if kind == "rule":
        return str(thing.rule.title)
    if kind == "figure":
        return thing.figure.name or str(thing.figure.figure)
    return str(getattr(thing, "name", thing.id))


def put_spots(draft: Draft, kind: str, name: str, node: Any) -> None:
    """Write where a thing was written."""
    draft.put(f"spots/{kind}/{name}", plain([node.file, spots_card(node)]))
