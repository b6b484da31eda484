"""A build put right, as a document: what changes and why, what it costs, how sure that is, what else."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from compat.paper.answers import answer
from compat.paper.document import Block, Column, Document, Entries, Heading, Listed, Row, Table, Text
from compat.paper.formats.values import shown_day
from compat.paper.impossible import impossible_blocks
from compat.planning.fixed import Fixed, Mended, Remade
from compat.planning.together import WhyNot
from compat.planning.told_why import WhyTeller
from compat.rulebook.rulebook import Rulebook
from compat.shop.money import Money
from compat.shop.shop import Shop
from compat.trade.plain import as_plain
from compat.words.reporting import report
from compat.words.wording import in_sentence, listed

__all__ = ["fixed_document"]

WORDS = {
    "swap": "{after} in place of {before}",
    "add": "add {after}",
    "keep": "keep the factory's {after} in place of {before}",
    "leave out": "leave out {before}",
    "do": "do {name}{size}",
    "size": "do {name} to {after} instead of {before}",
    "undo": "leave out: {name}",
    "set": "{after} instead of {before}",
    "renew": "renew",
}
CHECKED = (
    "The build was checked whole. A check sees what is on the cards: the bench and the makers' instructions go "
    "before it."
)
RULES = 3
"""So many rules are named as the reason for a change; of the others the number is told."""


def fixed_document(found: Fixed, asked: str = "", why: WhyNot | None = None) -> Document:
    """What puts a build right.

    Parameters
    ----------
    found : Fixed
        What `compat.planning.fixing.fix` gives.
    asked : str
        What was asked for, in words: what is kept, avoided, aimed at.
    why : WhyNot, optional
        What cannot stand together, where no build was found.

    Returns
    -------
    Document
        What any format writes.
    """
    settled = found.before.world.settled
    teller = _Teller(settled.shop, settled.book, found.currency)
    blocks = list(teller.blocks(found, asked, why is not None))
    if why is not None:
        blocks += impossible_blocks(WhyTeller(why))
    blocks += teller.expired([*found.builds, *(_allowed(why) if why is not None else ())])
    if found.best is not None:
        blocks.append(Text(CHECKED, "caution"))
    return Document(
        title=f"{settled.build.build}: {_answer(found)}",
        blocks=blocks,
        subject=settled.build.name,
        dated=found.on,
        data=as_plain(answer(found, why), measures=True),
    )


def _allowed(why: WhyNot) -> Iterator[Remade]:
    """Builds that pass after all, or with something given up."""
    if why.possible is not None:
        yield why.possible
    yield from (member.freed.remade for member in why.members if member.freed is not None)


def _answer(found: Fixed) -> str:
    if found.best is None:
        return "nothing puts it right" if found.ended == "impossible" else "nothing found in time"
    if not found.best.changes:
        return "nothing to change"
    count = len(found.best.changes)
    return f"{count} change{'s' * (count != 1)} put it right"


class _Teller:
    def __init__(self, shop: Shop, book: Rulebook, currency: str) -> None:
        self.shop = shop
        self.book = book
        self.currency = currency

    def blocks(self, found: Fixed, asked: str, explained: bool) -> Iterator[Block]:
        if asked:
            yield Text(asked, "quiet")
        if found.best is None:
            yield Text(self.none(found), "against")
            if found.always and not explained:
                yield Text("Whatever is chosen, this stands against it; the figures are of the build as it is:")
                yield Listed([self.failing(found, rule) for rule in found.always])
            return
        yield Entries(list(self.sums(found, found.best)))
        if found.best.changes:
            yield from self.changes(found.best)
        for number, other in enumerate(found.builds[1:], 2):
            yield Heading(f"Answer {number}")
            yield Entries(list(self.sums_of(other)))
            yield from self.against(found.best, other)
        yield from self.tried(found)

    def tried(self, found: Fixed) -> Iterator[Block]:
        """Of how many sizes the proof speaks; a page of them would be read by nobody."""
        counts = {name: len([size for size in own if size]) for name, own in found.sizes.items()}
        works = [count for name, count in counts.items() if count and name in self.shop.works]
        told = [f"{sum(works)} sizes of {len(works)} kinds of work"] if works else []
        told += [f"{counts[name]} of the {name}" for name in sorted(counts.keys() - self.shop.works)]
        if told:
            yield Text(f"The proof is of what was tried: {listed(told)} (--json has them).", "quiet")

    def expired(self, builds: Iterable[Remade]) -> Iterator[Block]:
        """Whose prices no longer hold on the day."""
        gone = {name: last for one in builds for name, last in one.expired.items()}
        for name, last in gone.items():
            day = shown_day(last, self.shop.info.language if self.shop.info is not None else "en_GB")
            supplier = self.shop.suppliers[name].name
            yield Text(f"The price list of {supplier} expired on {day}: ask before you order.", "caution")

    def failing(self, found: Fixed, rule: str) -> str:
        """A rule that fails whatever is chosen, as it comes out on the build as it stands."""
        findings = report(found.before, fine=False).findings
        because = next((f"{one.title}: {one.because}" for one in findings if one.rule == rule), "")
        return because or f"{self.title(rule)}."

    def none(self, found: Fixed) -> str:
        if found.ended == "impossible":
            return (
                "No build that these terms allow goes together and meets the goal: that is proved of every "
                "part, work and size that may be chosen here."
            )
        return "In the time given no build was found, and none was proved to be out of the question."

    def sums(self, found: Fixed, best: Remade) -> Iterator[tuple[str, str]]:
        yield from self.sums_of(best)
        if found.proved:
            yield "Proof", "nothing better is to be had in this shop"
        else:
            yield "Proof", f"none yet: at most {100 * found.gap:.1f} % may be saved"

    def sums_of(self, one: Remade) -> Iterator[tuple[str, str]]:
        yield (
            "Cost",
            f"{self.money(one.money)}: parts {self.money(one.parts).figure}, labour "
            f"{self.money(one.labour).figure}, outwork {self.money(one.outwork).figure}",
        )
        yield "Hours", f"{one.hours:f}"
        if one.days is not None:
            yield "Days until all parts are in", str(one.days)
        if one.given_up:
            given_up = any(change.wish for change in one.changes)
            what = "Wishes given up" if given_up else "Changes by themselves"
            yield what, f"count as {self.money(one.given_up)} in the choice, and cost nothing"
        yield "Verdict", one.verdict

    def money(self, amount: Decimal) -> Money:
        return Money(amount, self.currency)

    def changes(self, best: Remade) -> Iterator[Block]:
        columns = (Column("On", "text", 2), Column("Change", "text", 3), Column("Because", "text", 4))
        given_up = [one for one in best.changes if one.wish and one.what != "renew"]
        others = [one for one in best.changes if not one.wish and one.what != "renew"]
        for title, changes in (("Wishes given up", given_up), ("Changes", others)):
            if changes:
                yield Heading(f"{title} ({len(changes)})")
                yield Table(columns, [self.row(one) for one in changes], title)
        renewed = [one.on for one in best.changes if one.what == "renew"]
        if renewed:
            yield Text(f"Renewed at opened joints: {', '.join(renewed)}.")

    def row(self, one: Mended) -> Row:
        return Row((self.where(one), self.says(one), self.because(one)))

    def where(self, one: Mended) -> str:
        if one.on in self.shop.positions:
            return self.shop.positions[one.on].name
        if one.on in self.shop.works:
            return f"work {one.on}"
        where = "setup" if one.on in self.shop.kinds["setup"] else "goal"
        return f"{where} {one.on.replace('_', ' ')}"

    def says(self, one: Mended) -> str:
        name = in_sentence(self.shop.works[one.on].name) if one.on in self.shop.works else one.on
        size = "".join(f", {what} {value}" for what, value in one.sizes.items())
        before = one.before or "none"
        return WORDS[one.what].format(before=before, after=one.after or "none", name=name, size=size)

    def because(self, one: Mended) -> str:
        """The rules that fail without it, else those that it helps to clear."""
        rules = one.holds or one.clears
        titles = list(dict.fromkeys(self.title(rule) for rule in rules))
        rest = len(titles) - RULES
        return "; ".join(titles[:RULES]) + (f"; {rest} more" if rest > 0 else "")

    def title(self, rule: str) -> str:
        bound = self.book.rules.get(rule)
        if bound is not None:
            return bound.rule.title
        if rule.startswith("need-work:"):
            return "Other work asks for it"
        need = rule.removeprefix("need-").replace("-", " ")
        return f"Something needs it: {need}" if rule.startswith("need-") else need

    def against(self, best: Remade, other: Remade) -> Iterator[Block]:
        """What another answer does otherwise than the best."""
        own, theirs = _by_what(best), _by_what(other)
        rows = [self.row(one) for key, one in theirs.items() if key not in own]
        columns = (Column("On", "text", 2), Column("Instead", "text", 3), Column("Because", "text", 4))
        if rows:
            yield Table(columns, rows, "Instead")
        touched = {on for on, _, _ in theirs}
        spared = [self.where(one) for one in own.values() if one.on not in touched]
        if spared:
            yield Text(f"It leaves as it was: {listed(spared)}.")


def _by_what(one: Remade) -> dict[tuple[str, str, tuple[tuple[str, str], ...]], Mended]:
    """Changes by what they make of what; renewals follow from them."""
    changes = (each for each in one.changes if each.what != "renew")
    return {(each.on, each.after, tuple(each.sizes.items())): each for each in changes}
