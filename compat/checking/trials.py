"""A build with changes tried on it: what one rule then says, and what else comes up or goes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from functools import cached_property

from compat.checking.built import settle
from compat.checking.closing import Needs, close_needs, left_open
from compat.checking.effect import Effect
from compat.checking.judged import Judged, asks, judge_again
from compat.checking.judging import judge
from compat.checking.likeness import Likeness
from compat.checking.moving import carry_over
from compat.checking.outcome import OUT, RANK, Met, Outcome
from compat.checking.places import Places
from compat.checking.settle import Settled
from compat.checking.supply import Cards
from compat.checking.world import BuildWorld
from compat.rulebook.influence import Moved
from compat.shop.changing import Aim, Change, Fit, with_changes
from compat.shop.models import Goal
from compat.shop.source import Faults

__all__ = ["Trials", "candidates"]

UNKNOWN = RANK["unknown"]
FINE = RANK["ok"]


class Trials:
    """Tries changes on a checked build: rule by rule to choose among many, and in full what is told of.

    Parameters
    ----------
    world : BuildWorld
        The build as it stands.
    judged : Judged
        What came of the rules on it.
    needs : Needs, optional
        What came of its needs; closed here when they are left out.
    cards : Cards, optional
        What parts and works offer and ask.
    """

    def __init__(
        self, world: BuildWorld, judged: Judged, needs: Needs | None = None, cards: Cards | None = None
    ) -> None:
        self.world = world
        self.judged = judged
        self.settled = world.settled
        self.book = self.settled.book
        self.shop = self.settled.shop
        self.cards = Cards(self.shop, self.book) if cards is None else cards
        self._needs = needs
        self._in_full: dict[tuple[Change, ...], Effect] = {}
        self.places = Places(world)
        self._worlds: dict[tuple[Change, ...], tuple[BuildWorld, Moved] | None] = {}
        self._plain: dict[tuple[Change, ...], Set[str] | None] = {}
        self._light: dict[tuple[Change, ...], BuildWorld] = {}
        self._effects: dict[tuple[tuple[Change, ...], bool], Effect] = {}
        self._aimed: dict[Goal, BuildWorld] = {}
        self.likeness = Likeness(self.settled)
        self._candidates: dict[str, Sequence[str]] = {}
        self._answers: dict[tuple[str, tuple[Change, ...]], Outcome | LookupError | None] = {}
        self.raised: set[str] = set()
        """Rules and needs that anything tried so far would bring up."""

    def of(self, changes: tuple[Change, ...]) -> tuple[BuildWorld, Moved] | None:
        """The build with changes, and what they may move; None where there is no such build."""
        try:
            return self._worlds[changes]
        except KeyError:
            found = self._worlds[changes] = self._made(changes)
            return found

    def _made(self, changes: tuple[Change, ...]) -> tuple[BuildWorld, Moved] | None:
        try:
            ready = with_changes(self.settled.ready, changes)
        except (Faults, ValueError):  # no such part there, or a size that no work takes
            return None
        world = settle(self.shop, self.book, ready, self.world.answers, self.settled.fitted)
        bounds = {outcome.rule for outcome in self.world.working if RANK[outcome.verdict] <= UNKNOWN}
        if any(RANK[o.verdict] <= UNKNOWN and o.rule not in bounds for o in world.working):
            return None  # more work than the piece bears
        return world, carry_over(self.world, world)

    def ask(self, rule: str, changes: tuple[Change, ...]) -> Outcome | None:
        """What a rule that is judged by itself says with changes.

        Raises
        ------
        LookupError
            When there is no such build.
        """
        touched = self._touched(changes)
        if touched is not None and rule not in touched:
            return self.judged.outcomes.get(rule)
        changes = tuple([self._stand_in(rule, change) for change in changes])
        key = (rule, changes)
        try:
            answer = self._answers[key]
        except KeyError:
            answer = self._answers[key] = self._answer(rule, changes)
        if isinstance(answer, LookupError):
            raise LookupError
        return answer

    def _stand_in(self, rule: str, change: Change) -> Change:
        """The change that says the same to a rule, and was asked of first."""
        if not isinstance(change, Fit) or not change.part or change.part not in self.shop.parts:
            return change
        if change.position not in self.shop.parts[change.part].fills:
            return change
        part = self.likeness.stand_in(rule, change.position, change.part)
        return change if part == change.part else Fit(change.position, part)

    def _answer(self, rule: str, changes: tuple[Change, ...]) -> Outcome | LookupError | None:
        try:
            return self._ask(rule, changes)
        except LookupError:
            return LookupError()  # one that was raised holds on to all that it came through

    def _ask(self, rule: str, changes: tuple[Change, ...]) -> Outcome | None:
        bound = self.book.judged[rule]
        if (quick := self._quick(changes)) is not None and self.places.by_itself(bound):
            return judge(quick, bound)
        found = self.of(changes)
        if found is None:
            raise LookupError
        world, moved = found
        if rule not in moved.rules:
            return self.judged.outcomes.get(rule)
        return judge(world, bound)

    def _touched(self, changes: tuple[Change, ...]) -> Set[str] | None:
        """Rules that may say another thing with other parts in place; None where that takes the whole build."""
        try:
            return self._plain[changes]
        except KeyError:
            fit = {one.position: one.part for one in changes if isinstance(one, Fit)}
            plain = len(fit) == len(changes) and self.places.simple(fit)
            found = self._plain[changes] = self.places.touched(tuple(fit)) if plain else None
            return found

    def _quick(self, changes: tuple[Change, ...]) -> BuildWorld | None:
        """The build with other parts in place and nothing settled anew; None where that is not enough."""
        found = self._light.get(changes)
        if found is None and self._touched(changes) is not None:
            fit = {one.position: one.part for one in changes if isinstance(one, Fit)}
            found = self._light[changes] = self.places.world(fit)
        return found

    def aimed(self, rule: str, goal: Goal, moved: Set[str]) -> Outcome | None:
        """What a rule says at another goal of the same engine, and the figures that goals can move."""
        world = self._aimed.get(goal)
        if world is None:
            world = self._aimed[goal] = self.world.aiming(goal, moved)
        return judge(world, self.book.judged[rule])

    def settles(self, outcome: Outcome, changes: tuple[Change, ...]) -> bool:
        """Whether a finding is gone with changes."""
        try:
            return self.gone(outcome, self.ask(outcome.rule, changes))
        except LookupError:
            return False

    @staticmethod
    def gone(before: Outcome, after: Outcome | None) -> bool:
        """Whether what came of a rule is no trouble any more."""
        if after is None:
            return True
        if RANK[before.verdict] <= UNKNOWN:
            return RANK[after.verdict] > UNKNOWN
        return RANK[after.verdict] == FINE

    def effect(self, changes: tuple[Change, ...], whole: bool | None = None) -> Effect:
        """What else comes up and what else goes, among all rules that are judged by themselves.

        Rules that rest on a long calculation are asked where `whole` says so, else for another goal alone.
        """
        if whole is None:
            # less boost for the same power is soon too little: that the long calculations alone can say
            whole = any(isinstance(one, Aim) for one in changes)
        if (changes, whole) in self._effects:
            return self._effects[changes, whole]
        found = self.of(changes)
        asked = found[1].rules if found is not None else frozenset()
        if (touched := self._touched(changes)) is not None:
            asked = asked & touched
        clears, raises, mild, eased = [], [], [], 0
        for name in sorted(asked & self.book.judged.keys()):
            if not whole and self.heavy(name):
                continue
            was = self.rank(self.judged.outcomes.get(name))
            try:
                now = self.rank(self.ask(name, changes))
            except LookupError:
                return Effect((), ())
            if UNKNOWN < now < FINE and not UNKNOWN < was < FINE:
                mild.append(name)
            eased += UNKNOWN < was < FINE and not UNKNOWN < now < FINE
            if was <= UNKNOWN < now:
                clears.append(name)
            elif _raised(was, now):
                raises.append(name)
        effect = Effect(tuple(clears), tuple(raises), mild=tuple(mild), eased=eased)
        self.raised.update(raises)
        self._effects[changes, whole] = effect
        return effect

    def gain(self, changes: tuple[Change, ...], asked: Sequence[str], least: int) -> int | None:
        """How many of some rules more changes clear than they bring up.

        Parameters
        ----------
        changes : tuple of Change
            The changes.
        asked : sequence of str
            Rules that are judged by themselves; those that speak against the build come first best.
        least : int
            What is asked for.

        Returns
        -------
        int or None
            None where it is less, fewer than two are cleared, or there is no such build: mostly known early.
        """
        was = {name: self.rank(self.judged.outcomes.get(name)) for name in asked}
        left = sum(rank <= UNKNOWN for rank in was.values())
        clears = raises = 0
        for name, before in was.items():
            try:
                now = self.rank(self.ask(name, changes))
            except LookupError:
                return None
            left -= before <= UNKNOWN
            clears += before <= UNKNOWN < now
            raises += _raised(before, now)
            if clears + left < 2 or clears + left - raises < least:
                return None
        return clears - raises

    def in_full(self, changes: tuple[Change, ...]) -> Effect:
        """What comes up and goes among all rules, long calculations and needs with them; of changes that make a
        build everything that they move, what opened joints consume apart."""
        effect = self._in_full.get(changes)
        if effect is None:
            effect = self._in_full[changes] = self._weighed(changes)
        return effect

    def clearing_more(self, changes: tuple[Change, ...], asked: Set[str]) -> Effect | None:
        """What comes of changes in full, where they better the build and clear more of some findings than come.

        Parameters
        ----------
        changes : tuple of Change
            Changes of which there is a build.
        asked : set of str
            Rules of the findings, each judged by itself.

        Returns
        -------
        Effect or None
            None as soon as that is out of reach: long calculations go from the quickest on, and no further.
        """
        quick, found = self.effect(changes), self.of(changes)
        if found is None or not _clears_more(quick, asked):
            return None
        heavy = [name for name in found[1].rules if name in self.book.judged and self.heavy(name)]
        ahead = sorted(name for name in heavy if name in asked and self.against(name))
        takes = {name: self.book.long_calls(self.book.rules[name]) for name in heavy}
        rest = sorted(takes.keys() - {*ahead}, key=lambda name: (takes[name], name))
        most, raises = len(asked & {*quick.clears, *ahead}), len(quick.raises)
        for name in (*ahead, *rest):
            try:
                now = self.rank(self.ask(name, changes))
            except LookupError:
                return None
            most -= name in ahead and now <= UNKNOWN
            raises += _raised(self.rank(self.judged.outcomes.get(name)), now)
            if raises >= most:
                return None
        effect = self.in_full(changes)
        return effect if _clears_more(effect, asked) else None

    def _weighed(self, changes: tuple[Change, ...]) -> Effect:
        found = self.of(changes)
        if found is None:
            return Effect((), ())
        world, moved = found
        judged = self.effect(changes, whole=True)
        needs = {name: rule for name, rule in self.book.needs.items() if name in moved.rules}
        asking = {name for name, rule in needs.items() if asks(world, rule) is True}
        open_now = left_open(world, asking | (self.judged.asking - needs.keys()), self.cards)
        gone = sorted(self.open.keys() - open_now)
        clears = (*judged.clears, *gone)
        raises, added = [*judged.raises], []
        if more := sorted(open_now - self.open.keys()):
            anew = judge_again(self.judged, world, moved)
            met = _met(close_needs(world, anew, self.cards, self.needs, moved))
            added = [name for name in more if met.get(name)]
            raises += [name for name in more if not met.get(name)]
        self.raised.update(raises, added)
        met_before = sum(self.open[name] for name in gone)
        return Effect(clears, tuple(raises), tuple(added), met_before, judged.mild, judged.eased)

    def against(self, name: str) -> bool:
        """Whether a rule or need speaks against the build as it stands, or is not known."""
        return name in self.open or self.rank(self.judged.outcomes.get(name)) <= UNKNOWN

    @property
    def needs(self) -> Needs:
        """What came of the needs of the build as it stands."""
        if self._needs is None:
            self._needs = close_needs(self.world, self.judged, self.cards)
        return self._needs

    @cached_property
    def open(self) -> Mapping[str, bool]:
        """Needs that the build leaves open, and whether the check itself meets them by what it adds."""
        return _met(self.needs)

    @staticmethod
    def rank(outcome: Outcome | None) -> int:
        """How bad what came of a rule is; 0 is the worst."""
        return FINE if outcome is None else RANK[outcome.verdict]

    def heavy(self, rule: str) -> bool:
        """Whether a rule rests on a long calculation."""
        return self.book.takes_long(self.book.rules[rule])

    def candidates(self, position: str) -> Sequence[str]:
        """Parts that could stand in a position in place of what does."""
        if position not in self._candidates:
            self._candidates[position] = candidates(self.settled, position)
        return self._candidates[position]


def _raised(was: int, now: int) -> bool:
    """Whether a rule speaks against the build, or is not known, and did not before, or not as badly."""
    return now <= UNKNOWN < was or now < was <= OUT


def _clears_more(effect: Effect, asked: Set[str]) -> bool:
    """Whether less speaks against the build then, and of what is asked alone more goes than comes up."""
    return effect.betters and len(effect.raises) < len(asked & set(effect.clears))


def _met(needs: Needs) -> Mapping[str, bool]:
    """Open needs by the name of their findings, and whether something is added for all that they ask."""
    found: dict[str, bool] = {}
    for outcome in needs.outcomes:
        if RANK[outcome.verdict] <= OUT and isinstance(outcome.seen, Met):
            found[outcome.rule] = found.get(outcome.rule, True) and outcome.seen.provider is not None
    return found


def candidates(settled: Settled, position: str) -> Sequence[str]:
    """Parts that could stand in a position in place of what does, made for this engine.

    Parameters
    ----------
    settled : Settled
        The build.
    position : str
        The position.

    Returns
    -------
    sequence of str
        Ids, in the order of the shop's files; none that something in the build must never stand with.
    """
    family, shop = settled.variant.family, settled.shop
    entry = settled.fitted.get(position)
    now = entry.part.part if entry else ""
    barred = {name for other in settled.fitted.values() for name in other.part.never_with}
    parts = (shop.parts[name] for name in shop.fillers[position] if name != now)
    return [
        part.part
        for part in parts
        if (not part.families or family in part.families) and part.part not in barred
    ]
