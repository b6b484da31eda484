"""How the fasteners of a position are tightened in this build: pattern, passes, and what goes on them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from compat.checking.settle import Settled
from compat.engineering.bolts.tightening_pattern import (
    angle_passes,
    circle_order,
    circle_places,
    grid_places,
    outward_order,
    rail_places,
    torque_stages,
)
from compat.shop.models import Tightening
from compat.shop.specs import Spec
from compat.shop.words import Layout
from compat.units import Band

__all__ = ["Pass", "Pattern", "Tightened", "pattern_of", "tightened"]

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Pattern:
    """Where the fasteners stand, in the order in which they are tightened."""

    layout: Layout
    places: tuple[Place, ...]
    """The first is tightened first: along the engine from the front and across it; on a circle of radius 1."""
    each: str = ""
    """The position of which every piece has this pattern; empty where there is one."""
    times: int = 1
    """How often the pattern is there."""
    along: str = ""
    """What lies along the engine."""


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass over the pattern. SI; None where the pass has none."""

    torque: float | None = None
    angle: float | None = None
    stretch: float | None = None


@dataclass(frozen=True, slots=True)
class Tightened:
    """Fasteners tightened at one step."""

    count: int
    pattern: Pattern | None
    passes: tuple[Pass, ...]
    stated: bool
    """Whether the maker states the passes; else they are customary steps to what it does state."""
    method: str = ""
    lubricant: str = ""
    torque: float | None = None
    """The torque that the card states, SI."""
    one_use: bool = False
    remark: str = ""
    """What does not fit in what the card states."""


def pattern_of(tighten: Tightening, count: int, times: int) -> Pattern | None:
    """The pattern of so many fasteners, each as often as said; None where they are too few to have one."""
    if count < 3:
        return None
    match tighten.layout:
        case "grid":
            places = outward_order(grid_places(count, tighten.rows))
        case "rail":
            places = outward_order(rail_places(max(count, 4)))
        case "circle":
            circle = circle_places(count)
            places = tuple(circle[number - 1] for number in circle_order(count))
    return Pattern(tighten.layout, places, tighten.each or "", times, tighten.along)


def tightened(settled: Settled, position: str) -> Tightened | None:
    """What is tightened when a position is filled.

    Parameters
    ----------
    settled : Settled
        The build.
    position : str
        A filled position.

    Returns
    -------
    Tightened or None
        None where the position has no fasteners: neither a pattern nor a torque is known of it.
    """
    specs = settled.specs.by_position.get(position, {})
    tighten = settled.shop.positions[position].fitting.tighten
    kinds = settled.shop.kinds[position]
    if tighten is None and "tightening_torque" not in kinds:
        return None
    torque, angle, stretch = (
        _quantity(specs, name) for name in ("tightening_torque", "tightening_angle", "stretch")
    )
    pieces = settled.count(position)
    count, times = pieces, 1
    if tighten is not None and tighten.counted_by is not None:
        owner, _, name = tighten.counted_by.partition(".")
        counted = _quantity(settled.specs.by_position.get(owner, {}), name)
        count, times = (round(counted) if counted else 0), settled.count(owner)
    elif tighten is not None and tighten.each is not None:
        times = max(1, settled.count(tighten.each))
        count = pieces // times
    pattern = pattern_of(tighten, count, times) if tighten is not None else None
    method = _word(specs, "tightening_method") or ("torque" if torque else "")
    passes, stated = _stated(specs), True
    if not passes:
        passes, stated = _customary(method, torque, angle, stretch, count * times), False
    one_use = specs.get("one_use")
    return Tightened(
        count=count * times,
        pattern=pattern,
        passes=passes,
        stated=stated,
        method=method,
        lubricant=_word(specs, "lubricant"),
        torque=torque,
        one_use=one_use is not None and one_use.value is True,
        remark=_remark(passes, torque, angle) if stated else "",
    )


def _stated(specs: Mapping[str, Spec]) -> tuple[Pass, ...]:
    """Passes as the card has them; a nought is what a pass has not."""
    spec = specs.get("tightening_stages")
    if spec is None or not isinstance(spec.value, tuple):
        return ()
    rows = [row for row in spec.value if isinstance(row, tuple)]
    return tuple(Pass(torque=torque or None, angle=angle or None) for torque, angle in rows)


FEW = 9.0
"""Below so much torque [N*m] one pass by hand and one by wrench are enough."""
MUCH = 28.0
"""From so much torque [N*m] there are three passes."""


def _customary(
    method: str, torque: float | None, angle: float | None, stretch: float | None, count: int
) -> tuple[Pass, ...]:
    """Passes as a shop makes them where the card states only where they end.

    Common practice, no source: even steps over the whole pattern; the snug torque of an angle in two; what is
    tightened by stretch goes to two thirds of its torque, then to the stretch.
    """
    if torque is None:
        return ()
    if method == "stretch" and stretch is not None:
        return (*(Pass(torque=_whole(each)) for each in torque_stages(torque)[:-1]), Pass(stretch=stretch))
    if angle:
        snug = torque_stages(torque, 2 if count > 1 else 1)
        return (*_climb(snug), *(Pass(angle=each) for each in angle_passes(angle)))
    if count == 1:
        return (Pass(torque=torque),)
    return _climb(torque_stages(torque, 1 if torque < FEW else 2 if torque < MUCH else 3))


def _climb(torques: tuple[float, ...]) -> tuple[Pass, ...]:
    """Passes of these torques; all but the last to the whole newton metre, as a wrench is set."""
    return (*(Pass(torque=_whole(each)) for each in torques[:-1]), Pass(torque=torques[-1]))


def _whole(torque: float) -> float:
    return float(round(torque))


def _remark(passes: tuple[Pass, ...], torque: float | None, angle: float | None) -> str:
    """What the stated passes do not agree on with the stated end."""
    ends = max((each.torque or 0.0 for each in passes), default=0.0)
    turned = sum(each.angle or 0.0 for each in passes)
    if torque is not None and not math.isclose(ends, torque, rel_tol=1e-6):
        return "the stated passes do not end at the stated torque: ask the maker before tightening"
    if not math.isclose(turned, angle or 0.0, abs_tol=1e-6):
        return "the stated passes do not add up to the stated angle: ask the maker before tightening"
    return ""


def _quantity(specs: Mapping[str, Spec], name: str) -> float | None:
    spec = specs.get(name)
    return spec.value.nominal if spec is not None and isinstance(spec.value, Band) else None


def _word(specs: Mapping[str, Spec], name: str) -> str:
    spec = specs.get(name)
    return spec.value if spec is not None and isinstance(spec.value, str) else ""
