"""Sets of words and rules that the program lends to a shop: what of them a shop takes, and what it cannot.

A set is a file of the program's vocabulary. Its positions, specs and features come whole; of joints, work,
figures and rules comes whatever names nothing but what the shop has, by its sets or by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import field
from functools import cache, lru_cache
from typing import Any

from compat.library.sources import lent_files, lent_stamp
from compat.library.trimming import trimmed
from compat.record import record
from compat.rulebook.naming import named_by, names_in
from compat.rulebook.reading import MODELS as RULEBOOK
from compat.shop.graph import Key
from compat.shop.reading import MODELS as CATALOGUE
from compat.shop.reading import split
from compat.shop.source import Fault, Faults, Node, nearest, read_tree
from compat.shop.words import SETS

__all__ = ["Entries", "Lent", "lend", "uses_of"]

ALWAYS = ("setup",)
"""Files of the vocabulary that come with every set."""

COMES_WITH = {"channels": "management"}
"""Files of the vocabulary that are part of a set under another name."""

HINGED = ("joint", "work", "figure")
"""Kinds of things that come where all that they hang on has come."""

Entries = Sequence[tuple[str, Node]]
"""Entries of files with their kinds."""


@record
class Lent:
    """What a shop takes of the program, and which rules of its sets it does not get."""

    catalogue: Entries = ()
    rules: Entries = ()
    beyond: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Rules that speak of a set taken and look into others, each with these."""


@record
class _Program:
    """Everything that the program has to lend, and the set of each position and feature."""

    things: Mapping[Key, Node]
    home: Mapping[Key, str]


@lru_cache(maxsize=1)
def _program(stamp: str) -> _Program:
    """Read what the program lends; once, until an edit of it has another stamp."""
    faults: list[Fault] = []
    things: dict[Key, Node] = {}
    home: dict[Key, str] = {}
    for shown, path in lent_files():
        models = RULEBOOK if path.parent.name == "rules" else CATALOGUE
        for kind, node in split(read_tree(path, shown), list(models), faults):
            key = (kind, str(node.data[kind]))
            things[key] = node
            if path.parent.name == "vocabulary":
                home[key] = COMES_WITH.get(path.stem, path.stem)
    if faults:
        raise Faults(faults)
    return _Program(things, home)


def uses_of(own: Entries) -> tuple[str, ...]:
    """The sets that a shop names in its own entry, in the order of the vocabulary.

    Raises
    ------
    Faults
        When there is no such set: every word of it would be one that nobody knows.
    """
    for kind, node in own:
        uses = node.data.get("uses") if kind == "shop" else None
        if isinstance(uses, list):
            if strange := [number for number, name in enumerate(uses) if name not in SETS]:
                raise Faults(Fault(node.spot_of(["uses", n]), _no_set(str(uses[n]))) for n in strange)
            return tuple(name for name in SETS if name in uses)
    return ()


def _no_set(name: str) -> str:
    return f"'{name}' is not one of {', '.join(SETS)}{nearest(name, SETS)}"


def lend(own: Entries, rules: Entries, faults: list[Fault]) -> Lent:
    """Choose what of the program a shop takes.

    Parameters
    ----------
    own : sequence
        Entries of its catalogue, with their kinds; parts may be left out.
    rules : sequence
        Entries of its rulebook.
    faults : list of Fault
        Gets replacements of what is not there, and rules switched off that are not there.

    Returns
    -------
    Lent
        Entries to be read before the shop's own; none where it uses no set.
    """
    uses = uses_of(own)
    choice = _Choice(uses, [*own, *rules], _program(lent_stamp()) if uses else _Program({}, {}), faults)
    return choice.lent() if uses else Lent()


