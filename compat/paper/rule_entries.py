"""A rule or a figure of the shop, written out for a person."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from compat.library.library import Library
from compat.words.wording import in_sentence, plain, readable, remedy_text

__all__ = ["figure_entry", "rule_entry"]

Lines = Iterator[tuple[int, str]]


def rule_entry(library: Library, name: str, spot: str) -> Lines:
    """A rule: where it applies, what it compares, what it says, and why."""
    shop, rule = library.shop, library.book.rules[name].rule
    yield 0, f"{name}: {rule.title} (rule; {spot})"
    if rule.where:
        yield 1, f"applies where {readable(shop, rule.where)}"
    if rule.measure:
        yield 1, f"measures {readable(shop, rule.measure)}{f', with {rule.at} in' if rule.at else ''}"
    if rule.load:
        yield 1, f"load: {readable(shop, rule.load)}"
        yield 1, f"capacity: {readable(shop, rule.capacity or '')}"
        headroom = rule.headroom if isinstance(rule.headroom, Mapping) else {"any duty": rule.headroom or 0.0}
        asks = ", ".join(f"{duty} {share:.0%}" for duty, share in headroom.items())
        yield 1, f"headroom asked: {asks}"
    for left, right in rule.match or ():
        yield 1, f"{readable(shop, left)} matches {readable(shop, right)}"
    for words, text in (("at least", rule.at_least), ("at most", rule.at_most), ("within", rule.within),
                        ("never", rule.never)):  # fmt: skip
        if text:
            yield 1, f"{words} {readable(shop, text)}"
    if rule.need:
        need = rule.need
        with_ = ", ".join(f"{key} {value}" for key, value in need.matching.items())
        count = readable(shop, need.count) if need.count else None
        wanted = {"feature": need.feature, "work": need.work, "position": need.position, "count": count}
        said = ", ".join(f"{key} {value}" for key, value in wanted.items() if value is not None)
        yield 1, f"needs {said}{f' with {with_}' if with_ else ''}"
    if rule.renew:
        yield 1, f"renews what the {in_sentence(shop.joints[rule.renew].name)} consumes"
    if rule.note:
        yield 1, rule.note
    sides = [f"{verdict} {side}" for side, verdict in (("below", rule.below), ("above", rule.above)) if verdict]
    yield 1, f"else {' and '.join(sides) or rule.fails_as}"
    for remedy in rule.remedies:
        for key, text in remedy.items():
            if key != "with":
                yield 1, f"-> {remedy_text(shop, str(key), text)}"
    yield 1, f"why: {rule.why}"
    yield 1, f"source: {rule.source}"


def figure_entry(library: Library, name: str, spot: str) -> Lines:
    """A figure: what it is computed of, what is taken where nothing is stated, and who uses it."""
    shop, figure = library.shop, library.book.figures[name].figure
    own = "" if figure.unit == "number" else f" in {figure.unit}"
    yield 0, f"{name}: {figure.name or plain(name)}{own} (figure; {spot})"
    if figure.is_:
        yield 1, f"= {readable(shop, figure.is_)}"
    else:
        yield 1, f"by the formula {figure.formula}, from"
        for argument, text in figure.takes.items():
            yield 2, f"{plain(argument)}: {readable(shop, str(text))}"
    if figure.unstated:
        says = readable(shop, figure.unstated.take)
        yield 1, f"where not stated: {says} ({figure.unstated.basis}: {figure.unstated.why.rstrip('.')})"
    if figure.basis == "estimate":
        yield 1, "an estimate"
    if figure.scatter:
        yield 1, f"the model may be off by ±{figure.scatter:.0%}"
    if figure.source:
        yield 1, f"source: {figure.source}"
    users: dict[str, list[str]] = {}
    for (kind, other), _ in library.book.graph.in_edges(("figure", name)):
        users.setdefault(kind, []).append(other)
    for kind, names in users.items():
        yield 1, f"used by the {kind}{'s' * (len(names) > 1)} {', '.join(names)}"
    if not users:
        yield 1, "used by nothing"
