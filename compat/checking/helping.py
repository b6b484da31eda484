"""Which remedies can help a build: what they name is there, and work whose outcome can be told is tried."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from re import findall

from compat.checking.built import settle
from compat.checking.judging import judge
from compat.checking.moving import carry_over
from compat.checking.outcome import RANK, Barred, Borne, Held, Outcome, Paired
from compat.checking.world import BuildWorld
from compat.rulebook.influence import Moved
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.scope import GOAL
from compat.shop.changing import Do, with_changes
from compat.shop.specs import state

__all__ = ["Helping", "nearer"]


class Helping:
    """Sifts the remedies that rules and features name, for one build.

    Parameters
    ----------
    world : BuildWorld
        The build.
    added : collection of str
        Parts and work that the check adds.
    """

    def __init__(self, world: BuildWorld, added: Container[str] = ()) -> None:
        self.world = world
        self.added = added
        self.settled = world.settled
        self.shop = world.settled.shop
        self._done: dict[str, tuple[BuildWorld, Moved]] = {}

    def those(
        self,
        entries: Iterable[Mapping[str, str]],
        rule: BoundRule | None = None,
        outcome: Outcome | None = None,
    ) -> Iterator[tuple[str, str]]:
        """Give the remedies that can help.

        Parameters
        ----------
        entries : iterable of mapping
            Remedies as files hold them.
        rule, outcome : optional
            What they are to help, and what came of it: work is tried on it.

        Yields
        ------
        tuple of str
            Word and name: ``("work", "deck-block")``.
        """
        for entry in entries:
            key, name = next((key, name) for key, name in entry.items() if key != "with")
            if not self.can_be(key, name, entry.get("with", "")):
                continue
            if key != "work" or rule is None or outcome is None or self.helps(name, rule, outcome):
                yield key, name

    def can_be(self, key: str, name: str, beside: str = "") -> bool:
        """Whether there is what a remedy names: a part to swap, a free place to fill, something to work on."""
        fitted = self.settled.fitted
        if beside and beside not in fitted:
            return False
        match key:
            case "swap":
                return name in fitted
            case "leave_out":
                place = self.shop.positions[name]
                kept = place.required or (place.indispensable and name in self.settled.variant.parts)
                return name in fitted and name != "fuel" and not kept
            case "relax" | "raise":
                return getattr(self.settled.goal, GOAL[name][1]) is not None
            case "set":
                word, _, value = name.partition("=")
                said = self.settled.specs.at("setup", word)
                return (
                    said is not None
                    and said.value != state(self.shop.kinds["setup"][word], value, "shop").value
                )
            case "add":
                places = [name] if name in self.shop.positions else self.shop.parts[name].fills
                return any(place not in fitted for place in places)
            case "work":
                return self.shop.works[name].on in fitted and name not in self.world.works and self.wanted(name)
        return True

    def wanted(self, name: str) -> bool:
        """Whether work gives more than the build has: a second boss beside a free one helps nobody."""
        work = self.shop.works[name]
        if work.changes or not work.offers or name in self.added:
            return True
        return not all(self.world.offered(offer.feature) for offer in work.offers)

    def helps(self, work: str, rule: BoundRule, outcome: Outcome) -> bool:
        """Whether work brings an outcome nearer to what is asked; taken as so where nobody can tell."""
        takes = self.shop.works[work].takes.values()
        if any(parameter.default is None for parameter in takes) or rule.rule.sort in ("need", "renew"):
            return True
        world, moved = self.after(work)
        if rule.rule.rule not in moved.rules:
            return True  # what it does is not stated where the rule looks
        found = judge(world, rule)
        if found is None or RANK[found.verdict] > RANK[outcome.verdict]:
            return True
        return self.adjustable(work, rule) and nearer(outcome, found)

    def adjustable(self, work: str, rule: BoundRule) -> bool:
        """Whether more or less of the work moves what the rule looks at."""
        specs = {".".join(spec) for spec in self.settled.book.grounds(rule).specs}
        done = self.shop.works[work]
        said = [change.by or change.to or "" for change in done.changes if change.spec in specs]
        return any(not done.takes.keys().isdisjoint(findall(r"\w+", text)) for text in said)

    def after(self, work: str) -> tuple[BuildWorld, Moved]:
        """The build with work done beside its own, and what that moves."""
        if work not in self._done:
            settled = self.settled
            ready = with_changes(settled.ready, [Do(work)])
            world = settle(settled.shop, settled.book, ready, self.world.answers, settled.fitted)
            self._done[work] = world, carry_over(self.world, world)
        return self._done[work]


def nearer(before: Outcome, after: Outcome) -> bool:
    """Whether an outcome of the same verdict is less bad than it was."""
    match before.seen, after.seen:
        case Held() as was, Held() as now:
            return abs(now.value - now.near) < abs(was.value - was.near) and now.side == was.side
        case Borne(headroom=float(had)), Borne(headroom=float(has)):
            return has > had
        case Paired(was_pairs), Paired(now_pairs):
            return _differing(now_pairs) < _differing(was_pairs)
        case Barred(), Barred():
            return False
    return True


def _differing(pairs: tuple[tuple[int, object, object, bool], ...]) -> int:
    return sum(not agree for *_, agree in pairs)
