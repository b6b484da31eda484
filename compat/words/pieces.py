"""What is said of limits on measured pieces: which decides, by how much, and what the gauge leaves open."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from compat.checking.outcome import Pairing, Pieced
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule
from compat.shop.words import ENGINE_NUMBERS
from compat.units import preferred, show, unit
from compat.words.wording import listed, plain

if TYPE_CHECKING:
    from compat.words.telling import Teller

__all__ = ["of_pieces", "to_gauge", "which"]

ON_THE_LIMIT = 0.05
"""Nearer to the limit than this share of the uncertainty, no gauge that there is decides."""


def which(pairing: Pairing) -> str:
    """The pieces that meet, as words.

    >>> from compat.checking.conformity import Doubt
    >>> numbers = (("main_journals", 2), ("main_bearing", 5))
    >>> which(Pairing((1, 4), numbers, "ok", "in", "", 5e-5, Doubt(), 0.0, 0.0, 1e-5, None, None))
    'main journal 2 with main bearing 5'
    """
    seats = [f"{plain(name).removesuffix('s')} {n}" for name, n in pairing.numbers if name in ENGINE_NUMBERS]
    pieces = [f"{plain(name)} {number}" for name, number in pairing.numbers if name not in ENGINE_NUMBERS]
    if not seats:
        return " with ".join(pieces)
    return seats[0] + (f" with {listed(pieces)}" if pieces else "")


def to_gauge(
    value: float, name: str, half: float, system: str = "metric", *, bare: bool = False, apart: bool = False
) -> str:
    """A number to the second digit of what its gauge may be off.

    Parameters
    ----------
    value : float
        SI value.
    name : str
        Metric unit wanted.
    half : float
        What it may be off, SI.
    system : str
        ``metric`` or ``imperial``.
    bare : bool
        Leave the unit out.
    apart : bool
        Whether it is a difference: 2 degC are 2 K.

    Returns
    -------
    str
        Number and unit.

    Examples
    --------
    >>> to_gauge(0.037e-3, "mm", 2.83e-6), to_gauge(2.83e-6, "mm", 2.83e-6, "imperial", apart=True)
    ('0.0370 mm', '0.00011 in')
    """
    wanted = preferred(name, system)
    own = unit(wanted)
    if half <= 0:
        return show(value, name, system, bare=bare)
    number = value / own.factor if apart else own.from_si(value)
    place = min(max(1 - math.floor(math.log10(half / own.factor)), 0), 9)
    text = f"{round(number, place) + 0.0:.{place}f}"
    return text if bare or wanted in ("", "number") else f"{text} {wanted}"


def of_pieces(tell: Teller, rule: BoundRule, seen: Pieced, verdict: Verdict) -> str:
    """The outcome of limits on measured pieces, as a sentence without its capital and full stop."""
    name, worst, system = rule.unit, seen.worst, tell.system
    what = tell.measured(rule)
    half = worst.guard or worst.doubt.places or seen.spread.worst
    doubt = f"uncertainty {to_gauge(worst.guard, name, worst.guard, system, apart=True)} (k = 2)"
    if verdict == "ok" or not worst.side:
        low = to_gauge(seen.value - seen.spread.worst, name, half, system, bare=True)
        high = to_gauge(seen.value + seen.spread.worst, name, half, system)
        allowed = tell.allowed(name, seen.least, seen.most)
        return f"{what} comes to {low} to {high} on the measured pieces; {allowed}: proven, {doubt}"
    bound = worst.least if worst.side == "below" else worst.most
    assert bound is not None
    limit = f"{'least' if worst.side == 'below' else 'most'} allowed, {tell.number(bound, name)}"
    where = which(worst)
    at = f"{what} comes to {to_gauge(worst.value, name, half, system)}" + (f" in {where}" if where else "")
    off = to_gauge(abs(worst.margin), name, half, system, apart=True)
    if worst.doubt.places:
        off += " at its worst place"
    if worst.decision == "out":
        than = "less than" if worst.side == "below" else "more than"
        says = f"{at}, {off} {than} the {limit}"
        if verdict == "caution":
            return says
        says += f": proven, {doubt}"
        if seen.free and not seen.saved:
            return f"{says}; no way to put these pieces together avoids it"
        if seen.free:
            out = sum(pairing.decision == "out" for pairing in seen.pairings)
            kinds = listed([plain(position) for position in seen.free])
            of = f"{out} of {len(seen.pairings)} pairings {'is' if out == 1 else 'are'} out"
            return f"{of}, and the pieces can be put together without: select each {kinds}. At the worst {says}"
        return says
    side = "inside" if worst.margin >= 0 else "outside"
    if worst.decision == "in":
        return f"{at}, {off} {side} the {limit}, less than the model may be off"
    if abs(worst.margin) < worst.guard:
        may = to_gauge(worst.guard, name, half, system, apart=True)
        says = f"{at}, {off} {side} the {limit}, and what measured it may be off by {may} (k = 2): not decided"
        if abs(worst.margin) < ON_THE_LIMIT * worst.guard:
            return f"{says}; on the limit itself no gauge decides"
        needed = to_gauge(abs(worst.margin), name, abs(worst.margin), system, apart=True)
        return f"{says}; an uncertainty of {needed} or less would decide"
    loose = to_gauge(worst.loose, name, half, system, apart=True)
    return f"{at}, {off} inside the {limit}; what was not measured may take {loose} of it: measure that too"
