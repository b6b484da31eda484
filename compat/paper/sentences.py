"""A chain of reasons as sentences."""

from __future__ import annotations

from collections.abc import Iterator

from compat.checking.spread import MODEL
from compat.shop.shop import Shop
from compat.units import preferred, show, unit
from compat.words.reasons import Reason
from compat.words.wording import half_width, plain, spec_name, told

__all__ = ["chain", "contributor_text", "leaf_name", "say"]


def chain(found: list[Reason], system: str = "metric", depth: int = 0) -> Iterator[tuple[int, str]]:
    """Give each reason as a sentence, with its depth.

    Parameters
    ----------
    found : list of Reason
        The chain.
    system : str
        ``metric`` or ``imperial``.
    depth : int
        Depth of the first.

    Yields
    ------
    tuple of int and str
        Depth, counted from 0, and the sentence.
    """
    for reason in found:
        yield depth, say(reason, system)
        yield from chain(reason.rests_on, system, depth + 1)


def contributor_text(name: str, shop: Shop) -> str:
    """What moves a value most, as a sentence."""
    if name.startswith(MODEL):
        return f"What the model itself may be off ({_model(name)}) counts most in its uncertainty."
    return f"The tolerance of {_the(leaf_name(name, shop))} counts most in its uncertainty."


def leaf_name(name: str, shop: Shop) -> str:
    """A toleranced leaf as words: a spec by its position, an entry of the goal, a model.

    >>> leaf_name("goal.air_temperature", Shop()), leaf_name("model of air_flow", Shop())
    ("the goal's air temperature", 'model of air flow')
    """
    if name.startswith(MODEL):
        return f"model of {_model(name)}"
    position, _, spec = name.partition(".")
    return f"the goal's {plain(spec)}" if position == "goal" else spec_name(shop, position, spec)


def _model(name: str) -> str:
    return ", ".join(dict.fromkeys(map(plain, name.removeprefix(MODEL).removeprefix("of ").split("."))))


def _the(name: str) -> str:
    return name if name.startswith("the ") else f"the {name}"


def say(reason: Reason, system: str) -> str:
    """One reason as a sentence.

    >>> say(Reason("rod.mass", "connecting rod mass", 0.54, unit="g", source="a-rod, maker"), "metric")
    'Connecting rod mass is 540 g (a-rod, maker).'
    """
    if reason.gap:
        text = reason.gap
    elif isinstance(reason.value, float):
        text = f"is {number(reason.value, reason.half, reason.unit, system)}"
    else:
        text = f"is {reason.value}"
    rest = []
    if reason.seen:
        rest.append("(as shown above)")
    elif reason.gap and reason.how:
        rest = [f"; it comes {reason.how.replace('= ', 'from ', 1)}"]
    elif not reason.gap:
        rest = [reason.how, f"({reason.source})" if reason.source else "", "[an estimate]" * reason.estimate]
    title = reason.title[:1].upper() + reason.title[1:]
    return " ".join(part for part in (title, text, *rest) if part).replace(" ;", ";") + "."


def number(value: float, half: float, name: str, system: str) -> str:
    """A value with half its tolerance, where that shows at all.

    >>> number(0.087, 0.00005, "mm", "metric"), number(13700.0, 9.08, "kN", "metric"), number(8.0, 0.0, "", "")
    ('87.000 mm ±0.05', '13.7 kN', '8')
    """
    if name == "" and value == round(value, 6) and not half:
        return f"{value:.6g}"
    text = told(value, name, half, system)
    digits = len(show(value, name, system, bare=True).partition(".")[2])
    shown = half / unit(preferred(name, system)).factor
    return f"{text} ±{half_width(half, name, system, digits + 1)}" if shown >= 0.5 * 10.0**-digits else text
