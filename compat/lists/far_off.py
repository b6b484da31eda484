"""Sizes far from what others are: a wrong unit or decimal sign reads as sound a number as a right one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import log
from statistics import median

from compat.lists.wanted import Aside, Wanted
from compat.shop.shop import Shop
from compat.units import Band, UnitFault, read_band

__all__ = ["far_off"]

TIMES = 6.0
"""So many times what is usual, or such a part of it, is told: a slip of the decimal sign makes ten, inches for
millimetres 25 (where to draw the line: our choice, no source)."""
LEAST = 3
"""Of so few values nothing is usual."""
OWN = 40
"""So many of the shop's own parts in a position are looked at."""
NAMED = 4


def far_off(wanted: Sequence[Wanted], shop: Shop) -> Iterator[Aside]:
    """Tell which sizes lie far from those of the same spec in the shop; where it has too few, in the list.

    Parameters
    ----------
    wanted : sequence of Wanted
        Parts as a list says they are.
    shop : Shop
        The shop.

    Yields
    ------
    Aside
        One for each position and spec that has such sizes.
    """
    said: dict[tuple[str, str], list[tuple[str, str, float]]] = {}
    for one in wanted:
        position = one.says.get("fills") or next(iter(_fills(shop, one.part)), "")
        for name, text in one.says.items():
            if name.startswith("specs.") and isinstance(text, str) and (size := _size(text)) > 0:
                said.setdefault((position, name.removeprefix("specs.")), []).append((one.part, text, size))
    for (position, spec), sizes in said.items():
        parts = {part for part, _, _ in sizes}
        usual = list(_own(shop, position, spec, parts))
        if len(usual) < LEAST:  # else a list in a wrong unit would pass for the usual
            usual += [size for _, _, size in sizes]
        if len(usual) < LEAST:
            continue
        middle = median(usual)
        far = [(part, text) for part, text, size in sizes if abs(log(size / middle)) > log(TIMES)]
        if far:
            named = ", ".join(f"{text} of {part}" for part, text in far[:NAMED])
            more = f" and {len(far) - NAMED} more" if len(far) > NAMED else ""
            told = f"{spec.replace('_', ' ')} far from what is usual for {position}: {named}{more}"
            yield Aside(f"{told}; look at unit and decimal sign")


def _own(shop: Shop, position: str, spec: str, but: set[str]) -> Iterator[float]:
    """Sizes of the shop's own parts there."""
    others: Iterable[str] = (part for part in shop.fillers.get(position, ()) if part not in but)
    for _, part in zip(range(OWN), others, strict=False):
        stated: Mapping[str, object] = shop.parts[part].specs
        value = getattr(stated.get(spec), "value", None)
        if isinstance(value, Band) and value.nominal > 0:
            yield value.nominal


def _fills(shop: Shop, part: str) -> Sequence[str]:
    return shop.parts[part].fills if part in shop.parts else ()


def _size(text: str) -> float:
    """A size in SI units; 0 where it is none."""
    try:
        return float(read_band(text).nominal)
    except UnitFault:
        return 0.0
