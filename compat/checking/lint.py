"""What looks like an oversight in a shop's files, though every file reads."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from compat.checking.alike import left_off
from compat.checking.built import settle
from compat.checking.outlying import outlying
from compat.checking.own_card import contradictory
from compat.library.library import Library
from compat.library.sources import LENT
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import Rulebook
from compat.rulebook.trees import Tree
from compat.rulebook.values import Absent, Missing
from compat.shop.builds import as_build, prepare
from compat.shop.models import Part
from compat.shop.shop import Shop
from compat.shop.source import Spot
from compat.units import read_band, show

__all__ = ["Remark", "lint"]

CLOSE = 0.005
"""A stated figure may differ from the computed one by this share: cards round to three digits."""


@dataclass(frozen=True, order=True)
class Remark:
    """Something that looks like an oversight."""

    spot: Spot
    message: str

    def __str__(self) -> str:
        return f"{self.spot}: {self.message}"


def lint(library: Library) -> list[Remark]:
    """Look over a whole shop.

    Parameters
    ----------
    library : Library
        The shop, already read without fault.

    Returns
    -------
    list of Remark
        Positions no rule looks at, parts that fit nowhere or come where they do not, cards that leave out what
        all their like state, contradict themselves or state a size in another unit, specs nobody uses, features
        that nobody offers or needs, joints without a rule,
        prices in a currency that is not the supplier's, stated figures that the parts contradict, rules that
        fall silent where a spec is not stated, and stated specs that a formula is not given.
    """
    shop, book = library.shop, library.book
    remarks: list[Remark] = []
    used = {spec for expression in _expressions(book) for spec in expression.names.specs}
    cards = _Cards(shop)
    remarks += cards.remarks
    remarks += _positions(shop, book, used, cards)
    remarks += _unfilled(shop)
    remarks += _strangers(shop)
    remarks += [Remark(spot, message) for spot, message in left_off(shop)]
    remarks += [Remark(spot, message) for spot, message in contradictory(library)]
    remarks += [Remark(spot, message) for spot, message in outlying(shop)]
    remarks += _specs(shop, used)
    remarks += _features(shop, book, cards)
    remarks += _joints(shop, book)
    remarks += _trade(shop)
    remarks += _stated(library)
    remarks += _silences(book)
    remarks += _left_to_formulas(shop, book)
    # of the words and rules that the program lends, a shop need not use all
    return sorted(remark for remark in remarks if not remark.spot.file.startswith(LENT))


def _expressions(book: Rulebook) -> Iterator[Expression]:
    """Everything the shop and its rulebook ask in the language of rules."""
    for rule in book.rules.values():
        yield from rule.expressions()
    for figure in book.figures.values():
        yield from figure.expressions()
    yield from book.conditions.values()
    for bound in book.of_work.values():
        yield from bound.expressions()
    for changes in book.changes.values():
        yield from (change.expression for change in changes if change.expression is not None)


def _positions(shop: Shop, book: Rulebook, used: set[tuple[str, str]], cards: _Cards) -> list[Remark]:
    seen = cards.places | {position for position, _ in used}
    for rule in book.rules.values():
        seen |= set(book.positions_of(rule))
        if rule.rule.need and rule.rule.need.position:
            seen.add(rule.rule.need.position)
    for expression in _expressions(book):
        seen |= set(expression.names.positions)
    for joint in shop.joints.values():
        seen |= {renewal.position for renewal in joint.renews}
    return [
        Remark(shop.spot("position", name), f"position '{name}' is looked at by no rule")
        for name, place in shop.positions.items()
        if name not in seen and not place.required
    ]


class _Cards:
    """What the cards of all parts say, each read once: of many parts a shop holds no more than some."""

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self.families = {variant.family for variant in shop.variants.values()}
        self.in_variants = {name for variant in shop.variants.values() for name in variant.parts.values()}
        self.places: set[str] = set()
        """Positions of parts that need or offer something."""
        self.offered: set[str] = set()
        self.needed: set[str] = set()
        self.remarks: list[Remark] = []
        for part in shop.parts.values():
            if part.needs or part.offers:
                self.places |= set(part.fills)
            self.offered |= {offer.feature for offer in part.offers}
            self.needed |= {feature for need in part.needs for feature in need.features}
            self.remarks += (*self._nowhere(part), *self._boxed(part), *self._priced(part))

    def _nowhere(self, part: Part) -> Iterator[Remark]:
        """That a part fits nowhere, or can be had from nobody."""
        says = ""
        if part.families and self.families.isdisjoint(part.families):
            says = f"fits nowhere: no variant of {', '.join(part.families)}"
        elif all(_count_everywhere(self.shop, position, part.families) == 0 for position in part.fills):
            says = f"fits nowhere: no engine takes a {part.fills[0]}"
        if says:
            yield Remark(self.shop.spot("part", part.part), f"part '{part.part}' {says}")
        if not part.sold_by and part.part not in self.in_variants:
            says = f"part '{part.part}' is sold by nobody and in no variant"
            yield Remark(self.shop.spot("part", part.part), says)

    def _boxed(self, part: Part) -> Iterator[Remark]:
        """What comes in the box of a part where its families say that it does not fit."""
        for number, other in enumerate(part.includes):
            lacking = [family for family in part.families if other in self.shop.strangers[family]]
            if lacking:
                text = f"'{other}' comes with '{part.part}' and is not made for {', '.join(lacking)}"
                yield Remark(self.shop.spot("part", part.part, "includes", number), text)

    def _priced(self, part: Part) -> Iterator[Remark]:
        """Prices in a currency that is not the supplier's."""
        for number, price in enumerate(part.sold_by):
            own = self.shop.suppliers[price.supplier].currency
            if price.price.currency != own:
                spot = self.shop.spot("part", part.part, "sold_by", number, "price")
                text = f"{price.supplier} sells in {own}, the price is in {price.price.currency}"
                yield Remark(spot, text)


