"""What a step asks the bench to measure, field by field, with what is kept of it and what that decides."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from compat.bench.journal import Entry, Kind
from compat.bench.kept import stands_in
from compat.bench.measures import Clearance, Gauged
from compat.bench.results import of_piece, told_fit
from compat.bench.sheet import Step
from compat.checking.conformity import Decision, decide
from compat.page.at_bench import AtBench
from compat.paper.measured import decided_words, fit_sentence
from compat.paper.sheet_measures import limits_text, proven_text, stated_text, value_text
from compat.shop.specs import Spec
from compat.units import Band, UnitFault, preferred, read_band, show, unit
from compat.words.report import MeasuredFit
from compat.words.wording import plain

__all__ = ["Asked", "Field", "Piece", "asked_at", "bare", "in_unit", "name_of"]

ORDER: Final = ("in", "undecided", "out")
ENDS: Final = ("least", "most")
"""What is found of a clearance: its least and its most over all places."""


@dataclass(frozen=True, slots=True)
class Field:
    """One value that is asked."""

    name: str
    """How forms call it."""
    kind: Kind
    what: str
    piece: int
    place: str
    of: str
    label: str
    """In words for one who hears it alone."""
    short: str
    value: str
    saw: str
    """Id of the last line that a form made now has seen."""
    entry: Entry | None
    beside: tuple[Entry, ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """The fields of a piece, and what they decide."""

    name: str
    label: str
    fields: tuple[Field, ...]
    decision: str
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """Something that is measured, on each piece."""

    kind: str
    what: str
    title: str
    gauge: str
    off: str
    """What the gauge may be off, as a number in the unit."""
    unit: str
    wanted: str
    """What it is to come to."""
    proven: str
    """Within which limits a value is proven in."""
    now: str
    """What is known of it as the build stands."""
    pieces: tuple[Piece, ...]
    closed: str = ""
    """Why it is not asked here."""

    @property
    def fields(self) -> Iterator[Field]:
        """All its fields."""
        for piece in self.pieces:
            yield from piece.fields


def name_of(kind: str, what: str, piece: int, place: str) -> str:
    """How forms call a field.

    >>> name_of("reading", "block.bore_diameter", 2, "top")
    'reading/block.bore_diameter/2/top'
    """
    return f"{kind}/{what}/{piece}/{place}"


def asked_at(bench: AtBench, step: Step) -> tuple[Asked, ...]:
    """All that is asked at a step, in the order of the sheet."""
    pieces = [_pieces(bench, gauged) for gauged in step.pieces if gauged.unit]
    return (*pieces, *(_clearance(bench, each) for each in step.clearances))


def bare(text: str, name: str) -> str:
    """A kept value as a number in a unit; as it was typed where it was typed in that unit.

    >>> bare("86.010 mm", "mm"), bare("86.010 mm", "in"), bare("", "mm")
    ('86.010', '3.38622047', '')
    """
    number, _, own = text.partition(" ")
    if not text or own == name:
        return number
    try:
        return f"{unit(name).from_si(read_band(text).nominal):.9g}"
    except UnitFault:
        return text


NUMBER: Final = re.compile(r"[+-]?[0-9]*[.,]?[0-9]+")


def in_unit(typed: str, name: str) -> str:
    """What was typed with its unit; a comma is the decimal mark of whoever's keyboard has no other.

    >>> in_unit(" 86,01 ", "mm"), in_unit("3.386 in", "mm"), in_unit("", "mm")
    ('86.01 mm', '3.386 in', '')
    """
    text = " ".join(typed.split())
    if NUMBER.fullmatch(text):
        return f"{text.replace(',', '.')} {name}".strip()
    return text


def _pieces(bench: AtBench, gauged: Gauged) -> Asked:
    ready, system = bench.ready, bench.system
    position, _, spec = gauged.what.partition(".")
    kind = ready.shop.kinds[position][spec]
    own = preferred(gauged.unit, system)
    of = stands_in(ready, [position])
    plain_stated = bench.plain.world.settled.specs.at(position, spec)
    base = gauged if plain_stated is None else _as_stated(gauged, plain_stated)
    counted = kind.each.removesuffix("s").replace("_", " ") if kind.each else plain(position)
    found = []
    for number in range(1, gauged.pieces + 1):
        label = f"{counted} {number}" if gauged.pieces > 1 else ""
        fields = tuple(
            _field(bench, "reading", gauged.what, number, place, of, own, (gauged.name, label, place))
            for place in gauged.places or ("",)
        )
        decision, says = _of_readings(bench, gauged, number, fields, plain_stated)
        found.append(Piece(f"{gauged.what}/{number}", label, fields, decision, says))
    told = next((field.entry for piece in found for field in piece.fields if field.entry is not None), None)
    closed = "; ".join(fault.message for fault in bench.left_out.get(gauged.what, ()))
    if gauged.what in ready.build.measured:
        closed = "the build's own file states it as measured, which holds until it is taken out there"
    off = _off(bench, gauged.gauge, own) if told is None else bare(told.uncertainty, own)
    return Asked(
        kind="reading",
        what=gauged.what,
        title=f"{gauged.name[:1].upper()}{gauged.name[1:]}",
        gauge=gauged.gauge if told is None else told.gauge,
        off=off,
        unit=own,
        wanted=stated_text(base, system),
        proven="",
        now="",
        pieces=tuple(found),
        closed=closed,
    )


def _as_stated(gauged: Gauged, stated: Spec) -> Gauged:
    return replace(gauged, stated=stated)


def _field(
    bench: AtBench, kind: Kind, what: str, piece: int, place: str, of: str, own: str, words: Sequence[str]
) -> Field:
    held = bench.of(kind, what, piece, place, of)
    entry = held.entry if held is not None else None
    said = [word for word in words if word]
    return Field(
        name_of(kind, what, piece, place), kind, what, piece, place, of,
        f"{', '.join([said[0][:1].upper() + said[0][1:], *said[1:]])}, in {own}" if own else ", ".join(said),
        place or words[1] or "value",
        bare(entry.value, own) if entry is not None else "",
        held.latest if held is not None else "",
        entry if entry is not None and entry.value else None,
        held.beside if held is not None else (),
    )  # fmt: skip


def _off(bench: AtBench, gauge: str, own: str) -> str:
    """What the shop's own gauge may be off, as a number in a unit."""
    info = bench.ready.shop.info
    stated = info.gauges.get(gauge) if info is not None else None
    if stated is None or stated.dimension != unit(own).dimension:
        return ""
    return f"{stated.nominal / unit(own).factor:.4g}"


