"""What a choice costs, as the solver sees it: goods, carriage, renewed pieces, work, wishes given up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from compat.planning.cells import Cells
from compat.planning.grounds import Grounds
from compat.planning.pieces import pieces_of
from compat.planning.prices import Prices, Way, carriage_of, common, minimum_of
from compat.planning.renewing import Renewing, opening, renewing
from compat.planning.space import Choice, Decision, Option, Space

if TYPE_CHECKING:
    from compat.planning.master import Master

__all__ = ["LAST_RESORT", "TIMES", "TROUBLE", "Costs"]

LAST_RESORT = Decimal(1000)
"""What it counts to leave out what the factory fitted: done only where nothing else will do."""


TROUBLE = Decimal(20)
"""What each change counts at the least: none is made for nothing."""
FIRST = 1_000_000
"""More than any build costs in the shop's currency: what is aimed at before money weighs so much."""
FAR = 10_000
"""Days that stand for a lead time which nobody states."""
TIMES = 10
"""So many times what it costs a wish counts when it is given up."""


class Costs:
    """What the options of a space cost, in whole numbers of one size.

    Parameters
    ----------
    space : Space
        The space.
    prices : Prices
        What things cost.
    grounds, cells
        What conditions rest on, and what asks them.

    Notes
    -----
    What the customer decided is kept wherever that can be. Giving up a wish counts what the terms say; else
    `TIMES` as much as it costs, for a part as for work, so that a turbocharger is given up neither to save a
    gasket nor to save its own price; for a position left empty, and for a word of the setup, `TIMES` an hour of
    the shop's labour. To leave out what the factory fitted counts `LAST_RESORT`, another word of the setup an
    hour of labour, any other change `TROUBLE`. These prices are no money: they stand beside it in what is
    sought to be least, and are told apart.
    """

    def __init__(self, space: Space, prices: Prices, grounds: Grounds, cells: Cells) -> None:
        self.space = space
        self.prices = prices
        self.shop = space.shop
        self.aim = prices.terms.aim
        self.first = FIRST * prices.per_own
        """What one change, or one day, counts in grains where that is aimed at before money."""
        self.hour = prices.grains(prices.info.labour_rate.amount)
        self.work = [self._work(decision) for decision in space.decisions]
        self.wishes = [self._wish(number) for number in range(len(space.decisions))]
        self.vague: set[str] = set()
        """Suppliers of whom more may be bought than is reckoned here: that may save carriage for nothing."""
        self.bought = [
            [self._ways(decision, option) for option in decision.options] for decision in space.decisions
        ]
        weights = [self.weight(n, *range(len(decision.options))) for n, decision in enumerate(space.decisions)]
        self.dearest = max([self.hour, *weights, *(price for row in self.wishes for price in row)])
        """What the dearest option, or wish, counts, in grains."""
        self.opened = opening(space)
        self.renewed = [(one, self._renewed_ways(one)) for one in renewing(space, grounds, cells)]
        self._unreckoned()
        amounts = [amount for amounts in self.work for amount in amounts]
        amounts += [price for row in self.wishes for price in row]
        ways = [w for row in self.bought for own in row for w in own or ()]
        ways += [w for _, own in self.renewed for w in own]
        amounts += [n for w in ways for n in (w.beside, *(amount for _, amount in w.goods))]
        for name, supplier in self.shop.suppliers.items():
            if supplier.currency in prices.weight:
                weight = prices.weight[supplier.currency]
                amounts += [weight * n for tier in carriage_of(self.shop, name) for n in tier if n]
                amounts.append(weight * minimum_of(self.shop, name))
        self.scale = common(amount for amount in amounts if amount)
        """Grains in a unit of the solver's cost."""

    # what options cost by themselves

    def _work(self, decision: Decision) -> list[int]:
        found = []
        for option in decision.options:
            cost = 0
            if option.works:
                labour, outwork, _ = self.prices.work(self.shop.works[decision.name])
                cost = len(option.works) * (self.prices.grains(labour) + self.prices.grains(outwork))
            found.append(cost)
        return found

    def pieces(self, position: str, option: Option) -> int:
        """How many pieces an option puts in at the least."""
        return pieces_of(self.space, position, option)[0]

    def _ways(self, decision: Decision, option: Option) -> tuple[Way, ...] | None:
        """How what an option wants is bought: in no way where it wants nothing; None where nobody sells it."""
        if option.how not in ("fit", "sister"):
            return ()
        if option.said and decision.name in self.space.base.build.brought:
            return ()
        if self._comes_boxed(decision, option):
            return self._vaguely(option.part, ())
        pieces = self.pieces(decision.name, option)
        ways = self.prices.ways(option.part, pieces, option.how == "sister")
        if option.how == "sister":
            # renewed in the end it is bought new
            new = self.prices.ways(option.part, pieces)
            if new is not None and ways is not None and new != ways:
                least = min(way.cost for way in (*ways, *new))
                return self._vaguely(option.part, (Way((), least),))
        fewest, most = pieces_of(self.space, decision.name, option)
        if len(self.shop.parts[option.part].fills) > 1 or fewest != most:
            # pieces for several places may share a pack
            return self._vaguely(option.part, (Way((), self.prices.piece(option.part) * pieces),))
        return self._told(option.part, ways)

    def _vaguely(self, part: str, ways: tuple[Way, ...]) -> tuple[Way, ...]:
        """Ways of which it is not said to whom the money goes."""
        card = self.shop.parts[part]
        self.vague |= {card.sold_by[number].supplier for number in self.prices.offers(card)}
        return ways

    def _told(self, part: str, ways: tuple[Way, ...] | None) -> tuple[Way, ...] | None:
        """Ways as they are; where one says only the least that anybody asks, that is vague."""
        if ways and any(not way.goods for way in ways) and self.prices.offers(self.shop.parts[part]):
            self._vaguely(part, ways)
        return ways

    def _comes_boxed(self, decision: Decision, option: Option) -> bool:
        """Whether another part brings it in its box, so that it need not be bought by itself."""
        for number in self.space.bringers.get(decision.name, ()):
            for other in self.space.decisions[number].options:
                if other.part and other.how in ("fit", "sister") and self._in_box(other.part, option.part):
                    return True
        return False

    def _in_box(self, owner: str, part: str) -> bool:
        waiting, seen = [owner], {owner}
        while waiting:
            for other in self.shop.parts[waiting.pop()].includes:
                if other == part:
                    return True
                if other not in seen:
                    seen.add(other)
                    waiting.append(other)
        return False

    def _wish(self, number: int) -> list[int]:
        decision = self.space.decisions[number]
        said = next((option for option in decision.options if option.said), None)
        price = 0
        if decision.wish and said is not None:
            told = self.space_prices.get(decision.name)
            if told is not None:
                price = self.prices.grains(told)
            elif said.part and said.how != "own":
                pieces = self.pieces(decision.name, said)
                price = TIMES * self.prices.least(said.part, pieces, said.how == "sister")
            elif decision.kind == "work":
                price = TIMES * self.work[number][decision.said or 0]
            else:
                price = TIMES * self.hour
        found = []
        for option in decision.options:
            own = 0 if option.said else max(price, self.prices.grains(TROUBLE))
            if decision.kind == "goal":  # what is left open is no wish
                own = 0
            if decision.kind == "setup" and not option.said:
                own = max(own, self.hour)
            if option.how == "nothing" and not option.said:
                own += self.prices.grains(LAST_RESORT)
            found.append(own)
        return found

    @property
    def space_prices(self) -> Mapping[str, Decimal]:
        """What the terms say of giving up wishes."""
        return self.prices.terms.prices

    def given_up(self, choice: Choice) -> int:
        """What the wishes that a choice gives up count, in grains."""
        return sum(row[number] for row, number in zip(self.wishes, choice, strict=True))

    def weight(self, number: int, *options: int) -> int:
        """What the dearest of some options of a decision costs by itself, in grains."""
        ways = [self.bought[number][option] or () for option in options]
        goods = [min((way.cost for way in own), default=0) for own in ways]
        return max([*goods, *(self.work[number][option] for option in options)], default=0)

    # in the words of the solver

    def express(self, master: Master) -> Any:
        """The cost of a choice as an expression of the solver, in units of `scale` grains."""
        self.goods: dict[str, list[tuple[Any, int]]] = {}
        self.timed: list[tuple[Any, int]] = []
        terms: list[tuple[Any, int]] = []
        wishes: Any = 0
        for number, decision in enumerate(self.space.decisions):
            for index in range(len(decision.options)):
                literal = master.x[number][index]
                terms.append((literal, self.work[number][index]))
                wishes += self.wishes[number][index] // self.scale * literal
                ways = self.bought[number][index]
                if ways:
                    terms += self._buy(master, literal, ways)
                elif ways is None:
                    master.model.add(literal == 0)  # nobody sells it
        self.added = {
            n: master.model.new_bool_var("") for n, d in enumerate(self.space.decisions) if d.kind == "work"
        }
        for number, literal in self.added.items():
            labour, outwork, _ = self.prices.work(self.shop.works[self.space.decisions[number].name])
            terms.append((literal, self.prices.grains(labour) + self.prices.grains(outwork)))
        conditional = {number for one, _ in self.renewed for number, _ in one.when}
        opened = {}
        for joint, by in self.opened.items():
            opened[joint] = master.model.new_bool_var("")
            for number, options in by:
                if number in self.added and number not in conditional:
                    master.model.add_implication(self.added[number], opened[joint])
                literal = master.takes(number, options)
                if literal is None:
                    master.model.add(opened[joint] == 1)
                elif literal is not False:
                    master.model.add_implication(literal, opened[joint])
        places: dict[tuple[int, int], list[tuple[Renewing, tuple[Way, ...]]]] = {}
        for one, ways in self.renewed:
            places.setdefault((one.decision, one.option), []).append((one, ways))
        for told in places.values():
            # a piece that several joints consume is bought once, as many as the first of them asks
            ways = min((its for _, its in told), key=lambda its: min((way.cost for way in its), default=0))
            renewed = master.model.new_bool_var("")
            if not ways:  # nobody sells it, and it would have to be bought new
                master.model.add(renewed == 0)
            for one, _ in told:
                inside = master.inside(one.when)
                if inside is not None:
                    master.model.add_bool_or([~opened[one.joint], *(~each for each in inside), renewed])
            terms += self._buy(master, renewed, ways)
        total: Any = sum(amount // self.scale * literal for literal, amount in terms if amount)
        for name, goods in self.goods.items():
            total += self._supplier(master, name, goods)
        self.money = total
        return total + wishes + self._aimed(master)

    def _aimed(self, master: Master) -> Any:
        """What goes before money where something else is aimed at."""
        weight = self.first // self.scale
        if self.aim == "changes":
            return weight * sum(
                literal
                for decision, own in zip(self.space.decisions, master.x, strict=True)
                for option, literal in zip(decision.options, own, strict=True)
                if not option.said
            )
        if self.aim == "time":
            days = master.model.new_int_var(0, max((day for _, day in self.timed), default=0), "")
            for literal, day in self.timed:
                master.model.add(days >= day).only_enforce_if(literal)
            return weight * days
        return 0

    def leading(self, choice: Choice, days: int | None) -> int:
        """What a choice comes to of what is aimed at before money: changes, or days."""
        if self.aim == "changes":
            return sum(not option.said for _, option in self.space.taken(choice))
        if self.aim == "time":
            return FAR if days is None else days
        return 0

    def _buy(self, master: Master, literal: Any, ways: Sequence[Way]) -> list[tuple[Any, int]]:
        found = []
        taken = [literal] if len(ways) == 1 else [master.model.new_bool_var("") for _ in ways]
        if len(ways) > 1:
            master.model.add(sum(taken) == literal)
        for way, own in zip(ways, taken, strict=True):
            found.append((own, way.beside))
            if way.days:
                self.timed.append((own, way.days))
            for supplier, amount in way.goods:
                self.goods.setdefault(supplier, []).append((own, amount))
        return found

    def _renewed_ways(self, one: Renewing) -> tuple[Way, ...]:
        """How what a joint renews is bought; in no way where nobody sells it."""
        decision = self.space.decisions[one.decision]
        entry = self.space.fitted(decision.name, decision.options[one.option])
        assert entry is not None
        fewest, most = one.pieces
        ways = self.prices.ways(entry.part.part, fewest)
        if ways and (len(entry.part.fills) > 1 or fewest != most):
            return self._vaguely(entry.part.part, (Way((), self.prices.piece(entry.part.part) * fewest),))
        return self._told(entry.part.part, ways) or ()

    def _unreckoned(self) -> None:
        """Note of whom what is bought that joints renew in ways which are not reckoned here."""
        known = {(one.joint, one.decision) for one, _ in self.renewed}
        for joint in self.shop.joints.values():
            for renewal in joint.renews:
                number = self.space.number.get(renewal.position)
                if number is None or (joint.joint, number) in known:
                    continue
                for option in self.space.decisions[number].options:
                    entry = self.space.fitted(renewal.position, option)
                    if entry is not None and not entry.bought:
                        self._vaguely(entry.part.part, ())
        counts: dict[tuple[int, int], set[tuple[int, int]]] = {}
        for one, _ in self.renewed:
            counts.setdefault((one.decision, one.option), set()).add(one.pieces)
        for (number, index), pieces in counts.items():
            decision = self.space.decisions[number]
            entry = self.space.fitted(decision.name, decision.options[index])
            if len(pieces) > 1 and entry is not None:
                self._vaguely(entry.part.part, ())

    def _supplier(self, master: Master, name: str, goods: Sequence[tuple[Any, int]]) -> Any:
        """What an order costs; more than is wanted may be bought to lift it to a mark."""
        value: Any = sum(amount // self.scale * literal for literal, amount in goods)
        weight = self.prices.weight[self.shop.suppliers[name].currency]
        tiers = [
            (None if below is None else below * weight // self.scale, price * weight // self.scale)
            for below, price in carriage_of(self.shop, name)
        ]
        least = minimum_of(self.shop, name) * weight // self.scale
        if not tiers and not least:
            return value
        model = master.model
        mark = max([least, *(below for below, _ in tiers if below is not None)], default=0)
        more = model.new_int_var(0, mark, "")
        used = model.new_bool_var("")
        for literal, _ in goods:
            model.add_implication(literal, used)
        model.add(more <= mark * used)
        total = value + more
        if least:
            model.add(total >= least).only_enforce_if(used)
        carriage: Any = 0
        holds, low = [], 0
        for below, price in (*tiers, (None, 0)):
            tier = model.new_bool_var("")
            model.add(total >= low).only_enforce_if(tier)
            if below is not None:
                model.add(total <= below - 1).only_enforce_if(tier)
                low = below
            holds.append(tier)
            carriage += price * tier
            if below is None:
                break
        model.add(sum(holds) == used)
        return (value if name in self.vague else total) + carriage
