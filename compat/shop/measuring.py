"""What was measured, held against the shop: readings of pieces with the uncertainty of their gauge.

A build, a file of its own (`compat.shop.measured_files`) and Python give the same rows and take this one way.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from compat.shop.build_links import Where
from compat.shop.build_work import standing_part
from compat.shop.models import Build, Variant
from compat.shop.pieces import Measured, Piece, measured_spec, with_spreads
from compat.shop.readings import Row, split_rows
from compat.shop.shop import Shop
from compat.shop.source import Fault, Spot, nearest
from compat.shop.specs import Spec, SpecKind, state
from compat.units import Band, UnitFault, read_band, unfit, unit

__all__ = ["hold_possible", "measured_of", "take_rows", "typed"]

MOST_TEXT = 80
FAR = 0.1
"""A size further than this from its card is another size: 8.6 mm for 86, 68 for 86, an inch for a millimetre.
Common practice: oversizes, undersizes and sisters all lie within a few per cent of one another."""
TIMES = 5.0
"""And anything else, further than this many times: a gap of 3.8 mm for 0.38."""
SMALL = 1e-3
"""Lengths below this [m] are gaps, steps and errors of form rather than sizes."""
FINE = 1e-4
"""And those below this errors of form and finish: a bad one may be many times what the card says."""
COARSE = 0.01
"""A gauge that may be off by more of a size than this is no gauge for it: the unit is wrong."""


def measured_of(
    shop: Shop, build: Build, where: Where, faults: list[Fault], path: Sequence[str | int] = ("measured",)
) -> dict[tuple[str, str], Spec]:
    """What a build states as measured: one value for all pieces, or readings of each."""
    rows, plain = split_rows(build.measured, where, path, faults)
    return with_spreads(shop.kinds, typed(shop, build, rows, plain, faults))


def typed(
    shop: Shop, build: Build, rows: Sequence[Row], plain: Mapping[str, tuple[Any, Spot]], faults: list[Fault]
) -> dict[tuple[str, str], Spec]:
    """Hold what was measured against a shop and a build; pieces are put into the places it selects."""
    measured = _plain(shop, plain, faults)
    variant = shop.variants.get(build.variant)
    if variant is None or variant.family not in shop.families:
        return measured  # that it is not known is told where it is named
    taken = take_rows(shop, build, variant, rows, faults)
    for key, spec in taken.items():
        if key in measured:
            faults.append(Fault(spec.spot, f"'{'.'.join(key)}' is given twice; first at {measured[key].spot}"))
        order = build.selected.get(key[0])
        if order is not None and not spec.seated:
            if sorted(order) != list(range(1, len(spec.pieces) + 1)):
                told = f"`selected` of '{key[0]}' names pieces {', '.join(map(str, order))}"
                told += f", and there are 1 to {len(spec.pieces)}, each for one place"
                faults.append(Fault(spec.spot, told))
            else:
                spec = spec.in_seats(order)
        measured[key] = spec
    return measured


def _plain(
    shop: Shop, said: Mapping[str, tuple[Any, Spot]], faults: list[Fault]
) -> dict[tuple[str, str], Spec]:
    """What was measured as one value for all pieces."""
    measured: dict[tuple[str, str], Spec] = {}
    for name, (raw, spot) in said.items():
        position, _, spec = name.partition(".")
        if position not in shop.kinds:
            faults.append(Fault(spot, f"position '{position}' is not known{nearest(position, shop.kinds)}"))
        elif position == "setup":
            faults.append(Fault(spot, "nobody measures a setup; say it in the build's `setup`"))
        elif ("spec", name) in shop.faulty:
            continue
        elif spec not in shop.kinds[position]:
            hint = nearest(spec, shop.kinds[position])
            faults.append(Fault(spot, f"spec '{spec}' is not declared for position '{position}'{hint}"))
        else:
            try:
                measured[position, spec] = replace(
                    state(shop.kinds[position][spec], raw, "measured"), spot=spot
                )
            except ValueError as error:
                faults.append(Fault(spot, str(error)))
    return measured


@dataclass(slots=True)
class _Group:
    """What the rows say of one spec so far."""

    kind: SpecKind
    spot: Spot
    of: int
    axis: str
    seated: bool
    card: Band | None
    pieces: dict[int, Piece] = field(default_factory=dict)
    first: dict[tuple[int, str], Spot] = field(default_factory=dict)


def take_rows(
    shop: Shop, build: Build, variant: Variant, rows: Sequence[Row], faults: list[Fault]
) -> dict[tuple[str, str], Measured]:
    """Hold readings against a shop and a build.

    Parameters
    ----------
    shop : Shop
        The shop.
    build : Build
        The build they were taken on.
    variant : Variant
        The variant it starts from.
    rows : sequence of Row
        The readings.
    faults : list of Fault
        Takes everything wrong: specs that are not known, values and units that do not suit, values outside
        anything possible, pieces that the engine does not have, a piece twice, no uncertainty.

    Returns
    -------
    dict
        What was measured, by position and spec.
    """
    groups: dict[tuple[str, str], _Group] = {}
    gauges = shop.info.gauges if shop.info is not None else {}
    for row in rows:
        before = len(faults)
        key = kind_of(shop, row.says.get("what", ""), row.at("what"), faults)
        if key is None:
            continue
        group = groups.get(key)
        if group is None:
            group = groups[key] = _Group(
                shop.kinds[key[0]][key[1]], row.at("what"), *_pieces(shop, build, variant, key),
                _card(shop, build, variant, key),
            )  # fmt: skip
        number = _number(row, group, faults)
        place = _place(row, group.kind, faults)
        value = _value(row, group, faults)
        uncertainty = _uncertainty(row, group, value, gauges, faults)
        if len(faults) > before:
            continue
        assert number is not None
        assert value is not None
        assert uncertainty is not None
        if (number, place) in group.first:
            which = f"piece {number}" + (f" at '{place}'" if place else "")
            there = group.first[number, place]
            faults.append(
                Fault(row.at("piece"), f"{which} of '{'.'.join(key)}' is given twice; first at {there}")
            )
            continue
        group.first[number, place] = row.at("piece")
        says = {name: row.says.get(name, "").strip()[:MOST_TEXT] for name in ("gauge", "by", "date")}
        known = group.pieces.get(number)
        group.pieces[number] = (
            Piece(number, ((place, value),), uncertainty, **says)
            if known is None
            else Piece(
                number,
                (*known.readings, (place, value)),
                max(known.uncertainty, uncertainty),
                *(_both(getattr(known, name), says[name]) for name in ("gauge", "by", "date")),
            )
        )
    found: dict[tuple[str, str], Measured] = {}
    for key, group in groups.items():
        _apart(key, group, faults)
        if group.pieces:
            of = max(group.of, *group.pieces)
            found[key] = measured_spec(group.kind, group.pieces, of, group.axis, group.seated, group.spot)
    return found


def _both(one: str, other: str) -> str:
    """Two words for one thing: the one where they agree, else both."""
    return one if other in ("", one, *one.split(" + ")) else f"{one} + {other}" if one else other


def kind_of(shop: Shop, name: str, spot: Spot, faults: list[Fault]) -> tuple[str, str] | None:
    """The position and spec that a name means, a quantity; None with the fault told."""
    position, dot, spec = name.strip().partition(".")
    told: str | None = None
    if not dot:
        every = (f"{place}.{one}" for place, kinds in shop.kinds.items() for one in kinds)
        told = f"'{name}' names no spec; write it as position.spec{nearest(name, every)}"
    elif position not in shop.kinds:
        told = f"position '{position}' is not known{nearest(position, shop.kinds)}"
    elif position in ("setup", "fuel"):
        told = f"nobody measures a {position}" + "; say it in the build's `setup`" * (position == "setup")
    elif ("spec", name) in shop.faulty:
        return None
    elif spec not in shop.kinds[position]:
        told = f"spec '{spec}' is not declared for position '{position}'{nearest(spec, shop.kinds[position])}"
    elif shop.kinds[position][spec].sort != "quantity":
        told = f"'{name}' is {shop.kinds[position][spec].expected}; no gauge measures that"
    if told is not None:
        faults.append(Fault(spot, told))
        return None
    return position, spec


def _pieces(shop: Shop, build: Build, variant: Variant, key: tuple[str, str]) -> tuple[int, str, bool]:
    """How many there are of a spec in the engine, what they count by, whether each stands where it stands."""
    position, spec = key
    numbers = {str(name): number for name, number in shop.families[variant.family].numbers.items()}
    each = shop.kinds[position][spec].each
    if each in numbers:
        return numbers[each], each, True
    stands = build.counts.get(position, shop.count(variant, position)) or 1
    place = shop.positions[position]
    if place.per != "engine" and place.count == 1:
        return stands, place.per, stands == 1
    return stands, position, stands == 1


def _number(row: Row, group: _Group, faults: list[Fault]) -> int | None:
    text = row.says.get("piece", "").strip()
    spot = row.at("piece")
    if not text:
        if group.of == 1:
            return 1
        faults.append(Fault(spot, f"says no piece, and the engine takes {group.of}: write 1 to {group.of}"))
        return None
    if not text.isdecimal() or len(text) > 4 or int(text) < 1:
        faults.append(Fault(spot, f"piece '{text[:40]}' is no number from 1 to {group.of}"))
        return None
    if int(text) > group.of:
        faults.append(Fault(spot, f"piece {int(text)} is more than the {group.of} that the engine takes"))
        return None
    return int(text)


def _place(row: Row, kind: SpecKind, faults: list[Fault]) -> str:
    text = " ".join(row.says.get("place", "").split())
    if len(text) > MOST_TEXT:
        faults.append(Fault(row.at("place"), f"place of {len(text)} characters"))
    first = text.partition(" ")[0]
    if text and kind.at and not text.isdecimal() and first not in kind.at:
        told = f"place '{text[:40]}' of '{kind.name}' begins with {', '.join(kind.at)}{nearest(first, kind.at)}"
        faults.append(Fault(row.at("place"), told))
    return text


def _read(row: Row, column: str, kind: SpecKind, faults: list[Fault]) -> Band | None:
    """An entry as a quantity in the spec's dimension, with the row's unit where it has none of its own."""
    text, name = row.says.get(column, "").strip(), row.says.get("unit", "").strip()
    if name[:1].isdecimal():
        told = f"unit '{name[:40]}' is a number; a decimal comma? Write a decimal point"
        faults.append(Fault(row.at("unit"), told))
        return None
    try:
        band = read_band(text)
        if not band.unit and name and name != "number":
            band = read_band(f"{text} {name}")
        wrong = unfit(f"{text} {name}" if name and band.unit == name else text, band, kind.unit)
        if not wrong and band.low != band.high:
            wrong = f"'{text}' has a tolerance; a reading has none, and its gauge has the uncertainty"
    except UnitFault as error:
        wrong = str(error)
    if wrong:
        faults.append(Fault(row.at(column), f"{wrong}; '{kind.name}' wants {kind.expected}"))
        return None
    return band


def _unit_suits(row: Row, kind: SpecKind) -> bool:
    """Whether the row's unit is one of the spec."""
    text = f"1 {row.says.get('unit', '').strip()}".strip()
    try:
        return not unfit(text, read_band(text), kind.unit)
    except UnitFault:
        return False


