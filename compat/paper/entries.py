"""One thing of the shop, written out for a person."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from compat.library.library import Library
from compat.paper.fitting_lines import fitting_lines, gauge_text, work_lines
from compat.paper.rule_entries import figure_entry, rule_entry
from compat.paper.supplied import offered, stock_entry, supplier_entry
from compat.paper.term_lines import term_lines
from compat.shop.models import (
    Build,
    Feature,
    Goal,
    Joint,
    Need,
    Offer,
    Parameter,
    Part,
    Position,
    Thing,
    Variant,
    Work,
)
from compat.shop.shop import Shop
from compat.shop.specs import Spec, SpecKind
from compat.shop.writing import as_said
from compat.units import DIMENSIONLESS, Band, show
from compat.words.wording import each_of, half_width, hours_text, plain

__all__ = [
    "entry_data",
    "entry_lines",
    "goal_said",
    "part_ties",
    "spec_text",
    "stated",
    "unstated",
    "value_text",
]

Lines = Iterator[tuple[int, str]]


def spec_text(kind: SpecKind, spec: Spec, system: str = "metric") -> str:
    """A stated value in the reader's unit, with its tolerance and basis.

    >>> from compat.shop.specs import declare, state
    >>> kind = declare("stroke", "mm")
    >>> spec_text(kind, state(kind, "87 mm ±0.05"))
    '87.000 mm ±0.05 (maker)'
    """
    note = f"; {spec.note}" if spec.note else ""
    return f"{value_text(kind, spec, system)} ({spec.basis}{note})"


def value_text(kind: SpecKind, spec: Spec, system: str = "metric") -> str:
    """A stated value in the reader's unit, with its tolerance."""
    value = spec.value
    if isinstance(value, Band) and kind.zero and value.low == value.high == 0:
        text = kind.zero
    elif isinstance(value, Band):
        if value.dimension == DIMENSIONLESS and kind.unit in ("", "number"):
            text = f"{value.nominal:.6g}"
        else:
            text = show(value.nominal, kind.unit, system)
        if value.low != value.high:
            up = half_width(value.high - value.nominal, kind.unit, system)
            down = half_width(value.nominal - value.low, kind.unit, system)
            text += f" ±{up}" if up == down else f" +{up}/-{down}"
    elif isinstance(value, bool):
        text = "yes" if value else "no"
    elif isinstance(value, tuple):
        if value and isinstance(value[0], tuple):
            text = f"table of {len(value)} rows: " + ", ".join(name for name, _ in kind.columns)
        else:
            text = ", ".join(map(str, value))
    else:
        text = value
    return text


def entry_lines(library: Library, kind: str, name: str, system: str) -> Lines:
    """Give the lines of one thing, each with its depth.

    Parameters
    ----------
    library : Library
        The shop.
    kind, name : str
        Kind and id of the thing.
    system : str
        ``metric`` or ``imperial``.

    Yields
    ------
    tuple of int and str
        Depth and text.
    """
    book = library.book
    spot = book.spot(kind, name) if kind in ("rule", "figure") else library.shop.spot(kind, name)
    if kind == "rule":
        yield from rule_entry(library, name, f"{spot}")
        return
    if kind == "figure":
        yield from figure_entry(library, name, f"{spot}")
        return
    if kind == "shop":
        info = library.shop.info
        assert info is not None
        yield 0, f"{info.shop}: {info.name} (shop; {spot})"
        yield from term_lines(info)
        return
    thing = library.shop.of_kind(kind)[name]
    yield 0, f"{name}: {thing.name} ({kind}; {spot})"
    writers: dict[str, Callable[..., Lines]] = {
        "part": _part,
        "variant": _variant,
        "position": _position,
        "feature": _feature,
        "work": _work,
        "joint": _joint,
        "supplier": lambda library, thing, _: supplier_entry(library.shop, thing),
        "stock": lambda library, thing, _: stock_entry(library.shop, thing),
        "build": _build,
    }
    if kind in writers:
        yield from writers[kind](library, thing, system)
    elif kind == "family":
        yield 1, ", ".join(_number_of(number, what) for what, number in thing.numbers.items())
        variants = [v.variant for v in library.shop.variants.values() if v.family == name]
        yield 1, f"variants: {', '.join(variants) or 'none'}"


