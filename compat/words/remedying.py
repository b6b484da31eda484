"""Remedies that were tried, as sentences in the findings of a report."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from compat.checking.check import Checked
from compat.checking.helping import Helping
from compat.checking.meeting import met_by
from compat.checking.outcome import OUT, RANK, Apart, Foreseen, Met, Outcome, Standing, Stranger
from compat.checking.remedying import WHOLE, Lacking, Remedied, Remedy, clearing, remedied, replaced
from compat.checking.sparing import Sparing
from compat.checking.trials import Trials
from compat.checking.whole import Whole
from compat.rulebook.rulebook import BoundRule
from compat.shop.changing import Aim, Fit, as_entry
from compat.words.kept_ways import KeptWays, Told
from compat.words.report import Finding, Report, WayOut
from compat.words.ways import TITLES, WayTeller
from compat.words.wording import in_sentence, listed

__all__ = ["Remedier"]

ADDED = "It comes of what is only to be added: look again once that is in the build."
"""Where what would settle a finding does nothing for the build before."""


class Remedier:
    """Tries remedies on a checked build and tells of those that are true.

    Parameters
    ----------
    checked : Checked
        What checking the build found.
    system : {"metric", "imperial"}
        Units of the sentences.
    thorough : bool
        Whether something is tried for cautions that rest on a long calculation, too.
    """

    def __init__(self, checked: Checked, system: str = "metric", *, thorough: bool = True) -> None:
        self.checked = checked
        self.thorough = thorough
        self.system = system
        self.kept = KeptWays(checked, system, thorough)
        self._moving: dict[str, tuple[WayOut, ...]] = {}

    @cached_property
    def now(self) -> _Stage:
        """The build as it stands."""
        return _Stage(self.checked, self.system)

    @cached_property
    def then(self) -> _Stage:
        """The build with everything added that it must have."""
        return _Stage(self.checked, self.system, Whole(self.checked, self.now.trials))

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
        told = self.kept.told(finding)
        if told is None:
            tried = self._tried(finding)
            told = Told(
                tuple(tried.ways_out), tuple(tried.remedies), tuple(tried.advice), self._moved(finding.rule)
            )
            self.kept.tell(finding, told)
        self._moving[finding.rule] = told.moving
        return replace(finding, ways_out=told.ways_out, remedies=told.remedies, advice=told.advice)

    def _tried(self, finding: Finding) -> Finding:
        if not self.thorough and RANK[finding.verdict] > RANK["unknown"] and self.now.long(finding.rule):
            hint = f"`--only {finding.rule}` tries what helps."
            return replace(finding, remedies=(), advice=(*self.now.advised(finding.rule), hint))
        for outcome in self.outcomes.get((finding.rule, finding.verdict), ()):
            match outcome.seen:
                case Foreseen(of, _):
                    return self.then.of_rule(finding, replace(outcome, seen=of))
                case Stranger(position=position):
                    return self.now.standing(finding, outcome, (position,))
                case Apart(position=position, place=place):
                    return self.now.standing(finding, outcome, (position, place))
                case Met() as met:
                    ahead = self.checked.ahead
                    added = ahead is not None and any(outcome is one for one in ahead.lacking)
                    return (self.then if added else self.now).need(finding, outcome, met)
                case Standing():
                    return self.now.left_out(finding, outcome)
            return self.now.of_rule(finding, outcome)
        return finding

    def moving(self, finding: Finding) -> tuple[WayOut, ...]:
        """What would settle a finding for which nothing else was found, and only move the trouble.

        Parameters
        ----------
        finding : Finding
            One that `finding` was asked for.

        Returns
        -------
        tuple of WayOut
            One at the most, in the words that the finding's remedies say it in.
        """
        return self._moving.get(finding.rule, ())

    def _moved(self, rule: str) -> tuple[WayOut, ...]:
        stages = [vars(self)[name] for name in ("now", "then") if name in vars(self)]
        return tuple(stage.moving[rule] for stage in stages if rule in stage.moving)

    @cached_property
    def outcomes(self) -> Mapping[tuple[str, str], Sequence[Outcome]]:
        """What came of each rule, by its verdict."""
        found: dict[tuple[str, str], list[Outcome]] = {}
        for outcome in self.checked.outcomes:
            found.setdefault((outcome.rule, outcome.verdict), []).append(outcome)
        return found

    def of_cause(self, position: str, rules: Iterable[str]) -> tuple[WayOut, ...]:
        """What clears several findings at once.

        Parameters
        ----------
        position : str
            Where the part stands that they have in common.
        rules : iterable of str
            Rules of the findings.

        Returns
        -------
        tuple of WayOut
            Single parts that clear most of them, each with what else comes up.
        """
        asked = frozenset(rules)
        ways = self.kept.clearing(position, sorted(asked))
        if ways is None:
            ways = tuple(self._clearing(position, asked))
            self.kept.clear(position, sorted(asked), ways)
        return ways

    def _clearing(self, position: str, asked: frozenset[str]) -> Iterator[WayOut]:
        stage = self.now
        # of what comes up on the build with all that it must have nothing is asked here
        unasked = not all(map(stage.trials.against, asked - stage.renewing))
        for remedy in clearing(stage.trials, stage.helping, asked, position):
            count = len(asked & set(remedy.effect.clears))
            yield stage.said(remedy, f" clears {'at least ' * unasked}{count} of these")


class _Stage(WayTeller):
    """One build to try remedies on, and to tell of them."""

    def __init__(self, checked: Checked, system: str, today: Whole | None = None) -> None:
        # with the build as it stands beside it, this is the one with everything added that it must have
        then = checked.ahead if today is not None else None
        super().__init__(checked.world if then is None else then.world, system)
        judged = checked.judged if then is None else then.judged
        needs = checked.needs if then is None else then.stages[-1].needs
        self.trials = Trials(self.world, judged, needs)
        added = () if checked.ahead is None else checked.ahead.added
        self.helping = Helping(self.world, {provider.name for provider, _ in added})
        # what is only to be added is not left out: it is not added
        self.sparing = None if then is not None else Sparing(checked, self.trials, self.helping)
        self.today = today
        self.moving: dict[str, WayOut] = {}
        """By rule what would settle it and only move the trouble, as far as that was asked for."""

    @cached_property
    def renewing(self) -> frozenset[str]:
        """Rules on what opened joints consume, which no other part clears."""
        return frozenset(bound.rule.rule for bound in self.book.renews.values())

    def of_rule(self, finding: Finding, outcome: Outcome) -> Finding:
        """A finding of a rule that is judged by itself."""
        bound = self.book.judged.get(outcome.rule)
        if bound is None or not bound.rule.remedies:
            return self.left_out(finding, outcome)
        found = remedied(self.trials, self.helping, outcome)
        remedies = self.with_spared(found.remedies, outcome)
        if found.remedies and not remedies:
            return replace(finding, remedies=(), advice=(*self.sentences(bound.rule.remedies), ADDED))
        return self.told(finding, replace(found, remedies=remedies), bound)

    def spared(self, outcome: Outcome) -> Iterator[Remedy]:
        """What settles a finding by being left out."""
        return iter(()) if self.sparing is None else self.sparing.remedies(outcome)

    def with_spared(self, remedies: Sequence[Remedy], outcome: Outcome) -> tuple[Remedy, ...]:
        """Remedies with what can be left out: after other parts and work, before another goal."""
        if self.today is not None:
            # what is tried where all is added must do as much for the build as somebody has it in hand
            return tuple(one for one in remedies if self.today.lasts(one.changes, outcome.rule))
        if self.sparing is None or RANK[outcome.verdict] > OUT:
            return tuple(remedies)
        goals = [one for one in remedies if all(isinstance(change, Aim) for change in one.changes)]
        # what is left out is tried more thoroughly than rule by rule
        others = [one for one in remedies if one not in goals and not _leaves_out(one)]
        return (*others, *self.spared(outcome), *goals)

    def left_out(self, finding: Finding, outcome: Outcome) -> Finding:
        """A finding for which nothing else is tried; what is told of it beside is advice then."""
        if not (ways := tuple(self.way(remedy, finding.rule) for remedy in self.spared(outcome))):
            return finding
        says, advice = tuple(way.says for way in ways), (*finding.remedies, *finding.advice)
        return replace(finding, ways_out=ways, remedies=says, advice=advice)

    def standing(self, finding: Finding, outcome: Outcome, places: Iterable[str]) -> Finding:
        """A finding of a part that cannot stand where it does: another one in its place, or in the other's."""
        found = [best for place in places if (best := replaced(self.trials, place)) is not None]
        found += self.spared(outcome)
        ways = tuple(self.way(remedy, finding.rule) for remedy in found)
        kept = [text for text in finding.remedies if not text.startswith("Fit another")]
        says = tuple(way.says for way in ways)
        return replace(finding, ways_out=ways, remedies=says, advice=tuple(kept))

    def need(self, finding: Finding, outcome: Outcome, met: Met) -> Finding:
        """A need: what the check itself adds for it is tried already, and what else would meet it is now."""
        first = finding.remedies[:1] if met.provider is not None else ()
        if RANK[finding.verdict] > OUT:
            return replace(finding, remedies=first, advice=finding.remedies[len(first) :])
        found, whole = met_by(self.trials, self.helping, finding.rule, met)
        ways = tuple(self.way(remedy, finding.rule) for remedy in self.with_spared(found, outcome))
        says = (*first, *(way.says for way in ways))
        rule, features = met.demand.rule, self.shop.features
        named = (
            self.book.rules[rule].rule.remedies
            if rule
            else [
                entry for name in met.demand.features if name in features for entry in features[name].remedies
            ]
        )
        none = () if says or found or not whole else ("Nothing that this shop has or does meets it.",)
        advice = (*self.sentences(named), *([ADDED] if found and not says else []))
        return replace(finding, ways_out=ways, remedies=says or none, advice=advice)

    def told(self, finding: Finding, found: Remedied, bound: BoundRule) -> Finding:
        ways = tuple(self.way(remedy, finding.rule) for remedy in found.remedies)
        says = tuple(way.says for way in ways) or tuple(self.none(found, finding))
        stating = tuple(self.tell.to_state(finding.unstated)) if finding.verdict == "unknown" else ()
        return replace(
            finding,
            ways_out=ways,
            remedies=(*stating, *says),
            advice=(*self.sentences(bound.rule.remedies), *self.sifted(found)),
        )

    def sifted(self, found: Remedied) -> Iterator[str]:
        """Where the shop has so many parts for a position that not all were tried for what else comes up."""
        if found.sifted:
            names = [
                f"{number} parts for {in_sentence(self.shop.positions[place].name)}"
                for place, number in found.sifted
            ]
            many = f"{WHOLE} of each" if len(names) > 1 else str(WHOLE)
            yield (
                f"Of {listed(names)} {many} were tried for what else comes up: the cheapest, those that "
                "differ from a cheaper one in one spec alone last."
            )

    def long(self, rule: str) -> bool:
        """Whether something is tried for a rule, and that takes long."""
        bound = self.book.judged.get(rule)
        return bound is not None and bool(bound.rule.remedies) and self.trials.heavy(rule)

    def advised(self, rule: str) -> Iterator[str]:
        """What a rule says beside, and nobody can try."""
        return self.sentences(self.book.rules[rule].rule.remedies)

    def sentences(self, remedies: Iterable[Mapping[str, str]]) -> Iterator[str]:
        """What nobody can try."""
        for key, name in self.helping.those(remedies):
            if key == "do":
                yield self.tell.remedy(key, name)

    def none(self, found: Remedied, finding: Finding) -> Iterator[str]:
        """That nothing in the shop settles it, and what comes nearest."""
        if found.moving is not None:
            effect = found.moving.effect
            raised = (*effect.raises, *effect.asks) or effect.mild
            beside = self.titles(raised) if len(raised) <= TITLES else f"{len(raised)} more findings come up"
            says = f"{self.changes(found.moving.changes)} would settle it and only move the trouble: {beside}."
            self.moving[finding.rule] = WayOut(
                says, tuple(map(as_entry, found.moving.changes)), (), effect.raises, effect.asks
            )
            yield says
        elif found.none_for:
            names = [in_sentence(self.shop.positions[place].name) for place in found.none_for]
            yield f"No {listed(names, 'or')} of this shop settles it{self.nearest(found.lacking, finding)}."
        elif found.lacking is not None:
            yield f"Nothing that this shop has or does settles it{self.nearest(found.lacking, finding)}."

    def nearest(self, lacking: Lacking | None, finding: Finding) -> str:
        if lacking is None:
            return ""
        # a difference of temperatures is no temperature; two figures say how far it is
        name = {"degC": "K"}.get(finding.unit, finding.unit)
        amount = self.tell.number(lacking.value, name, 0.05 * lacking.value)
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
            return f": {missing}"
        with_ = self.changes(lacking.changes).removeprefix("Fit ").removeprefix("Add ")
        return f"; nearest comes {with_}, still {missing}"


def _leaves_out(remedy: Remedy) -> bool:
    """Whether all that is done is to leave one part out."""
    match remedy.changes:
        case (Fit(part=""),):
            return True
    return False