def _value(row: Row, group: _Group, faults: list[Fault]) -> float | None:
    band = _read(row, "value", group.kind, faults)
    if band is None:
        return None
    value, kind, text = band.nominal, group.kind, row.says.get("value", "").strip()
    if value < 0 and not kind.signed:
        faults.append(Fault(row.at("value"), f"'{text}' is below zero, which '{kind.name}' cannot be"))
        return None
    if group.card is not None and (why := _impossible(value, group.card, kind)):
        faults.append(Fault(row.at("value"), f"'{text}' {why}"))
        return None
    return value


def hold_possible(
    shop: Shop, build: Build, variant: Variant, measured: Mapping[tuple[str, str], Spec], faults: list[Fault]
) -> None:
    """Hold single values against the cards of a whole shop; faults are added to the list.

    What is several times the card was read in another unit, or its point slipped. Readings of pieces are held
    closer, as they are read.
    """
    for key, spec in measured.items():
        if isinstance(spec, Measured) or not isinstance(spec.value, Band):
            continue
        card, kind = _card(shop, build, variant, key), shop.kinds[key[0]][key[1]]
        if card is None or not kind.gauge or not _is_size(abs(card.nominal), kind):
            continue  # where a part sits, a gap, a setting: those are for the rules to judge
        if not card.nominal / TIMES <= spec.value.nominal <= card.nominal * TIMES:
            why = f"is outside anything possible: the card says {card.text()}"
            faults.append(Fault(spec.spot, f"'{spec.value.text()}' {why}"))