def entry_data(library: Library, kind: str, name: str, system: str) -> dict[str, Any]:
    """Give one thing as data, by the published schema `show`.

    Parameters
    ----------
    library : Library
        The shop.
    kind, name : str
        Kind and id of the thing.
    system : str
        ``metric`` or ``imperial``, for the lines.

    Returns
    -------
    dict
        Kind, id and name, where it was written, the entry as its file has it, and the lines a person reads.
    """
    book, shop = library.book, library.shop
    spot = (book if kind in ("rule", "figure") else shop).spot(kind, name)
    (_, head), *rest = entry_lines(library, kind, name, system)
    return {
        "kind": kind,
        "id": name,
        "name": head.removeprefix(f"{name}: ").rpartition(f" ({kind}; ")[0],
        "file": spot.file,
        "line": spot.line,
        "entry": as_said(_thing(library, kind, name)),
        "lines": [{"depth": depth, "text": text} for depth, text in rest],
    }


def _thing(library: Library, kind: str, name: str) -> Thing:
    """The thing itself."""
    if kind == "rule":
        return library.book.rules[name].rule
    if kind == "figure":
        return library.book.figures[name].figure
    if kind == "shop":
        assert library.shop.info is not None
        return library.shop.info
    thing: Thing = library.shop.of_kind(kind)[name]
    return thing


def _number_of(number: int, what: str) -> str:
    words = plain(what)
    return f"{number} {words.removesuffix('s') if number == 1 else words}"


def _feature_text(entry: Offer | Need) -> str:
    names = entry.feature if isinstance(entry, Offer) else " or ".join(entry.features)
    count = f"{entry.count} x " if entry.count > 1 else ""
    matching = f" ({', '.join(f'{k} {v}' for k, v in entry.matching.items())})" if entry.matching else ""
    each = " for the whole set" if entry.per == "set" else ""
    if isinstance(entry, Need) and entry.shared_by > 1:
        each = f" for every {entry.shared_by} pieces"
    return f"{count}{names}{matching}{each}{f', when {entry.when}' if entry.when else ''}"


def stated(shop: Shop, part: Part) -> Iterator[tuple[str, SpecKind, Spec]]:
    """The specs that a part states, each with how it is declared."""
    kinds: dict[str, SpecKind] = {}
    for position in reversed(part.fills):
        kinds |= shop.kinds[position]
    for name, spec in shop.specs[part.part].items():
        yield name, kinds[name], spec


def unstated(shop: Shop, part: Part) -> list[str]:
    """Specs that are declared where a part stands, and that it does not state."""
    return [name for name in shop.kinds[part.fills[0]] if name not in shop.specs[part.part]]


def part_ties(part: Part) -> Iterator[str]:
    """What a part offers and needs, comes with, and never stands beside."""
    for offer in part.offers:
        yield f"offers {_feature_text(offer)}"
    for need in part.needs:
        yield f"needs {_feature_text(need)}"
    for other in part.includes:
        yield f"comes with {other}"
    for other in part.never_with:
        yield f"never with {other}"
    if part.leaves_out:
        yield f"leaves out on purpose {', '.join(part.leaves_out)}"


def _part(library: Library, part: Part, system: str) -> Lines:
    shop = library.shop
    yield 1, f"fills {', '.join(part.fills)}; for {', '.join(part.families) or 'any family'}"
    homes = [v.variant for v in shop.variants.values() if part.part in v.parts.values()]
    if homes:
        yield 1, f"factory part of {', '.join(homes)}"
    for name, kind, spec in stated(shop, part):
        yield 1, f"{name}: {spec_text(kind, spec, system)}"
    if silent := unstated(shop, part):
        yield 1, f"not stated: {', '.join(silent)}"
    for text in part_ties(part):
        yield 1, text
    yield from offered(shop, part)
    if part.note:
        yield 1, part.note


def goal_said(goal: Goal, system: str) -> str:
    """A goal on one line, in the reader's units."""
    text = f"{show(goal.power.nominal, 'kW', system)} at {show(goal.at.nominal, 'rpm', system)}"
    if goal.torque is not None:
        at = f" at {show(goal.torque_at.nominal, 'rpm', system)}" if goal.torque_at else ""
        text += f", {show(goal.torque.nominal, 'N*m', system)}{at}"
    if goal.rev_limit is not None:
        text += f", limit {show(goal.rev_limit.nominal, 'rpm', system)}"
    if goal.boost is not None:
        text += f", boost {show(goal.boost.nominal, 'kPa', system)}"
    return f"{text}, {goal.fuel or 'fuel not stated'}, {goal.duty}"


def _variant(library: Library, variant: Variant, system: str) -> Lines:
    yield 1, f"family {variant.family}; rated {goal_said(variant.rated, system)}"
    for figure, text in variant.stated.items():
        yield 1, f"stated {figure}: {text}"
    for position, part in variant.parts.items():
        yield 1, f"{position}: {part}"