class _Choice:
    """What one shop takes."""

    def __init__(self, uses: Sequence[str], own: Entries, program: _Program, faults: list[Fault]) -> None:
        self.uses = uses
        self.program = program
        self.faults = faults
        self.left_out = {key for kind, node in own for key in self._left_out(kind, node)}
        self.here: set[Key] = set()
        """Kind and name of everything that the shop has."""
        for kind, node in own:
            self._take(kind, node.data)

    def _left_out(self, kind: str, node: Node) -> Iterator[Key]:
        """What an entry of the shop stands for or switches off; what is not there to be is told."""
        said = node.data.get("leave_out") if kind == "shop" else None
        for name in said if isinstance(said, dict) else ():
            yield from self._known("rule", name, node, ["leave_out", name])
        if kind in ("rule", "figure", "work") and isinstance(name := node.data.get("instead_of"), str):
            if kind != "rule" and name != node.data.get(kind):
                told = f"others name {kind} '{name}' so: what stands instead of it keeps the name"
                self.faults.append(Fault(node.spot_of(["instead_of"]), told))
            yield from self._known(kind, name, node, ["instead_of"])

    def _known(self, kind: str, name: str, node: Node, path: list[str]) -> Iterator[Key]:
        if (kind, name) in self.program.things:
            yield kind, name
            return
        known = [other for of, other in self.program.things if of == kind]
        whose = "of the program's" if self.uses else "of a set, for this shop `uses` none"
        told = f"'{name}' is no {kind} {whose}{nearest(name, known)}"
        self.faults.append(Fault(node.spot_of(path), told))

    def _take(self, kind: str, data: Mapping[str, Any]) -> None:
        name = str(data[kind])
        self.here.add((kind, name))
        if kind in ("position", "more_specs"):
            specs = data.get("specs")
            for spec, declared in specs.items() if isinstance(specs, dict) else ():
                self.here.add(("spec", f"{name}.{spec}"))
                if isinstance(declared, dict) and "gauge" in declared:
                    self.here.add(("gauge", str(declared["gauge"])))
        if kind == "shop" and isinstance(rates := data.get("labour_rates"), dict):
            self.here |= {("labour", rate) for rate in rates}

    def has(self, key: Key) -> bool:
        """Whether the shop has something; a word that the program gives no meaning is a unit or the like."""
        if key[0] == "word":
            return ("figure", key[1]) in self.here or ("figure", key[1]) not in self.program.things
        return key in self.here

    def lent(self) -> Lent:
        """Words of the sets, then what hangs on nothing else, then the rules that do."""
        things = self.program.things
        lent = {key for key, home in self.program.home.items() if home in (*self.uses, *ALWAYS)}
        for key in lent:
            self._take(key[0], things[key].data)
        hinged = {key for key in things if key[0] in HINGED} - self.left_out
        self.here |= hinged
        # what hangs on something that has not come does not come; then no more does what hangs on that
        while gone := {key for key in hinged if not self._holds(*key)}:
            hinged -= gone
            self.here -= gone
        rules = {key for key in things if key[0] == "rule"} - self.left_out
        held = {key for key in rules if not self._lacking(key)}
        chosen = lent | hinged | held
        lacks = cache(self._lacking)
        trim = [(key[0], trimmed(key[0], node, self.has)) for key, node in things.items() if key in chosen]
        return Lent(
            [entry for entry in trim if entry[0] not in RULEBOOK],
            [entry for entry in trim if entry[0] in RULEBOOK],
            {key[1]: self._homes(key, lacks) for key in things if key in rules - held and self._concerns(key)},
        )

    def _holds(self, kind: str, name: str) -> bool:
        data = self.program.things[kind, name].data
        if kind == "joint":
            return any(self.has(("position", position)) for position in data["behind"])
        return not self._lacking((kind, name))

    def _lacking(self, key: Key) -> list[Key]:
        """What a rule, figure or piece of work names and the shop has not."""
        kind, data = key[0], self.program.things[key].data
        names = self._of_work(data) if kind == "work" else named_by(kind, data)
        return [named for named in names if not self.has(named)]

    def _of_work(self, data: Mapping[str, Any]) -> Iterator[Key]:
        """What a piece of work cannot be done without: its place, its bounds, and what its changes rest on."""
        yield "position", str(data["on"])
        takes = data.get("takes", {})
        texts = [
            taken[bound]
            for taken in takes.values()
            for bound in ("at_least", "at_most")
            if isinstance(taken, Mapping) and bound in taken
        ]
        for change in data.get("changes", ()):
            if self.has(("spec", change["spec"])):
                texts += [change[word] for word in ("by", "to") if word in change]
        for text in texts:
            yield from (key for key in names_in(str(text)) if key[0] != "word" or key[1] not in takes)

    def _concerns(self, key: Key) -> bool:
        """Whether a rule speaks of a position that a set taken has, itself or by the figures that it names."""
        level, seen = [key], {key}
        while level:
            named = [name for of in level for name in named_by(of[0], self.program.things[of].data)]
            if homes := {
                self.program.home[place] for place in map(_place, named) if place in self.program.home
            }:
                return not homes.isdisjoint(self.uses)
            figures = {("figure", name) for kind, name in named if kind == "word"}
            level = [figure for figure in figures - seen if figure in self.program.things]
            seen |= figures
        return False

    def _homes(self, key: Key, lacks: Callable[[Key], list[Key]]) -> tuple[str, ...]:
        """The sets into which something looks that has not come, itself or by what it names."""
        found: set[str | None] = set()
        seen, left = {key}, [key]
        while left:
            for lacking in lacks(left.pop()):
                named = ("figure", lacking[1]) if lacking[0] == "word" else lacking
                node = self.program.things.get(named)
                if named[0] == "joint":
                    behind = node.data.get("behind", ()) if node is not None else ()
                    found |= {self.program.home.get(("position", position)) for position in behind}
                elif named[0] not in ("figure", "work"):
                    found.add(self.program.home.get(_place(lacking)))
                elif named not in seen and node is not None:
                    seen.add(named)
                    left.append(named)
        return tuple(name for name in SETS if name in found)


def _place(named: Key) -> Key:
    """The position of a spec; anything else is itself."""
    kind, name = named
    return ("position", name.partition(".")[0]) if kind == "spec" else named
