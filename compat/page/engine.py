"""The engine of a checked build as systems and positions: what stands where, from where, at what price."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from compat.checking.check import Checked
from compat.checking.outcome import RANK
from compat.checking.settle import Fitted
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import Rulebook
from compat.shop.words import SYSTEMS
from compat.trade.wares import least_price
from compat.words.report import Finding

__all__ = ["Place", "System", "concerned", "origin", "systems"]


FEW = 3
"""So many positions stand for a finding that names none."""


@dataclass(frozen=True, slots=True)
class Place:
    """A position and what stands in it."""

    position: str
    name: str
    part: str
    part_name: str
    count: int
    origin: str
    """From where it comes, in words."""
    chosen: bool
    """Whether the build says so, rather than the factory."""
    price: Decimal | None
    """What all pieces of it come to at the least; None where nothing is bought, or nobody sells it."""
    verdict: Verdict | None
    """The worst that is found of it; None where nothing is."""
    reason: str = ""
    """Why it is left out, where it is."""


@dataclass(frozen=True, slots=True)
class System:
    """A system of the engine."""

    name: str
    places: tuple[Place, ...]
    """Positions with something in them, and those left out that the factory filled."""
    empty: tuple[tuple[str, str], ...]
    """Positions with nothing in them: id and name."""
    verdict: Verdict | None
    """The worst of all places."""
    chosen: int
    """How many places are as the build says."""

    def touches(self, positions: Collection[str]) -> bool:
        """Whether one of some positions is in it."""
        return any(
            one in positions for one in (*(p.position for p in self.places), *(p for p, _ in self.empty))
        )


def systems(checked: Checked, findings: Iterable[Finding]) -> tuple[System, ...]:
    """The engine of a build, system by system in the order of the trade.

    Parameters
    ----------
    checked : Checked
        What checking the build found.
    findings : iterable of Finding
        What is told of it and is not fine; standing notes left out.

    Returns
    -------
    tuple of System
        Those that the shop has positions of. The setup, which is no part, is in none.
    """
    worst: dict[str, Verdict] = {}
    for finding in findings:
        for position in concerned(checked.world.settled.book, finding):
            if position not in worst or RANK[finding.verdict] < RANK[worst[position]]:
                worst[position] = finding.verdict
    positions = checked.world.settled.shop.positions
    by_system: dict[str, list[str]] = {system: [] for system in SYSTEMS}
    for name, place in positions.items():
        if name != "setup":
            by_system[place.system].append(name)
    return tuple(_system(checked, name, own, worst) for name, own in by_system.items() if own)


def concerned(book: Rulebook, finding: Finding) -> tuple[str, ...]:
    """Positions that a finding speaks of itself, rather than those that a figure behind it rests on.

    Parameters
    ----------
    book : Rulebook
        The rules.
    finding : Finding
        A finding by them.

    Returns
    -------
    tuple of str
        Those that the rule names; else those in which it would have another part, else the first few of all.
    """
    bound = book.rules.get(finding.rule)
    if bound is None:
        return finding.positions
    named = {
        position
        for expression in bound.expressions(conditions=False)
        for position in (*(place for place, _ in expression.names.specs), *expression.names.positions)
    }
    swaps = {entry.get("swap", entry.get("add", "")) for entry in bound.rule.remedies}
    spoken = [one for one in finding.positions if one in named] or [
        one for one in finding.positions if one in swaps
    ]
    return tuple(spoken) or finding.positions[:FEW]


def _system(checked: Checked, name: str, positions: Sequence[str], worst: Mapping[str, Verdict]) -> System:
    positions_of = checked.world.settled.shop.positions
    places = tuple(_places(checked, positions, worst))
    there = {place.position for place in places}
    found = sorted((place.verdict for place in places if place.verdict), key=RANK.__getitem__)
    return System(
        name.replace("-", " ").capitalize(),
        places,
        tuple((one, positions_of[one].name) for one in positions if one not in there),
        found[0] if found else None,
        sum(place.chosen for place in places),
    )


def _places(checked: Checked, positions: Iterable[str], worst: Mapping[str, Verdict]) -> Iterator[Place]:
    settled = checked.world.settled
    shop, build = settled.shop, settled.build
    for position in positions:
        fitted = settled.fitted.get(position)
        name = shop.positions[position].name
        if fitted is None:
            if position in build.leave_out or position in settled.variant.parts or position in worst:
                why = build.leave_out.get(position, "")
                said = position in build.leave_out
                origin_ = "left out" if said else "empty"
                yield Place(position, name, "", "", 0, origin_, said, None, worst.get(position), why)
            continue
        part = fitted.part
        count = settled.count(position, part.part)
        brought = position in build.brought
        each = least_price(shop, part.part) if fitted.origin == "chosen" and not brought else None
        yield Place(
            position, name, part.part, part.name, count,
            "the customer's" if brought else origin(fitted),
            brought or fitted.origin in ("chosen", "sister"),
            None if each is None else each * count, worst.get(position),
        )  # fmt: skip


def origin(fitted: Fitted) -> str:
    """From where a part comes, in words."""
    match fitted.origin:
        case "sister":
            return f"from {fitted.sister}"
        case "included":
            return "in the box"
        case "goal":
            return "by the goal"
    return fitted.origin
