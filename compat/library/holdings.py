"""What the parts of one file say of other things: kept by file, so that an edit of one touches little."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from compat.library.cards import card
from compat.library.rows import Rows
from compat.library.store import Draft
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import Condition
from compat.rulebook.trees import NAMING
from compat.shop.graph import edges_of, least_price
from compat.shop.models import Part

__all__ = ["RELATIONS", "Holding", "write_relations"]

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
        for edge in edges_of(part):
            self.names[edge.target] = None
            how = SAID.get(edge.how)
            if how is not None:
                one = [part.part, edge.data["number"]] if "number" in edge.data else part.part
                self.told.setdefault((how, edge.other), []).append(one)
            if how == "offers":
                offered[edge.other] = None
        for feature in offered:
            self.ranked.setdefault(feature, []).append(entry)
        for expression in conditions.values():
            self._take_names(expression)

    def _take_names(self, expression: Expression) -> None:
        kinds = {"figures": "figure", "positions": "position", "features": "feature", "works": "work"}
        kinds |= {"joints": "joint"}
        for head in set(NAMING.values()) - {"specs", "goals"}:
            for name in getattr(expression.names, head):
                self.names[kinds[head], name] = None
        for position, _ in expression.names.specs:
            self.names["position", position] = None

    def card(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "parts": self.parts,
            "names": list(self.names),
            "includes": self.includes,
            "conditioned": self.conditioned,
        }


def write_relations(
    draft: Draft, frame: Mapping[str, Iterable[str]], new: Mapping[str, Holding], gone: Mapping[str, Any]
) -> None:
    """Write who fills, sells, offers and needs what, in place of what files said before.

    Parameters
    ----------
    draft : Draft
        Gets the entries.
    frame : mapping
        Ids by kind, as they are now.
    new : mapping
        Holdings of the files that were read, by file.
    gone : mapping
        Cards of the holdings that these files, and files that are no longer there, had before.
    """
    files = {*new, *gone}
    before = {(kind, name) for held in gone.values() for kind, name in held["names"]}
    for how, kind in RELATIONS.items():
        _write(draft, how, kind, frame[kind], new, files, before)
    lost = {part for held in gone.values() for part, _ in held["parts"]}
    for kind, start in (("position", "position:"), ("feature", "")):
        for name in frame[kind]:
            _rank(draft, start + name, (kind, name) in before, new, lost)


def _write(
    draft: Draft,
    how: str,
    kind: str,
    names: Iterable[str],
    new: Mapping[str, Holding],
    files: set[str],
    before: set[tuple[str, str]],
) -> None:
    rows = Rows(draft)
    for name in names:
        told = {file: held.told[how, name] for file, held in new.items() if (how, name) in held.told}
        known = draft.find(f"{how}/{name}")
        if known is not None and not told and (kind, name) not in before:
            continue
        kept = rows.data(f"{how}/{name}") if known is not None else {}
        entries = {file: entry for file, entry in kept.items() if file not in files} | told
        draft.put(f"{how}/{name}", card(entries))


def _rank(draft: Draft, feature: str, touched: bool, new: Mapping[str, Holding], lost: set[str]) -> None:
    more = [entry for held in new.values() for entry in held.ranked.get(feature, ())]
    known = draft.find(f"cheap/{feature}")
    if known is not None and not more and not touched:
        return
    kept = Rows(draft).data(f"cheap/{feature}") if known is not None else []
    entries = [entry for entry in kept if entry[1] not in lost] + more
    draft.put(f"cheap/{feature}", card(sorted(entries, key=lambda entry: (Decimal(entry[0]), entry[1]))))
