"""What the parts of one file say of other things: kept by file, so that an edit of one touches little."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from hashlib import blake2b
from typing import Any

from compat.library.store import Draft
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import Condition
from compat.rulebook.trees import NAMING
from compat.shop.graph import edges_of, least_price
from compat.shop.models import Part

__all__ = ["RELATIONS", "Holding", "Relations", "plain"]

RELATIONS = {"fills": "position", "sells": "supplier", "offers": "feature", "needs": "feature"}
"""Relations of parts that are kept by the other end, and the kind of thing that stands there."""

SAID = {"fills": "fills", "sold by": "sells", "offers": "offers", "needs": "needs"}
"""Under which of them an edge is kept, by how it reads from the part."""


@dataclass
class Holding:
    """What one file says of its parts, and its parts of others."""

    parts: list[tuple[str, str]] = field(default_factory=list)
    """Id and name."""
    names: dict[tuple[str, str], None] = field(default_factory=dict)
    """Kind and id of everything that they name."""
    includes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    conditioned: list[str] = field(default_factory=list)
    told: dict[tuple[str, str], list[Any]] = field(default_factory=dict)
    """Relation and other end: ids of parts, for features with the number of the offer or need."""
    ranked: dict[str, list[Any]] = field(default_factory=dict)
    """For each feature, and each position as a feature: price, part, families and what it fills."""

    def take(self, part: Part, conditions: Mapping[Condition, Expression]) -> None:
        """Take in a part."""
        self.parts.append((part.part, part.name))
        if part.includes:
            self.includes[part.part] = part.includes
        if conditions:
            self.conditioned.append(part.part)
        entry = [str(least_price(part)), part.part, part.families, part.fills]
        offered: dict[str, None] = {f"position:{position}": None for position in part.fills}
        choosable = part.only_for is None
        for edge in edges_of(part):
            self.names[edge.target] = None
            how = SAID.get(edge.how)
            if how is not None:
                one = [part.part, edge.data["number"]] if "number" in edge.data else part.part
                self.told.setdefault((how, edge.other), []).append(one)
            if how == "offers":
                offered[edge.other] = None
        for feature in offered if choosable else ():
            self.ranked.setdefault(feature, []).append(entry)
        for word in part.leaves_out:  # a spec of its positions, or a feature
            self.names["feature", word] = None
        for expression in conditions.values():
            self._take_names(expression)

    def mentions(self) -> list[str]:
        """Ids of other parts that they name."""
        return [name for kind, name in self.names if kind == "part"]

    def _take_names(self, expression: Expression) -> None:
        kinds = {"figures": "figure", "positions": "position", "features": "feature", "works": "work"}
        kinds |= {"joints": "joint"}
        for head in set(NAMING.values()) - {"specs", "goals"}:
            for name in getattr(expression.names, head):
                self.names[kinds[head], name] = None
        for position, _ in expression.names.specs:
            self.names["position", position] = None

    def says(self) -> dict[str, Any]:
        """Everything but the parts, as plain data: of relations only a mark by which a change is told."""
        told = {f"{how}/{name}": entries for (how, name), entries in self.told.items()}
        told |= {f"cheap/{feature}": entries for feature, entries in self.ranked.items()}
        return {
            "names": list(self.names),
            "includes": self.includes,
            "conditioned": self.conditioned,
            "marks": {key: _mark(entries) for key, entries in told.items()},
        }


def _mark(entries: list[Any]) -> str:
    return blake2b(plain(entries), digest_size=9).hexdigest()


def plain(data: Any) -> bytes:
    """Data of texts, numbers and lists as JSON."""
    return _ENCODED(data).encode()


_ENCODED = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), check_circular=False).encode


@dataclass
class Relations:
    """Who fills, sells, offers and needs what: rewritten where files that were read say otherwise than before.

    Parameters
    ----------
    draft : Draft
        Gets the entries.
    new : mapping
        Holdings of the files that were read.
    gone : mapping
        What these files, and files that are no longer there, said before.
    lost : set of str
        Parts that they held before.
    """

    draft: Draft
    new: Mapping[str, Holding]
    gone: Mapping[str, Mapping[str, Any]]
    lost: set[str]

    def write(self, frame: Mapping[str, Iterable[str]]) -> None:
        """Write them, for all things that parts may name, by kind."""
        touched = self._touched()
        for how, kind in RELATIONS.items():
            for name in frame[kind]:
                if f"{how}/{name}" in touched or not self.draft.holds(f"{how}/{name}"):
                    self._tell(how, name)
        for kind, start in (("position", "position:"), ("feature", "")):
            for name in frame[kind]:
                feature = start + name
                if f"cheap/{feature}" in touched or not self.draft.holds(f"cheap/{feature}"):
                    self._rank(feature)

    def _touched(self) -> set[str]:
        """Relations of which a file says something else than before."""
        touched: set[str] = set()
        for file in {*self.new, *self.gone}:
            before = self.gone[file]["marks"] if file in self.gone else {}
            now = self.new[file].says()["marks"] if file in self.new else {}
            touched |= {key for key in {*before, *now} if before.get(key) != now.get(key)}
        return touched

    def _before(self, key: str, nothing: Any) -> Any:
        raw = self.draft.find(key)
        return nothing if raw is None else json.loads(raw)

    def _tell(self, how: str, name: str) -> None:
        told = {file: held.told[how, name] for file, held in self.new.items() if (how, name) in held.told}
        kept = self._before(f"{how}/{name}", {})
        files = {*self.new, *self.gone}
        told |= {file: entries for file, entries in kept.items() if file not in files}
        self.draft.put(f"{how}/{name}", plain(told))

    def _rank(self, feature: str) -> None:
        kept = self._before(f"cheap/{feature}", [])
        entries = [entry for entry in kept if entry[1] not in self.lost]
        entries += [entry for held in self.new.values() for entry in held.ranked.get(feature, ())]
        entries.sort(key=lambda entry: (Decimal(entry[0]), entry[1]))
        self.draft.put(f"cheap/{feature}", plain(entries))
