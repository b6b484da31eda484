"""Remedies that were tried, as sentences in the findings of a report."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from compat.checking.check import Checked
from compat.checking.helping import Helping
from compat.checking.outcome import Apart, Foreseen, Met, Outcome, Standing, Stranger
from compat.checking.remedying import Lacking, Remedied, Remedy, clearing, remedied, replaced
from compat.checking.trials import Trials
from compat.checking.world import BuildWorld
from compat.rulebook.rulebook import BoundRule
from compat.shop.changing import Aim, Change, Do, Fit
from compat.words.report import Finding, Report, WayOut
from compat.words.telling import Teller
from compat.words.wording import hours_text, in_sentence, listed

__all__ = ["Remedier", "ways_told"]

TITLES = 3
"""So many rules that come up are named; of the others the number is told."""


class Remedier:
    """Tries remedies on a checked build and tells of those that are true.

    Parameters
    ----------
    checked : Checked
        What checking the build found.
    system : {"metric", "imperial"}
        Units of the sentences.
    whole : bool
        Whether rules that rest on a long calculation are asked as well for what else comes up.
    """

    def __init__(self, checked: Checked, system: str = "metric", *, whole: bool = False) -> None:
        self.checked = checked
        self.system = system
        self.whole = whole
        self.now = _Stage(checked, system, whole, ahead=False)

    @cached_property
    def then(self) -> _Stage:
        """The build with everything added that it must have."""
        return _Stage(self.checked, self.system, self.whole, ahead=True)

    def report(self, said: Report) -> Report:
        """The report with remedies that were tried, of everything that is not fine."""
        return replace(said, findings=tuple(map(self.finding, said.findings)))

    def finding(self, finding: Finding) -> Finding:
        """A finding with remedies that were tried.

        Parameters
        ----------
        finding : Finding
            Of this check, its remedies as the rule names them.

        Returns
        -------
        Finding
            The same; its remedies name part, work and value, and settle it; what nobody can try is `advice`.
        """
        if finding.verdict == "ok":
            return finding
        for outcome in self.outcomes.get((finding.rule, finding.verdict), ()):
            match outcome.seen:
                case Foreseen(of, _):
                    return self.then.of_rule(finding, replace(outcome, seen=of))
                case Stranger(position=position):
                    return self.now.standing(finding, (position,))
                case Apart(position=position, place=place):
                    return self.now.standing(finding, (position, place))
                case Met(provider=provider):
                    return self.now.need(finding, provider is not None)
                case Standing():
                    return finding
            return self.now.of_rule(finding, outcome)
        return finding

    @cached_property
    def outcomes(self) -> Mapping[tuple[str, str], Sequence[Outcome]]:
        """What came of each rule, by its verdict."""
        found: dict[tuple[str, str], list[Outcome]] = {}
        for outcome in self.checked.outcomes:
            found.setdefault((outcome.rule, outcome.verdict), []).append(outcome)
        return found

    def of_cause(self, position: str, rules: Iterable[str]) -> tuple[str, ...]:
        """What clears several findings at once.

        Parameters
        ----------
        position : str
            Where the part stands that they have in common.
        rules : iterable of str
            Rules of the findings.

        Returns
        -------
        tuple of str
            Single parts that clear most of them, each with what else comes up.
        """
        stage = self.now
        asked = frozenset(rules)
        ways = []
        for remedy in clearing(stage.trials, asked, position):
            count = len(asked & set(remedy.effect.clears))
            says = f"{stage.changes(remedy.changes)} clears {count} of these"
            if remedy.effect.raises:
                says += f"; then comes up: {stage.titles(remedy.effect.raises)}"
            ways.append(says)
        return tuple(ways)


class _WayTeller:
    """Tells of changes to one build."""

    def __init__(self, world: BuildWorld, system: str) -> None:
        self.world = world
        self.tell = Teller(world, system)
        self.shop = world.settled.shop
        self.book = world.settled.book

    def way(self, remedy: Remedy, rule: str) -> WayOut:
        effect = remedy.effect
        others = [name for name in effect.clears if name != rule]
        says = self.changes(remedy.changes)
        if remedy.others:
            says += f", or {'another' if remedy.others == 1 else f'one of {remedy.others} others'} like it"
        if others:
            says += f": clears {len(others)} more"
        if effect.raises:
            says += f"; then comes up: {self.titles(effect.raises)}"
        changes = tuple(map(entry, remedy.changes))
        return WayOut(f"{says}.", changes, effect.clears, effect.raises, effect.unseen)

    def titles(self, rules: Sequence[str]) -> str:
        """What rules are about, the first by their titles."""
        titles = [in_sentence(self.book.rules[name].rule.title) for name in rules]
        rest = len(titles) - TITLES
        return listed(titles) if rest <= 0 else f"{', '.join(titles[:TITLES])} and {rest} more"

    def changes(self, changes: Iterable[Change]) -> str:
        """Changes as the beginning of a sentence."""
        first, *more = map(self.change, changes)
        beside = [text.removeprefix("Fit ").removeprefix("Add ") for text in more]
        return f"{first} with {listed(beside)}" if beside else first

    def change(self, change: Change) -> str:
        match change:
            case Fit(position, part):
                word = "Fit" if position in self.world.settled.fitted else "Add"
                return f"{word} {part} ({in_sentence(self.shop.positions[position].name)})"
            case Do(name, values):
                work, family = self.shop.works[name], self.world.settled.variant.family
                size = "".join(f", {what} {value}" for what, value in values)
                return f"{work.name}{size} (work {name}, {hours_text(work, self.shop.families[family])})"
            case Aim(what, value):
                return f"Ask for a {what.replace('_', ' ')} of {value}"


def ways_told(world: BuildWorld, system: str, remedy: Remedy, rule: str = "") -> WayOut:
    """A remedy in words and as a report has it.

    Parameters
    ----------
    world : BuildWorld
        The build that it is for.
    system : {"metric", "imperial"}
        Units of the sentence.
    remedy : Remedy
        The remedy.
    rule : str
        The rule that it settles, which need not be told.

    Returns
    -------
    WayOut
        Sentence and changes.
    """
    return _WayTeller(world, system).way(remedy, rule)


class _Stage(_WayTeller):
    """One build to try remedies on, and to tell of them."""

    def __init__(self, checked: Checked, system: str, whole: bool, *, ahead: bool) -> None:
        then = checked.ahead if ahead else None
        super().__init__(checked.world if then is None else then.world, system)
        judged = checked.judged if then is None else then.judged
        self.trials = Trials(self.world, judged, whole)
        added = () if checked.ahead is None else checked.ahead.added
        self.helping = Helping(self.world, {provider.name for provider, _ in added})

    def of_rule(self, finding: Finding, outcome: Outcome) -> Finding:
        """A finding of a rule that is judged by itself."""
        bound = self.book.judged.get(outcome.rule)
        if bound is None or not bound.rule.remedies:
            return finding
        return self.told(finding, remedied(self.trials, self.helping, outcome), bound)

    def standing(self, finding: Finding, places: Iterable[str]) -> Finding:
        """A finding of a part that cannot stand where it does: another one in its place, or in the other's."""
        found = [best for place in places if (best := replaced(self.trials, place)) is not None]
        ways = tuple(self.way(remedy, finding.rule) for remedy in found)
        kept = [text for text in finding.remedies if not text.startswith("Fit another")]
        says = tuple(way.says for way in ways)
        return replace(finding, ways_out=ways, remedies=says, advice=tuple(kept))

    def need(self, finding: Finding, added: bool) -> Finding:
        """A need: what the check itself adds for it is tried already; everything else is advice."""
        first = finding.remedies[:1] if added else ()
        return replace(finding, remedies=first, advice=finding.remedies[len(first) :])

    def told(self, finding: Finding, found: Remedied, bound: BoundRule) -> Finding:
        ways = tuple(self.way(remedy, finding.rule) for remedy in found.remedies)
        says = tuple(way.says for way in ways) or tuple(self.none(found, finding))
        stating = tuple(self.tell.to_state(finding.unstated)) if finding.verdict == "unknown" else ()
        return replace(finding, ways_out=ways, remedies=(*stating, *says), advice=tuple(self.advice(bound)))

    def advice(self, bound: BoundRule) -> Iterator[str]:
        for key, name in self.helping.those(bound.rule.remedies):
            if key == "do":
                yield self.tell.remedy(key, name)

    def none(self, found: Remedied, finding: Finding) -> Iterator[str]:
        """That nothing in the shop settles it, and what comes nearest."""
        if found.moving is not None:
            raised = self.titles(found.moving.effect.raises)
            yield f"{self.changes(found.moving.changes)} would settle it and only move the trouble: {raised}."
        elif found.none_for:
            names = [in_sentence(self.shop.positions[place].name) for place in found.none_for]
            yield f"No {listed(names, 'or')} of this shop settles it{self.nearest(found.lacking, finding)}."
        elif found.lacking is not None:
            yield f"Nothing that this shop has or does settles it{self.nearest(found.lacking, finding)}."

    def nearest(self, lacking: Lacking | None, finding: Finding) -> str:
        if lacking is None:
            return ""
        amount = self.tell.number(lacking.value, finding.unit)
        if lacking.of_load:
            missing = f"{amount} of capacity lacking"
        else:
            past = (
                "too little"
                if finding.at_least is not None and finding.limit == finding.at_least
                else "too much"
            )
            missing = f"{amount} {past}"
        if not lacking.changes:
            return f": it is {missing}" if not lacking.of_load else f": {missing}"
        with_ = self.changes(lacking.changes).removeprefix("Fit ").removeprefix("Add ")
        return f"; nearest comes {with_}, still {missing}"


def entry(change: Change) -> Mapping[str, str]:
    """A change as a build file has it."""
    match change:
        case Fit(position, part):
            return {"position": position, "part": part}
        case Do(work, values):
            return {"work": work, **dict(values)}
        case Aim(what, value):
            return {"goal": what, "value": value}
