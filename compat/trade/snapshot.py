"""All that a quote rests on, as plain data, and the quote itself, so that both can be kept and read again."""

from __future__ import annotations

import json
from collections.abc import Mapping
from hashlib import blake2b
from typing import Any

from compat.checking.check import Checked
from compat.library.cards import card
from compat.shop.models import Part
from compat.shop.specs import Spec
from compat.shop.writing import as_said
from compat.trade.plans import Plan
from compat.trade.pricing import final_works
from compat.trade.quoted import Quote
from compat.trade.reuse import final_world
from compat.units import Band
from compat.version import __version__

__all__ = ["customers_copy", "quote_of", "rests_on"]


def customers_copy(data: dict[str, Any]) -> dict[str, Any]:
    """A quote as data without what is the shop's own: cost, margin, supplier."""
    lines = [{key: value for key, value in line.items() if key != "own"} for line in data["lines"]]
    return {**{key: value for key, value in data.items() if key != "own"}, "lines": lines}


def quote_of(data: Mapping[str, Any]) -> Quote:
    """A quote that was kept as data.

    Raises
    ------
    ValueError
        When the data is no quote of this program's.
    """
    from pydantic import TypeAdapter

    return TypeAdapter(Quote).validate_python(data)


def rests_on(checked: Checked, plan: Plan) -> dict[str, Any]:
    """All that a quote rests on.

    Parameters
    ----------
    checked : Checked
        The check.
    plan : Plan
        What is bought where.

    Returns
    -------
    dict
        The build as said, its parts with specs and prices, work, suppliers and terms as said, verdicts by rule,
        and of every rule that applied a digest of its content.
    """
    world = final_world(checked)
    settled = world.settled
    shop, book = settled.shop, settled.book
    parts: dict[str, Part] = {entry.part.part: entry.part for entry in settled.fitted.values()}
    parts |= {line.part: shop.parts[line.part] for line in plan.lines}
    works = final_works(checked)
    suppliers = {o.supplier for part in parts.values() for o in part.sold_by}
    suppliers |= {work.done_by for work in works if work.done_by != "shop"}
    verdicts = {outcome.rule: outcome.verdict for outcome in checked.outcomes}
    return {
        "program": __version__,
        "build": as_said(checked.world.settled.build),
        "variant": as_said(settled.variant),
        "fitted": {position: entry.part.part for position, entry in settled.fitted.items()},
        "parts": {name: _part(part) for name, part in sorted(parts.items())},
        "work": {work.work: as_said(work) for work in works},
        "suppliers": {name: as_said(shop.suppliers[name]) for name in sorted(suppliers)},
        "terms": as_said(shop.info),
        "verdicts": verdicts,
        "rules": {
            name: blake2b(card(book.rules[name].rule).encode(), digest_size=8).hexdigest()
            for name in verdicts
            if name in book.rules
        },
        "shelf": {taken.part: f"{taken.count} {taken.condition}" for taken in plan.taken},
    }


def _part(part: Part) -> dict[str, Any]:
    said: dict[str, Any] = as_said(part)
    return {**said, "specs": {name: _spec(spec) for name, spec in part.specs.items()}}


def _spec(spec: Spec) -> str:
    value = spec.value
    text = value.text() if isinstance(value, Band) else json.dumps(as_said(value), ensure_ascii=False)
    return f"{text} ({spec.basis})"