def _unfilled(shop: Shop) -> Iterator[Remark]:
    """Positions that no part fills."""
    offered = {position for variant in shop.variants.values() for position in variant.parts}
    for position in shop.positions:
        if not shop.fillers[position] and position != "setup" and position not in offered:
            yield Remark(shop.spot("position", position), f"no part fills position '{position}'")


def _strangers(shop: Shop) -> Iterator[Remark]:
    """Parts that stand in a variant, where their families say they do not fit."""
    for variant in shop.variants.values():
        for position, name in variant.parts.items():
            if name in shop.strangers[variant.family]:
                text = (
                    f"'{name}' is not made for the family of {variant.variant}, which left the factory with it"
                )
                yield Remark(shop.spot("variant", variant.variant, "parts", position), text)


def _count_everywhere(shop: Shop, position: str, families: tuple[str, ...]) -> int:
    variants = [v for v in shop.variants.values() if not families or v.family in families]
    return max((shop.count(variant, position) for variant in variants), default=0)


def _specs(shop: Shop, used: set[tuple[str, str]]) -> list[Remark]:
    return [
        Remark(
            shop.spot("position", position, "specs", name),
            f"spec '{position}.{name}' is used by no rule or figure",
        )
        for position, kinds in shop.kinds.items()
        for name in kinds
        if (position, name) not in used and not kinds[name].sheet
    ]


def _features(shop: Shop, book: Rulebook, cards: _Cards) -> list[Remark]:
    offered = cards.offered | {offer.feature for work in shop.works.values() for offer in work.offers}
    needed = cards.needed.copy()
    needed |= {f for work in shop.works.values() for need in work.needs for f in need.features}
    for rule in book.rules.values():
        if rule.rule.need and rule.rule.need.feature:
            needed.add(rule.rule.need.feature)
    for expression in _expressions(book):
        needed |= set(expression.names.features)
    remarks = []
    for name in shop.features:
        spot = shop.spot("feature", name)
        if name not in offered:
            remarks.append(Remark(spot, f"feature '{name}' is offered by nobody"))
        if name not in needed:
            remarks.append(Remark(spot, f"feature '{name}' is needed by nobody"))
    return remarks