def _impossible(value: float, card: Band, kind: SpecKind) -> str:
    """Why a value can be none of a part whose card says so; empty when it can."""
    size = abs(card.nominal)
    says = f"is outside anything possible: the card says {card.text()}"
    if _is_size(size, kind):
        return says if abs(value - card.nominal) > FAR * size + 2 * card.half_width else ""
    if kind.dimension == unit("mm").dimension and size < FINE:
        return says if abs(value) > SMALL else ""
    if size == 0 or card.half_width > 0.5 * size:
        return ""
    return "" if size / TIMES <= abs(value) <= size * TIMES else says


def _is_size(value: float, kind: SpecKind) -> bool:
    """Whether it is a size or mass of a part, which its like have too, rather than a gap or error of form."""
    length = kind.dimension == unit("mm").dimension and "feelers" not in kind.gauge  # what those read is a gap
    return (length and value >= SMALL) or (kind.dimension == unit("g").dimension and value > 0)


def _uncertainty(
    row: Row, group: _Group, value: float | None, gauges: Mapping[str, Band], faults: list[Fault]
) -> float | None:
    text = row.says.get("uncertainty", "").strip()
    kind = group.kind
    if not text:
        gauge = row.says.get("gauge", "").strip()
        own = gauges.get(gauge)
        if own is not None and own.dimension == kind.dimension:
            return own.nominal
        told = f"'{row.says.get('what', '')}' states no uncertainty of its gauge, and the shop none of "
        told += f"'{gauge[:40]}'{nearest(gauge, gauges)}" if gauge else "one without a name"
        told += f": write the expanded one (k = 2), like 0.002 {kind.unit}"
        faults.append(Fault(row.at("uncertainty"), told))
        return None
    # a unit that does not suit is told where it spoils the value, and once
    band = _read(row, "uncertainty", kind, faults if value is not None or _unit_suits(row, kind) else [])
    if band is None:
        return None
    found = band.nominal - unit(band.unit).to_si(0.0)  # a difference: 2 degC are 2 K
    if found <= 0 or not math.isfinite(found):
        faults.append(Fault(row.at("uncertainty"), f"an uncertainty of '{text}': no gauge is exact"))
        return None
    if value is not None and _is_size(abs(value), kind) and found > COARSE * abs(value):
        share = f"{found / abs(value):.0%} of the value"
        told = f"an uncertainty of '{text}' is {share}: no gauge for it, or another unit"
        faults.append(Fault(row.at("uncertainty"), told))
        return None
    return found


def _apart(key: tuple[str, str], group: _Group, faults: list[Fault]) -> None:
    """Tell of a piece that is nothing like the others, where no card says what they are."""
    if group.card is not None or len(group.pieces) < 2:
        return
    every = sorted(value for piece in group.pieces.values() for _, value in piece.readings)
    middle = every[len(every) // 2]
    for number, piece in group.pieces.items():
        for place, value in piece.readings:
            if _is_size(abs(middle), group.kind) and abs(value - middle) > FAR * abs(middle):
                own = unit(group.kind.unit)
                told = (
                    f"{own.from_si(value):.6g} {group.kind.unit} of piece {number} is nothing like the others"
                )
                told += f" of '{'.'.join(key)}', about {own.from_si(middle):.6g}"
                faults.append(Fault(group.first[number, place], told))


def _card(shop: Shop, build: Build, variant: Variant, key: tuple[str, str]) -> Band | None:
    """What the card says of the part that stands in the position."""
    position, spec = key
    part = standing_part(shop, build, variant, position)
    stated = shop.stated(position, part).get(spec) if part in shop.parts else None
    return stated.value if stated is not None and isinstance(stated.value, Band) else None
