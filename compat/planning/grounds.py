"""On which decisions the outcome of a rule rests, and which options are the same to it.

Sound in one direction: a decision that is not named cannot move the outcome, and options of one class cannot
tell it apart. Everything that proves something stands on that.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from compat.planning.space import Decision, Option, Space
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import BoundRule, Rulebook
from compat.rulebook.trees import NAMING, Tree

__all__ = ["Ground", "Grounds", "Uses", "uses_of"]

Use = tuple[str, ...]
"""What an expression asks: ``("spec", "rod", "mass")``, ``("fitted", "rod")``, ``("done", work)``."""

Classes = tuple[tuple[int, ...], ...]
"""Numbers of options that are the same to a rule, group by group."""


class Uses:
    """What expressions of a rulebook ask, through all figures between."""

    def __init__(self, book: Rulebook) -> None:
        self.book = book
        self._figures: dict[str, frozenset[Use]] = {}

    def of(self, expressions: Iterable[Expression]) -> frozenset[Use]:
        """What some expressions ask."""
        return frozenset().union(*(self._of_tree(expression.tree) for expression in expressions))

    def _of_tree(self, tree: Tree) -> frozenset[Use]:
        found: set[Use] = set()
        for use in uses_of(tree):
            found |= self._of_figure(use[1]) if use[0] == "figure" else {use}
        return frozenset(found)

    def _of_figure(self, name: str) -> frozenset[Use]:
        if name not in self._figures:
            self._figures[name] = frozenset()  # figures rest on each other in no ring
            self._figures[name] = self.of(self.book.figures[name].expressions()) | {("figure", name)}
        return self._figures[name]


def uses_of(tree: Tree) -> set[Use]:
    """What a tree asks itself.

    >>> sorted(uses_of(("and", ("fitted", "rod"), ("lt", ("spec", "rod", "mass"), ("number", 1.0)))))
    [('fitted', 'rod'), ('spec', 'rod', 'mass')]
    """
    if tree[0] in NAMING:
        return {tuple(tree)}
    if tree[0] == "words":
        return set()
    found: set[Use] = set()
    for operand in tree[2 if tree[0] == "chain" else 1 :]:
        if type(operand) is tuple:
            found |= uses_of(operand)
    return found


@dataclass(frozen=True)
class Ground:
    """What the outcome of a rule, a need or a condition rests on."""

    decisions: tuple[int, ...]
    """Numbers of the decisions, rising."""
    classes: tuple[Classes, ...]
    """For each of them the options that are the same to it."""
    places: frozenset[str]
    """Positions whose content is asked."""
    works: frozenset[str]
    joints: bool = False
    """Whether it hangs on which joints are opened, and so on much else."""
    figures: frozenset[str] = frozenset()

    @cached_property
    def cells(self) -> int:
        """How many combinations of classes there are."""
        count = 1
        for classes in self.classes:
            count *= len(classes)
        return count

    @cached_property
    def _class_of(self) -> Sequence[dict[int, int]]:
        return [
            {option: number for number, group in enumerate(classes) for option in group}
            for classes in self.classes
        ]

    def classes_of(self, choice: Sequence[int]) -> tuple[int, ...]:
        """The class that a choice takes of each decision."""
        return tuple(of[choice[decision]] for decision, of in zip(self.decisions, self._class_of, strict=True))

    def options(self, index: int, number: int) -> tuple[int, ...]:
        """The options of one class of the decision at an index."""
        return self.classes[index][number]


@dataclass
class _Asked:
    """What is asked, closed over the work that changes it and the counts that hang on it."""

    specs: set[tuple[str, str]] = field(default_factory=set)
    filled: set[str] = field(default_factory=set)
    changed: set[str] = field(default_factory=set)
    counted: set[str] = field(default_factory=set)
    whose: set[str] = field(default_factory=set)
    works: set[str] = field(default_factory=set)
    joints: set[str] = field(default_factory=set)
    features: set[str] = field(default_factory=set)
    kept: set[str] = field(default_factory=set)
    setup: set[str] = field(default_factory=set)
    goal: set[str] = field(default_factory=set)
    figures: set[str] = field(default_factory=set)

    @property
    def places(self) -> set[str]:
        return {p for p, _ in self.specs} | self.filled | self.changed | self.counted | self.whose | self.kept


class Grounds:
    """The grounds of everything that a space's rulebook judges."""

    def __init__(self, space: Space) -> None:
        self.space = space
        self.shop, self.book = space.shop, space.book
        self.uses = Uses(space.book)
        self.changers: dict[tuple[str, str], list[str]] = {}
        for work, changes in space.book.changes.items():
            if f"work:{work}" in space.number:
                for change in changes:
                    self.changers.setdefault((change.position, change.spec), []).append(work)
        self._known: dict[str, Ground] = {}
        self._classed: dict[object, Classes] = {}
        self._features: dict[int, frozenset[str]] = {}

    def of_rule(self, rule: BoundRule) -> Ground:
        """The ground of a rule."""
        name = rule.rule.rule
        if name not in self._known:
            works = [name for name, bounds in self.book.bounds.items() if rule in bounds.values()]
            self._known[name] = self.of(rule.expressions(), works if name in self.book.of_work else ())
        return self._known[name]

    def near(self, rule: BoundRule) -> frozenset[int]:
        """Decisions whose specs a rule, or a figure that it names itself, looks at directly."""
        uses = {use for expression in rule.expressions() for use in uses_of(expression.tree)}
        for name in [use[1] for use in uses if use[0] == "figure"]:
            uses |= {use for each in self.book.figures[name].expressions() for use in uses_of(each.tree)}
        keys: set[str] = set()
        for use in uses:
            if use[0] in ("spec", "measured") and use[1] != "setup":
                keys |= {f"work:{work}" for work in self.changers.get((use[1], use[2]), ())}
            if use[0] in ("spec", "measured", "fitted", "count", "changed", "sister"):
                keys.add(f"setup:{use[2]}" if use[1] == "setup" else use[1])
            elif use[0] in ("done", "goal"):
                keys.add(f"{'work' if use[0] == 'done' else 'goal'}:{use[1]}")
        found = {self.space.number[key] for key in keys if key in self.space.number}
        return frozenset(found.union(*(self.space.at(key) for key in keys)))

    def of(self, expressions: Iterable[Expression], works: Iterable[str] = ()) -> Ground:
        """The ground of some expressions, and of work whose own sizes they look at."""
        asked = _Asked()
        self._close(asked, self.uses.of(expressions))
        for work in works:
            self._work(asked, work)
        return self._ground(asked)

    # what is asked

    def _close(self, asked: _Asked, uses: Iterable[Use]) -> None:
        for use in uses:
            kind, name = use[0], use[1]
            match kind:
                case "spec" | "measured":
                    self._spec(asked, name, use[2])
                case "fitted":
                    asked.filled.add(name)
                case "changed":
                    asked.changed.add(name)
                case "sister":
                    asked.whose.add(name)
                case "count":
                    self._count(asked, name)
                case "kept":
                    asked.kept.add(name)
                    self._renewed(asked, name)
                case "done":
                    asked.works.add(name)
                case "opened":
                    asked.joints.add(name)
                case "offered":
                    self._feature(asked, name)
                case "goal":
                    asked.goal.add(name)
                case "figure":
                    asked.figures.add(name)

    def _renewed(self, asked: _Asked, position: str) -> None:
        """Which joints renew a position, and on what condition."""
        for name, joint in self.shop.joints.items():
            for number, renewal in enumerate(joint.renews):
                if renewal.position != position:
                    continue
                asked.joints.add(name)
                condition = self.book.conditions.get(("joint", name, "renews", number))
                if condition is not None:
                    self._close(asked, self.uses.of([condition]))

    def _spec(self, asked: _Asked, position: str, name: str) -> None:
        if position == "setup":
            asked.setup.add(name)
        if (position, name) in asked.specs:
            return
        asked.specs.add((position, name))
        for work in self.changers.get((position, name), ()):
            self._work(asked, work)

    def _work(self, asked: _Asked, work: str) -> None:
        """Work in hand: what it changes is worked out of what it finds."""
        if work in asked.works and ("", work) in asked.specs:
            return
        asked.works.add(work)
        asked.specs.add(("", work))
        for change in self.book.changes[work]:
            asked.filled.add(change.position)
            # what it changes, others may have changed before
            self._spec(asked, change.position, change.spec)
            if change.expression is not None:
                self._close(asked, self.uses.of([change.expression]))

    def _count(self, asked: _Asked, position: str) -> None:
        asked.counted.add(position)
        place = self.shop.positions[position]
        if place.each_serves is not None:
            self._spec(asked, position, place.each_serves)
        if position in self.shop.counted_by:
            self._spec(asked, *self.shop.counted_by[position])

    def _feature(self, asked: _Asked, feature: str) -> None:
        if feature in asked.features:
            return
        asked.features.add(feature)
        for kind, name, number in self.shop.offerers[feature]:
            if kind == "work":
                asked.works.add(name)
            else:
                for position in self.shop.parts[name].fills:
                    self._count(asked, position)
            condition = self.book.conditions.get((kind, name, "offers", number))
            if condition is not None:
                self._close(asked, self.uses.of([condition]))

    # on which decisions it rests

    def _ground(self, asked: _Asked) -> Ground:
        asked.specs = {key for key in asked.specs if key[0]}
        places = asked.places - {"setup", "fuel"}
        joints = self._with_openers(asked.joints)
        touching = self._touching(joints)
        keys = (*(f"work:{work}" for work in asked.works), *(f"setup:{word}" for word in asked.setup))
        keys += tuple(f"goal:{entry}" for entry in asked.goal)
        numbers = {self.space.number[key] for key in keys if key in self.space.number}
        numbers |= {number for place in places for number in self.space.at(place)} | touching
        found = dict.fromkeys(n for n in numbers if len(self.space.decisions[n].options) > 1)
        for number in list(found):  # what says where a boxed part finds room
            for place in self.space.brings[number] if self.space.brings[number] & places else ():
                own = self.space.number.get(place)
                if own is not None and len(self.space.decisions[own].options) > 1:
                    found[own] = None
        decisions = tuple(sorted(found))
        classes = tuple(self._classes(number, asked, places, number in touching) for number in decisions)
        return Ground(
            decisions,
            classes,
            frozenset(places),
            frozenset(asked.works),
            bool(asked.joints),
            frozenset(asked.figures),
        )

    def _with_openers(self, joints: set[str]) -> set[str]:
        """Joints, and those that are opened by way of which."""
        found = set(joints)
        more = set(joints)
        while more:
            more = {name for name, other in self.shop.joints.items() if found & set(other.opens)} - found
            found |= more
        return found

    def _touching(self, joints: set[str]) -> set[int]:
        """Decisions by which a joint may be opened."""
        if not joints:
            return set()
        before = {p for p, names in self.shop.joints_before.items() if joints & set(names)}
        found: set[int] = set()
        for number, decision in enumerate(self.space.decisions):
            if decision.kind == "position":
                places = {decision.name, *self.space.brings[number]}
                if places & before:
                    found.add(number)
            elif decision.kind == "work":
                work = self.shop.works[decision.name]
                if work.on in before or joints & set(work.opens):
                    found.add(number)
        return found

    def _classes(self, number: int, asked: _Asked, places: set[str], touching: bool) -> Classes:
        decision = self.space.decisions[number]
        name = decision.name
        alike: object = number
        if decision.kind == "position":  # all that the key of an option looks at
            alike = (
                number,
                touching,
                name in places,
                frozenset(self.space.brings[number] & places),
                frozenset(spec for place, spec in asked.specs if place == name),
                *(name in each for each in (asked.changed, asked.whose, asked.kept, asked.counted)),
                frozenset(asked.features & self._offered(number)),
                bool(asked.features),
            )
        if alike not in self._classed:
            groups: dict[Any, list[int]] = {}
            for index, option in enumerate(decision.options):
                key = self._key(decision, option, asked, places, touching)
                groups.setdefault(key, []).append(index)
            self._classed[alike] = tuple(map(tuple, groups.values()))
        return self._classed[alike]

    def _offered(self, number: int) -> frozenset[str]:
        """Features that any option of a position offers by itself."""
        if number not in self._features:
            decision = self.space.decisions[number]
            entries = (self.space.fitted(decision.name, option) for option in decision.options)
            self._features[number] = frozenset(
                offer.feature for entry in entries if entry is not None for offer in entry.part.offers
            )
        return self._features[number]

    def _key(
        self, decision: Decision, option: Option, asked: _Asked, places: set[str], touching: bool
    ) -> object:
        """What of an option a rule can tell."""
        if decision.kind != "position":
            if decision.kind in ("setup", "goal"):
                return option.how, _plain(option.word)
            return tuple((done.work, tuple(done.values.items())) for done in option.works)
        name = decision.name
        boxed = self.space.boxed(option)
        key: list[object] = [option.how != "own"]  # what is spoken of takes no part out of a box
        if boxed & places:
            key.append(option.part)
        entry = self.space.fitted(name, option)
        if touching:
            key += [option.how == "own", entry.part.part if entry else None]
        if entry is None:
            return (*key, "nothing")
        if name not in places:
            return tuple(key)
        part = entry.part.part
        if not self.space.bringers.get(name):
            key[0] = None
        if name in asked.changed:
            key.append(part == self.space.base.variant.parts.get(name))
        if name in asked.whose:
            key.append(entry.sister)
        if name in asked.kept:
            key.append(entry.bought)
        if asked.features:
            key.append(
                tuple((n, o) for n, o in enumerate(entry.part.offers) if o.feature in asked.features) and part
            )
        stated = self.shop.stated(name, part)
        for spec in sorted(spec for place, spec in asked.specs if place == name):
            said = stated.get(spec)
            key.append(None if said is None else (said.value, said.basis))
        if option.said and any(place == name for place, _ in self.space.base.measured):
            key.append("measured")
        if option.said and name in self.space.base.build.counts and name in asked.counted:
            key.append("counted")
        return tuple(key)


def _plain(word: Any) -> Any:
    return tuple(word) if isinstance(word, list) else word