def _joints(shop: Shop, book: Rulebook) -> list[Remark]:
    ruled = {rule.rule.renew for rule in book.rules.values() if rule.rule.renew}
    return [
        Remark(shop.spot("joint", name), f"joint '{name}' has no renew rule, so opening it asks for nothing")
        for name in shop.joints
        if name not in ruled
    ]


def _trade(shop: Shop) -> list[Remark]:
    """What a quote would stop at: a currency without a rate, outwork without a price."""
    if shop.info is None:
        return []
    known, own = {shop.info.currency, *shop.info.rates}, shop.info.currency
    remarks = [
        Remark(
            shop.spot("supplier", name, "currency"),
            f"'{name}' sells in {found.currency}, and the shop's `rates` do not say what one is in {own}",
        )
        for name, found in shop.suppliers.items()
        if found.currency not in known
    ]
    for work in shop.works.values():
        if work.done_by != "shop" and work.price is None and shop.suppliers[work.done_by].rate is None:
            message = (
                f"'{work.done_by}' does it; neither it states a `rate` nor the work a `price`: no quote has it"
            )
            remarks.append(Remark(shop.spot("work", work.work, "done_by"), message))
    return remarks


def _stated(library: Library) -> list[Remark]:
    shop, book = library.shop, library.book
    remarks = []
    for variant in shop.variants.values():
        if not variant.stated:
            continue
        world = settle(shop, book, prepare(shop, as_build(variant)))
        for name, text in variant.stated.items():
            spot = shop.spot("variant", variant.variant, "stated", name)
            try:
                value = world.figure(name)
            except Absent as absent:
                remarks.append(Remark(spot, f"'{name}' is stated, but {absent.position} is empty"))
                continue
            if isinstance(value, Missing):
                gap = ", ".join(
                    [*sorted(value.specs), *(f"{refusal.formula}: {refusal.text}" for refusal in value.reasons)]
                )
                remarks.append(Remark(spot, f"'{name}' is stated, but cannot be computed: {gap}"))
                continue
            said = read_band(text).nominal
            found: float = value.x  # type: ignore[union-attr]
            if abs(said - found) > CLOSE * abs(found):
                unit = "" if book.figures[name].figure.unit == "number" else book.figures[name].figure.unit
                remarks.append(
                    Remark(
                        spot,
                        f"'{name}' is stated as {text}; the parts come to {show(found, unit)}: contradictory",
                    )
                )
    return remarks


def _silences(book: Rulebook) -> list[Remark]:
    """Rules and figures that ask whether something is stated, and go another way where it is not."""
    remarks = []
    kinds = (("rule", book.rules), ("figure", book.figures))
    for kind, name, bound in ((kind, name, bound) for kind, table in kinds for name, bound in table.items()):
        hidden = {what for expression in bound.expressions() for what in _hiding(expression.tree, said=True)}
        remarks += [
            Remark(
                book.spot(kind, name),
                f"{kind} '{name}' is silent where '{what}' is not stated; leave `stated({what})` out to have "
                "it unknown, or let a figure say `unstated`",
            )
            for what in sorted(hidden)
        ]
    return remarks


def _hiding(tree: Tree, *, said: bool) -> Iterator[str]:
    """Specs and figures whose being stated a condition asks for; that they are not stated it may ask."""
    if tree[0] == "stated":
        inner = tree[1]
        if said and inner[0] in ("spec", "figure"):
            yield ".".join(inner[1:])
        return
    for operand in tree[1:]:
        if type(operand) is tuple and operand and type(operand[0]) is str:
            yield from _hiding(operand, said=said != (tree[0] == "not"))


def _left_to_formulas(shop: Shop, book: Rulebook) -> list[Remark]:
    """Arguments left to a formula's own default though a part that the figure looks at states them."""
    remarks = []
    for name, bound in book.figures.items():
        if bound.formula is None:
            continue
        places = {place for expression in bound.own for place, _ in expression.names.specs}
        for key in sorted(bound.formula.optional - set(bound.arguments)):
            remarks += [
                Remark(
                    book.spot("figure", name, "takes"),
                    f"figure '{name}' leaves '{key}' to the formula's own default, though there is a spec "
                    f"'{place}.{key}'",
                )
                for place in sorted(places)
                if key in shop.kinds[place]
            ]
    return remarks
