"""Remedies that are true: each is tried on the build before anybody is told of it.

A rule names what can help: another part, work, a part more. Here every part of the shop that could stand there
is put in, work is done with the value that it takes, and where one change alone does not do it two or three are
tried together. Among many the rules that are quick to ask decide; what they would have is tried in full then,
with long calculations and needs. What comes up beside is told; what only moves the trouble elsewhere is not.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence, Set
from itertools import combinations, islice, product

from compat.checking.easing import LESS, MORE, eased
from compat.checking.effect import Effect
from compat.checking.helping import Helping
from compat.checking.outcome import RANK, Barred, Borne, Held, Outcome
from compat.checking.sizing import sized
from compat.checking.trials import Trials
from compat.record import record
from compat.shop.changing import Aim, Change, Fit, Say

__all__ = ["WHOLE", "Lacking", "Remedied", "Remedy", "clearing", "remedied", "replaced"]

TOGETHER = 240
"""So many ways to change two things at once, and as many to change three, are tried for one finding."""
WHOLE = 24
"""So many of the parts for one position that settle a finding are tried whole, for what else comes up."""
FOLLOWED = 2
"""So many changes more are looked for, to settle what a change brings up."""
LONG = 24
"""So many where the rule rests on a long calculation."""
FULLY = 6
"""So many changes of one kind are tried in full: those that the quick rules would have, the best first."""


@record(slots=True)
class Remedy:
    """Changes that settle a finding, what else they bring, and how many others of their kind do the same."""

    changes: tuple[Change, ...]
    effect: Effect
    others: int = 0


@record(slots=True)
class Lacking:
    """What comes nearest where nothing settles a finding, and how much is still lacking, SI."""

    changes: tuple[Change, ...]
    """Empty where the build as it is comes nearest."""
    value: float
    """Of a limit how far past it lies; of a load the capacity lacking."""
    of_load: bool


@record(slots=True)
class Remedied:
    """What settles a finding; where nothing does, what comes nearest."""

    remedies: tuple[Remedy, ...]
    none_for: tuple[str, ...] = ()
    """Positions that the rule would have another part in, and that no part of the shop settles it in."""
    lacking: Lacking | None = None
    moving: Remedy | None = None
    """Where nothing does: what would settle it, and bring up as much elsewhere."""
    sifted: tuple[tuple[str, int], ...] = ()
    """Positions with so many parts that only `WHOLE` of them were tried whole, and how many there are."""


def remedied(trials: Trials, helping: Helping, outcome: Outcome, goal: bool = True) -> Remedied:
    """Find what settles a finding.

    Parameters
    ----------
    trials : Trials
        The build that it is of.
    helping : Helping
        Which of the remedies that rules name can be of use.
    outcome : Outcome
        What came of a rule that is judged by itself.
    goal : bool
        Whether another goal is a remedy.

    Returns
    -------
    Remedied
        Changes that bring the finding to nothing, each tried, in the order in which the rule names them,
        another goal last; those that do not leave less against the build are left out. Of parts for one
        position the one that brings up least, then clears most, then is the cheapest; of a goal the nearest to
        that asked.
    """
    return _Finder(trials, helping, outcome, goal).find()


def replaced(trials: Trials, position: str) -> Remedy | None:
    """The part that stands best in a position in place of what does, where that part must go.

    Parameters
    ----------
    trials : Trials
        The build.
    position : str
        The position.

    Returns
    -------
    Remedy or None
        The part that brings up least, then clears most, then comes first; None where there is no other.
    """
    found = [(Fit(position, part),) for part in trials.candidates(position)]
    return _best(trials, [changes for changes in found if trials.of(changes) is not None])


def clearing(trials: Trials, helping: Helping, rules: Set[str], cause: str, most: int = 2) -> list[Remedy]:
    """Give the single parts, and the other goal, that clear most of some findings.

    Parameters
    ----------
    trials : Trials
        The build.
    helping : Helping
        Which of the remedies that rules name can be of use.
    rules : set of str
        Rules of the findings; those on a long calculation find no goal of their own.
    cause : str
        The position of the part that they have in common.
    most : int
        So many positions are tried beside: those that most of the rules would have another part in.

    Returns
    -------
    list of Remedy
        The best part of each position that clears two of them or more, and more than it brings up; those that
        clear most come first. Last, by the same measure, the best goal of those that one of them finds.
    """
    asked = rules & trials.book.judged.keys()
    named = Counter(
        entry["swap"]
        for rule in sorted(asked)
        for entry in trials.book.judged[rule].rule.remedies
        if entry.get("swap", "") in trials.settled.fitted and entry["swap"] != cause
    )
    quick = [name for name in sorted(asked) if not trials.heavy(name)]
    quick.sort(key=trials.against, reverse=True)
    found = []
    for position in [cause, *(position for position, count in named.most_common(most) if count > 1)]:
        most_gained, part = -len(quick), ""
        for group in trials.likeness.groups(asked, position, trials.candidates(position)):
            gain = trials.gain((Fit(position, group[0]),), quick, most_gained)
            if gain is not None and (gain > most_gained or not part or min(group) < part):
                most_gained, part = gain, min(group)
        if not part:
            continue
        changes = (Fit(position, part),)
        if (effect := trials.clearing_more(changes, asked)) is not None:
            found.append(Remedy(changes, effect))
    found.sort(key=lambda one: -len(asked & set(one.effect.clears)))
    return [*found, *_asking_less(trials, helping, quick)]


def _asking_less(trials: Trials, helping: Helping, asked: Sequence[str]) -> Iterator[Remedy]:
    """The goal that clears most of some findings, among those that one of them finds by itself."""
    found: dict[tuple[Aim, ...], None] = {}
    for rule in asked:
        outcome = trials.judged.outcomes.get(rule)
        if outcome is None:
            continue
        for key, what in _of_the_goal(trials, helping, rule):
            aims = eased(trials, outcome, key, what, along=what == "boost" and key == LESS)
            if aims is not None:
                found[aims] = None
    gains = {aims: gain for aims in found if (gain := trials.gain(aims, asked, -len(asked))) is not None}
    if gains:
        # of two that do as much the same always counts
        best = max(gains, key=lambda aims: (gains[aims], [(aim.entry, aim.value) for aim in aims]))
        remedy = Remedy(best, trials.in_full(best))
        if remedy.effect.betters:
            yield remedy


def _of_the_goal(trials: Trials, helping: Helping, rule: str) -> Iterator[tuple[str, str]]:
    """What a rule would have less or more of: ``("relax", "boost")``."""
    for entry in trials.book.judged[rule].rule.remedies:
        key, what = next((key, name) for key, name in entry.items() if key != "with")
        if key in (LESS, MORE) and helping.can_be(key, what, entry.get("with", "")):
            yield key, what


class _Finder:
    def __init__(self, trials: Trials, helping: Helping, outcome: Outcome, goal: bool) -> None:
        self.trials = trials
        self.goal = goal
        self.helping = helping
        self.outcome = outcome
        self.bound = trials.book.judged[outcome.rule]
        self.sifted: dict[str, int] = {}

    def find(self) -> Remedied:
        groups = list(self.groups())
        settling, none_for = [], []
        for position, single in groups:
            good = [(change,) for change in single if self.trials.settles(self.outcome, (change,))]
            if best := _best(self.trials, self.few(good)):
                settling.append(self.followed(best))
            elif position:
                none_for.append(position)
        found = [one for one in settling if self.worth(one)]
        if not found and (best := _best(self.trials, self.together(groups))):
            settling.append(self.followed(best))
            found = [one for one in settling if self.worth(one)]
        asking_less = list(self.asking_less()) if self.goal else []
        settling += asking_less
        found += [one for one in asking_less if self.worth(one)]
        sifted = tuple(self.sifted.items())
        if found:
            return Remedied(tuple(found), tuple(none_for), sifted=sifted)
        moving = min(settling, key=lambda one: len(one.effect.raises), default=None)
        lacking = self.nearest(groups) if moving is None else None
        return Remedied((), tuple(none_for), lacking, moving, sifted)

    def worth(self, remedy: Remedy) -> bool:
        """Whether less speaks against the build then: what only moves the trouble is no way out.

        Of a caution, or a fit to measure, whether fewer of them are left and nothing is brought up.
        """
        effect = remedy.effect
        mild = RANK[self.outcome.verdict] > RANK["unknown"]
        return effect.betters or (mild and not effect.raises and len(effect.mild) < effect.eased)

    def few(self, good: Sequence[tuple[Change, ...]]) -> Sequence[tuple[Change, ...]]:
        """Of changes that settle the finding, each a part for one position, those that are tried whole."""
        if len(good) <= WHOLE:
            return good
        by_part = {last.part: ways for ways in good if isinstance(last := ways[-1], Fit)}
        position = next(last.position for ways in good if isinstance(last := ways[-1], Fit))
        self.sifted[position] = max(len(good), self.sifted.get(position, 0))
        taken = set(self.trials.likeness.unlike_first(position, list(by_part))[:WHOLE])
        return [ways for part, ways in by_part.items() if part in taken]

    def groups(self) -> Iterator[tuple[str, Sequence[Change]]]:
        """What each remedy of the rule comes down to: the position that gets another part, and the changes."""
        for entry in self.bound.rule.remedies:
            key, name = next((key, name) for key, name in entry.items() if key != "with")
            if not self.helping.can_be(key, name, entry.get("with", "")):
                continue
            if key == "work":
                if (done := sized(self.trials, self.outcome, name)) is not None:
                    yield "", [done]
            elif key == "leave_out":
                yield "", [Fit(name, "")]
            elif key == "set":
                word, _, value = name.partition("=")
                yield "", [Say(word, value)]
            elif key in ("swap", "add"):
                places = [name] if name in self.trials.shop.positions else self.trials.shop.parts[name].fills
                named = None if name in self.trials.shop.positions else name
                for place in places[:1]:
                    parts = [named] if named else self.trials.candidates(place)
                    yield place, [Fit(place, part) for part in parts]

    def asking_less(self) -> Iterator[Remedy]:
        """Another goal for each entry that the rule names, and with less boost the power that it makes."""
        for key, what in _of_the_goal(self.trials, self.helping, self.outcome.rule):
            alone = eased(self.trials, self.outcome, key, what)
            ways = [] if alone is None else [Remedy(alone, self.trials.in_full(alone))]
            if what == "boost" and key == LESS and not (ways and not ways[0].effect.raises):
                along = eased(self.trials, self.outcome, key, what, along=True)
                ways += [] if along is None else [Remedy(along, self.trials.in_full(along))]
            if ways:
                yield min(ways, key=lambda one: one.effect.weight)

    def followed(self, remedy: Remedy) -> Remedy:
        """The same changes with one or two more that settle what they bring up, where rules name such."""
        changes, raises = remedy.changes, self.trials.effect(remedy.changes).raises
        for _ in range(FOLLOWED):
            more = [
                (found.weight, ways)
                for name in raises
                for mending in self.mending(name, changes)
                for ways in self.few([(*changes, change) for change in mending])
                if len((found := self.trials.effect(ways)).raises) < len(raises)
            ]
            if not more:
                break
            _, changes = min(more, key=lambda one: one[0])
            raises = self.trials.effect(changes).raises
        if changes == remedy.changes:
            return remedy
        return min(remedy, Remedy(changes, self.trials.in_full(changes)), key=lambda one: one.effect.weight)

    def mending(self, rule: str, changes: tuple[Change, ...]) -> Iterator[Sequence[Change]]:
        """Other parts that settle what changes bring up, position by position, where the changes put none."""
        bound = self.trials.book.judged[rule]
        taken = {change.position for change in changes if isinstance(change, Fit)}
        now = Outcome(rule, "conflict", Barred(True))
        for entry in bound.rule.remedies:
            place = entry.get("swap", "")
            if place and place not in taken and place in self.trials.settled.fitted:
                yield [
                    change
                    for change in (Fit(place, part) for part in self.trials.candidates(place))
                    if self.trials.settles(now, (*changes, change))
                    and self.trials.settles(self.outcome, (*changes, change))
                ]

    def together(self, groups: Sequence[tuple[str, Sequence[Change]]]) -> list[tuple[Change, ...]]:
        """Two, or else three, of the changes that settle the finding together."""
        changing = [self.unlike(place, single) for place, single in groups if single]
        most = LONG if self.trials.heavy(self.outcome.rule) else TOGETHER
        for many in (2, 3):
            ways = (way for several in combinations(changing, many) for way in product(*several) if _apart(way))
            good = [way for way in islice(ways, most) if self.trials.settles(self.outcome, way)]
            if good:
                return good[:WHOLE] if self.sifted else good
        return []

    def unlike(self, position: str, single: Sequence[Change]) -> Sequence[Change]:
        """Of many parts for one position those that the rule tells apart, the cheapest of them first."""
        if len(single) <= WHOLE:
            return single
        likeness = self.trials.likeness
        parts = [change.part for change in single if isinstance(change, Fit)]
        order = likeness.unlike_first(position, parts)
        apart = [group[0] for group in likeness.groups([self.outcome.rule], position, order)]
        self.sifted[position] = max(len(parts), self.sifted.get(position, 0))
        return [Fit(position, part) for part in apart[:WHOLE]]

    def nearest(self, groups: Sequence[tuple[str, Sequence[Change]]]) -> Lacking | None:
        """Of single changes that which leaves least lacking."""
        if RANK[self.outcome.verdict] > RANK["unknown"]:
            return None
        best = _lack(self.outcome, ())
        for _, single in groups:
            for change in single:
                try:
                    outcome = self.trials.ask(self.outcome.rule, (change,))
                except LookupError:
                    continue
                lack = _lack(outcome, (change,)) if outcome is not None else None
                if lack is not None and (best is None or lack.value < best.value):
                    best = lack
        return best


def _best(trials: Trials, found: Sequence[tuple[Change, ...]]) -> Remedy | None:
    """Of changes that settle a finding those that bring up least; None where there are none."""
    order = sorted(range(len(found)), key=lambda number: trials.effect(found[number]).weight)
    tried: list[Remedy] = []
    for number in order[:FULLY]:
        quick, effect = trials.effect(found[number]), trials.in_full(found[number])
        tried.append(Remedy(found[number], effect))
        if len(effect.raises) == len(quick.raises) and not effect.asks:
            break  # nothing came up that was not seen before: the others bring up as much, and clear no more
    if not tried:
        return None
    best = min(tried, key=lambda one: (not one.effect.betters, one.effect.weight))
    weight = trials.effect(best.changes).weight
    alike = sum(trials.effect(changes).weight == weight for changes in found) - 1
    return Remedy(best.changes, best.effect, alike)


def _apart(way: Sequence[Change]) -> bool:
    """Whether changes can be made together: no two parts for one position."""
    places = [change.position for change in way if isinstance(change, Fit)]
    return len(places) == len(set(places))


def _lack(outcome: Outcome, changes: tuple[Change, ...]) -> Lacking | None:
    match outcome.seen:
        case Held() as held if held.side:
            return Lacking(changes, abs(held.value - held.near), False)
        case Borne() as borne if borne.load * (1 + borne.asked) > borne.capacity:
            return Lacking(changes, borne.load * (1 + borne.asked) - borne.capacity, True)
    return None