def _position(library: Library, place: Position, system: str) -> Lines:
    each = "" if place.per == "engine" else f" for each of the {place.per.replace('_', ' ')}"
    if place.each_serves:
        each += f", one piece for as many as its {place.each_serves}"
    yield (
        1,
        f"{place.system.replace('-', ' ')}; {place.count}{each}"
        f"{', or more as the job asks' * (place.varies and not place.fewer_too)}"
        f"{', or as the job asks' * place.fewer_too}{'; required' * place.required}"
        f"{'; indispensable where the factory fits it' * place.indispensable}",
    )
    for name, kind in library.shop.kinds[place.position].items():
        yield 1, f"{name}: {kind.expected}{f'; {kind.meaning}' if kind.meaning else ''}{gauge_text(kind)}"
    yield from fitting_lines(place.fitting)
    fillers = library.shop.fillers[place.position]
    yield 1, f"parts that fill it: {', '.join(fillers) or 'none'}"
    rules = [
        name
        for name, rule in library.book.rules.items()
        if place.position in library.book.positions_of(rule)
        or any(place.position == p for expression in rule.expressions() for p, _ in expression.names.specs)
    ]
    yield 1, f"rules that look at it: {', '.join(rules) or 'none'}"


def _feature(library: Library, feature: Feature, system: str) -> Lines:
    indexes = library.shop.indexes
    yield 1, "used up when taken" if feature.used_up else "any number may use it"
    for verb, table in (("offered", indexes.offerers), ("needed", indexes.needers)):
        names: dict[str, dict[str, None]] = {}
        for kind, name, _ in table.get(feature.feature, ()):
            names.setdefault(kind, {})[name] = None
        for kind, found in names.items():
            yield 1, f"{verb} by the {kind}{'s' * (len(found) > 1 and kind != 'work')} {', '.join(found)}"
        if not names:
            yield 1, f"{verb} by nothing"
    if feature.why:
        yield 1, feature.why


def _bounds(parameter: Parameter) -> str:
    """What a size that work takes is held to, as its file says it."""
    said = (("at least", parameter.at_least), ("at most", parameter.at_most))
    return "".join(f", {word} {text}" for word, text in said if text is not None)


def _work(library: Library, work: Work, system: str) -> Lines:
    labour = f"{plain(work.labour)}, " if work.labour else ""
    price = f" for {work.price}{f' {each_of(work.per)}' * (work.per != 'engine')}" if work.price else ""
    away = f", away {work.lead.text()}" if work.lead is not None else ""
    yield 1, f"on {work.on}; {labour}{hours_text(work)}; done by {work.done_by}{price}{away}"
    for name, parameter in work.takes.items():
        default = f", default {parameter.default}" if parameter.default is not None else ""
        yield 1, f"takes {name}: {parameter.unit}{default}{_bounds(parameter)}"
        if parameter.why:
            yield 2, parameter.why
    for change in work.changes:
        verb = f"changes by {change.by}" if change.by is not None else f"becomes {change.to}"
        yield 1, f"{change.spec} {verb}{f', {change.tolerance}' if change.tolerance else ''}"
    for offer in work.offers:
        yield 1, f"offers {_feature_text(offer)}"
    for need in work.needs:
        yield 1, f"needs {_feature_text(need)}"
    if work.forces:
        yield 1, f"always drags in {', '.join(work.forces)}"
    if work.after:
        yield 1, f"comes after {', '.join(work.after)}"
    yield from work_lines(work)
    for text in (work.caution, work.note):
        if text:
            yield 1, text


def _joint(library: Library, joint: Joint, system: str) -> Lines:
    yield 1, f"opened to reach {', '.join(joint.behind)}"
    if joint.opens:
        yield 1, f"first opens {', '.join(joint.opens)}"
    for renewal in joint.renews:
        yield 1, f"renews {renewal.position}{f' where {renewal.where}' if renewal.where else ''}"
    for text in joint.inspect:
        yield 1, f"inspect {text}"
    if joint.note:
        yield 1, joint.note


def _build(library: Library, build: Build, system: str) -> Lines:
    yield 1, f"from {build.variant}; goal {goal_said(build.goal, system)}"
    for position, part in build.fit.items():
        yield 1, f"{position}: {part}"
    for taken in build.take_from:
        yield 1, f"from {taken.variant}: {', '.join(taken.positions)}"
    for position, why in build.fits_because.items():
        yield 1, f"{position} fits: {why or 'no reason given'}"
    for position, why in build.leave_out.items():
        yield 1, f"left out: {position}{f', {why}' if why else ''}"
    for position, state in build.brought.items():
        yield 1, f"brought by the customer: {position}{f', {state}' if state else ''}"
    for work in build.work:
        values = ", ".join(f"{key} {value}" for key, value in work.values.items())
        yield 1, f"work {work.work}{f' ({values})' if values else ''}"
    for option in build.options:
        yield 1, f"option: {option.name}"
