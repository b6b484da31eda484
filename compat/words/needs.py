"""Needs, added parts and opened joints as sentences."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping

from compat.checking.extras import Extra
from compat.checking.helping import Helping
from compat.checking.needs import Demand, Shortage
from compat.checking.outcome import Met, Renewed, RenewedAt
from compat.checking.settle import Settled
from compat.words.telling import Teller
from compat.words.wording import article, in_sentence, listed, plain

__all__ = ["NeedTeller", "forced_by"]


NAMED = 3
"""So many parts are named that would meet a need."""


def forced_by(settled: Settled, extra: Extra) -> str:
    """What forces an extra part or work: a joint that is opened, a rule, or another part or work."""
    if extra.demand is None:
        return f"{settled.shop.joints[extra.joint].name} is opened" if extra.joint else ""
    if extra.demand.rule:
        return settled.book.rules[extra.demand.rule].rule.title
    return f"needed by {'work ' * (extra.demand.owner in settled.shop.works)}{extra.demand.owner}"


class NeedTeller:
    """Says what a build needs, and what it consumes."""

    def __init__(self, tell: Teller, added: Container[str] = ()) -> None:
        self.tell = tell
        self.shop = tell.shop
        self.settled = tell.world.settled
        self.helping = Helping(tell.world, added)

    def sentence(self, met: Met) -> str:
        """A need: met, or why not."""
        if met.shortage is None:
            return f"the build has {self.wanted(met.demand)}"
        return self.lacking(met.demand, met.shortage)

    def remedies(self, met: Met) -> list[str]:
        """What meets a need: first what the check adds by itself, then what rule or feature name."""
        provider, rule = met.provider, self.settled.book.rules.get(met.demand.rule)
        entries: list[tuple[str, str]] = []
        if provider is not None:
            entries.append(("work" if provider.name in self.shop.works else "add", provider.name))
        if rule is not None:
            entries += self.helping.those(rule.rule.remedies)
        else:
            for feature in met.demand.features:
                entries += self.helping.those(self.shop.features[feature].remedies)
        # a part that fills the position is nearer to hand than the bare name of the position
        known = {("add", place) for place in provider.fills} if provider else set()
        told = [self.tell.remedy(key, name) for key, name in entries if (key, name) not in known]
        return list(dict.fromkeys(told)) or [self._offering(met.demand)]

    def _offering(self, demand: Demand) -> str:
        """Parts of this engine that would meet a need in the place of one that is fitted."""
        family, found = self.settled.variant.family, dict[str, str]()
        for feature in demand.features:
            for candidate in self.shop.cheapest(feature):
                suits = not candidate.families or family in candidate.families
                if suits and candidate.part not in found and self._meets(demand, candidate.part):
                    found[candidate.part] = f"{candidate.part} ({candidate.fills[0]})"
                if len(found) == NAMED:
                    break
        if not found:
            return "Fit a part that offers it, or one that does without."
        return f"Fit {listed(found.values(), 'or')}, or a part that does without."

    def _meets(self, demand: Demand, part: str) -> bool:
        offers = (offer for offer in self.shop.parts[part].offers if offer.feature in demand.features)
        return any(
            all(offer.matching.get(key, word) == word for key, word in demand.matching) for offer in offers
        )

    def lacking(self, demand: Demand, shortage: Shortage) -> str:
        """Why a need is open."""
        wanted = self.wanted(demand)
        kind, sign, name = demand.features[0].partition(":")
        if sign and not shortage.offered:
            if kind == "work":
                return f"this work is not in the build: {in_sentence(self.shop.works[name].name)}"
            return f"no {in_sentence(self.shop.positions[name].name)} is in the build"
        who = "the build" if demand.rule else f"{self.asker(demand.owner)} ({demand.owner})"
        if shortage.competing:
            others = listed([owner.removeprefix("rule:") for owner in shortage.competing])
            return f"{who} needs {wanted}; {shortage.offered} there, {shortage.asked} asked for by {others}"
        if shortage.offered:
            return f"{who} needs {wanted}; only {shortage.offered} there"
        return f"{who} needs {wanted}, and nothing in the build offers it"

    def asker(self, name: str) -> str:
        """A part by its position, work by its name."""
        part = self.shop.parts.get(name)
        if part is None:
            return f"the work '{in_sentence(self.shop.works[name].name)}'"
        here = [p for p in part.fills if (entry := self.settled.fitted.get(p)) and entry.part is part]
        place = in_sentence(self.shop.positions[(here or part.fills)[0]].name)
        return f"the {place}" if here else f"the added {place}"

    def wanted(self, demand: Demand) -> str:
        """What a need asks for."""
        names = [self.label(feature) for feature in demand.features]
        says = "".join(f", {plain(key)} {plain(word)}" for key, word in demand.matching)
        if demand.count > 1:
            return f"{demand.count} x {listed([in_sentence(name) for name in names], 'or')}{says}"
        return listed([article(name) for name in names], "or") + says

    def label(self, feature: str) -> str:
        """A feature, a piece of work or a position by its name."""
        kind, _, name = feature.partition(":")
        if not name:
            return self.shop.features[feature].name
        return self.shop.works[name].name if kind == "work" else self.shop.positions[name].name

    # joints

    def renewed(self, seen: RenewedAt) -> str:
        """What an opened joint consumes, and whether the build has it."""
        opened = f"opened ({self.tell.touch(seen.reason)})"
        if not seen.lacking:
            return f"{opened}; everything it consumes is in the build"
        return f"{opened} and not renewed in the build: {listed(map(self.piece, seen.lacking))}"

    def to_renew(self, lacking: Iterable[Renewed], held: Mapping[str, str]) -> list[str]:
        """How a build comes by what an opened joint consumes; what does not fit as it is, is not ordered."""
        lacking = list(lacking)
        entries = [entry for entry in lacking if entry.position not in held]
        says = []
        if entries:
            order = listed([f"{entry.count} x {entry.part}" for entry in entries])
            places = ", ".join(entry.position for entry in entries)
            says = [f"Order {order}, and write `renew: [{places}]` or `renew: all` in the build."]
        return says + [
            f"Hold {entry.part} ({entry.position}) back until this is settled: {held[entry.position]}."
            for entry in lacking
            if entry.position in held
        ]

    def settled_first(self, rules: Iterable[str]) -> str:
        """What must be settled before an extra part is ordered, or work done."""
        return "; ".join(in_sentence(self.settled.book.rules[rule].rule.title) for rule in rules)

    def piece(self, entry: Renewed) -> str:
        """A consumed piece with its count."""
        name = in_sentence(self.shop.positions[entry.position].name)
        return f"{entry.count} x {name}" if entry.count > 1 else name
