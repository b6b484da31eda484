"""Changes that were tried on a build, as sentences and as a report has them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from compat.checking.remedying import Remedy
from compat.checking.world import BuildWorld
from compat.rulebook.scope import GOAL
from compat.shop.changing import Aim, Change, Do, Fit, Say, Strike, Undo, as_entry
from compat.shop.saying_less import stands_anyhow
from compat.units import read_band
from compat.words.report import WayOut
from compat.words.telling import Teller
from compat.words.wording import hours_text, in_sentence, listed

__all__ = ["TITLES", "WayTeller", "changes_told", "ways_told"]

TITLES = 3
"""So many rules that come up are named; of the others the number is told."""
_NO_MORE = "Ask for no more than"
_AT = {
    "at": "Look for the power at",
    "torque_at": "Look for the peak torque at",
    "rev_limit": "Set the rev limit to",
}


class WayTeller:
    """Tells of changes to one build."""

    def __init__(self, world: BuildWorld, system: str) -> None:
        self.world = world
        self.tell = Teller(world, system)
        self.shop = world.settled.shop
        self.book = world.settled.book

    def way(self, remedy: Remedy, rule: str) -> WayOut:
        others = [name for name in remedy.effect.clears if name != rule]
        return self.said(remedy, f": clears {len(others)} more" if others else "")

    def said(self, remedy: Remedy, clears: str) -> WayOut:
        """A remedy with what it clears in words, and what comes up then."""
        effect, says = remedy.effect, self.changes(remedy.changes)
        if remedy.others:
            says += f", or {'another' if remedy.others == 1 else f'one of {remedy.others} others'} like it"
        says += clears
        if effect.raises:
            says += f"; then comes up: {self.titles(effect.raises)}"
        if effect.asks:
            says += f"; then to add: {self.titles(effect.asks)}"
        changes = tuple(map(as_entry, remedy.changes))
        return WayOut(f"{says}.", changes, effect.clears, effect.raises, effect.asks)

    def titles(self, rules: Sequence[str]) -> str:
        """What rules are about, the first by their titles."""
        titles = [self.title(name) for name in rules]
        rest = len(titles) - TITLES
        return listed(titles) if rest <= 0 else f"{', '.join(titles[:TITLES])} and {rest} more"

    def title(self, rule: str) -> str:
        """What a rule is about, or a need that a part asks for."""
        if rule in self.book.rules:
            return in_sentence(self.book.rules[rule].rule.title)
        return in_sentence(self.shop.features[rule.removeprefix("need-").replace("-", "_")].name)

    def changes(self, changes: Iterable[Change]) -> str:
        """Changes as the beginning of a sentence."""
        changes = tuple(changes)
        aims = [self.change(one) for one in changes if isinstance(one, Aim)]
        if len(aims) == len(changes) and all(text.startswith(_NO_MORE) for text in aims):
            first, *more = (text.removeprefix(f"{_NO_MORE} ") for text in aims)
            return f"{_NO_MORE} {listed([first, *(text.partition(' of ')[0] for text in more)])}"
        rest = [one for one in changes if not (isinstance(one, Undo | Strike) or _leaves_out(one))]
        first, *more = map(self.change, rest) if rest else ("",)
        beside = [text.removeprefix("Fit ").removeprefix("Add ").removeprefix("Ask for ") for text in more]
        says = [f"{first} with {listed(beside)}" if beside else first, *self.less(changes)]
        text = ", and ".join(filter(None, says))
        return text[:1].upper() + text[1:]

    def less(self, changes: Iterable[Change]) -> Iterator[str]:
        """What is left out, and what the build says no more, entry by entry."""
        out: list[str] = []
        struck: dict[str, list[str]] = {}
        for change in changes:
            match change:
                case Fit(position, ""):
                    name = in_sentence(self.shop.positions[position].name)
                    how = "leave_out " if stands_anyhow(self.world.settled.ready, position) else ""
                    out.append(f"the {name} ({how}{position})")
                case Undo(work):
                    out.append(f"the work {work} ({in_sentence(self.shop.works[work].name)})")
                case Strike(entry, word):
                    struck.setdefault(entry, []).append(word)
        if out:
            yield f"leave out {listed(out)}"
        for entry, words in struck.items():
            yield f"strike {listed(words)} from `{entry}`"

    def change(self, change: Change) -> str:
        """One change that is no less."""
        match change:
            case Fit(position, part):
                word = "Fit" if position in self.world.settled.fitted else "Add"
                return f"{word} {part} ({in_sentence(self.shop.positions[position].name)})"
            case Do(name, values):
                work, family = self.shop.works[name], self.world.settled.variant.family
                size = "".join(f", {what} {value}" for what, value in values)
                return f"{work.name}{size} (work {name}, {hours_text(work, self.shop.families[family])})"
            case Aim(what, value):
                return self.asking(what, value)
            case Say(word, value):
                return f"Say `{word}: {value}` in the setup"
        raise TypeError(f"{type(change).__name__} is less")

    def asking(self, entry: str, value: str) -> str:
        """Another entry of the goal, with the side on which it is fine."""
        now = getattr(self.world.settled.goal, entry)
        new = read_band(value)
        less = now is not None and new.nominal < now.nominal
        name = next(one for one, (_, other) in GOAL.items() if other == entry)
        said = value if self.tell.system == "metric" else self.tell.number(new.nominal, GOAL[name][0])
        if entry in _AT:
            return f"{_AT[entry]} {said} or {'lower' if less else 'higher'}"
        return f"{_NO_MORE if less else 'Ask for at least'} {said} of {name}"


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
    return WayTeller(world, system).way(remedy, rule)


def changes_told(world: BuildWorld, system: str, changes: Iterable[Change]) -> str:
    """Changes to a build as the beginning of a sentence.

    Parameters
    ----------
    world : BuildWorld
        The build before them.
    system : {"metric", "imperial"}
        Units of the sentence.
    changes : iterable of Change
        What is changed; all that they name is known.

    Returns
    -------
    str
        Like ``Fit sf-rod-1480-h-22 (connecting rods) with ...``.
    """
    return WayTeller(world, system).changes(changes)


def _leaves_out(change: Change) -> bool:
    return isinstance(change, Fit) and not change.part
