"""Why no build passes, in sentences as a builder would say them."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from compat.planning.fixed import Remade
from compat.planning.gated import NEEDS
from compat.planning.together import Freed, Held, Member, Reason, WhyNot
from compat.rulebook.models import AGAINST
from compat.shop.money import Money
from compat.shop.shop import Shop
from compat.words.reporting import report
from compat.words.wording import in_sentence, plain

__all__ = ["WhyTeller"]

ENTRIES = {
    "power": "a power of {}",
    "torque": "a torque of {}",
    "rev_limit": "a rev limit of {}",
    "boost": "a boost of {}",
    "fuel": "the fuel {}",
    "duty": "{} duty",
}


class WhyTeller:
    """Says why no build passes.

    Parameters
    ----------
    why : WhyNot
        What was found.
    system : str
        ``metric`` or ``imperial``.
    """

    def __init__(self, why: WhyNot, system: str = "metric") -> None:
        self.why = why
        self.system = system
        self.shop: Shop = why.before.world.settled.shop

    def sentences(self) -> Iterator[str]:
        """Everything, line by line: what cannot stand together, because of what, and what giving up allows."""
        why = self.why
        if why.ended == "possible" and why.possible is not None:
            yield f"A build passes with everything as it is asked; it costs {self.money(why.possible.money)}."
            return
        if why.ended != "explained":
            yield f"In {why.seconds:.0f} seconds neither a build that passes was found nor that there is none."
            return
        yield from self.members()
        yield from self.reasons()
        yield from self.allowed()
        if why.sizes:
            number = len(why.sizes)
            yield f"Of {number} kinds of work only the sizes worth trying were tried; that is proved of these."

    # what cannot stand together

    def members(self) -> Iterator[str]:
        """What is asked that cannot stand together, one line each."""
        why = self.why
        variant = why.before.world.settled.variant
        if not why.members:
            yield f"No build on the {variant.name} passes, whatever else is given up of what is asked."
            return
        one = len(why.members) == 1
        yield "This cannot stand by itself:" if one else f"These {len(why.members)} cannot stand together:"
        for member in why.members:
            doubt = "" if member.settled else " (whether it could without this is not settled)"
            yield f"- {self.asked(member.held)}{doubt}."

    def asked(self, held: Held) -> str:
        """What one thing asks, as a clause."""
        match held.kind:
            case "keep":
                return self._kept(held)
            case "goal":
                return f"The goal asks for {self._entry(held.name, held.said)}"
            case "avoid":
                return f"{held.said} ({held.name}) is not used"
            case "supplier":
                return f"Nothing is bought from {held.said}"
            case "stock":
                return "Nothing is used but what lies on the shelf"
            case "budget":
                return f"Parts and work cost no more than {self.money(Decimal(held.said))}"
            case "variant":
                return f"The build starts from the {held.said}"

    def _kept(self, held: Held) -> str:
        if held.name in self.shop.works:
            work = self.shop.works[held.name].name
            return f"{work} stays, {held.said}" if held.said else f"{work} stays undone"
        if held.name not in self.shop.positions:
            said = held.said or "as the variant has it"
            return f"{plain(held.name).capitalize()} stays {said}"
        place = self.shop.positions[held.name].name
        return f"{place} stays {self.part(held.said)}" if held.said else f"{place} stays empty"

    def _entry(self, name: str, said: str) -> str:
        return ENTRIES[name].format(self.shop.parts[said].name if name == "fuel" else said)

    def part(self, name: str) -> str:
        """A part with its number."""
        return f"{in_sentence(self.shop.parts[name].name)} ({name})" if name in self.shop.parts else name

    # because of what

    def reasons(self) -> Iterator[str]:
        """The requirements of the rules, each with how it comes out where the others are met."""
        if self.why.reasons:
            yield "Because:"
        for reason in self.why.reasons:
            doubt = "" if reason.settled else " (whether it could without this is not settled)"
            yield f"- {self.requirement(reason)}{doubt}."

    def requirement(self, reason: Reason) -> str:
        """What a rule asks, and by how much it is missed."""
        found = [] if reason.at is None else report(reason.at, self.system, fine=False).findings
        book_says = [f"{f.title}: {f.because}" for f in found if f.rule == reason.rule and f.verdict != "ok"]
        if book_says:
            return book_says[0].rstrip(".")
        if reason.rule == NEEDS:
            rules = {name for name in (f.rule for f in found) if name.startswith("need-")}
            lacking = [f.because for f in found if f.rule in rules and f.verdict in AGAINST]
            return lacking[0].rstrip(".") if lacking else "Each part must get what it needs of others"
        return reason.rule.replace("-", " ").capitalize()

    # what giving up allows

    def allowed(self) -> Iterator[str]:
        """What giving up each member allows, and at what price."""
        if any(member.freed is not None for member in self.why.members):
            yield "To give up one of them allows:"
        for member in self.why.members:
            yield f"- {self.freedom(member)}."

    def freedom(self, member: Member) -> str:
        """What giving up one member allows."""
        free = member.freed
        name = self.asked(member.held)
        if free is None:
            return f"{name}: in this time no build was found without it"
        said = f"{name}: without it{self._instead(member.held, free)} a build costs {self.cost(free)}"
        if free.also:
            also = [self.asked(held) for held in free.also]
            said += f". It does not keep to this either: {'; '.join(in_sentence(one) for one in also)}"
        if free.highest:
            said += f". It goes up to {free.highest}"
            if free.beyond:
                said += f"; at {free.beyond} none passes"
        if not free.proved:
            said += ". A cheaper one was not ruled out"
        return said

    def _instead(self, held: Held, free: Freed) -> str:
        if not free.instead:
            return ""
        if held.kind == "keep":
            return f", with {self.part(free.instead)}," if free.instead != held.said else ""
        if held.kind == "goal":
            return f", at {self._entry(held.name, free.instead)},"
        name = self.shop.variants[free.instead].name if held.kind == "variant" else free.instead
        return f", on the {name},"

    def cost(self, free: Freed) -> str:
        """What the build then costs, beside the one as it stands."""
        build: Remade = free.remade
        if free.dearer is None:
            return self.money(build.money)
        more = "more" if free.dearer >= 0 else "less"
        return f"{self.money(build.money)}, {self.money(abs(free.dearer))} {more} than as it stands"

    def money(self, amount: Decimal) -> str:
        """An amount in the shop's currency."""
        return str(Money(amount, self.why.currency))
