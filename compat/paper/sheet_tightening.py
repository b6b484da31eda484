"""How fasteners are tightened, as blocks of a bench sheet: passes in both systems, the order as a drawing."""

from __future__ import annotations

import math

from compat.bench.sheet import Step
from compat.bench.tightening import Pass, Tightened
from compat.paper.document import Block, Column, Picture, Row, Table, Text, Together
from compat.paper.sequence_drawing import drawing, told_in_order
from compat.units import show
from compat.words.wording import plain

__all__ = ["angle_text", "pass_texts", "says_of", "tightening_blocks", "torque_texts"]

LUBRICANTS = {
    "oil": "engine oil on threads and under the head",
    "moly": "molybdenum paste on threads and under the head",
    "dry": "dry and clean",
    "threadlocker": "threadlocker on the thread",
}
WIDE = 12
"""Columns of a pattern that fill the width."""


def torque_texts(torque: float) -> tuple[str, str]:
    """A torque in both systems.

    >>> torque_texts(99.0)
    ('99 N*m', '73.0 lbf*ft')
    """
    return f"{torque:.4g} N*m", show(torque, "N*m", "imperial")


def angle_text(angle: float) -> str:
    """An angle in degrees, as a wrench has them."""
    return f"{math.degrees(angle):.4g} deg"


def tightening_blocks(step: Step) -> list[Block]:
    """What is said of the fasteners at a step."""
    held = step.tightening
    assert held is not None
    blocks: list[Block] = [_passes(step, held)]
    if held.remark:
        blocks.append(Text(held.remark, "caution"))
    if says := says_of(held):
        blocks.append(Text(says))
    if (pattern := held.pattern) is not None:
        columns = max(x for x, _ in pattern.places) - min(x for x, _ in pattern.places) + 3
        share = 0.3 if pattern.layout == "circle" else min(1.0, max(0.35, columns / WIDE))
        blocks.append(Picture(drawing(pattern), told_in_order(pattern), share))
    # whoever pulls the wrench sees passes and order on one page
    return [Together(tuple(blocks))]


def _passes(step: Step, held: Tightened) -> Block:
    return Table(
        (
            Column(f"{step.number}: pass", "number", 0.9),
            Column("Torque or turn", share=2.2),
            Column("", share=1.6),
            Column("Found", "box", 1),
            Column("Done", "box", 0.8),
        ),
        [
            Row((number, first, second or None, None, None))
            for number, (first, second) in enumerate(pass_texts(held), 1)
        ],
    )


def pass_texts(held: Tightened) -> list[tuple[str, str]]:
    """Each pass over the fasteners in metric units, and the same in imperial ones or as a part of a turn."""
    return [_pass(each, held) for each in held.passes] or [("as the maker states it", "")]


def _pass(each: Pass, held: Tightened) -> tuple[str, str]:
    if each.stretch is not None:
        check = f"; the torque stays near {torque_texts(held.torque)[0]}, else stop" if held.torque else ""
        metric = f"until the bolt is longer by {show(each.stretch, 'mm')}{check}"
        return metric, show(each.stretch, "mm", "imperial")
    if each.angle is not None:
        first = f"{torque_texts(each.torque)[0]}, then " if each.torque else ""
        return f"{first}turn by {angle_text(each.angle)}", _turn(each.angle)
    return torque_texts(each.torque or 0.0)


def _turn(angle: float) -> str:
    """An angle as a part of a turn, where it is a plain one."""
    turns = angle / (2 * math.pi)
    for parts in (2, 4, 6, 8, 12):
        if abs(turns * parts - round(turns * parts)) < 1e-9 and round(turns * parts) == 1:
            return f"1/{parts} turn"
    return ""


def says_of(held: Tightened) -> str:
    """What goes on the fasteners, in which order they are tightened, and whose passes these are."""
    texts = []
    if held.lubricant:
        texts.append(f"Lubricant that the torque holds for: {LUBRICANTS.get(held.lubricant, held.lubricant)}.")
    if held.pattern is not None:
        each = plain(held.pattern.each) if held.pattern.each else "part"
        times = f", the same on each of the {held.pattern.times} {each}s" if held.pattern.times > 1 else ""
        texts.append(
            f"Every pass in the numbered order, over all fasteners{times}; loosened in the reverse order."
        )
    elif held.count > 1:
        texts.append("Every pass over all fasteners in turn before the next.")
    if held.one_use:
        texts.append("New fasteners: they are used once.")
    if held.stated:
        texts.append("Passes as the maker states them.")
    elif len(held.passes) > 1:
        texts.append(
            "Customary passes to what the maker states; its instructions come first where they differ."
        )
    return " ".join(texts)