def _of_readings(
    bench: AtBench, gauged: Gauged, number: int, fields: Sequence[Field], stated: Spec | None
) -> tuple[str, tuple[str, ...]]:
    """What the readings of one piece decide: by the rules that they have a hand in, else by the card."""
    entries = [entry for field in fields for entry in (field.entry, *field.beside) if entry is not None]
    if not entries or gauged.what in bench.left_out:
        return "", ()
    every = of_piece(bench.checked.world, bench.sheet.results, gauged.what, number)
    fits = [told_fit(fit) for fit in every if fit.pairing.guard > 0]  # else nothing measured has a hand in it
    if fits:
        worst = max((fit.decision for fit in fits), key=ORDER.index)
        told = sorted((fit for fit in fits if fit.decision == worst), key=_room)
        said = [fit_sentence(fit, bench.system) for fit in (told[:1] if worst == "in" else told)]
        if others := len(fits) - len(said):
            many = f"{others} other limit{'s' * (others > 1)}"
            said.append(f"{many} on it: {'in' if worst == 'in' else 'better'}")
        return worst, tuple(said)
    band = stated.value if stated is not None else None
    if not isinstance(band, Band) or band.low == band.high:
        return "", ("no limit hangs on this piece alone; it counts in the figures of the build",)
    decided: list[Decision] = []
    for entry in entries:
        value, off = read_band(entry.value).nominal, read_band(entry.uncertainty)
        doubt = off.nominal - unit(off.unit).to_si(0.0)
        decided.append(decide(min(value - band.low, band.high - value), doubt))
    worst = max(decided, key=ORDER.index)
    wanted = stated_text(_as_stated(gauged, stated), bench.system) if stated is not None else ""
    return worst, (
        f"as its card says it, {wanted} {preferred(gauged.unit, bench.system)}: {decided_words(worst)}",
    )


def _room(fit: MeasuredFit) -> float:
    """How far a fit is from its nearest limit, by what its gauges may be off."""
    ends = (end for end in (fit.at_least, fit.at_most) if end is not None)
    return min(abs(fit.value - end) for end in ends) / fit.uncertainty


def _clearance(bench: AtBench, each: Clearance) -> Asked:
    finding, system = each.finding, bench.system
    own = preferred(finding.unit, system)
    of = stands_in(bench.ready, finding.positions)
    rule = bench.checked.world.settled.book.rules[finding.rule]
    alone = rule.measure is not None and rule.measure.tree[0] == "spec" and len(each.rests_on) == 1
    pieces: tuple[Piece, ...] = ()
    closed = ""
    if not each.direct or alone:
        closed = "follows from what is measured on the pieces"
    else:
        fields = tuple(
            _field(bench, "found", finding.rule, 0, end, of, own, (finding.title, end, "")) for end in ENDS
        )
        pieces = (Piece(f"{finding.rule}/0", "", fields, *_of_found(each, fields, system)),)
    off = "" if each.uncertainty is None else f"{_in(each.uncertainty, finding.unit, own):.4g}"
    told = next((field.entry for piece in pieces for field in piece.fields if field.entry is not None), None)
    return Asked(
        "found", finding.rule, finding.title, each.gauge if told is None else told.gauge,
        off if told is None else bare(told.uncertainty, own), own, limits_text(finding, system),
        proven_text(each, system), value_text(finding, system), pieces, closed,
    )  # fmt: skip


def _in(value: float, name: str, own: str) -> float:
    """A difference said in one unit, in another."""
    return value * unit(name).factor / unit(own).factor


def _of_found(each: Clearance, fields: Sequence[Field], system: str) -> tuple[str, tuple[str, ...]]:
    """What was found of a clearance decides by its limits and what the gauge may be off."""
    finding, own = each.finding, unit(each.finding.unit)
    decided: list[str] = []
    says: list[str] = []
    for field in fields:
        for entry in (field.entry, *field.beside):
            if entry is None:
                continue
            value = own.from_si(read_band(entry.value).nominal)
            off = read_band(entry.uncertainty) if entry.uncertainty else None
            doubt = None if off is None else (off.nominal - unit(off.unit).to_si(0.0)) / own.factor
            ends = ((finding.at_least, 1.0), (finding.at_most, -1.0))
            margin = min(((value - end) * way for end, way in ends if end is not None), default=None)
            if margin is None:
                continue
            # what nobody knows of a gauge proves nothing; what lies outside as read is not called in
            word = decide(margin, doubt) if doubt is not None else "undecided" if margin >= 0 else "out"
            decided.append(word)
            shown = show(own.to_si(value), finding.unit, system)
            half = (
                f" ± {show(doubt * own.factor, finding.unit, system, bare=True)}" if doubt is not None else ""
            )
            says.append(
                f"{field.place} {shown}{half}, wanted {limits_text(finding, system)}: {decided_words(word)}"
            )
    return (max(decided, key=ORDER.index), tuple(says)) if decided else ("", ())
