"""Why a rule comes out as it does: what was found, and what it rests on, as deep as asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from compat.checking.world import BuildWorld
from compat.paper.findings import STYLES, sentence
from compat.paper.lines import print_indented
from compat.paper.sentences import chain, contributor_text
from compat.rulebook.rulebook import BoundRule, Limit
from compat.words.deciding import Deciding
from compat.words.reasons import Reason, reasons
from compat.words.report import Finding, Report
from compat.words.wording import readable

if TYPE_CHECKING:
    from compat.paper.screen import Console

__all__ = ["Explained", "explained", "print_why"]


@dataclass(frozen=True)
class Explained:
    """A rule on a build: its findings, and the chain behind them."""

    build: str
    rule: str
    title: str
    findings: Sequence[Finding]
    where: str
    """When it applies, as words; empty where it always does."""
    most: Sequence[str]
    """For each finding which tolerance counts most, as a sentence; empty where none does."""
    chain: Sequence[Reason]
    hidden: int
    """Steps of the whole chain that are not in this one."""
    deeper: bool
    """Whether one more level would show any of them."""
    depth: int | None
    why: str
    source: str

    @property
    def remedies(self) -> list[str]:
        """Every remedy of its findings, each once."""
        return list(dict.fromkeys(remedy for finding in self.findings for remedy in finding.remedies))


def explained(
    report: Report, world: BuildWorld, rule: str, system: str = "metric", depth: int | None = 1
) -> Explained:
    """Give what there is to know of one rule on one build.

    Parameters
    ----------
    report : Report
        The report of the build.
    world : BuildWorld
        The world it was read from.
    rule : str
        Id of a rule of the book, or of a finding that has none.
    system : str
        ``metric`` or ``imperial``, for what the sentences quote.
    depth : int or None
        Levels of what decides; None gives the whole chain, with the branches not taken.

    Returns
    -------
    Explained
        Findings and chain.
    """
    settled = world.settled
    findings = [finding for finding in report.findings if finding.rule == rule]
    bound = settled.book.rules.get(rule)
    whole = reasons(world, bound, system) if bound else []
    shown, deeper = (
        (whole, False) if depth is None or bound is None else _Opened(world, whole).rule(bound, findings, depth)
    )
    first = findings[0] if findings else None
    return Explained(
        build=report.build,
        rule=rule,
        title=bound.rule.title if bound else first.title if first else rule,
        findings=findings,
        where=readable(settled.shop, bound.rule.where) if bound and bound.rule.where else "",
        most=[contributor_text(f.contributor, settled.shop) if f.contributor else "" for f in findings],
        chain=shown,
        hidden=len(_every(whole)) - len(_every(shown)),
        deeper=deeper,
        depth=depth,
        why=bound.rule.why if bound else first.why if first else "",
        source=bound.rule.source if bound else first.source if first else "",
    )


def _every(found: Sequence[Reason]) -> set[str]:
    """Names of all steps of a chain."""
    return {step.name for step in _walk(found)}


def _walk(found: Sequence[Reason]) -> Iterator[Reason]:
    for reason in found:
        yield reason
        yield from _walk(reason.rests_on)


def _idle(bound: BoundRule, finding: Finding) -> Limit | None:
    """The limit of a rule that a finding does not come near, of two."""
    if finding.limit is None or finding.at_least == finding.at_most:
        return None
    return bound.at_most if finding.limit == finding.at_least else bound.at_least


class _Opened:
    """Opens a chain level by level, keeping to what decides."""

    def __init__(self, world: BuildWorld, whole: Sequence[Reason]) -> None:
        self.book = world.settled.book
        self.deciding = Deciding(world)
        # the whole chain opens a figure where it first comes up, which may be on a branch not taken
        self.open: dict[str, Reason] = {}
        for reason in _walk(whole):
            if not reason.seen:
                self.open.setdefault(reason.name, reason)
        self.whole = whole
        self.shown: set[str] = set()
        self.deeper = False

    def rule(self, bound: BoundRule, findings: Sequence[Finding], depth: int) -> tuple[list[Reason], bool]:
        """What a rule names, to so many levels; and whether there is more below."""
        idle = [limit.expression for finding in findings if (limit := _idle(bound, finding)) is not None]
        says = [each for each in bound.expressions(conditions=False) if each not in idle]
        names = self.deciding.names(says or bound.expressions())
        return self.level(self.whole, names, depth), self.deeper

    def level(self, found: Sequence[Reason], names: set[str], depth: int) -> list[Reason]:
        return [self.one(reason, depth) for reason in found if reason.name in names]

    def one(self, reason: Reason, depth: int) -> Reason:
        opened = self.open.get(reason.name, reason)
        if not opened.rests_on:
            return replace(opened, seen=False)
        names = self.deciding.names(self.deciding.made_of(reason.name))
        if not any(each.name in names for each in opened.rests_on):
            return replace(opened, rests_on=[], seen=False)  # the branch taken rests on nothing
        if depth == 1:
            self.deeper = True
            return replace(opened, rests_on=[], seen=False)
        if reason.name in self.shown:
            return replace(opened, rests_on=[], seen=True)
        self.shown.add(reason.name)
        return replace(opened, rests_on=self.level(opened.rests_on, names, depth - 1), seen=False)


def print_why(console: Console, found: Explained, system: str = "metric") -> None:
    """Print why a rule comes out as it does.

    Parameters
    ----------
    console : Console
        Where to.
    found : Explained
        What there is to know of it.
    system : str
        ``metric`` or ``imperial``.
    """
    for finding, most in zip(found.findings, found.most, strict=True):
        print_indented(console, f"{finding.verdict.upper()}: {finding.title}", 0, STYLES[finding.verdict])
        print_indented(console, sentence(finding), 1)
        if most:
            print_indented(console, most, 1)
    if not found.findings:
        print_indented(console, f"The rule does not apply to {found.build}: {found.title}.", 0)
    if found.where:
        print_indented(console, f"It {'applies' if found.findings else 'would apply'} where {found.where}.", 1)
    for depth, text in chain(list(found.chain), system):
        print_indented(console, text, 1 + depth)
    print_indented(console, f"Why it matters: {found.why}", 0)
    print_indented(console, f"Source: {found.source}.", 0, "dim")
    for remedy in found.remedies:
        print_indented(console, f"-> {remedy}", 0)
    if more := _more(found):
        print_indented(console, more, 0, "dim")


def _more(found: Explained) -> str:
    """How to see what is not shown."""
    if not found.hidden or found.depth is None:
        return ""
    says = f"--depth {found.depth + 1} goes a level deeper; " if found.deeper else ""
    steps = f"{found.hidden} more step{'s' * (found.hidden != 1)}"
    return f"{says}--depth all shows the whole chain, {steps}."
