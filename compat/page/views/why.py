"""One finding: the chain of reasons behind it down to specs and their sources, and what helps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import Response

from compat.checking.outcome import (
    Idle,
    LeftOut,
    Met,
    Miscounted,
    Misplaced,
    Outcome,
    RenewedAt,
    Stranger,
    Vacant,
)
from compat.page.acts import Act, as_form
from compat.page.engine import concerned
from compat.page.showing import show
from compat.page.sittings import AtCounter
from compat.page.table import Name, Table, table_of
from compat.paper.causes import causes
from compat.paper.findings import sentence
from compat.paper.sentences import say
from compat.paper.why import explained
from compat.rulebook.models import AGAINST
from compat.shop.changing import Do, Fit, as_entry
from compat.shop.source import Fault, Faults, Spot, nearest
from compat.units import printed
from compat.words.report import Finding
from compat.words.wording import in_sentence, spec_name

__all__ = ["router"]

router = APIRouter(prefix="/build")

Rule = Annotated[str, Path(max_length=200)]
Depth = Annotated[Literal["1", "2", "3", "4", "5", "6", "all"], Query()]


@dataclass(frozen=True, slots=True)
class Press:
    """A button that does what it says."""

    says: str
    act: str


@dataclass(frozen=True, slots=True)
class Field:
    """What wants a word from a person."""

    entry: str
    word: str
    label: str
    hint: str


@dataclass(frozen=True, slots=True)
class Helps:
    """What helps against one finding."""

    finding: Finding
    presses: tuple[Press, ...]
    fields: tuple[Field, ...]
    said: tuple[str, ...]
    """What no press does."""
    places: tuple[tuple[str, str], ...]
    """Positions that it speaks of, where another part may be chosen."""


@router.get("/{name}/why/{rule}")
def why(request: Request, sitting: AtCounter, name: Name, rule: Rule, depth: Depth = "2") -> Response:
    """Why a rule comes out as it does."""
    table = table_of(request, sitting, name)
    checked = table.checked()
    said = table.report(checked)
    _hold_known(table, rule)
    found = explained(said, checked.world, rule, sitting.units, None if depth == "all" else int(depth))
    says: dict[str, Any] = {
        "table": table,
        "path": table.path,
        "found": found,
        "rule": rule,
        "depth": depth,
        "sentence": lambda finding: printed(sentence(finding)),
        "say": lambda reason: printed(say(reason, sitting.units)),
    }
    return show(request, "build_why.html", **says)


def _hold_known(table: Table, rule: str) -> list[Finding]:
    """The findings of a rule; Faults where there is no such rule."""
    checked = table.checked()
    findings = [one for one in table.report(checked).findings if one.rule == rule]
    if not findings and rule not in checked.world.settled.book.rules:
        known = [*checked.world.settled.book.rules, *(one.rule for one in table.report(checked).findings)]
        raise Faults([Fault(Spot("rule", 0), f"'{rule[:80]}' is not known{nearest(rule, known)}")])
    return findings


@router.get("/{name}/remedies/{rule}")
def remedies(request: Request, sitting: AtCounter, name: Name, rule: Rule) -> Response:
    """What helps against the findings of a rule: each remedy is tried before it is told."""
    table = table_of(request, sitting, name)
    findings = [one for one in _hold_known(table, rule) if one.verdict != "ok"]
    helps = [_helps(table, one) for one in findings]
    says: dict[str, Any] = {
        "table": table,
        "path": table.path,
        "rule": rule,
        "helps": helps,
        "sentence": lambda finding: printed(sentence(finding)),
    }
    return show(request, "build_remedies.html", **says)


@router.get("/{name}/clears/{position}")
def clears(
    request: Request, sitting: AtCounter, name: Name, position: Annotated[str, Path(max_length=100)]
) -> Response:
    """What clears most of the findings that hang on the part in a position."""
    table = table_of(request, sitting, name)
    checked = table.checked()
    said = table.report(checked)
    against = [one for one in said.findings if one.verdict in AGAINST]
    cause = next((one for one in causes(said, against) if one.position == position), None)
    ways = () if cause is None else table.remedier(checked).of_cause(position, (f.rule for f in cause.findings))
    presses = [Press(way.says, as_form(way.changes)) for way in ways]
    says: dict[str, Any] = {"table": table, "path": table.path, "cause": cause, "presses": presses}
    return show(request, "build_clears.html", **says)


def _helps(table: Table, finding: Finding) -> Helps:
    trying = table.remedier(table.checked())
    tried = trying.finding(finding)
    shop = table.now.shop
    ways = (*tried.ways_out, *trying.moving(finding))
    presses = {way.says: Press(way.says, as_form(way.changes)) for way in ways}
    fields: list[Field] = []
    stated: set[str] = set()
    for outcome in trying.outcomes.get((finding.rule, finding.verdict), ()):
        for says, acts in _acts(table, outcome, tried):
            presses.setdefault(says, Press(says, as_form(acts)))
        fields += _asked(table, outcome)
    for spec in finding.unstated:
        place, _, word = spec.partition(".")
        if place in shop.positions and place != "setup" and word in shop.kinds[place]:
            kind = shop.kinds[place][word]
            hint = f"{kind.expected}{f', with a {kind.gauge}' if kind.gauge else ''}"
            label = spec_name(shop, place, word)
            fields.append(Field("measured", spec, f"{label[:1].upper()}{label[1:]}, measured", hint))
            stated.add(spec)
    texts = (*tried.remedies, *tried.advice)
    left = [text for text in texts if text not in presses and not _said_by_field(text, stated, fields)]
    spoken = concerned(table.checked().world.settled.book, finding)
    positions = (one for one in spoken if one in shop.positions and one != "setup")
    places = tuple((one, shop.positions[one].name) for one in positions)
    return Helps(finding, tuple(presses.values()), tuple(fields), tuple(dict.fromkeys(left)), places)


def _said_by_field(text: str, stated: Iterable[str], fields: Iterable[Field]) -> bool:
    """Whether a sentence tells to write by hand what a field or press of the page does."""
    if any(text.endswith(f"as {spec}.") for spec in stated):
        return True
    by_hand = ("Order ", "Where it can go, say why:", "Where it was held against", "Strike ", "Write `counts")
    return text.startswith(by_hand) or (text.startswith("Move ") and text.endswith("in the build's `work`."))


def _acts(table: Table, outcome: Outcome, finding: Finding) -> Iterator[tuple[str, tuple[Act, ...]]]:
    """What one press can do of what was seen, beside what was tried."""
    positions = table.now.shop.positions
    match outcome.seen:
        case Met(provider=provider) if provider is not None and outcome.verdict != "ok":
            change = Fit(provider.fills[0], provider.name) if provider.fills else Do(provider.name)
            first = finding.remedies[0] if finding.remedies else f"Add {provider.name}."
            yield first, (as_entry(change),)
        case RenewedAt(lacking=lacking):
            held = {extra.position for extra in table.checked().extras if extra.held}
            free = [entry for entry in lacking if entry.position not in held]
            if free:
                told = ", ".join(f"{one.count} x {in_sentence(positions[one.position].name)}" for one in free)
                yield f"Renew {told}.", ({"renew": " ".join(one.position for one in free)},)
        case LeftOut(position=position, part=part):
            yield f"Put back the factory's {part}.", ({"strike": "leave_out", "word": position},)
        case Idle(entry="work") if finding.ways_out:
            return  # tried, and told as the work that is left out
        case Idle(position=position, entry=entry, word=word):
            key = position if entry == "take_from" else word
            yield (
                f"Strike it from what the build says ({entry.replace('_', ' ')}).",
                ({"strike": entry, "word": key},),
            )
        case Misplaced(work=work):
            yield f"Do it later, after what must come first ({work}).", ({"move": work},)
        case Miscounted(position=position):
            if position in table.now.build.counts:
                yield "So many as the engine takes.", ({"strike": "counts", "word": position},)


def _asked(table: Table, outcome: Outcome) -> Iterator[Field]:
    """What of a finding wants a reason from a person."""
    match outcome.seen:
        case LeftOut(position=position, why="") | Vacant(position=position):
            yield Field("leave_out", position, "Why it can go", "a reason that the next one understands")
        case Stranger(position=position, why=""):
            yield Field(
                "fits_because", position, "Why it fits all the same", "how it was held against the engine"
            )
